"""Sheets: a workbook in, its progress, and what became of every row, those that need a person on top."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import PurePath
from typing import Annotated, Any

from fastapi import APIRouter, File, Form, Query, UploadFile
from starlette.requests import Request
from starlette.responses import FileResponse, Response

from letterkit.bulk import READERS
from letterkit.bulk.corrections import Correction, load_corrections
from letterkit.bulk.looking import look
from letterkit.bulk.mapping import SheetMapping
from letterkit.bulk.outcome import Line
from letterkit.errors import InvalidInput
from letterkit.records.audit import Act
from letterkit.records.errors import NotStored
from letterkit.records.store import Doing, now
from letterkit.service.pages.matching import RunId
from letterkit.service.pages.page import PageRoute, Running, Viewer, go, page
from letterkit.service.problems import Refusal
from letterkit.service.runs import SUFFIXES, Asked, Given, Progress
from letterkit.service.state import Service, The

router = APIRouter(prefix="/sheets", route_class=PageRoute, include_in_schema=False)
_SHOWN = 2000  # rows of the table; the outcome sheet has all
_RECENT = 20
_CHUNK = 1 << 20
_LONGEST_NAME = 100
_PRINTED = "print-run."
_DOCX = "application/vnd.openxmlformats-officedocument.wordprocessingml.document"
_FORMATS = ("docx", "pdf")


@dataclass(frozen=True, slots=True)
class Kept:
    """A sheet that was given in before."""

    id: str
    name: str
    by: str
    at: datetime | None
    state: str
    drafted: int
    need: int
    begun: bool


@dataclass(frozen=True, slots=True)
class Shown:
    """A row of the table. `number` is that of the row in the sheet, None where it cannot be corrected here."""

    line: Line
    number: int | None
    corrections: Sequence[Correction]


_FINE = 2  # the first rank that needs nobody


def _rank(line: Line) -> int:
    """Rows that need a person come first: those refused, then those with queries; rows that stand twice come last."""
    return 0 if line.outcome == "refused" else 1 if line.queries else 3 if line.outcome == "duplicate" else 2


def _kept(service: Service, run_id: str) -> Kept:
    given, begun = service.runs.given(run_id), service.runs.begun(run_id)
    progress = service.runs.progress(run_id) if begun else Progress(run_id, "waiting")
    lines = service.runs.lines(run_id) if progress.state == "done" else ()
    return Kept(
        run_id, given.name if given else "Sheet of another program", given.by if given else "",
        given.at if given else None, progress.state, sum(bool(line.files) for line in lines),
        sum(_rank(line) < _FINE for line in lines), begun,
    )  # fmt: skip


def _sheets(service: Service, viewer: Viewer, fault: str = "", status: int = 200) -> Response:
    recent = []
    for each in service.runs.recent(_RECENT):
        with suppress(NotStored):  # discarded by somebody else in this moment
            recent.append(_kept(service, each))
    values = {"viewer": viewer, "here": "sheets", "title": "Sheets", "suffixes": ", ".join(SUFFIXES)}
    return page("sheets.j2", {**values, "fault": fault, "recent": recent}, status)


@router.get("")
def sheets(viewer: Running, service: The) -> Response:
    """Where a workbook is given in, and those that were."""
    return _sheets(service, viewer)


@router.post("")
def give(
    request: Request, viewer: Running, service: The, sheet: Annotated[UploadFile | None, File()] = None,
    readers: Annotated[list[str] | None, Form()] = None, formats: Annotated[list[str] | None, Form()] = None,
) -> Response:  # fmt: skip
    """Keeps a sheet, and goes on to its columns; nothing is drafted yet."""
    name = PurePath((sheet.filename or "").replace("\\", "/")).name if sheet is not None else ""
    if sheet is None or not name:
        return _sheets(service, viewer, "Choose a file first.", 422)
    suffix = PurePath(name).suffix.lower()
    if suffix not in SUFFIXES:
        return _sheets(service, viewer, f"Give a file whose name ends in {', '.join(SUFFIXES)}.", 422)
    for_whom = tuple(each for each in READERS if each in (readers or ()))
    kinds = tuple(each for each in _FORMATS if each in (formats or ()))
    if not for_whom or not kinds:
        return _sheets(service, viewer, "Choose whom the letters are for, and Word or PDF.", 422)
    asked = Asked(suffix, kinds, for_whom, "docx" in kinds)
    run_id, folder = service.runs.new()
    path = folder / f"sheet{suffix}"
    try:
        with path.open("wb") as kept:
            while chunk := sheet.file.read(_CHUNK):
                kept.write(chunk)
        service.runs.keep_given(run_id, Given(name[:_LONGEST_NAME], viewer.shown, now(), asked))
        found = look(path, SheetMapping())
        service.records.note(Act(viewer.caller.id, "bulk.given", run_id, request_id=request.state.request_id))
    except InvalidInput as error:
        service.runs.drop(run_id)
        told = "; ".join(each.message for each in error.problems)
        return _sheets(service, viewer, f"{name[:_LONGEST_NAME]} {told}. Put it right and give it in again.", 422)
    except BaseException:
        service.runs.drop(run_id)
        raise
    if found is not None:
        return go(f"/sheets/{run_id}/columns")
    service.records.begin(run_id, "bulk.begun", Doing(viewer.caller.id, request.state.request_id))
    service.runs.begin(run_id, asked)
    return go(f"/sheets/{run_id}")


@router.post("/{run_id}/discard")
def discard(request: Request, viewer: Running, service: The, run_id: RunId) -> Response:
    """Removes a sheet of which no letter was asked for."""
    if service.runs.begun(run_id):
        raise Refusal("not-allowed", "Letters were drafted from this sheet; it is kept with them.")
    service.runs.drop(run_id)
    service.records.note(Act(viewer.caller.id, "bulk.discarded", run_id, request_id=request.state.request_id))
    return go("/sheets")


def number_of(place: str) -> int | None:
    """The number of a row from its place; None for a line of whole encounters."""
    kind, _, number = place.partition(" ")
    return int(number) if kind == "row" and number.isdigit() else None


def _printed(name: str) -> str:
    parts = name.removeprefix(_PRINTED).removesuffix(".docx").split(".")[1:]
    whose = "the patients’ copies" if "patient" in parts else "all letters"
    other = next((part for part in parts if part.isdigit()), "")
    return f"Print run of {whose}{f', other stationery ({other})' if other else ''}"


def sheet_page(service: Service, viewer: Viewer, run_id: str, *, status: int = 200, **more: Any) -> Response:
    """One run: how far it is and, once it is done, its rows; with `editor` one of them as it is being corrected."""
    progress = service.runs.progress(run_id)
    over = progress.state == "done"
    shown = over or (progress.state != "failed" and service.runs.standing(run_id))
    rows: list[Shown] = []
    prints: list[tuple[str, str]] = []
    if shown:
        corrections = load_corrections(service.runs.sheet(run_id))
        rows = [
            Shown(line, number_of(line.place), corrections.of(line.place))
            for line in sorted(service.runs.lines(run_id), key=_rank)
        ]
        names = [name for _, name in service.runs.results(run_id)] if over else []
        prints = [(name, _printed(name)) for name in names if name.startswith(_PRINTED)]
    outcomes = Counter(row.line.outcome for row in rows)
    values: dict[str, Any] = {
        "drafted": outcomes["drafted"], "queried": outcomes["drafted with queries"], "refused": outcomes["refused"],
        "twice": outcomes["duplicate"],
        "viewer": viewer, "here": "sheets", "title": "Sheet", "run": progress, "rows": rows[:_SHOWN],
        "more": max(0, len(rows) - _SHOWN), "prints": prints, "given": service.runs.given(run_id),
        "need": sum(_rank(row.line) < _FINE for row in rows),
        "has_columns": service.runs.sheet(run_id).suffix != ".jsonl", "editor": None, "done": None, "fault": "",
        "shown": shown, "over": over,
    }  # fmt: skip
    return page("sheet.j2", values | more, status)


@router.get("/{run_id}")
def sheet(
    viewer: Running, service: The, run_id: RunId, done: Annotated[int | None, Query(ge=1, le=10**7)] = None
) -> Response:
    """One run; with `done` it says what became of a row that was corrected."""
    if not service.runs.begun(run_id):
        return go(f"/sheets/{run_id}/columns")
    if service.runs.standing(run_id):
        service.runs.ready()  # whoever looks at what became of the rows is likely to correct one
    return sheet_page(service, viewer, run_id, done=done)


@router.get("/{run_id}/print/{name}")
def printed(viewer: Running, service: The, run_id: RunId, name: str) -> Response:  # noqa: ARG001 - the viewer is checked
    """A print run: every letter as it stands once, in order of recipient."""
    found = next((path for path, known in service.runs.results(run_id) if known == name), None)
    if found is None or not name.startswith(_PRINTED):
        raise Refusal("not-found")
    return FileResponse(found, media_type=_DOCX, filename=name)
