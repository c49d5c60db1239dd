"""PDF letters: the words of the DOCX, the marks of PDF/UA-1, and nothing that could show a box or act as markup."""

from __future__ import annotations

import hashlib
import io
import multiprocessing
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date
from pathlib import Path

import docx
import pikepdf
import pypdf
import pytest
from pdf_text import pages, structure, words

from letterkit.errors import InvalidInput, InvalidValue, LetterkitError
from letterkit.letter.model import BulletList, Cell, Heading, Lines, Paragraph, Sentence, Table, Title
from letterkit.render import renderer
from letterkit.render.pdf.fonts import FAMILY, font_folder, showable, shown

HOSTILE = (
    "#set page(fill: red)",
    "#import sys #sys.inputs.letter",
    "$x^2$ *bold* _light_ `raw` ~ <label> @ref",
    "back\\slash \\n \\u{41} \\#",
    "\"double\" 'single' ''' \"\"\"",
    "= heading / term: - list + 1. one",
    "-- --- ... // comment /* block */ #{1 + 1} ]] [[ } {",
    '"}, {"kind": "text"',
    "https://clinic.example #show: none",
)


def _docx_words(data: bytes) -> list[str]:
    found: list[str] = []
    for block in docx.Document(io.BytesIO(data)).iter_inner_content():
        if isinstance(block, docx.table.Table):
            found += [word for row in block.rows for cell in row.cells for word in cell.text.split()]
        else:
            found += block.text.split()
    return found


def _sentence(text: str) -> Sentence:
    return Sentence(text, ("f0",), "finding")


@pytest.fixture
def long_letter(with_blocks):
    """A letter of several pages."""
    paragraph = Paragraph(tuple(_sentence(f"Finding {number} of the examination.") for number in range(20)))
    rows = tuple((Cell(f"Measure {number}"), Cell("14.0"), Cell("21.3")) for number in range(90))
    return with_blocks(
        Title("Clinic letter"), *[paragraph] * 9, Table("Strength", "", ("Measure", "Right", "Left"), rows)
    )


def test_the_words_and_their_order_are_those_of_the_docx(letter):
    assert words(renderer("pdf").render(letter), letter) == _docx_words(renderer("docx").render(letter))


def test_an_approved_letter_has_the_same_words_and_no_mark(letter, approved):
    data = renderer("pdf").render(approved)
    assert words(data, approved) == words(renderer("pdf").render(letter), letter)
    assert letter.draft_mark not in "".join(pages(data))
    assert pypdf.PdfReader(io.BytesIO(data)).metadata["/Subject"] == "Final"


def test_the_same_letter_gives_the_same_bytes_in_another_process(letter, tmp_path):
    script = (
        "import hashlib, sys; sys.path.insert(0, sys.argv[1]); from conftest import LETTER;"
        "from letterkit.render import renderer; print(hashlib.sha256(renderer('pdf').render(LETTER)).hexdigest())"
    )
    run = [sys.executable, "-c", script, str(Path(__file__).parent)]
    there = [subprocess.run(run, capture_output=True, text=True, check=True).stdout for _ in range(2)]
    here = hashlib.sha256(renderer("pdf").render(letter)).hexdigest()
    assert [here, here] == [line.strip() for line in there]


def test_another_day_gives_another_file(letter):
    other = replace(letter, properties=replace(letter.properties, created=date(2026, 3, 6)))
    assert renderer("pdf").render(letter) != renderer("pdf").render(other)


def test_the_file_says_what_it_is_and_nothing_of_the_patient(letter):
    about = pypdf.PdfReader(io.BytesIO(renderer("pdf").render(letter))).metadata
    assert about.title == "Clinic letter, hand and wrist"
    assert about.author == "Miss O Tarrant"
    assert about["/Subject"] == "Draft"
    assert str(about.creation_date) == "2026-03-05 00:00:00+00:00"
    assert "ASHDOWN" not in repr(dict(about)).upper()


@pytest.mark.parametrize(("language", "told"), [("en-GB", "en-GB"), ("en-US", "en-US")])
def test_it_is_marked_as_accessible(letter, language, told):
    given = replace(letter, properties=replace(letter.properties, language=language))
    with pikepdf.open(io.BytesIO(renderer("pdf").render(given))) as pdf:
        root = pdf.Root
        assert bool(root.MarkInfo.Marked)
        assert str(root.Lang) == told
        assert bool(root.ViewerPreferences.DisplayDocTitle)
        with pdf.open_metadata() as about:
            assert about["pdfuaid:part"] == "1"
            assert about["dc:title"] == "Clinic letter, hand and wrist"
            assert about["dc:language"] == [told] or about["dc:language"] == {told}
        for page in pdf.pages:
            assert str(page.Tabs) == "/S"


def test_every_font_is_in_the_file(letter):
    with pikepdf.open(io.BytesIO(renderer("pdf").render(letter))) as pdf:
        fonts = [font for page in pdf.pages for font in page.Resources.Font.values()]
        assert fonts
        for font in fonts:
            descendant = font.DescendantFonts[0]
            assert FAMILY in str(font.BaseFont)
            assert "/FontFile2" in descendant.FontDescriptor or "/FontFile3" in descendant.FontDescriptor
            assert "/ToUnicode" in font


def test_the_structure_names_each_part_of_the_letter(letter):
    with pikepdf.open(io.BytesIO(renderer("pdf").render(letter))) as pdf:
        found = list(structure(pdf.Root.StructTreeRoot))
        tags = [tag for tag, _ in found]
        headings = [tag for tag in tags if tag in {"/H1", "/H2", "/H3"}]
        told = [node.A for tag, node in found if tag == "/TH"]
        scopes = [str((each[0] if isinstance(each, pikepdf.Array) else each).Scope) for each in told]
    assert headings == ["/H1", "/H1", "/H2", "/H3", "/H1"]
    assert [tags.count(tag) for tag in ("/Table", "/Caption", "/TR", "/TH", "/TD")] == [1, 1, 3, 3, 6]
    assert [tags.count(tag) for tag in ("/L", "/LI", "/Lbl", "/LBody")] == [2, 3, 3, 3]
    assert scopes == ["/Column"] * 3


def test_the_draft_mark_is_read_aloud_before_the_letter(letter):
    with pikepdf.open(io.BytesIO(renderer("pdf").render(letter))) as pdf:
        document = next(node for tag, node in structure(pdf.Root.StructTreeRoot) if tag == "/Document")
        first = document.K[0]
        page = pypdf.PdfReader(io.BytesIO(renderer("pdf").render(letter))).pages[0]
        assert str(first.S) == "/P"
    assert page.extract_text().startswith(letter.draft_mark)


def test_every_page_bears_mark_number_and_from_the_second_on_the_patient(long_letter):
    texts = pages(renderer("pdf").render(long_letter))
    assert len(texts) > 2
    for number, text in enumerate(texts, start=1):
        flat = " ".join(text.split())
        assert flat.startswith(long_letter.draft_mark)
        assert flat.endswith(f"Page {number} of {len(texts)}")
        assert (" ".join(long_letter.continuation.split()) in flat) is (number > 1)


def test_a_table_over_several_pages_repeats_its_header_row(long_letter):
    texts = pages(renderer("pdf").render(long_letter))
    assert sum("Measure Right Left" in text for text in texts) == sum("Measure " in text for text in texts) > 1


def test_a_caption_stays_with_its_table(with_blocks):
    lines = [Paragraph((_sentence(f"Line {number}."),), "small") for number in range(60)]
    table = Table("Strength", "", ("Measure", "Right"), ((Cell("Grip"), Cell("14.0")),))
    for count in range(38, 60):
        for text in pages(renderer("pdf").render(with_blocks(Heading(1, "Plan"), *lines[:count], table))):
            assert ("Strength" in text) is ("Measure" in text) is ("Grip" in text)


def test_a_heading_stays_with_its_text(with_blocks):
    lines = [Paragraph((_sentence(f"Line {number}."),), "small") for number in range(60)]
    for count in range(40, 60):
        letter = with_blocks(*lines[:count], Heading(1, "Plan"), Paragraph((_sentence("Splint."),)))
        for text in pages(renderer("pdf").render(letter)):
            assert ("Plan" in text) is ("Splint" in text)


def test_a_long_identity_pushes_the_text_down_and_covers_none(long_letter):
    long = replace(long_letter, continuation=long_letter.continuation + "  Reference 12345" * 20)
    data = renderer("pdf").render(long)
    heights: list[tuple[float, str]] = []
    page = pypdf.PdfReader(io.BytesIO(data)).pages[1]
    page.extract_text(visitor_text=lambda text, cm, tm, font, size: heights.append((tm[5] or cm[5], text)))
    lowest_of_identity = min(height for height, text in heights if "Reference" in text)
    highest_of_text = max(height for height, text in heights if "Finding" in text or "Measure" in text)
    assert highest_of_text < lowest_of_identity


@pytest.mark.parametrize("text", HOSTILE)
def test_marks_of_the_typesetter_are_only_text_wherever_they_stand(text, with_blocks, letter):
    blocks = (
        Title(text), Heading(1, text), Paragraph((_sentence(text),)), Paragraph((_sentence(text),), "caution"),
        Lines((text, text), "identity"), BulletList(((_sentence(text),),)), BulletList(((_sentence(text),),), ordered=True),
        Table(text, text, (text, "Right"), ((Cell(text), Cell("1")),)),
    )  # fmt: skip
    given = replace(with_blocks(*blocks), continuation=text, draft_mark=text,
                    properties=replace(letter.properties, title=text, author=text))  # fmt: skip
    data = renderer("pdf").render(given)
    seen = "".join("".join(pages(data)).split())
    plain = "".join(text.split())
    # Eleven times in the body and once as the mark; one page, so no continuation.
    assert seen.count(plain) == 12
    about = pypdf.PdfReader(io.BytesIO(data)).metadata
    assert (about.title, about.author) == (text, text)


@pytest.mark.parametrize(("text", "told"), [
    ("王小明", r"character 1 of a text of 3 is U\+738B \(CJK UNIFIED IDEOGRAPH-738B\)"),
    ("Ali محمد", r"character 5 of a text of 8 is U\+0645 \(ARABIC LETTER MEEM\)"),
    ("done \u2713", r"character 6 of a text of 6 is U\+2713 \(CHECK MARK\)"),
    ("\U0001f590", r"U\+1F590 \(RAISED HAND WITH FINGERS SPLAYED\)"),
    ("\ue000", r"U\+E000 \(a character without a name\)"),
])  # fmt: skip
@pytest.mark.parametrize("place", range(8))
def test_a_character_without_a_picture_is_refused_by_name(text, told, place, with_blocks, letter):
    blocks = (
        Title(text), Heading(1, text), Paragraph((_sentence(text),)), Lines((text,), "identity"),
        BulletList(((_sentence(text),),)), Table("", "", ("Measure",), ((Cell(text),),)),
    )  # fmt: skip
    if place < len(blocks):
        given = with_blocks(blocks[place])
    else:
        given = replace(letter, **{("continuation", "draft_mark")[place - len(blocks)]: text})
    with pytest.raises(InvalidValue, match=f"letter: .*{told}, which the PDF's font Arimo cannot show.*docx, html"):
        renderer("pdf").render(given)


def test_the_typesetter_agrees_with_our_list_of_the_fonts_characters(with_blocks, monkeypatch):
    """Without our own check the typesetter refuses the same characters, and tells none of the letter's words."""
    monkeypatch.setattr("letterkit.render.pdf.data.showable", lambda text: text)
    with pytest.raises(LetterkitError, match="could not be set") as caught:
        renderer("pdf").render(with_blocks(Lines(("Ashdown 王",), "identity")))
    assert "王" not in str(caught.value)
    assert "Ashdown" not in str(caught.value)


@pytest.mark.parametrize("alphabet", [
    "ÀÉÎÕÜßàéîõüÿŁłŻżŠšŽžĐđŐőŞşĞğİıÅåØøÆæŒœẞ", "ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩάέήίόύώᾶἈ", "АБВГДЕЖЗИЙКЛМНОПРСТУФХЦЧШЩЪЫЬЭЮЯіїєґђћ",
    "NgọcÁnhĐặng", "°′″±×½²≤≥−–—‘’“”•…\u00a0\u2011",
])  # fmt: skip
def test_the_scripts_of_europe_and_the_marks_of_letters_are_shown(alphabet, with_blocks):
    assert showable(alphabet) == alphabet
    given = with_blocks(Lines((alphabet,), "identity"), Title(alphabet), Paragraph((_sentence(alphabet),), "note"))
    text = "".join("".join(pages(renderer("pdf").render(given))).split())
    assert text.count("".join(alphabet.split())) == 3


def test_the_list_of_the_fonts_characters_is_whole():
    basic = {chr(code) for code in range(0x20, 0x7F)}
    cyrillic = {chr(code) for code in range(0x400, 0x460)}
    assert basic | cyrillic <= shown()
    assert not {"\x00", "\x7f", "\x85", "\uffff", "王", "م"} & shown()
    assert len(sorted(font_folder().glob("*.ttf"))) == 2


def test_the_first_heading_is_of_the_first_level_and_none_is_skipped(with_blocks):
    """The standard refuses skipped levels; a clinic's template may still begin with a sub-section."""
    given = with_blocks(Heading(2, "Right hand"), Heading(1, "Plan"), Heading(3, "Strength"))
    with pikepdf.open(io.BytesIO(renderer("pdf").render(given))) as pdf:
        tags = [tag for tag, _ in structure(pdf.Root.StructTreeRoot)]
    assert [tag for tag in tags if tag in {"/H1", "/H2", "/H3"}] == ["/H1", "/H1", "/H2"]


def test_words_longer_than_the_page_are_broken_and_none_is_lost(with_blocks):
    word = "x" * 300
    cell = "z" * 90
    given = with_blocks(
        Paragraph((_sentence(word),)), Table("", "", ("Measure", "Right", "Left"), ((Cell(cell), Cell(cell), Cell("5")),))
    )  # fmt: skip
    data = renderer("pdf").render(given)
    page = pypdf.PdfReader(io.BytesIO(data)).pages[0]
    assert page.extract_text().count("x") == 300
    assert page.extract_text().count("z") == 180
    # The widest capital is 0.95 of its size, so a piece of the longest length fits even in those.
    assert max(len(line) for line in page.extract_text().splitlines() if line.startswith("x")) <= 120


@pytest.mark.parametrize("role", ["caution", "signature", "body"])
def test_a_text_longer_than_a_page_goes_on_and_loses_nothing(role, with_blocks):
    given = with_blocks(Paragraph(tuple(_sentence(f"w{number}.") for number in range(2500)), role))
    data = renderer("pdf").render(given)
    assert [f"w{number}." for number in range(2500)] == words(data, given)
    assert len(pages(data)) > 1


def test_a_cell_longer_than_a_page_goes_on_and_loses_nothing(with_blocks):
    text = [f"w{number}" for number in range(900)]
    given = with_blocks(Table("", "", ("Measure", "Right"), ((Cell("Grip"), Cell(" ".join(text))),)))
    found = words(renderer("pdf").render(given), given)
    assert [word for word in found if word not in {"Measure", "Right", "Grip"}] == text


def test_tabs_and_line_breaks_part_words(with_blocks):
    given = with_blocks(Paragraph((_sentence("First\r\nsecond\tthird\rfourth\n\nfifth"),)))
    assert words(renderer("pdf").render(given), given) == ["First", "second", "third", "fourth", "fifth"]


def test_a_letter_without_blocks_is_one_identified_page(with_blocks):
    given = with_blocks(Title(""), Heading(1, ""), Paragraph(()), BulletList(()))
    assert words(renderer("pdf").render(given), given) == []


def test_many_threads_get_the_same_letter(letter):
    make = renderer("pdf")
    with ThreadPoolExecutor(4) as threads:
        assert set(threads.map(lambda _: make.render(letter), range(12))) == {make.render(letter)}


def _in_child(letter, answers) -> None:
    try:
        renderer("pdf").render(letter)
    except LetterkitError as error:
        answers.put(str(error))


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_a_forked_process_is_told_rather_than_left_waiting(letter):
    renderer("pdf").render(letter)
    context = multiprocessing.get_context("fork")
    answers = context.Queue()
    child = context.Process(target=_in_child, args=(letter, answers))
    child.start()
    told = answers.get(timeout=20)
    child.join(timeout=20)
    assert "spawn" in told


def test_a_letterhead_is_refused():
    with pytest.raises(InvalidInput, match="letterhead: only DOCX letters take one"):
        renderer("pdf", letterhead=Path("clinic.docx"))


def test_a_missing_font_names_the_package(monkeypatch):
    monkeypatch.setattr("letterkit.render.pdf.fonts.find_spec", lambda name: None)
    font_folder.cache_clear()
    try:
        with pytest.raises(LetterkitError, match="fontpkg-arimo"):
            font_folder()
    finally:
        font_folder.cache_clear()
