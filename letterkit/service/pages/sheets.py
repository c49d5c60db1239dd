"""Sheets: a workbook in, its progress, and what became of every row, those that need a person on top."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, TypeAlias

from fastapi import APIRouter, Depends
from fastapi import Path as PathOf
from starlette.requests import Request
from starlette.responses import Response

from letterkit.bulk import ledger, outcome
from letterkit.bulk.files import hidden
from letterkit.bulk.outcome import Line
from letterkit.records.access import Scope
from letterkit.service.callers import needs
from letterkit.service.pages.page import PageRoute, Viewer, page
from letterkit.service.resources import LETTER_ID
from letterkit.service.runs import SUFFIXES
from letterkit.service.state import The

router = APIRouter(prefix="/sheets", route_class=PageRoute, include_in_schema=False)
_SHOWN = 2000  # rows of the table; the outcome sheet has all


def _runner(request: Request) -> Viewer:
    return Viewer(needs(Scope.BULK)(request))


Runner: TypeAlias = Annotated[Viewer, Depends(_runner)]


def _rank(line: Line) -> int:
    """Rows that need a person come first: those refused, then those with queries."""
    return 0 if line.outcome == "refused" else 1 if line.queries else 2


def rows_of(letters: Path) -> Sequence[Line]:
    """What became of each row of the last run in a folder of letters."""
    if not (hidden(letters) / "bulk.sqlite").is_file():
        return ()
    url = ledger.embedded_url(letters)
    try:
        with ledger.reading(url) as connection:
            place = ledger.find_folder(connection, str(letters.resolve()))
            found = ledger.latest(connection, place) if place is not None else None
        return sorted(outcome.lines(url, found.id), key=_rank) if found is not None else ()
    finally:
        ledger.engine(url).dispose()


@router.get("")
def sheets(viewer: Runner) -> Response:
    """Where a workbook is given in."""
    values = {"viewer": viewer, "here": "sheets", "title": "Sheets", "suffixes": ", ".join(SUFFIXES)}
    return page("sheets.j2", values)


@router.get("/{run_id}")
def sheet(viewer: Runner, service: The, run_id: Annotated[str, PathOf(pattern=LETTER_ID)]) -> Response:
    """One run: how far it is and, once it is done, its rows."""
    progress = service.runs.progress(run_id)
    rows: Sequence[Line] = ()
    files: Sequence[str] = ()
    if progress.state == "done":
        found = service.runs.results(run_id)
        files = [name for _, name in found]
        rows = rows_of(found[0][0].parent) if found else ()
    return page("sheet.j2", {
        "viewer": viewer, "here": "sheets", "title": "Sheet", "run": progress, "rows": rows[:_SHOWN],
        "more": max(0, len(rows) - _SHOWN), "prints": any(name.startswith("print-run") for name in files),
        "need": sum(_rank(line) < 2 for line in rows),  # noqa: PLR2004 - refused or with queries
    })  # fmt: skip
