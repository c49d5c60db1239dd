"""A row of a sheet as an encounter: every cell put in its place, or named with what it holds and how to mend it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from letterkit.bulk.cells import CellProblem, Found, Raw, as_text, read_date, read_finding, shown, tidy
from letterkit.bulk.columns import Field, ItemColumn, fields, folded
from letterkit.bulk.mapping import Plan
from letterkit.catalogue import catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.findings.identifiers import NHS_NUMBER_SYSTEM
from letterkit.findings.sides import Sides, parse_sides

_PARTED = re.compile(r"\s*[;\r\n]+\s*")
_LINES = re.compile(r"\s*[,\r\n]+\s*")
_NO_ALLERGIES = {"none known", "nkda", "nka", "nil known", "no known allergies", "none", "nil"}
_NHS_DIGITS = re.compile(r"[\s-]+")


@dataclass(frozen=True, slots=True)
class Issue:
    """One thing for a person to see about a row: an error, a query, text left unread, or a note of a mended cell.

    `column` is the heading it stands under; `cell` where that is in the sheet, which only the outcome says.
    """

    kind: Literal["error", "query", "unread", "note"]
    column: str
    message: str
    remedy: str = ""
    cell: str = ""

    @property
    def where(self) -> str:
        """The heading with its cell, or with those of several."""
        cells = "cells" if ", " in self.cell else "cell"
        return f"{self.column}, {cells} {self.cell}" if self.cell else self.column

    def __str__(self) -> str:
        return f"{self.where}: {self.message}" if self.where else self.message

    @classmethod
    def error(cls, column: str, message: str) -> Issue:
        """An error from a message that says what is wrong, a semicolon, and what mends it."""
        wrong, _, remedy = message.partition("; ")
        return cls("error", column, wrong, remedy)


@dataclass(frozen=True, slots=True)
class Row:
    """A row made ready: its place in the sheet, the encounter, each finding's column, the note still to be read."""

    place: str
    encounter: dict[str, Any]
    origins: tuple[str, ...] = ()
    note: str | None = None
    issues: tuple[Issue, ...] = ()

    @property
    def refused(self) -> bool:
        """Whether a cell already stands in the way of a letter."""
        return any(issue.kind == "error" for issue in self.issues)


def _put(record: dict[str, Any], path: str, value: Any) -> None:
    *parents, last = path.split(".")
    for parent in parents:
        record = record.setdefault(parent, {})
    record[last] = value


def _side(text: str) -> Sides:
    side = parse_sides(text)
    if side not in {"left", "right", "both"}:
        raise CellProblem(f"{shown(text)} is not a side; write R, L or B/L")
    return side


def _nhs(text: str) -> str:
    if "e+" in text.casefold():
        raise CellProblem(
            f"{shown(text)} was shortened by a spreadsheet program; format the column as text and mend it"
        )
    return _NHS_DIGITS.sub(" ", text)


def _code(field: Field, text: str) -> str:
    code = field.codes.get(folded(text))
    if code is None:
        raise CellProblem(f"{shown(text)} is not allowed; allowed: {', '.join(dict.fromkeys(field.codes.values()))}")
    return code


def _parts(text: str) -> list[str]:
    return [part for part in _PARTED.split(text) if part]


def _identifier(record: dict[str, Any], system: str, value: str) -> None:
    record.setdefault("patient", {}).setdefault("identifier", []).append({"system": system, "value": value})


def _line(field: Field, text: str) -> str | list[str]:
    if field.path == "patient.name.given":
        return text.split()
    return [text] if field.path == "patient.name.prefix" else text


def _allergies(text: str) -> str | list[dict[str, str]]:
    return "none known" if text.casefold() in _NO_ALLERGIES else [{"agent": part} for part in _parts(text)]


def _flag(field: Field, text: str) -> str | bool:
    code = _code(field, text)
    return code == "yes" if field.path == "options.largePrint" else code


# How a text is put into the record, by the field's kind; dates, actions and identifiers are seen to below.
_READ: Mapping[str, Callable[[Field, str], Any]] = {
    "line": _line,
    "text": lambda _, text: text,
    "side": lambda _, text: _side(text),
    "code": _flag,
    "lines": lambda _, text: [line for line in _LINES.split(text) if line],
    "list": lambda _, text: _parts(text),
    "statements": lambda _, text: [{"text": part} for part in _parts(text)],
    "names": lambda _, text: [{"name": part} for part in _parts(text)],
    "number": lambda _, text: {"value": text},
    "allergies": lambda _, text: _allergies(text),
}


def _set_field(record: dict[str, Any], field: Field, value: str | float | date, plan: Plan) -> None:
    if field.kind == "date":
        _put(record, field.path, read_date(value, plan.mapping.dates).isoformat())
        return
    text = as_text(value)
    if field.kind == "actions":
        actor = field.path.removeprefix("plan.")
        record.setdefault("plan", []).extend({"text": part, "actor": actor} for part in _parts(text))
    elif field.kind == "nhs":
        _identifier(record, NHS_NUMBER_SYSTEM, _nhs(text))
    elif field.path == "patient.identifier.hospital":
        _identifier(record, "Hospital number", text)
    else:
        _put(record, field.path, _READ[field.kind](field, text))


class _Builder:
    """Puts the cells of one row together."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.record: dict[str, Any] = {}
        self.findings: list[dict[str, Any]] = []
        self.origins: list[str] = []
        self.unexamined: list[dict[str, Any]] = []
        self.issues: list[Issue] = []
        self.note: str | None = None
        self.qualifiers: list[tuple[ItemColumn, str, Any]] = []
        self.of_column: dict[tuple[object, ...], list[dict[str, Any]]] = {}

    def finding(self, column: ItemColumn, name: str, value: Any) -> None:
        item = catalogue().items[column.item]
        row_side = None
        if self.plan.mapping.findings_side == "row":
            row_side = self.record.get("reason", {}).get("side")
        if item.value is ValueKind.TEXT and isinstance(value, str) and column.side is not None:
            found = [Found(column.side, value)]
        else:
            found = read_finding(value, item, column.side, row_side)
        for each in found:
            record: dict[str, Any] = {"item": column.item}
            if each.side is not None:
                record["side"] = each.side
            if column.site:
                record["site"] = list(column.site) if isinstance(column.site, tuple) else column.site
            if each.untested:
                self.unexamined.append({**record, "declined": True} if each.declined else record)
                continue
            record["value"] = each.value
            if column.mode:
                record["mode"] = column.mode
            self.findings.append(record)
            self.origins.append(name)
            self.of_column.setdefault(column.place, []).append(record)

    def qualify(self) -> None:
        for column, name, value in self.qualifiers:
            owners = self.of_column.get(column.place, [])
            if not owners:
                item = catalogue().items[column.item].name
                self.issues.append(Issue.error(name, f"{shown(value)} stands without a result of {item}; "
                                               "give the result, or empty this cell"))  # fmt: skip
            number = column.qualifier in {"onsetS", "count", "sizeMm", "lengthCm", "angleDeg"}
            if number and isinstance(value, str):
                digits = re.fullmatch(r"(\d+(?:\.\d+)?)\s*(?:s|sec|secs|seconds|mm|cm|deg|°)?\.?", value.casefold())
                if digits is None:
                    self.issues.append(Issue.error(name, f"{shown(value)} is not a number; write the number alone"))
                    continue
                given: Any = float(digits[1])
            else:
                given = value if number else as_text(value)
            for owner in owners:
                owner[str(column.qualifier)] = given


def build(place: str, cells: Sequence[Raw], plan: Plan) -> Row | None:
    """The row at `place` as an encounter with all faults of its cells; None for an empty row."""
    builder = _Builder(plan)
    width = len(plan.targets)
    filled = False
    values: list[tuple[str, Any, Any]] = []
    for index, raw in enumerate(cells):
        name = plan.names[index] if index < width else ""
        try:
            value, stripped = tidy(raw)
        except CellProblem as error:
            filled = True
            if index >= width or plan.targets[index] is not None:
                builder.issues.append(Issue.error(name or f"column {index + 1}", str(error)))
            continue
        if value is None:
            continue
        if index >= width or (plan.targets[index] is None and not name):
            builder.issues.append(Issue.error(
                f"column {index + 1}", f"{shown(value)} stands under no column name; name the column or empty the cell"
            ))  # fmt: skip
            filled = True
            continue
        filled = True
        if stripped and plan.targets[index] is not None:
            builder.issues.append(Issue("note", name, "an apostrophe before the value was taken off"))
        if plan.targets[index] is not None:
            values.append((name, plan.targets[index], value))
    if not filled:
        return None
    _fill(builder, values)
    return _finished(place, builder)


def _fill(builder: _Builder, values: Sequence[tuple[str, Any, Any]]) -> None:
    given = {target.path for _, target, _ in values if isinstance(target, Field)}
    for path, text in builder.plan.mapping.defaults.items():
        if path not in given:
            values = [*values, ("the mapping file's defaults", fields()[path], text)]
    for name, target, value in sorted(values, key=lambda each: isinstance(each[1], ItemColumn)):
        try:
            if isinstance(target, ItemColumn):
                if target.qualifier is None:
                    builder.finding(target, name, value)
                else:
                    builder.qualifiers.append((target, name, value))
            elif target.kind == "note":
                builder.note = as_text(value)
            else:
                _set_field(builder.record, target, value, builder.plan)
        except CellProblem as error:
            builder.issues.append(Issue.error(name, str(error)))
    builder.qualify()


def _finished(place: str, builder: _Builder) -> Row:
    record = builder.record
    patient = record.get("patient", {})
    if "address" in patient and "line" not in patient["address"]:
        patient["address"].setdefault("line", [])
    examination: dict[str, Any] = {"findings": builder.findings}
    if builder.unexamined:
        examination["notExamined"] = builder.unexamined
    record["examination"] = examination
    return Row(place, record, tuple(builder.origins), builder.note, tuple(builder.issues))
