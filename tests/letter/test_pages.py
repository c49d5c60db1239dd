"""The letters of the demo cases on paper, as LibreOffice sets them: how many pages, and what stands first."""

from __future__ import annotations

import re
import shutil
import subprocess

import pytest
from pypdf import PdfReader

from letterkit import draft
from tests.conftest import DEMO_CASES


def as_wide_as_arial():
    """Whether the letters' typeface, or one whose letters are as wide, is there to be set; in a wider one pages run over."""
    answer = subprocess.run(["fc-match", "-f", "%{family}", "Arial"], capture_output=True, text=True, check=False)
    return answer.stdout.split(",")[0] in {"Arial", "Arimo", "Liberation Sans"}


pytestmark = [
    pytest.mark.libreoffice,
    pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed"),
    pytest.mark.skipif(
        shutil.which("fc-match") is None or not as_wide_as_arial(),
        reason="LibreOffice has no typeface as wide as Arial; install fonts-liberation",
    ),
]
CASES = {path.stem: path for path in DEMO_CASES}


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """The words of each page, by case; all letters in one start of the word processor."""
    folder = tmp_path_factory.mktemp("letters")
    for name, path in CASES.items():
        (folder / f"{name}.docx").write_bytes(draft(path.read_bytes()).render("docx"))
    command = [
        "soffice",
        f"-env:UserInstallation=file://{folder}/profile",
        "--headless",
        "--convert-to",
        "pdf",
        "--outdir",
    ]
    subprocess.run([*command, folder, *sorted(folder.glob("*.docx"))], check=True, capture_output=True, timeout=300)
    return {
        path.stem: [" ".join(page.extract_text().split()) for page in PdfReader(path).pages]
        for path in folder.glob("*.pdf")
    }


def without_spaces(text):
    """A page breaks lines where it likes; only the characters are certain."""
    return re.sub(r"\s", "", text)


def share_before(page, words):
    """How much of a page's words stands before the first of these words."""
    before = re.split(words, page, maxsplit=1)[0]
    assert before != page
    return len(before.split()) / len(page.split())


def test_every_letter_was_set(pages):
    assert set(pages) == set(CASES)


def test_the_letter_of_a_normal_examination_fits_one_page(pages):
    assert len(pages["normal_examination"]) == 1


def test_the_letter_of_ninety_findings_fits_two_pages(pages):
    assert len(pages["ninety_findings"]) <= 2


def test_no_letter_takes_more_than_two_pages(pages):
    assert {name: len(each) for name, each in pages.items() if len(each) > 2} == {}


@pytest.mark.parametrize("name", CASES)
def test_what_the_reader_is_asked_to_do_begins_in_the_first_third_of_page_one(pages, name):
    """A receiving doctor gives a letter half a minute and reads its first and last paragraphs."""
    assert share_before(pages[name][0], r"(?:Plan and r|R)equested actions") <= 1 / 3


@pytest.mark.parametrize("name", CASES)
def test_each_request_stands_on_page_one_before_the_findings(pages, name):
    encounter = draft(CASES[name].read_bytes()).encounter
    head = without_spaces(pages[name][0].split("Examination findings")[0])
    requests = [action.text for action in encounter.plan if action.actor == "recipient"]
    missing = [text for text in requests if without_spaces(text) not in head]
    assert missing == []
    if not requests:
        assert "Noactionisrequestedofyou." in head or "Noplanwassuppliedtothisletter." in head


@pytest.mark.parametrize("name", CASES)
def test_every_page_is_marked_as_a_draft_and_numbered_and_names_the_patient(pages, name):
    patient = draft(CASES[name].read_bytes()).encounter.patient.name
    family = patient.family.upper() if patient.family else patient.text
    for number, page in enumerate(pages[name], 1):
        assert page.startswith("DRAFT - not checked or approved by a clinician")
        assert family in page
        if len(pages[name]) > 1:
            assert f"Page {number} of {len(pages[name])}" in page


@pytest.mark.parametrize("name", CASES)
def test_every_sentence_of_the_findings_stands_on_paper(pages, name):
    paper = without_spaces("".join(pages[name]))
    # Page furniture may stand in the middle of a paragraph, so a sentence is looked for by its halves.
    for text, _ in draft(CASES[name].read_bytes()).sentences():
        words = text.split()
        halves = [without_spaces(" ".join(part)) for part in (words[: len(words) // 2], words[len(words) // 2 :])]
        assert halves[0] in paper or halves[1] in paper, text
