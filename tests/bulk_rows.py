"""Invented rows for the tests of bulk runs: a good row, and ways to write, run and read sheets."""

from __future__ import annotations

import csv
import html
import os
import re
import subprocess
import sys
import zipfile
from collections.abc import Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from unittest.mock import patch

from click.testing import CliRunner
from python_calamine import CalamineWorkbook

from letterkit.cli.main import cli

ROOT = Path(__file__).resolve().parents[1]
DAY = "2026-11-25"
BASE = {
    "Ref": "HHC-0500", "Title": "Mrs", "Forename": "Ottoline", "Surname": "Farrowby", "DOB": "1968-02-19", "Sex": "F",
    "NHS no": "999 000 0123", "Handedness": "R", "GP": "Dr E. Quillan", "Practice": "Larkfield Surgery",
    "Clinician": "Miss R. Calder", "Clinic": "Harrowmere Hand Clinic", "Date seen": "2026-11-20",
    "Complaint": "Numb hand at night", "Problem": "numb_hand", "Side": "R", "Phalen R": "neg", "Phalen L": "neg",
    "Tinel": "B/L neg", "APB R": "5", "APB L": "5", "Thenar wasting R": "absent", "Grip R (kg)": "27",
    "Grip L (kg)": "26", "Median sensation R": "normal", "Plan": "Review in eight weeks",
}  # fmt: skip


def rows(count: int, start: int = 0) -> Iterable[dict[str, str]]:
    """Rows that all can be drafted, of four recipients, each with a reference of its own."""
    for number in range(start, start + count):
        positive = number % 3 == 0
        yield BASE | {
            "Ref": f"HHC-{number:06d}", "Surname": f"Testby{number}", "GP": f"Dr {'ABCD'[number % 4]}. Quillan",
            "DOB": f"19{30 + number % 60}-0{1 + number % 9}-1{number % 9}", "Phalen R": "+" if positive else "neg",
            "Tinel": "R+ L-" if positive else "B/L neg", "Grip R (kg)": str(18 + number % 20),
        }  # fmt: skip


def write_csv(path: Path, given: Iterable[Mapping[str, str]], **options: str) -> Path:
    """A CSV of rows."""
    encoding, delimiter = options.get("encoding", "utf-8"), options.get("delimiter", ",")
    with path.open("w", encoding=encoding, newline="") as file:
        writer = csv.DictWriter(file, list(BASE), delimiter=delimiter, restval="")
        writer.writeheader()
        writer.writerows(given)
    return path


def command(*words: object) -> list[str]:
    """The command line of letterkit in this environment."""
    code = "from letterkit.cli.main import main; main()"
    return [sys.executable, "-c", code, *map(str, words)]


def environment() -> dict[str, str]:
    """The environment of a run: nothing of the caller's own settings."""
    return {name: value for name, value in os.environ.items() if not name.startswith("LETTERKIT")}


def _words(sheet: Path, out: Path, words: tuple[object, ...]) -> list[str]:
    readers = () if "--for" in words else ("--for", "doctor")
    return [str(word) for word in ("bulk", sheet, "--out", out, "--date", DAY, "--quiet", *readers, *words)]


def bulk(sheet: Path, out: Path, *words: object) -> subprocess.CompletedProcess[str]:
    """A finished bulk run, of the doctors' letters alone where nothing else is asked for.

    The command runs in this process, in a thread of its own, as in that of the tests a browser's event loop may be
    running; and it drafts in one process where the number does not matter.
    """
    given = _words(sheet, out, words if "--processes" in words else (*words, "--processes", 1))
    with patch.dict(os.environ, environment(), clear=True), ThreadPoolExecutor(1) as thread:
        begun = thread.submit(CliRunner().invoke, cli, given, prog_name="letterkit", catch_exceptions=False)
        done = begun.result()
    return subprocess.CompletedProcess(given, done.exit_code, done.stdout, done.stderr)


def bulk_process(sheet: Path, out: Path, *words: object, timeout: float = 240) -> subprocess.CompletedProcess[str]:
    """The same by a process of its own, as its users run it."""
    given = command(*_words(sheet, out, words))
    return subprocess.run(given, capture_output=True, text=True, timeout=timeout, check=False, env=environment())


def outcome(folder: Path) -> tuple[list[list[object]], list[list[object]]]:
    """The rows of the outcome sheet's two pages, without their headers."""
    book = CalamineWorkbook.from_path(folder / "outcome.xlsx")
    first, second = (book.get_sheet_by_index(at).to_python()[1:] for at in (0, 1))
    return first, second


def made(folder: Path) -> dict[str, bytes]:
    """Every file of a run but its own bookkeeping, with its bytes."""
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir()) if path.is_file()}


def printed_words(path: Path) -> str:
    """The words of a Word document's body, without headers and footers."""
    with zipfile.ZipFile(path) as archive:
        body = archive.read("word/document.xml").decode()
    return html.unescape(
        "\n".join("".join(re.findall(r"<w:t[^>]*>([^<]*)</w:t>", part)) for part in body.split("</w:p>"))
    )
