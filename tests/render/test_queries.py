"""Queries beside a draft in every format: anchored, listed, and never among the words of the letter."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
import zipfile
from collections import Counter
from dataclasses import replace
from html.parser import HTMLParser

import docx
import pdf_text
import pytest
from docx.oxml.ns import qn
from lxml import etree

from letterkit.errors import InvalidValue
from letterkit.letter.model import Heading, Letter, Paragraph, Remark, Sentence
from letterkit.letter.remarks import HEADING, told
from letterkit.render import FORMATS, renderer
from letterkit.render.docx import load
from letterkit.render.docx import renderer as docx_renderer

IN_SENTENCE = Remark(
    "a-rule", "contradictory", "Is <this> & that meant?", "Settle it.", ("f3",), ("examination.findings[3]",)
)
IN_CELL = Remark("b-rule", "unusual", "Is the grip right?", "Measure again.", ("f5",), ("examination.findings[5]",))
SAME = Remark("c-rule", "incomplete", "Which digit?", "Name it.", ("f2",), ("examination.findings[2]",))
NOWHERE = Remark("d-rule", "urgent", "Does the plan cover this?", "Read the plan again.", (), ("earlier[0].date",))
REMARKS = (IN_SENTENCE, IN_CELL, SAME, NOWHERE)


@pytest.fixture
def queried(letter) -> Letter:
    """The draft with four queries: two at one sentence, one at a cell, one about nothing the letter says."""
    return replace(letter, remarks=REMARKS)


def _part(data: bytes, name: str) -> bytes:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return archive.read(name)


def _docx_words(data: bytes) -> list[str]:
    words: list[str] = []
    for block in docx.Document(io.BytesIO(data)).iter_inner_content():
        if isinstance(block, docx.table.Table):
            words += [word for row in block.rows for cell in row.cells for word in cell.text.split()]
        else:
            words += block.text.split()
    return words


def _anchored(data: bytes) -> dict[int, str]:
    """The text between the start and the end of each comment's range."""
    found: dict[int, str] = {}
    open_ids: set[int] = set()
    for element in etree.fromstring(_part(data, "word/document.xml")).iter():
        if element.tag == qn("w:commentRangeStart"):
            open_ids.add(int(element.get(qn("w:id"))))
        elif element.tag == qn("w:commentRangeEnd"):
            open_ids.remove(int(element.get(qn("w:id"))))
        elif element.tag == qn("w:t"):
            for number in open_ids:
                found[number] = found.get(number, "") + (element.text or "")
    assert not open_ids
    return found


def test_each_query_is_a_word_comment_by_us_on_the_letters_day(queried):
    comments = list(docx.Document(io.BytesIO(renderer("docx").render(queried))).comments)
    assert [[paragraph.text for paragraph in comment.paragraphs] for comment in comments] == [
        list(told(remark)) for remark in REMARKS
    ]
    assert {(comment.author, comment.initials) for comment in comments} == {("letterkit", "lk")}
    assert {f"{comment.timestamp:%Y-%m-%d %H:%M}" for comment in comments} == {"2026-03-05 00:00"}


def test_each_comment_stands_at_what_it_is_about(queried):
    sentence = "There is mild thenar wasting and no swelling."
    assert _anchored(renderer("docx").render(queried)) == {0: sentence, 1: "21.3", 2: sentence, 3: "History"}


def test_every_comment_has_its_reference_behind_its_range(queried):
    body = _part(renderer("docx").render(queried), "word/document.xml").decode()
    for number in range(len(REMARKS)):
        places = [body.index(f'<w:{name} w:id="{number}"/>') for name in
                  ("commentRangeStart", "commentRangeEnd", "commentReference")]  # fmt: skip
        assert places == sorted(places)
    assert '<w:t xml:space="preserve"></w:t>' not in body


def test_comments_are_no_words_of_the_letter(letter, queried):
    assert _docx_words(renderer("docx").render(queried)) == _docx_words(renderer("docx").render(letter))


def test_without_queries_there_is_no_comments_part(letter):
    data = renderer("docx").render(letter)
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert not [name for name in archive.namelist() if "comment" in name]
    assert b"comment" not in _part(data, "[Content_Types].xml") + _part(data, "word/_rels/document.xml.rels")


def test_a_clinics_own_comments_stay_out_and_ours_go_in(stationery, queried):
    source = docx.Document(io.BytesIO(stationery()))
    paragraph = source.paragraphs[0]
    source.add_comment(paragraph.runs, text="Internal note of the clinic", author="Office", initials="O")
    saved = io.BytesIO()
    source.save(saved)
    head = load(saved.getvalue(), "clinic.docx")
    data = replace(docx_renderer(), letterhead=head).render(queried)
    texts = [comment.text for comment in docx.Document(io.BytesIO(data)).comments]
    assert len(texts) == len(REMARKS)
    assert not any("Internal note" in text for text in texts)


@pytest.mark.parametrize("name", FORMATS)
def test_the_same_draft_with_queries_gives_the_same_bytes(name, queried):
    assert renderer(name).render(queried) == renderer(name).render(queried)


def test_large_print_and_other_languages_take_comments_too(queried):
    about = replace(queried.properties, large_print=True, language="en-US")
    data = renderer("docx").render(replace(queried, properties=about))
    assert len(list(docx.Document(io.BytesIO(data)).comments)) == len(REMARKS)


@pytest.mark.libreoffice
def test_a_word_processor_opens_a_draft_with_comments(queried, tmp_path):
    if shutil.which("soffice") is None:
        pytest.skip("LibreOffice is not installed")
    (tmp_path / "draft.docx").write_bytes(renderer("docx").render(queried))
    run = ["soffice", f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", "--convert-to", "odt",
           "--outdir", str(tmp_path), str(tmp_path / "draft.docx")]  # fmt: skip
    subprocess.run(run, check=True, capture_output=True, timeout=120)
    content = _part((tmp_path / "draft.odt").read_bytes(), "content.xml").decode()
    notes = re.findall(r"<office:annotation .*?</office:annotation>", content, re.DOTALL)
    assert len(notes) == len(REMARKS)
    assert all("<dc:creator>letterkit</dc:creator>" in note for note in notes)


class _Page(HTMLParser):
    """Collects ids with the text inside them, links, and which texts stand in the aside."""

    def __init__(self) -> None:
        super().__init__()
        self.ids: dict[str, str] = {}
        self.links: list[str] = []
        self.aside = ""
        self.main = ""
        self._open: list[tuple[str, str | None]] = []

    def handle_starttag(self, tag, attrs):
        attributes = dict(attrs)
        if tag not in {"meta", "br"}:
            self._open.append((tag, attributes.get("id")))
        if tag == "a":
            self.links.append(attributes["href"])

    def handle_endtag(self, tag):
        assert self._open.pop()[0] == tag

    def handle_data(self, data):
        for _, identity in self._open:
            if identity:
                self.ids[identity] = self.ids.get(identity, "") + data
        tags = {tag for tag, _ in self._open}
        if "aside" in tags:
            self.aside += data
        elif "main" in tags:
            self.main += data


def _page(letter: Letter) -> _Page:
    page = _Page()
    page.feed(renderer("html").render(letter).decode())
    return page


def test_html_lists_queries_outside_the_letter_each_linked_to_its_words(queried):
    page = _page(queried)
    words = [page.ids[link.removeprefix("#")] for link in page.links]
    sentence = "There is mild thenar wasting and no swelling."
    assert words == [sentence, "21.3", sentence, "History"]
    assert page.ids["queries"] == HEADING
    for remark in REMARKS:
        assert all(line in page.aside for line in told(remark))
        assert remark.text not in page.main


def test_html_of_a_letter_without_queries_has_no_aside(letter, queried):
    assert b"<aside" not in renderer("html").render(letter)
    assert Counter(_page(letter).main.split()) == Counter(_page(queried).main.split())


def test_text_lists_queries_behind_the_letter_before_the_last_draft_mark(letter, queried):
    plain, text = (renderer("text").render(each).decode() for each in (letter, queried))
    body, _, rest = text.partition(f"{HEADING}\n")
    assert body.rstrip("\n") == plain.rstrip("\n").removesuffix(letter.draft_mark).rstrip("\n")
    assert rest.splitlines()[-1] == letter.draft_mark
    listed = " ".join(rest.split())
    for number, remark in enumerate(REMARKS, start=1):
        assert f"{number}. {' '.join(told(remark))}" in listed
    assert max(map(len, rest.splitlines())) <= 76


def test_pdf_lists_queries_on_pages_behind_the_letter(letter, queried):
    data = renderer("pdf").render(queried)
    assert pdf_text.words(data, queried) == pdf_text.words(renderer("pdf").render(letter), letter)
    last = " ".join(pdf_text.pages(data)[-1].split())
    assert last.count(HEADING) == 1
    for remark in REMARKS:
        assert remark.text in last
    assert HEADING not in " ".join(pdf_text.pages(data)[:-1])
    assert HEADING not in " ".join(pdf_text.pages(renderer("pdf").render(letter)))


@pytest.mark.parametrize("name", FORMATS)
def test_queries_are_shown_in_every_format(name, queried):
    shown = {
        "docx": lambda data: " ".join(each.text for each in docx.Document(io.BytesIO(data)).comments),
        "pdf": lambda data: " ".join(pdf_text.pages(data)),
        "html": lambda data: re.sub("<[^>]*>", "", data.decode()),
        "text": lambda data: data.decode(),
    }[name](renderer(name).render(queried))
    assert all(remark.settle in " ".join(shown.split()) for remark in REMARKS)


@pytest.mark.parametrize("name", ["docx", "html"])
@pytest.mark.parametrize("character", ["\ue000", "\ue001"])
def test_a_text_that_holds_the_marks_of_anchors_is_refused(name, character, queried):
    bad = replace(queried, blocks=(*queried.blocks, Paragraph((Sentence(f"Odd {character} text."),))))
    with pytest.raises(InvalidValue, match=r"U\+E000 or U\+E001"):
        renderer(name).render(bad)


def test_a_query_about_a_letter_without_words_is_not_lost(queried):
    data = renderer("docx").render(replace(queried, blocks=()))
    assert len(list(docx.Document(io.BytesIO(data)).comments)) == len(REMARKS)
    assert _part(data, "word/document.xml").count(b"commentReference") == len(REMARKS)


def test_line_breaks_inside_an_anchor_stay_line_breaks(queried):
    blocks = (Heading(1, "Findings"), Paragraph((Sentence("One.\nTwo.", ("f3",), "finding"),)))
    data = renderer("docx").render(replace(queried, blocks=blocks, remarks=(IN_SENTENCE,)))
    assert docx.Document(io.BytesIO(data)).paragraphs[1].text == "One.\nTwo."
    assert _anchored(data) == {0: "One.Two."}
