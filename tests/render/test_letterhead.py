"""Letterheads that are refused, each with the part and the remedy named."""

from __future__ import annotations

import io
import pickle
import struct
import zipfile
from pathlib import Path

import pytest

from letterkit.errors import LetterheadError
from letterkit.render.docx import DocxRenderer, load, opc, renderer

_PLAIN = Path(__file__).parents[2] / "templates" / "letterheads" / "plain.docx"
_RELATIONSHIP = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/"
_MICROSOFT = "http://schemas.microsoft.com/office/2006/relationships/"
_DOCUMENT = b'<w:document xmlns:w="http://schemas.openxmlformats.org/wordprocessingml/2006/main">%s</w:document>'


def _part(name: str) -> bytes:
    with zipfile.ZipFile(_PLAIN) as archive:
        return archive.read(name)


def _related(kind: str, target: str, *, external: bool = False, base: str = _RELATIONSHIP) -> bytes:
    mode = ' TargetMode="External"' if external else ""
    entry = f'<Relationship Id="rIdX" Type="{base}{kind}" Target="{target}"{mode}/></Relationships>'
    return _part("word/_rels/document.xml.rels").replace(b"</Relationships>", entry.encode())


def _typed(extra: str, replaced: tuple[str, str] = ("", "")) -> bytes:
    types = (
        _part("[Content_Types].xml").decode().replace(*replaced)
        if replaced[0]
        else _part("[Content_Types].xml").decode()
    )
    return types.replace("</Types>", extra + "</Types>").encode()


_RELS = "word/_rels/document.xml.rels"
_MAIN = "wordprocessingml.document.main+xml"
_FIELD = (
    b'<w:body><w:p><w:r><w:fldChar w:fldCharType="begin"/></w:r><w:r><w:instrText> D</w:instrText></w:r>'
    b'<w:r><w:instrText>DEAUTO c:\\\\x </w:instrText></w:r><w:r><w:fldChar w:fldCharType="end"/></w:r></w:p></w:body>'
)
_BOMB = b'<!DOCTYPE d [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;">]>'

_HOSTILE = [
    pytest.param({"word/vbaProject.bin": b"\x00"}, "word/vbaProject.bin", "macro-free", id="macro part"),
    pytest.param(
        {
            "[Content_Types].xml": _typed(
                "",
                (
                    f"application/vnd.openxmlformats-officedocument.{_MAIN}",
                    "application/vnd.ms-word.document.macroEnabled.main+xml",
                ),
            )
        },
        "word/document.xml",
        "macro-free",
        id="docm content type",
    ),
    pytest.param(
        {_RELS: _related("vbaProject", "x.bin", base=_MICROSOFT), "word/x.bin": b"x"},
        "word/document.xml",
        "refers to macros",
        id="macro under another name",
    ),
    pytest.param(
        {_RELS: _related("image", "https://tracker.example/p.png", external=True)},
        "word/document.xml",
        "hyperlinks only",
        id="external picture",
    ),
    pytest.param(
        {"word/_rels/settings.xml.rels": _related("attachedTemplate", "http://evil.example/t.dotm", external=True)},
        "word/settings.xml",
        "hyperlinks only",
        id="remote template",
    ),
    pytest.param(
        {"word/_rels/header1.xml.rels": _related("oleObject", "http://x.example/o", external=True)},
        "word/header1.xml",
        "an embedded object",
        id="linked object in a header",
    ),
    pytest.param(
        {_RELS: _related("hyperlink", "file://server/share", external=True)},
        "word/document.xml",
        "allowed: addresses that begin",
        id="link to a share",
    ),
    pytest.param(
        {_RELS: _related("hyperlink", "javascript:alert(1)", external=True)},
        "word/document.xml",
        "allowed: addresses that begin",
        id="link that acts",
    ),
    pytest.param({"word/embeddings/oleObject1.bin": b"\xd0\xcf"}, "oleObject1.bin", "embedded object", id="OLE part"),
    pytest.param(
        {_RELS: _related("oleObject", "o.bin"), "word/o.bin": b"x"},
        "word/document.xml",
        "an embedded object",
        id="OLE under another name",
    ),
    pytest.param(
        {_RELS: _related("package", "o.xlsx"), "word/o.xlsx": b"x"},
        "word/document.xml",
        "an embedded file",
        id="embedded workbook",
    ),
    pytest.param(
        {_RELS: _related("aFChunk", "o.html"), "word/o.html": b"x"},
        "word/document.xml",
        "another format",
        id="embedded page",
    ),
    pytest.param({"word/activeX/activeX1.xml": b"<a/>"}, "word/activeX/activeX1.xml", "control", id="ActiveX"),
    pytest.param(
        {"word/document.xml": _DOCUMENT % _FIELD},
        "word/document.xml",
        "'DDEAUTO' runs or fetches",
        id="field cut in two",
    ),
    pytest.param({"word/styles.xml": _BOMB + b"<d>&b;</d>"}, "word/styles.xml", "document type", id="entities"),
    pytest.param(
        {
            "word/header1.xml": '<?xml version="1.0" encoding="UTF-16"?><!DOCTYPE d SYSTEM "http://x.example/"><d/>'.encode(
                "utf-16"
            )
        },
        "word/header1.xml",
        "document type",
        id="document type in UTF-16",
    ),
    pytest.param({"word/styles.xml": b"<w:styles>"}, "word/styles.xml", "not well-formed", id="broken XML"),
    pytest.param(
        {"word/media/big.bin": b"\0" * (opc.MAX_PART + 1)},
        "word/media/big.bin",
        "MiB unpacked",
        id="zip bomb, one part",
    ),
    pytest.param(
        {f"word/media/{n}.bin": b"\0" * opc.MAX_PART for n in range(4)},
        "word/media/",
        "together are over",
        id="zip bomb, many parts",
    ),
    pytest.param(
        {f"word/media/{n}": b"" for n in range(opc.MAX_PARTS)}, "letterhead", "allowed: at most", id="too many parts"
    ),
    pytest.param({"../evil.xml": b"<a/>"}, "../evil.xml", "leads out", id="name that leads out"),
    pytest.param({"word/document.xml": None}, "word/document.xml", "missing", id="no document part"),
    pytest.param({"[Content_Types].xml": None}, "[Content_Types].xml", "missing", id="no content types"),
    pytest.param({"word/styles.xml": None}, "word/styles.xml", "missing", id="styles that are not there"),
    pytest.param(
        {"word/theme/theme1.xml": None}, "word/theme/theme1.xml", "cannot have it", id="theme that is not there"
    ),
    pytest.param(
        {"word/document.xml": b'<w:document xmlns:w="http://purl.oclc.org/ooxml/wordprocessingml/main"/>'},
        "word/document.xml",
        "Strict",
        id="strict variant",
    ),
    pytest.param(
        {"[Content_Types].xml": _typed("", (_MAIN, "x+xml"))},
        "word/document.xml",
        "Word document",
        id="not a word-processing document",
    ),
    pytest.param(
        {
            "word/header1.xml": b"".join(_part("word/header1.xml").partition(b"{{")[:2])
            + b"patient_name}}</w:t></w:r></w:p></w:hdr>"
        },
        "word/header1.xml",
        "{{continuation}}, {{draft_mark}}, {{page}}",
        id="unknown placeholder",
    ),
]


@pytest.mark.parametrize(("changes", "part", "remedy"), _HOSTILE)
def test_a_letterhead_that_could_do_harm_is_refused(repacked, changes, part, remedy):
    with pytest.raises(LetterheadError) as refused:
        load(repacked(changes), "clinic.docx")
    assert str(refused.value).startswith("clinic.docx: ") or part == "letterhead"
    assert part in str(refused.value) or part == "letterhead"
    assert remedy in str(refused.value)
    assert "\n" not in str(refused.value)
    assert str(refused.value) == str(pickle.loads(pickle.dumps(refused.value)))


def test_the_unchanged_letterhead_of_these_cases_is_taken(repacked, letter):
    DocxRenderer(load(repacked({}))).render(letter)


@pytest.mark.parametrize("target", ["https://clinic.example", "mailto:desk@clinic.example", "tel:01632960001"])
def test_plain_hyperlinks_are_allowed(repacked, target):
    load(repacked({_RELS: _related("hyperlink", target, external=True)}))


@pytest.mark.parametrize("data", [b"", b"no zip at all", b"\xd0\xcf\x11\xe0" * 99, b"PK\x03\x04" + b"\0" * 40])
def test_what_is_no_zip_is_refused(data):
    with pytest.raises(LetterheadError, match=r"letterhead: not a DOCX file .*save the letterhead"):
        load(data)


def test_a_file_over_the_limit_is_refused():
    with pytest.raises(LetterheadError, match="allowed: at most 20 MiB"):
        load(b"\0" * (opc.MAX_FILE + 1))


def test_a_part_that_unpacks_to_more_than_it_declares_is_refused(repacked):
    data = bytearray(repacked({"word/media/lie.bin": b"\0" * 100_000}))
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        size = struct.pack("<I", archive.getinfo("word/media/lie.bin").file_size)
    with pytest.raises(LetterheadError, match="not a DOCX file"):
        load(bytes(data).replace(size, struct.pack("<I", 10)))


def test_a_part_that_stands_twice_is_refused(repacked):
    packed = io.BytesIO(repacked({}))
    with zipfile.ZipFile(packed, "a") as archive, pytest.warns(UserWarning, match="Duplicate name"):
        archive.writestr("word/document.xml", b"<a/>")
    with pytest.raises(LetterheadError, match="stands twice"):
        load(packed.getvalue())


def test_an_encrypted_part_is_refused(repacked):
    data = bytearray(repacked({}))
    directory = data.index(b"PK\x01\x02")
    data[directory + 8] |= 1
    with pytest.raises(LetterheadError, match="without a password"):
        load(bytes(data))


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(LetterheadError, match=r"none\.docx: the letterhead cannot be read: No such file"):
        load(tmp_path / "none.docx")


def test_a_path_is_taken_as_a_letterhead(tmp_path, letter):
    path = tmp_path / "clinic.docx"
    path.write_bytes(_PLAIN.read_bytes())
    head = load(path)
    assert head.name == "clinic.docx"
    assert DocxRenderer(head).render(letter) == renderer().render(letter)


def test_a_letterhead_survives_a_process_pool(letter):
    head = pickle.loads(pickle.dumps(load(_PLAIN)))
    assert DocxRenderer(head).render(letter) == renderer().render(letter)


def test_a_finished_letter_is_no_letterhead(letter):
    with pytest.raises(LetterheadError, match=r"finished letter.*may name a patient"):
        load(renderer().render(letter))


def test_a_template_is_taken_and_gives_documents(repacked, letter):
    made = DocxRenderer(
        load(repacked({"[Content_Types].xml": _typed("", (_MAIN, "wordprocessingml.template.main+xml"))}))
    ).render(letter)
    with zipfile.ZipFile(io.BytesIO(made)) as archive:
        assert _MAIN.encode() in archive.read("[Content_Types].xml")


def test_nothing_of_the_old_document_is_carried_along(repacked, letter):
    """Comments, pictures of the old body, data parts and the properties of its author stay behind."""
    made = DocxRenderer(
        load(
            repacked(
                {
                    _RELS: _related("comments", "comments.xml"),
                    "word/comments.xml": b"<c>Old patient</c>",
                    "customXml/item1.xml": b"<c>Old patient</c>",
                    "docProps/app.xml": b"<c>Old patient</c>",
                }
            )
        )
    ).render(letter)
    with zipfile.ZipFile(io.BytesIO(made)) as archive:
        assert not [
            name for name in archive.namelist() if "comments" in name or "customXml" in name or "app.xml" in name
        ]


def test_a_logo_in_the_header_is_carried_along(stationery, letter):
    docx = pytest.importorskip("docx")
    document = docx.Document(io.BytesIO(stationery()))
    picture = io.BytesIO(
        bytes.fromhex(
            "89504e470d0a1a0a0000000d4948445200000001000000010806000000 1f15c4890000000d49444154789c63f8cfc0f01f0005000"
            "1ff89993d1d0000000049454e44ae426082".replace(" ", "")
        )
    )
    document.sections[0].header.paragraphs[0].add_run().add_picture(picture, docx.shared.Cm(1))
    saved = io.BytesIO()
    document.save(saved)
    made = docx.Document(io.BytesIO(DocxRenderer(load(saved.getvalue())).render(letter)))
    for header in (made.sections[0].header, made.sections[0].first_page_header):
        assert [rel.reltype.endswith("/image") for rel in header.part.rels.values()] == [True]


def test_draft_placeholder_with_other_words_leaves_them_when_approved(stationery, approved):
    docx = pytest.importorskip("docx")
    head = load(stationery("Clinic {{draft_mark}} stationery"))
    made = docx.Document(io.BytesIO(DocxRenderer(head).render(approved)))
    assert [p.text for p in made.sections[0].first_page_header.paragraphs] == ["Clinic  stationery"]
