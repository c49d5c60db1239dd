"""`letterkit letterhead check`: what it says of a letterhead, what it refuses, and its sample."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import docx
import pytest
from click.testing import CliRunner

from letterkit.cli.main import cli
from letterkit.render.docx.inspection import inspect
from letterkit.render.docx.styles import STYLE_NAMES

PLAIN = Path(__file__).parents[2] / "templates" / "letterheads" / "plain.docx"


def _run(*arguments: object):
    return CliRunner().invoke(cli, ["letterhead", "check", *map(str, arguments)])


@pytest.fixture
def stationery(tmp_path) -> Path:
    """A clinic's own file: one header for all pages, a placeholder in the footer, words in the body."""
    document = docx.Document()
    document.add_paragraph("Old body that gives way")
    section = document.sections[0]
    section.header.paragraphs[0].text = "Harrowmere Hand Clinic"
    section.footer.paragraphs[0].text = "Registered in Harrowmere {{page}}"
    target = tmp_path / "clinic.docx"
    document.save(target)
    return target


def _with(path: Path, part: str, data: bytes) -> None:
    with zipfile.ZipFile(PLAIN) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts[part] = data
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    path.write_bytes(packed.getvalue())


def test_the_plain_letterhead_lacks_nothing():
    found = inspect(PLAIN)

    assert found.own == STYLE_NAMES
    assert found.added == ()
    assert all(line.endswith("added: nothing") for line in found.furniture)
    assert found.notes == ()


def test_what_a_clinics_file_lacks_is_named(stationery):
    result = _run(stationery)

    assert result.exit_code == 0, result.output
    said = " ".join(result.output.split())
    assert "clinic.docx can be used as a letterhead." in said
    assert "Letter Caution" in said.partition("added to a letter:")[2]
    assert "Title" in said.partition("added to a letter:")[0]
    assert (
        "further pages: its own header and footer, with {{page}}; added: the draft mark in the header, the patient's identity in the header"
        in said
    )
    assert "The body of the file (5 words) gives way to the letter." in said
    assert "One header serves all pages" in said


def test_own_and_added_styles_are_all_styles_of_a_letter(stationery):
    found = inspect(stationery)

    assert {*found.own, *found.added} == set(STYLE_NAMES)
    assert not set(found.own) & set(found.added)


def test_what_is_added_stands_in_a_letter(stationery, tmp_path):
    sample = tmp_path / "new" / "sample.docx"

    assert _run(stationery, "--sample", sample).exit_code == 0
    made = docx.Document(sample)
    names = {paragraph.style.name for paragraph in made.paragraphs}
    assert {"Title", "Heading 1", "Letter Caution", "List Bullet", "Letter Signature"} <= names
    header = "\n".join(paragraph.text for paragraph in made.sections[0].header.paragraphs)
    assert "Harrowmere Hand Clinic" in header
    assert "SAMPLE, Person (Mx)" in header
    assert "SAMPLE - not a letter about anybody" in header
    assert "Old body" not in "\n".join(paragraph.text for paragraph in made.paragraphs)


def test_a_logo_without_alternative_text_is_pointed_out(stationery):
    document = docx.Document(stationery)
    pixel = bytes.fromhex(
        "89504e470d0a1a0a0000000d49484452000000010000000108060000001f15c4890000000d49444154789c63f8cfc0f01f00050001ff89"
        "993d1d0000000049454e44ae426082"
    )
    document.sections[0].header.paragraphs[0].add_run().add_picture(io.BytesIO(pixel), docx.shared.Cm(1))
    document.save(stationery)

    assert any("alternative text" in note for note in inspect(stationery).notes)


def test_a_file_that_could_do_harm_is_refused_with_its_reason(tmp_path):
    bad = tmp_path / "bad.docx"
    _with(bad, "word/vbaProject.bin", b"\x00")
    result = _run(bad, "--sample", tmp_path / "sample.docx")

    assert result.exit_code == 2
    assert "word/vbaProject.bin" in result.output
    assert "macro-free" in result.output
    assert not (tmp_path / "sample.docx").exists()


def test_an_unknown_placeholder_is_refused(stationery):
    document = docx.Document(stationery)
    document.sections[0].header.paragraphs[0].text = "{{patient_name}}"
    document.save(stationery)
    result = _run(stationery)

    assert result.exit_code == 2
    assert "{{patient_name}} is not a placeholder" in result.output


def test_a_missing_file_is_named():
    result = _run("no-such-file.docx")

    assert result.exit_code != 0
    assert "no-such-file.docx" in result.output
