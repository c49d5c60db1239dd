"""The outcome sheet: what became of every row, and every query and error with its column and what mends it."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import sqlalchemy as sa
import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from letterkit.bulk.files import hidden, sync_folder
from letterkit.bulk.intake import issues_of
from letterkit.bulk.ledger import in_order, reading, runs, settings_of
from letterkit.bulk.rows import Issue
from letterkit.bulk.where import Headings

NAME = "outcome.xlsx"
_ROWS = (("Row", 10), ("Reference", 18), ("Outcome", 22), ("In this run", 14), ("Version", 8), ("Queries", 8),
         ("Errors", 8), ("Files", 44))  # fmt: skip
_ISSUES = (("Row", 10), ("Reference", 18), ("Kind", 9), ("Column", 24), ("Cell", 14), ("What", 70),
           ("Remedy", 60))  # fmt: skip
_LIVE = ("=", "+", "-", "@", "\t", "\r", "\n", "\0")  # what a spreadsheet program may take for the start of a formula
_LONGEST = 32_000  # characters of a cell; the format's own limit is 32,767


@dataclass(frozen=True, slots=True)
class Line:
    """What became of one row."""

    place: str
    reference: str
    outcome: str  # drafted, drafted with queries, refused, duplicate
    news: str
    version: int
    queries: int
    files: tuple[str, ...]
    issues: tuple[Issue, ...]
    sort: str

    @property
    def errors(self) -> int:
        """How many errors stand in the way."""
        return sum(issue.kind == "error" for issue in self.issues)


@dataclass(slots=True)
class Totals:
    """How many rows came to what; `new` are letters that this run made."""

    rows: int = 0
    drafted: int = 0
    queried: int = 0
    refused: int = 0
    duplicates: int = 0
    new: int = 0

    def add(self, line: Line) -> None:
        """Count a row."""
        self.rows += 1
        self.drafted += line.outcome == "drafted"
        self.queried += line.outcome == "drafted with queries"
        self.refused += line.outcome == "refused"
        self.duplicates += line.outcome == "duplicate"
        self.new += line.news in {"new", "new version"}


def _line(row: sa.Row[Any], headings: Headings) -> Line:
    def told(text: str) -> list[Issue]:
        return [replace(each, cell=headings.cell(row.place, each.column)) for each in issues_of(text)]

    own = told(row.row_issues)
    if row.fate in {"duplicate", "conflict", "refused"}:
        outcome = "duplicate" if row.fate == "duplicate" else "refused"
        return Line(row.place, row.reference or "", outcome, "", 0, 0, (), tuple(own), "")
    issues = (*own, *told(row.issues))
    if row.state != "drafted":
        return Line(row.place, row.reference or "", "refused", "", 0, row.queries, (), issues, "")
    outcome = "drafted with queries" if row.queries else "drafted"
    news = (
        "nothing new"
        if row.fate == "unchanged"
        else "made again"
        if row.again
        else "new"
        if row.version == 1
        else "new version"
    )
    made = tuple(json.loads(row.files))
    return Line(row.place, row.reference or "", outcome, news, row.version, row.queries, made, issues, row.sort)


def lines(url: str, run_id: str) -> Iterator[Line]:
    """What became of every row of a run, in the sheet's order."""
    with reading(url) as connection:
        headings = Headings.of(settings_of(connection, run_id))
    for block in in_order(url, run_id):
        for row in block:
            yield _line(row, headings)


def current_files(url: str, run_id: str, folder: Path) -> Iterator[str]:
    """The files that stand after a run: its letters in their last version, its print runs, and the outcome sheet."""
    with reading(url) as connection:
        number = connection.execute(sa.select(runs.c.number).where(runs.c.id == run_id)).scalar_one()
    yield from dict.fromkeys(name for line in lines(url, run_id) for name in line.files)
    yield from sorted(path.name for path in folder.glob(f"print-run.{number}.*"))
    if (folder / NAME).is_file():
        yield NAME


class _Sheet:
    """A worksheet written row by row; every text as text, whatever it begins with."""

    def __init__(self, sheet: Worksheet, columns: tuple[tuple[str, int], ...], bold: Format, quoted: Format) -> None:
        self._sheet, self._quoted = sheet, quoted
        self._row = 0
        for at, (name, width) in enumerate(columns):
            sheet.set_column(at, at, width)
            sheet.write_string(0, at, name, bold)
        sheet.freeze_panes(1, 0)

    def write(self, *cells: str | int) -> None:
        """Write one row."""
        self._row += 1
        for at, cell in enumerate(cells):
            if isinstance(cell, int):
                self._sheet.write_number(self._row, at, cell)
            elif cell:
                # Saved as CSV, a text such as '-5' or '+ve' would be taken for a formula: the mark of a quoted text
                # says to spreadsheet programs that it is none.
                live = cell.startswith(_LIVE)
                self._sheet.write_string(self._row, at, cell[:_LONGEST], self._quoted if live else None)

    def finish(self, columns: int) -> None:
        """Let the rows be filtered."""
        self._sheet.autofilter(0, 0, max(self._row, 1), columns - 1)


def write(url: str, run_id: str, folder: Path, day: str) -> Totals:
    """Write the outcome sheet of a run into its folder, whole or not at all; gives the totals."""
    aside = hidden(folder) / "aside" / f"{os.getpid()}-{NAME}"
    aside.parent.mkdir(parents=True, exist_ok=True)
    totals = Totals()
    options = {
        "constant_memory": True,
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "tmpdir": str(aside.parent),
    }
    with xlsxwriter.Workbook(str(aside), options) as book:
        book.set_properties(
            {"title": "Outcome of a bulk run", "created": datetime.fromisoformat(day).replace(tzinfo=UTC)}
        )
        bold, quoted = book.add_format({"bold": True}), book.add_format({"quote_prefix": True})
        every = _Sheet(book.add_worksheet("Outcome"), _ROWS, bold, quoted)
        see = _Sheet(book.add_worksheet("Queries and errors"), _ISSUES, bold, quoted)
        for line in lines(url, run_id):
            totals.add(line)
            every.write(line.place, line.reference, line.outcome, line.news, line.version, line.queries, line.errors,
                        "\n".join(line.files))  # fmt: skip
            for issue in line.issues:
                see.write(line.place, line.reference, issue.kind, issue.column, issue.cell, issue.message, issue.remedy)
        every.finish(len(_ROWS))
        see.finish(len(_ISSUES))
    with aside.open("rb") as file:
        os.fsync(file.fileno())
    aside.replace(folder / NAME)
    sync_folder(folder)
    return totals
