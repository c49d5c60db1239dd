"""The mapping file beside a sheet: what its column names could not say by themselves, in the secretary's own hand."""

from __future__ import annotations

import codecs
import json
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal, cast

from letterkit.bulk.cells import DateOrder
from letterkit.bulk.columns import Field, ItemColumn, Target, Unmatched, fields, folded, match
from letterkit.errors import InvalidInput, Problem

_DATES = ("refuse", "day first", "month first")
_SIDES = ("column", "row")
_KEYS = ("dates", "findings_side", "sheet", "encoding", "ignore", "columns", "defaults")


@dataclass(frozen=True, slots=True)
class SheetMapping:
    """What the mapping file says. `findings_side` 'row' lets the row's own side stand for findings without one."""

    dates: DateOrder = "refuse"
    findings_side: Literal["column", "row"] = "column"
    sheet: str | None = None
    encoding: str | None = None
    ignore: frozenset[str] = frozenset()
    columns: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    defaults: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True, slots=True)
class Plan:
    """How each column is read: its name, and its target or None where it is ignored."""

    names: tuple[str, ...]
    targets: tuple[Target | None, ...]
    mapping: SheetMapping

    def lines(self) -> tuple[tuple[str, str], ...]:
        """Each column's name with what it is read as."""
        return tuple(
            (name, "ignored" if target is None else target.path if isinstance(target, Field) else str(target))
            for name, target in zip(self.names, self.targets, strict=True)
        )


class ColumnsUnmatched(InvalidInput):
    """Some columns could not be matched; `names` lists them, `problems` says why."""

    def __init__(self, problems: tuple[Problem, ...], names: tuple[str, ...] = ()) -> None:
        super().__init__(problems)
        self.names = names

    def __reduce__(self) -> tuple[Any, ...]:
        return (ColumnsUnmatched, (self.problems, self.names))


def mapping_path(sheet: Path) -> Path:
    """Where the mapping file of a sheet is kept: beside it, under its name."""
    return sheet.with_name(sheet.name + ".columns.toml")


def _texts(raw: Mapping[str, Any], key: str, name: str) -> dict[str, str]:
    table = raw.get(key, {})
    if not isinstance(table, dict) or not all(isinstance(value, str) for value in table.values()):
        raise InvalidInput((Problem(f"{name}: {key}", 'a table of texts, for example "Phal R" = "phalen_test right"'),))
    return table


def load_mapping(path: Path) -> SheetMapping:
    """The mapping in a file, or an empty one where there is no file. Raises `InvalidInput` naming key and remedy."""
    if not path.is_file():
        return SheetMapping()
    name = path.name
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise InvalidInput((Problem(name, f"not readable as TOML: {error}"),)) from None
    problems = [Problem(f"{name}: {key}", f"not known; known: {', '.join(_KEYS)}") for key in raw if key not in _KEYS]
    dates, side = raw.get("dates", "refuse"), raw.get("findings_side", "column")
    for key, value, allowed in (("dates", dates, _DATES), ("findings_side", side, _SIDES)):
        if value not in allowed:
            problems.append(Problem(f"{name}: {key}", f"{value!r} is not allowed; allowed: {', '.join(allowed)}"))
    ignore = raw.get("ignore", [])
    if not isinstance(ignore, list) or not all(isinstance(each, str) for each in ignore):
        problems.append(Problem(f"{name}: ignore", 'a list of column names, for example ["Slot"]'))
        ignore = []
    encoding = raw.get("encoding") or None
    try:
        codecs.lookup(str(encoding or "utf-8"))
    except LookupError:
        problems.append(Problem(f"{name}: encoding", f"{encoding!r} is not known; for example cp1250 or utf-8"))
    defaults = _texts(raw, "defaults", name)
    known = [path for path, each in fields().items() if each.kind != "note"]
    problems += [
        Problem(f"{name}: defaults", f"{each!r} is not a field; known: {', '.join(known)}")
        for each in defaults
        if each not in known
    ]
    if problems:
        raise InvalidInput(tuple(problems))
    return SheetMapping(
        dates=cast("DateOrder", dates), findings_side=cast("Literal['column', 'row']", side),
        sheet=raw.get("sheet") or None, encoding=encoding, ignore=frozenset(folded(each) for each in ignore),
        columns=MappingProxyType({folded(key): value for key, value in _texts(raw, "columns", name).items()}),
        defaults=MappingProxyType(defaults),
    )  # fmt: skip


def plan(names: Sequence[str], mapping: SheetMapping) -> Plan:
    """How the columns of these names are read. Raises `ColumnsUnmatched` naming each that stays unclear."""
    problems: list[Problem] = []
    unmatched: list[str] = []
    targets: list[Target | None] = []
    taken: dict[object, str] = {}
    for index, name in enumerate(names):
        target: Target | None = None
        plain = folded(name)
        if plain in mapping.ignore or (not plain and not name.strip()):
            targets.append(None)
            continue
        try:
            target = match(mapping.columns.get(plain, name))
        except Unmatched as error:
            problems.append(Problem(f"column {index + 1} {name.strip()!r}", str(error)))
            unmatched.append(name)
        if target is not None:
            key = target.path if isinstance(target, Field) else (*target.place, target.qualifier)
            if key in taken:
                problems.append(Problem(
                    f"column {index + 1} {name.strip()!r}",
                    f"holds the same as {taken[key]!r}; ignore one of them in the mapping file",
                ))  # fmt: skip
                unmatched.append(name)
            taken[key] = name.strip()
        targets.append(target)
    places = {target.place for target in targets if isinstance(target, ItemColumn) and target.qualifier is None}
    for name, target in zip(names, targets, strict=True):
        if isinstance(target, ItemColumn) and target.qualifier is not None and target.place not in places:
            problems.append(Problem(f"column {name.strip()!r}", f"has no column for {target.item} itself beside it"))
            unmatched.append(name)
    if problems:
        raise ColumnsUnmatched(tuple(problems), tuple(unmatched))
    return Plan(tuple(name.strip() for name in names), tuple(targets), mapping)


def skeleton(sheet: Path, problems: Sequence[Problem], names: Sequence[str]) -> str:
    """A mapping file to be filled in, with a line for each column that was not matched."""
    lines = [
        f"# How the columns of {sheet.name} are read, where their names do not say it.",
        "# A column is given what it holds: a field such as patient.birthDate, or an item with site and side, such as",
        '# "phalen_test right" or "pip_movement ring left". letterkit catalogue WORD finds an item.',
        "",
        "# Dates such as 03/04/2026 in this sheet: refuse, day first or month first.",
        'dates = "refuse"',
        "# Findings without a side: column (refused) or row (the side of the row's own side column).",
        'findings_side = "column"',
        "# Columns that are not for the letter, by name.",
        "ignore = []",
        "",
        "[columns]",
    ]
    for name in dict.fromkeys(names):
        lines += [f"# {problem}" for problem in problems if repr(name.strip()) in problem.path]
        lines.append(f'# {json.dumps(name.strip(), ensure_ascii=False)} = "..."')
    lines += ["", "[defaults]", '# The same for every row, for example "clinic.name" = "Harrowmere Hand Clinic".', ""]
    return "\n".join(lines)
