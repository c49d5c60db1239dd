"""A print run: every letter in a section of its own, with its own patient on its pages and nobody else's."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
import zipfile
from datetime import date
from pathlib import Path

import docx
import pytest
import sqlalchemy as sa
from bulk_rows import bulk, bulk_process, made, rows, write_csv
from docx.enum.section import WD_SECTION
from lxml import etree

from letterkit.bulk.ledger import embedded_url, reading, runs
from letterkit.bulk.printrun import _Writer, write_print_runs
from letterkit.letter.model import BulletList, Letter, Lines, Paragraph, Properties, Sentence
from letterkit.render.docx import DocxRenderer, load

COUNT = 12


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    place = tmp_path_factory.mktemp("print")
    done = bulk_process(
        write_csv(place / "s.csv", rows(COUNT)), place / "out", "--print-run", "--for", "doctor,patient"
    )
    assert done.returncode < 2, done.stderr
    assert [Path(line).name for line in done.stdout.splitlines()[:-1]] == [
        "print-run.1.docx",
        "print-run.1.patient.docx",
    ]
    return place / "out"


def expected_order() -> list[int]:
    """Recipients in order of name, and a recipient's letters in the sheet's order."""
    return sorted(range(COUNT), key=lambda number: (number % 4, number))


@pytest.mark.parametrize("name", ["print-run.1.docx", "print-run.1.patient.docx"])
def test_every_letter_has_a_section_with_its_own_patient_on_every_page(folder: Path, name):
    document = docx.Document(str(folder / name))
    assert len(document.sections) == COUNT
    for number, section in zip(expected_order(), document.sections, strict=True):
        running = " ".join(paragraph.text for paragraph in section.header.paragraphs).upper()
        assert f"TESTBY{number}" in re.findall(r"TESTBY\d+", running)
        assert set(re.findall(r"TESTBY\d+", running)) == {f"TESTBY{number}"}
        assert section.start_type == WD_SECTION.ODD_PAGE
        assert section.different_first_page_header_footer
        words = " ".join(
            paragraph.text
            for block in (section.first_page_header, section.first_page_footer)
            for paragraph in block.paragraphs
        )
        assert "Testby" not in words


def test_the_bodies_are_those_of_the_letters_and_in_order(folder: Path):
    whole = [paragraph.text for paragraph in docx.Document(str(folder / "print-run.1.docx")).paragraphs]
    single = [
        paragraph.text
        for number in expected_order()
        for paragraph in docx.Document(str(folder / f"HHC-{number:06d}.docx")).paragraphs
    ]
    assert whole == single


def test_pages_are_counted_within_a_letter_and_comments_stay_out(folder: Path):
    with zipfile.ZipFile(folder / "print-run.1.docx") as archive:
        names = archive.namelist()
        assert len(names) == len(set(names))
        assert not [name for name in names if "comment" in name]
        text = archive.read("word/document.xml").decode()
        assert "comment" not in text
        assert text.count('<w:pgNumType w:start="1"') == COUNT
        footers = [archive.read(name).decode() for name in names if "footer" in name and name.endswith(".xml")]
        assert all("SECTIONPAGES" in each and "NUMPAGES" not in each for each in footers)
        for name in names:
            if name.endswith((".xml", ".rels")):
                etree.fromstring(archive.read(name))
        types = archive.read("[Content_Types].xml").decode()
        assert all(
            f'PartName="/{name}"' in types for name in names if name.startswith("word/") and name.endswith(".xml")
        )


def test_the_same_sheet_again_prints_nothing_a_second_time(folder: Path, tmp_path: Path):
    copy = tmp_path / "out"
    shutil.copytree(folder, copy)
    sheet = write_csv(tmp_path / "s.csv", rows(COUNT))
    first = tmp_path / "first"
    bulk(sheet, first, "--print-run")
    before = made(first)["print-run.1.docx"]
    done = bulk(sheet, first, "--print-run")
    assert "print-run" not in done.stdout
    assert made(first)["print-run.1.docx"] == before
    assert before == (folder / "print-run.1.docx").read_bytes()


def test_a_print_run_needs_docx(tmp_path: Path):
    done = bulk(write_csv(tmp_path / "s.csv", rows(1)), tmp_path / "out", "--print-run", "--format", "text")
    assert done.returncode == 2
    assert "add docx" in done.stderr


def letter(name: str, count: int) -> Letter:
    """A letter with numbered lists."""
    blocks = (
        Lines((name,), "identity"),
        *(BulletList(tuple((Sentence(f"{name} {each}"),) for each in range(3)), ordered=True) for _ in range(count)),
        Paragraph((Sentence(f"End of {name}."),)),
    )
    return Letter(Properties("Clinic letter", "A", "en-GB", date(2026, 11, 25), "Draft"), blocks, name, "DRAFT")


def letterhead(numbered: str = "") -> bytes:
    """A clinic's letterhead with a logo's place in words, and pages counted by its own field."""
    document = docx.Document()
    section = document.sections[0]
    section.header.paragraphs[0].text = "Harrowmere Hand Clinic {{continuation}}"
    section.footer.paragraphs[0].text = f"{{{{page}}}} {numbered}"
    saved = io.BytesIO()
    document.save(saved)
    return saved.getvalue()


def test_numbered_lists_begin_anew_in_every_letter_on_a_clinic_s_own_letterhead(tmp_path: Path):
    render = DocxRenderer(load(letterhead(), "clinic.docx"))
    names = []
    for number in range(3):
        (tmp_path / f"{number}.docx").write_bytes(render.render(letter(f"Patient {number}", 2)))
        names.append(f"{number}.docx")
    with zipfile.ZipFile(tmp_path / "all.docx", "w") as out:
        _Writer(tmp_path, names, out).write(date(2026, 11, 25))
    document = docx.Document(str(tmp_path / "all.docx"))
    used = [
        paragraph._p.pPr.numPr.numId.val
        for paragraph in document.paragraphs
        if paragraph._p.pPr is not None and paragraph._p.pPr.numPr is not None
    ]
    assert len(used) == 18
    assert len(set(used)) == 6
    numbering = document.part.numbering_part.element
    known = {number.numId: number for number in numbering.num_lst}
    assert all("startOverride" in etree.tostring(known[each]).decode() for each in set(used))
    for number, section in enumerate(document.sections):
        assert section.header.paragraphs[0].text == f"Harrowmere Hand Clinic Patient {number}"


@pytest.mark.libreoffice
@pytest.mark.skipif(
    not shutil.which("soffice") or not shutil.which("pdftotext"), reason="LibreOffice or poppler is not installed"
)
def test_a_word_processor_shows_each_patient_on_their_own_pages(folder: Path, tmp_path: Path):
    convert = [
        "soffice",
        f"-env:UserInstallation=file://{tmp_path / 'profile'}",
        "--headless",
        "--convert-to",
        "pdf",
        "--outdir",
        str(tmp_path),
    ]
    subprocess.run([*convert, str(folder / "print-run.1.docx")], check=True, capture_output=True, timeout=240)
    text = subprocess.run(
        ["pdftotext", "-layout", str(tmp_path / "print-run.1.pdf"), "-"], check=True, capture_output=True, text=True
    ).stdout
    pages = [page for page in text.split("\f") if page.strip()]
    seen: list[str] = []
    for page in pages:
        found = set(re.findall(r"TESTBY\d+", page.upper()))
        assert len(found) <= 1, found
        seen += found
    order = [f"TESTBY{number}" for number in expected_order()]
    assert [name for at, name in enumerate(seen) if at == 0 or seen[at - 1] != name] == order
    assert text.count("Page 1 of") == COUNT


def test_a_print_run_that_is_not_wanted_any_more_leaves_no_file(folder: Path):
    url, before = embedded_url(folder), set(made(folder))
    with reading(url) as connection:
        run_id = connection.execute(sa.select(runs.c.id).order_by(runs.c.number.desc())).scalar()
    (folder / "print-run.1.docx").rename(folder / "kept.docx")
    looks = iter(range(100))

    def still_wanted() -> None:
        if next(looks) == COUNT + 3:  # in the midst of the first document
            raise KeyError("not wanted")

    with pytest.raises(KeyError):
        write_print_runs(url, run_id, folder, ("doctor",), whole=True, still_wanted=still_wanted)
    assert set(made(folder)) == before - {"print-run.1.docx"} | {"kept.docx"}
    (folder / "kept.docx").rename(folder / "print-run.1.docx")
