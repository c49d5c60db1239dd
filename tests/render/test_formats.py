"""Every node in every format, the same words in all of them, and what no format takes."""

from __future__ import annotations

import io
import re
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from html.parser import HTMLParser
from typing import get_args, get_type_hints

import docx
import pdf_text
import pytest

from letterkit.errors import InvalidInput, InvalidValue
from letterkit.letter import model
from letterkit.letter.model import BulletList, Cell, Heading, Lines, Paragraph, Sentence, Table, Title
from letterkit.letter.remarks import HEADING
from letterkit.render import FORMATS, renderer
from letterkit.render.docx.body import LINES_STYLES, PARAGRAPH_STYLES


class _Seen(HTMLParser):
    """Collects the words of a page's main part and header that a reader sees."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.hidden = 0
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag, attrs):
        attributes = dict(attrs)
        self.tags.append((tag, attributes))
        if tag in {"head", "footer"} or attributes.get("class") in {"described", "draft-mark"}:
            self.hidden += 1
        elif tag in {"br", "p", "td", "th", "li"}:
            self.words.append(" ")

    def handle_endtag(self, tag):
        if self.hidden and tag in {"head", "footer", "p"}:
            self.hidden -= 1
        self.words.append("" if tag == "span" else " ")

    def handle_data(self, data):
        if not self.hidden:
            self.words.append(data)


def _docx_words(data: bytes) -> list[str]:
    words: list[str] = []
    for block in docx.Document(io.BytesIO(data)).iter_inner_content():
        if isinstance(block, docx.table.Table):
            words += [word for row in block.rows for cell in row.cells for word in cell.text.split()]
        else:
            words += block.text.split()
    return words


def _html_words(data: bytes) -> list[str]:
    parser = _Seen()
    parser.feed(re.sub("<aside.*</aside>", "", data.decode(), flags=re.DOTALL))  # queries are not the letter's
    return "".join(parser.words).split()


def _text_words(data: bytes, mark: str | None) -> list[str]:
    text = data.decode()
    if mark is not None:
        text = text.removeprefix(mark + "\n").removesuffix(mark + "\n").partition(f"\n{HEADING}\n")[0]
    # Underlines, bullets, numbers of a list and the line of a caution are the format's own.
    return [word for word in text.split() if not re.fullmatch(r"[-=.#|]+|\d\.", word)]


def _words(name: str, letter: model.Letter) -> list[str]:
    data = renderer(name).render(letter)
    if name == "docx":
        return _docx_words(data)
    if name == "pdf":
        return pdf_text.words(data, letter)
    return _html_words(data) if name == "html" else _text_words(data, letter.draft_mark)


def _sentence(text: str) -> Sentence:
    return Sentence(text, ("f0",), "finding")


_NODES = [
    pytest.param(Title("Clinic letter"), "Clinic letter", id="title"),
    *[pytest.param(Heading(level, "Plan"), "Plan", id=f"heading-{level}") for level in (1, 2, 3)],
    *[
        pytest.param(Paragraph((_sentence("One."), _sentence("Two.")), role), "One. Two.", id=f"paragraph-{role}")
        for role in get_args(model.Role)
    ],
    *[
        pytest.param(Lines(("Mill Lane", "Harrowmere"), role), "Mill Lane Harrowmere", id=f"lines-{role}")
        for role in LINES_STYLES
    ],
    pytest.param(
        BulletList(((_sentence("First."), _sentence("More.")), (_sentence("Last."),))),
        "First. More. Last.",
        id="bullets",
    ),
    pytest.param(
        BulletList(((_sentence("First."),), (_sentence("Last."),)), ordered=True), "First. Last.", id="numbers"
    ),
    pytest.param(
        Table("Grip", "Grip of both hands.", ("Measure", "Right"), ((Cell("Grip"), Cell("14.0", ("f1",))),)),
        "Grip Measure Right Grip 14.0",
        id="table",
    ),
]


@pytest.mark.parametrize("name", FORMATS)
@pytest.mark.parametrize(("block", "words"), _NODES)
def test_every_node_keeps_its_words_in_every_format(name, block, words, with_blocks):
    assert words.split() == _words(name, with_blocks(block))


def test_the_table_of_nodes_covers_the_closed_set():
    # A picture is shown in one format and told in another: test_hands.py holds its words.
    assert {type(case.values[0]) for case in _NODES} | {model.Picture} == set(get_args(model.Block))


def test_every_role_has_a_style_of_its_own():
    assert set(PARAGRAPH_STYLES) == set(get_args(model.Role))
    assert set(LINES_STYLES) == set(get_args(get_type_hints(model.Lines)["role"]))


def test_the_words_of_all_formats_are_the_same(letter):
    docx_words, *others = (Counter(_words(name, letter)) for name in FORMATS)
    assert [docx_words] * len(others) == others
    assert docx_words["thenar"] == 1


@pytest.mark.parametrize("name", FORMATS)
def test_the_same_letter_gives_the_same_bytes(name, letter):
    assert renderer(name).render(letter) == renderer(name).render(letter)


@pytest.mark.parametrize("name", FORMATS)
def test_marks_of_markup_are_only_text(name, with_blocks):
    words = """<b>&amp; "grip" < 10 & 'rising' > 5 {{page}} {% raw %} ]]>"""
    letter = with_blocks(
        Paragraph((_sentence(words),)), Table(words, words, (words, "Right"), ((Cell(words), Cell("1")),))
    )
    table = words.split()
    assert Counter(table * 4 + ["Right", "1"]) == Counter(_words(name, letter))


@pytest.mark.parametrize("name", FORMATS)
@pytest.mark.parametrize("mark", "&<>\"'")
def test_each_mark_of_markup_alone_is_only_text(name, mark, with_blocks):
    word = f"grip{mark}amp;10"
    assert _words(name, with_blocks(Lines((word,), "identity"), Table("", word, (word,), ()))) == [word, word]


@pytest.mark.parametrize("name", [name for name in FORMATS if name != "pdf"])  # which refuses what its font lacks
@pytest.mark.parametrize(
    "person", ["Łucja Żółć", "Ngọc Ánh Đặng", "محمد", "Ἀθηνᾶ", "王小明", "O\u2019Néill-Ó Cléirigh", "𠮷野"]
)
def test_names_of_any_script_stay_whole(name, person, with_blocks):
    assert person.split() == _words(name, with_blocks(Lines((person,), "identity")))


@pytest.mark.parametrize("name", FORMATS)
@pytest.mark.parametrize(
    ("character", "told"),
    [
        ("\x00", "U+0000"),
        ("\x0b", "U+000B"),
        ("\x1f", "U+001F"),
        ("\ud800", "U+D800"),
        ("\ufffe", "U+FFFE"),
        ("\uffff", "U+FFFF"),
    ],
)
@pytest.mark.parametrize("place", range(7))
def test_characters_no_xml_may_hold_are_refused_by_name(name, character, told, place, with_blocks):
    bad = f"Ash{character}down"
    block = (
        Title(bad),
        Heading(1, bad),
        Paragraph((_sentence(bad),)),
        Lines((bad,), "identity"),
        BulletList(((_sentence(bad),),)),
        Table("Grip", "", (bad,), ()),
        Table("Grip", "", ("Measure",), ((Cell(bad),),)),
    )[place]
    with pytest.raises(InvalidValue, match=rf"character 4 of a text of 8 is {re.escape(told)}.*remove"):
        renderer(name).render(with_blocks(block))


@pytest.mark.parametrize("field", ["continuation", "draft_mark", "title", "author"])
@pytest.mark.parametrize("name", ["docx", "html", "pdf"])
def test_forbidden_characters_outside_the_body_are_refused(name, field, letter):
    if field in {"title", "author"}:
        bad = replace(letter, properties=replace(letter.properties, **{field: "a\x07"}))
    else:
        bad = replace(letter, **{field: "a\x07"})
    with pytest.raises(InvalidValue, match=r"U\+0007"):
        renderer(name).render(bad)


@pytest.mark.parametrize("name", FORMATS)
def test_a_row_that_does_not_fit_its_header_is_refused(name, with_blocks):
    with pytest.raises(InvalidValue, match="row 1 has 1 cells; its header row names 2 columns"):
        renderer(name).render(with_blocks(Table("Grip", "", ("Measure", "Right"), ((Cell("Grip"),),))))


@pytest.mark.parametrize("name", FORMATS)
def test_a_table_without_columns_is_refused(name, with_blocks):
    with pytest.raises(InvalidValue, match="no columns"):
        renderer(name).render(with_blocks(Table("Grip", "", (), ())))


@pytest.mark.parametrize("name", FORMATS)
def test_line_breaks_within_a_text_stay_line_breaks(name, with_blocks):
    letter = with_blocks(Paragraph((_sentence("First line\r\nsecond\tline\rthird\nfourth"),)))
    assert " ".join(_words(name, letter)) == "First line second line third fourth"


def test_an_unknown_format_names_those_that_exist():
    with pytest.raises(
        InvalidInput, match=r"format: 'odt' is not a format of a letter. Allowed: docx, html, pdf, text"
    ):
        renderer("odt")


def test_formats_say_what_their_files_are():
    suffixes = {name: renderer(name).suffix for name in FORMATS}
    assert suffixes == {"docx": ".docx", "html": ".html", "pdf": ".pdf", "text": ".txt"}
    assert all("/" in renderer(name).media_type for name in FORMATS)


def test_a_plain_text_letter_loads_nothing_of_word():
    script = (
        "import sys; from letterkit.render import renderer; renderer('text'); renderer('html');"
        "print('lxml' in sys.modules, 'letterkit.render.docx' in sys.modules, 'typst' in sys.modules)"
    )
    root = str(model.__file__).rsplit("/letterkit/", 1)[0]
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=root)
    assert done.stdout.split() == ["False", "False", "False"]


def test_html_has_landmarks_language_title_and_nothing_that_acts(letter):
    page = renderer("html").render(letter).decode()
    parser = _Seen()
    parser.feed(page)
    tags = [tag for tag, _ in parser.tags]

    assert [tag for tag in tags if tag in {"header", "main", "footer"}] == ["header", "main", "footer"]
    assert ("html", {"lang": "en-GB"}) in parser.tags
    assert "<title>Clinic letter, hand and wrist</title>" in page
    assert not {"script", "link", "img", "iframe", "form"} & set(tags)
    assert not [attrs for _, attrs in parser.tags if "style" in attrs or any(key.startswith("on") for key in attrs)]
    assert [tag for tag in tags if re.fullmatch("h[1-6]", tag)] == ["h1", "h2", "h2", "h3", "h4", "h2"]


def test_html_tables_have_caption_scopes_and_description(letter):
    page = renderer("html").render(letter).decode()
    assert "<caption>Strength of both hands</caption>" in page
    assert page.count('<th scope="col">') == 3
    assert page.count('<th scope="row">') == 2
    described = re.search(r'<table aria-describedby="([\w-]+)">', page)
    assert described
    assert f'id="{described[1]}">Grip and key pinch' in page


def test_html_spans_give_the_facts_behind_each_finding_sentence(letter):
    page = renderer("html").render(letter).decode()
    assert '<span data-facts="f2 f3">There is mild thenar wasting and no swelling.</span> She was in a hurry.' in page
    assert '<td data-facts="f4">14.0</td>' in page
    assert "<td></td>" in page


def test_html_shows_the_draft_mark_at_both_ends_and_none_once_approved(letter, approved):
    assert renderer("html").render(letter).decode().count(letter.draft_mark) == 2
    assert 'draft-mark">' not in renderer("html").render(approved).decode()


def test_html_without_a_title_has_no_empty_header(approved):
    page = renderer("html").render(replace(approved, blocks=(Paragraph((_sentence("One."),)),))).decode()
    assert "<header>" not in page


def test_text_is_wrapped_and_the_number_stays_on_one_line(with_blocks):
    number = "999\u00a0000\u00a00018"
    sentence = _sentence(f"Her number as printed on the card of the practice is {number}, and it was checked.")
    lines = (
        renderer("text")
        .render(with_blocks(*[Paragraph((_sentence("x" * n + " " + sentence.text),)) for n in range(1, 30)]))
        .decode()
        .splitlines()
    )
    assert max(map(len, lines)) <= 76
    assert sum(number in line for line in lines) == 29


def test_a_word_longer_than_the_page_is_not_cut(with_blocks):
    address = "https://clinic.example/" + "a" * 90
    lines = renderer("text").render(with_blocks(Paragraph((_sentence(f"See {address} there."),)))).decode().splitlines()
    assert address in [line.strip() for line in lines]


def test_text_draft_mark_is_first_and_last_line(letter, approved):
    lines = renderer("text").render(letter).decode().splitlines()
    assert [letter.draft_mark] * 2 == [lines[0], lines[-1]]
    assert letter.draft_mark not in renderer("text").render(approved).decode()


def test_text_headings_are_underlined_and_tables_aligned(letter):
    text = renderer("text").render(letter).decode()
    assert "Examination\n===========\n" in text
    assert (
        "Strength of both hands\n"
        "Measure                            Right  Left\n"
        "---------------------------------  -----  ----\n"
        "Grip strength, mean of three (kg)  14.0   21.3\n"
        "Key pinch (kg)                     4.5\n"
    ) in text


def test_text_tables_wider_than_the_page_wrap_in_their_cells(with_blocks):
    cell = "Power of the abductor pollicis brevis against full resistance at the end of its range"
    table = Table("", "", ("Measure", "Right", "Left"), ((Cell(cell), Cell(cell), Cell("5")),))
    text = renderer("text").render(with_blocks(table)).decode()
    assert max(map(len, text.splitlines())) <= 76
    assert Counter((cell + " " + cell + " 5 Measure Right Left").split()) == Counter(
        _text_words(text.encode(), with_blocks(table).draft_mark)
    )
