"""The Word document: what word processors find in it, and what stands on its pages."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
import zipfile
from dataclasses import replace

import docx
import pytest
from docx.oxml.ns import qn
from lxml import etree

from letterkit.errors import InvalidValue
from letterkit.letter.model import BulletList, Cell, Heading, Paragraph, Sentence, Table
from letterkit.render.docx import DocxRenderer, load, plain_letterhead, renderer
from letterkit.render.docx.package import container, member
from letterkit.render.docx.styles import NUMBERED_LISTS

_FIRST_OF_1980 = (1980, 1, 1, 0, 0, 0)


def _opened(data: bytes) -> docx.document.Document:
    return docx.Document(io.BytesIO(data))


def _parts(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def _told(part) -> str:
    return "\n".join(paragraph.text for paragraph in part.paragraphs)


def _whole(part) -> str:
    return "".join(text.text or "" for text in part._element.iter(qn("w:t")))


def test_headings_and_title_are_real_styles(letter):
    document = _opened(renderer().render(letter))
    styled = [(p.style.name, p.text) for p in document.paragraphs if p.style.name.startswith(("Heading", "Title"))]
    assert styled == [
        ("Title", "Clinic letter: hand and wrist"),
        ("Heading 1", "History"),
        ("Heading 1", "Examination"),
        ("Heading 2", "Right hand"),
        ("Heading 3", "Strength"),
        ("Heading 1", "Plan"),
    ]


def test_no_paragraph_is_empty(letter):
    assert all(paragraph.text for paragraph in _opened(renderer().render(letter)).paragraphs)


def test_paragraphs_without_words_leave_no_gap(with_blocks):
    letter = with_blocks(Paragraph(()), Paragraph((Sentence(""),)), Paragraph((Sentence("One."),)))
    assert [paragraph.text for paragraph in _opened(renderer().render(letter)).paragraphs] == ["One."]


def test_tables_have_header_row_caption_and_description(letter):
    (table,) = _opened(renderer().render(letter)).tables
    headers = [row._tr.find(f"{qn('w:trPr')}/{qn('w:tblHeader')}") is not None for row in table.rows]
    properties = table._tbl.tblPr

    assert headers == [True, False, False]
    assert all(row._tr.find(f"{qn('w:trPr')}/{qn('w:cantSplit')}") is not None for row in table.rows)
    assert properties.find(qn("w:tblCaption")).get(qn("w:val")) == "Strength of both hands"
    assert properties.find(qn("w:tblDescription")).get(qn("w:val")).startswith("Grip and key pinch")
    assert properties.find(qn("w:tblLook")).get(qn("w:firstRow")) == "1"
    assert table.style.name == "Letter Table"
    assert [[cell.text for cell in table.rows[index].cells] for index in (0, 2)] == [
        ["Measure", "Right", "Left"],
        ["Key pinch (kg)", "4.5", ""],
    ]


def test_a_wide_table_fits_between_the_margins(with_blocks):
    letter = with_blocks(
        Table("", "", ("Measure", "Right", "Left"), ((Cell("wide " * 80), Cell("wide " * 40), Cell("5")),))
    )
    document = _opened(renderer().render(letter))
    section = document.sections[0]
    widths = [int(column.get(qn("w:w"))) for column in document.tables[0]._tbl.tblGrid.iter(qn("w:gridCol"))]
    room = (section.page_width - section.left_margin - section.right_margin) / 635
    assert sum(widths) <= room + 1
    assert widths[0] > widths[1] > widths[2] >= 900


def test_a_body_that_ends_in_a_table_has_a_last_paragraph(with_blocks):
    document = _opened(renderer().render(with_blocks(Table("", "", ("Measure",), ()))))
    assert [etree.QName(child).localname for child in document.element.body] == ["tbl", "p", "sectPr"]


def test_text_stands_off_a_table_before_it(with_blocks):
    letter = with_blocks(Table("", "", ("Measure",), ()), Paragraph((Sentence("After."),)))
    assert _opened(renderer().render(letter)).paragraphs[0].paragraph_format.space_before.pt == 7


def test_lists_are_numbered_by_the_document_and_start_again(with_blocks):
    ordered = BulletList(((Sentence("One."),), (Sentence("Two."),)), ordered=True)
    document = _opened(renderer().render(with_blocks(ordered, BulletList(((Sentence("Dot."),),)), ordered)))
    numbers = [p._p.pPr.numPr.numId.val for p in document.paragraphs]
    assert numbers[0] == numbers[1] != numbers[3] == numbers[4]
    assert numbers[2] not in {numbers[0], numbers[3]}
    numbering = document.part.numbering_part.element
    for number in {numbers[0], numbers[3]}:
        (num,) = numbering.xpath(f"w:num[@w:numId='{number}']")
        assert num.xpath("w:lvlOverride/w:startOverride/@w:val") == ["1"]
    assert [document.paragraphs[index].style.name for index in (0, 2)] == ["List Number", "List Bullet"]


def test_more_numbered_lists_than_prepared_are_refused(with_blocks):
    one = BulletList(((Sentence("One."),),), ordered=True)
    renderer().render(with_blocks(*[one] * NUMBERED_LISTS))
    with pytest.raises(InvalidValue, match=f"more than {NUMBERED_LISTS} numbered lists"):
        renderer().render(with_blocks(*[one] * (NUMBERED_LISTS + 1)))


@pytest.mark.parametrize("language", ["en-GB", "en-US"])
def test_the_language_is_that_of_the_letter(letter, language):
    parts = _parts(renderer().render(replace(letter, properties=replace(letter.properties, language=language))))
    styles = etree.fromstring(parts["word/styles.xml"])
    assert [language] == styles.xpath(
        "w:docDefaults/w:rPrDefault/w:rPr/w:lang/@w:val", namespaces={"w": qn("w:p")[1:].split("}")[0]}
    )
    assert f'w:themeFontLang w:val="{language}"'.encode() in parts["word/settings.xml"]
    assert f"<dc:language>{language}</dc:language>".encode() in parts["docProps/core.xml"]


def test_properties_say_draft_or_final_and_nothing_of_the_patient(letter, approved):
    about = _opened(renderer().render(letter)).core_properties
    assert (
        about.title,
        about.author,
        about.content_status,
    ) == ("Clinic letter, hand and wrist", "Miss O Tarrant", "Draft")
    assert (about.created.date().isoformat(), about.modified.date().isoformat()) == ("2026-03-05", "2026-03-05")
    assert _opened(renderer().render(approved)).core_properties.content_status == "Final"
    told = b"".join(data for name, data in _parts(renderer().render(letter)).items() if name.startswith("docProps/"))
    assert b"ASHDOWN" not in told
    assert "999\u00a0000".encode() not in told


def test_the_container_has_a_fixed_order_and_date(letter):
    with zipfile.ZipFile(io.BytesIO(renderer().render(letter))) as archive:
        assert archive.testzip() is None
        names = archive.namelist()
        assert names[0] == "[Content_Types].xml"
        assert len(set(names)) == len(names)
        assert {_FIRST_OF_1980} == {info.date_time for info in archive.infolist()}


def test_every_relationship_finds_its_part_and_every_part_has_a_type(letter):
    parts = _parts(renderer().render(letter))
    types = etree.fromstring(parts["[Content_Types].xml"])
    typed = {each.get("PartName").lstrip("/") for each in types if each.get("PartName")}
    assert typed == {name for name in parts if not name.endswith((".rels", "[Content_Types].xml"))}
    for name, data in parts.items():
        if name.endswith(".rels"):
            root = etree.fromstring(data)
            folder = name.replace("_rels/", "").rpartition("/")[0]
            targets = [f"{folder}/{each.get('Target')}".lstrip("/") for each in root]
            assert all(target in parts for target in targets)
            assert len({each.get("Id") for each in root}) == len(root)
        else:
            etree.fromstring(data)


def test_a_stored_member_and_a_name_beyond_ascii_are_read_back():
    with zipfile.ZipFile(io.BytesIO(container([member("a", b""), member("größe.xml", b"x" * 99)]))) as archive:
        assert {name: archive.read(name) for name in archive.namelist()} == {"a": b"", "größe.xml": b"x" * 99}
        assert archive.testzip() is None


def test_the_plain_letterhead_marks_numbers_and_identifies_pages(letter, approved):
    section = _opened(renderer().render(letter)).sections[0]
    assert section.different_first_page_header_footer
    assert letter.draft_mark == _told(section.first_page_header)
    assert f"{letter.draft_mark}\n{letter.continuation}" == _told(section.header)
    final = _opened(renderer().render(approved)).sections[0]
    assert _told(final.first_page_header) == ""
    assert letter.continuation == _told(final.header)
    for footer in (section.footer, section.first_page_footer, final.footer, final.first_page_footer):
        assert _whole(footer) == "Page 1 of 1"
        fields = [field.get(qn("w:instr")).strip() for field in footer._element.iter(qn("w:fldSimple"))]
        assert fields == ["PAGE", "NUMPAGES"]


def test_stationery_without_placeholders_keeps_its_words_and_gets_ours(letter, approved, stationery):
    head = load(stationery())
    section = _opened(DocxRenderer(head).render(letter)).sections[0]
    assert f"Harrowmere Hand Clinic, stationery\n{letter.draft_mark}" == _told(section.first_page_header)
    assert f"Harrowmere Hand Clinic, stationery\n{letter.draft_mark}\n{letter.continuation}" == _told(section.header)
    assert "Registered in HarrowmerePage 1 of 1" == _whole(section.footer) == _whole(section.first_page_footer)
    final = _opened(DocxRenderer(head).render(approved))
    assert _told(final.sections[0].first_page_header) == "Harrowmere Hand Clinic, stationery"
    assert "Old body" not in _told(final)


def test_left_pages_of_two_sided_stationery_are_identified_too(letter, stationery):
    section = _opened(DocxRenderer(load(stationery(two_sided=True))).render(letter)).sections[0]
    assert letter.continuation in _told(section.even_page_header)
    assert letter.draft_mark in _told(section.even_page_header)
    assert _whole(section.even_page_footer) == "Page 1 of 1"


@pytest.mark.parametrize(
    "runs",
    [
        ("Patient: {{continuation}} on {{page}}.",),
        ("Patient: {{", "continuation", "}} on {{pa", "ge}}."),
        ("Patient: {", "{ continuation }", "} on ", "{{page}}", "."),
    ],
)
def test_placeholders_are_filled_however_the_runs_are_cut(letter, stationery, runs):
    document = _opened(stationery())
    paragraph = document.sections[0].header.paragraphs[0]
    paragraph.text = ""
    for text in runs:
        paragraph.add_run(text).bold = True
    saved = io.BytesIO()
    document.save(saved)
    section = _opened(DocxRenderer(load(saved.getvalue())).render(letter)).sections[0]
    assert f"Patient: {letter.continuation} on Page 1 of 1.{letter.draft_mark}" == _whole(section.header)
    assert _whole(section.footer) == "Registered in Harrowmere"
    said = [run for run in section.header._element[0].iter(qn("w:r")) if "".join(run.itertext())]
    assert all(run.find(f"{qn('w:rPr')}/{qn('w:b')}") is not None for run in said)


def test_identity_in_hidden_text_does_not_count(letter, stationery):
    document = _opened(stationery("Clinic"))
    document.sections[0].header.paragraphs[0].add_run("{{continuation}} {{draft_mark}}").font.hidden = True
    saved = io.BytesIO()
    document.save(saved)
    header = _opened(DocxRenderer(load(saved.getvalue())).render(letter)).sections[0].header
    assert [p.text for p in header.paragraphs[1:]] == [letter.draft_mark, letter.continuation]


def test_page_fields_of_the_clinic_are_not_doubled(letter, stationery):
    document = _opened(stationery())
    paragraph = document.sections[0].footer.paragraphs[0]
    for instruction in ("PAGE", "NUMPAGES"):
        for kind, text in (("begin", None), (None, instruction), ("end", None)):
            run = paragraph.add_run()._r
            if kind:
                etree.SubElement(run, qn("w:fldChar")).set(qn("w:fldCharType"), kind)
            else:
                etree.SubElement(run, qn("w:instrText")).text = f" {text} "
    saved = io.BytesIO()
    document.save(saved)
    section = _opened(DocxRenderer(load(saved.getvalue())).render(letter)).sections[0]
    assert _whole(section.footer) == "Registered in Harrowmere"


def test_markup_in_the_identity_stays_text(letter):
    section = _opened(renderer().render(replace(letter, continuation="A <b> & \"c\" 'd'\ne"))).sections[0]
    assert "A <b> & \"c\" 'd' e" in _told(section.header)


def test_a_letterhead_without_styles_or_numbering_gets_them(letter, repacked):
    rels = _parts(plain_bytes := repacked({}))["word/_rels/document.xml.rels"].decode()
    rels = re.sub(r'<Relationship [^>]*Target="(styles|numbering)\.xml"[^>]*/>', "", rels)
    types = re.sub(
        r'<Override [^>]*/word/(styles|numbering)\.xml"[^>]*/>', "", _parts(plain_bytes)["[Content_Types].xml"].decode()
    )
    bare = repacked(
        {
            "word/styles.xml": None,
            "word/numbering.xml": None,
            "word/_rels/document.xml.rels": rels.encode(),
            "[Content_Types].xml": types.encode(),
        }
    )
    document = _opened(DocxRenderer(load(bare)).render(letter))
    names = {style.name for style in document.styles}
    assert {"Title", "Heading 1", "Heading 2", "Heading 3", "List Bullet", "List Number", "Letter Table"} <= names
    assert "Heading 1" in {paragraph.style.name for paragraph in document.paragraphs}
    assert document.styles["Normal"].font.size.pt == 11


def test_styles_of_the_clinic_are_used_by_name_not_id(letter, stationery, repacked):
    source = stationery()
    styles = _parts(source)["word/styles.xml"].replace(b'w:styleId="Heading1"', b'w:styleId="berschrift1"')
    document = _opened(DocxRenderer(load(repacked({"word/styles.xml": styles}, source))).render(letter))
    (history,) = [paragraph for paragraph in document.paragraphs if paragraph.text == "History"]
    assert history.style.style_id == "berschrift1"
    assert sum(style.name == "Heading 1" for style in document.styles) == 1


def test_the_clinics_page_is_kept_but_starts_at_one(letter, stationery):
    document = _opened(stationery())
    section = document.sections[0]
    section.left_margin = docx.shared.Cm(4)
    etree.SubElement(section._sectPr, qn("w:pgNumType")).set(qn("w:start"), "7")
    saved = io.BytesIO()
    document.save(saved)
    made = _opened(DocxRenderer(load(saved.getvalue())).render(letter)).sections[0]
    assert round(made.left_margin.cm, 1) == 4
    assert not made._sectPr.xpath("w:pgNumType/@w:start")


def test_the_plain_letterhead_is_made_by_its_script(plain_script):
    built = plain_script.build()
    assert built == plain_script.build()
    made, shipped = _parts(built), _parts(plain_script.TARGET.read_bytes())
    assert list(made) == list(shipped)
    for name, data in made.items():
        assert etree.tostring(etree.fromstring(data), method="c14n") == etree.tostring(
            etree.fromstring(shipped[name]), method="c14n"
        ), name


def test_the_plain_letterhead_is_read_once():
    assert plain_letterhead() is plain_letterhead()


@pytest.mark.libreoffice
@pytest.mark.skipif(
    not (shutil.which("soffice") and shutil.which("pdftotext")), reason="LibreOffice or poppler is not installed"
)
@pytest.mark.parametrize("which", ["draft", "approved", "stationery"])
def test_pages_carry_mark_identity_and_number(letter, approved, stationery, which, tmp_path):
    given = approved if which == "approved" else letter
    one = replace(given, blocks=given.blocks)
    long = replace(given, blocks=(*given.blocks, *[b for b in given.blocks if not isinstance(b, Heading)] * 2))
    head = load(stationery()) if which == "stationery" else plain_letterhead()
    (tmp_path / "one.docx").write_bytes(DocxRenderer(head).render(one))
    (tmp_path / "long.docx").write_bytes(DocxRenderer(head).render(long))
    profile = (tmp_path / "profile").as_uri()
    command = ["soffice", "--headless", f"-env:UserInstallation={profile}", "--convert-to", "pdf", "--outdir"]
    subprocess.run(
        [*command, tmp_path, tmp_path / "one.docx", tmp_path / "long.docx"],
        check=True,
        capture_output=True,
        timeout=180,
    )
    pages = {}
    for name in ("one", "long"):
        done = subprocess.run(["pdftotext", "-layout", tmp_path / f"{name}.pdf", "-"], capture_output=True, check=True)
        pages[name] = [" ".join(page.split()) for page in done.stdout.decode().split("\f")[:-1]]

    if which != "stationery":
        assert len(pages["one"]) == 1
    count = len(pages["long"])
    assert count >= 2
    for number, page in enumerate(pages["long"], start=1):
        assert f"Page {number} of {count}" in page
        assert (letter.draft_mark in page) is (given.draft_mark is not None)
    identity = " ".join(letter.continuation.split())
    assert identity not in pages["long"][0]
    assert all(
        page.startswith((identity, letter.draft_mark, "Harrowmere Hand Clinic, stationery"))
        for page in pages["long"][1:]
    )
    assert all(identity in page for page in pages["long"][1:])
