"""One row of a sheet, corrected in place: its cells to write in, and the correction kept beside the sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Annotated, TypeAlias

from fastapi import APIRouter
from fastapi import Path as PathOf
from starlette.requests import Request
from starlette.responses import Response

from letterkit.bulk.corrections import CorrectedSince, Corrections, correct, load_corrections
from letterkit.bulk.looking import Cell, row_at
from letterkit.bulk.mapping import ColumnRead, load_mapping, mapping_path, read_columns
from letterkit.bulk.outcome import Line
from letterkit.bulk.rows import Issue
from letterkit.records.audit import Act
from letterkit.records.errors import NotStored
from letterkit.records.store import now
from letterkit.service.pages.matching import Form, RunId
from letterkit.service.pages.page import PageRoute, Running, go, moment
from letterkit.service.pages.sheets import sheet_page
from letterkit.service.state import Service, The

router = APIRouter(prefix="/sheets", route_class=PageRoute, include_in_schema=False)
RowNumber: TypeAlias = Annotated[int, PathOf(ge=1, le=10**7)]
_LINE = 60  # characters: a longer text is written in an area


@dataclass(frozen=True, slots=True)
class Field:
    """A cell as it is written in. `theirs` is what somebody else made of it meanwhile."""

    at: int
    name: str
    value: str
    odd: str
    issues: tuple[Issue, ...]
    theirs: str | None

    @property
    def wide(self) -> bool:
        """Whether its text needs an area."""
        return len(self.value) > _LINE or "\n" in self.value


@dataclass(frozen=True, slots=True)
class Change:
    """A change of one cell that was made before, in words."""

    name: str
    before: str
    after: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Editor:
    """A row that is being corrected. `seen` is how many corrections it had when it was opened."""

    number: int
    seen: int
    fields: tuple[Field, ...]
    issues: tuple[Issue, ...]
    history: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class _Row:
    """A row with its columns, as the sheet has it and as corrected."""

    place: str
    path: Path
    read: Sequence[ColumnRead]
    cells: Sequence[Cell]
    corrections: Corrections

    def name(self, at: int) -> str:
        """What a column is called."""
        name = self.read[at].name if at < len(self.read) else ""
        return name or f"Column {at + 1}, which has no name"

    def text(self, at: int, corrections: int) -> str:
        """A cell after so many corrections of its row."""
        text = self.cells[at].text if at < len(self.cells) else ""
        for each in self.corrections.of(self.place)[:corrections]:
            text = each.cells.get(at, text)
        return text

    @property
    def width(self) -> int:
        """How many cells there are to write in."""
        return max(len(self.read), len(self.cells), 1 + max(self.corrections.cells(self.place), default=-1))

    def offered(self, at: int) -> bool:
        """Whether a cell is to be written in: it is used, or it stands where none may."""
        if at < len(self.read) and self.read[at].target is not None:
            return True
        named = at < len(self.read) and bool(self.read[at].name)
        return not named and bool(self.text(at, len(self.corrections.of(self.place))))


def _row(service: Service, run_id: str, number: int) -> _Row:
    """A row of a sheet. Raises NotStored where there is none."""
    path = service.runs.sheet(run_id)
    mapping = load_mapping(mapping_path(path))
    found = row_at(path, f"row {number}", mapping)
    if found is None:
        raise NotStored(f"row {number}: the sheet has no such row")
    header, cells = found
    return _Row(f"row {number}", path, read_columns(header, mapping), cells, load_corrections(path))


def _about(name: str, issue: Issue) -> bool:
    return bool(name) and (issue.column == name or name in issue.column.split(", "))


def _editor(
    service: Service, run_id: str, row: _Row, given: dict[int, str] | None = None, opened: int | None = None
) -> Editor:
    """The row to write in; `given` is what somebody wrote who opened it after so many corrections."""
    known = row.corrections.of(row.place)
    line: Line | None = next((each for each in service.runs.lines(run_id) if each.place == row.place), None)
    issues = tuple(each for each in (line.issues if line else ()) if each.kind != "note")
    fields = []
    for at in (at for at in range(row.width) if row.offered(at) or at in (given or {})):
        now_there = row.text(at, len(known))
        value, theirs = now_there, None
        if given is not None and at in given:
            before = row.text(at, len(known) if opened is None else opened)
            value = given[at] if given[at] != before else now_there
            theirs = now_there if now_there not in {before, value} else None
        odd = row.cells[at].odd if at < len(row.cells) and at not in row.corrections.cells(row.place) else ""
        name = row.name(at)
        fields.append(Field(at, name, value, odd, tuple(each for each in issues if _about(name, each)), theirs))
    history = tuple(
        Change(row.name(at), each.before.get(at, ""), text, each.by, datetime.fromisoformat(each.at))
        for each in known for at, text in each.cells.items()
    )  # fmt: skip
    number = int(row.place.removeprefix("row "))
    return Editor(number, len(known), tuple(fields), issues, history)


@router.get("/{run_id}/rows/{number}")
def row(viewer: Running, service: The, run_id: RunId, number: RowNumber) -> Response:
    """The sheet with the cells of one row to write in."""
    return sheet_page(service, viewer, run_id, editor=_editor(service, run_id, _row(service, run_id, number)))


@router.post("/{run_id}/rows/{number}")
def keep(
    request: Request, viewer: Running, service: The, run_id: RunId, number: RowNumber, form: Form
) -> Response:  # fmt: skip
    """Keeps what was changed of a row, and has that row drafted again."""
    found = _row(service, run_id, number)
    seen = form.get("seen", "")
    opened = int(seen) if isinstance(seen, str) and seen.isdigit() else 0
    given = {
        at: value.replace("\r\n", "\n")
        for at in range(found.width) if isinstance(value := form.get(f"cell-{at}"), str)
    }  # fmt: skip
    before = {at: found.text(at, opened) for at in given}
    changed = {at: text for at, text in given.items() if text != before[at]}

    def again(fault: str, status: int) -> Response:
        editor = _editor(service, run_id, _row(service, run_id, number), given, opened)
        return sheet_page(service, viewer, run_id, status=status, editor=editor, fault=fault)

    if not changed:
        return again("Nothing differs from what was there. Change a cell, or close the row.", 422)
    if not any((given | changed).values()):
        return again("A row cannot be emptied here. Take it out of the sheet, and give that in as a new one.", 422)

    def tell() -> None:
        service.records.note(
            Act(viewer.caller.id, "bulk.corrected", run_id, number, request_id=request.state.request_id)
        )

    try:
        at = now().isoformat(timespec="seconds")
        correct(found.path, found.place, opened, viewer.shown, at, changed, before, tell)
    except CorrectedSince as error:
        when = moment(datetime.fromisoformat(error.last.at))
        return again(
            f"{error.last.by} corrected this row on {when}, after you had opened it. What you wrote is kept below; "
            "where it differs from theirs, both are shown. Look at it, then save it over theirs, or close the row.",
            409,
        )  # fmt: skip
    service.runs.redraft(run_id)
    return go(f"/sheets/{run_id}?done={number}")
