"""The mapping file beside a sheet: what its column names could not say by themselves, in the secretary's own hand."""

from __future__ import annotations

import codecs
import json
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal, cast

from letterkit.bulk.cells import DateOrder
from letterkit.bulk.columns import (
    Field,
    ItemColumn,
    Target,
    Unmatched,
    by_own_name,
    fields,
    folded,
    match,
    target_name,
    target_words,
)
from letterkit.bulk.where import letters
from letterkit.catalogue import catalogue
from letterkit.errors import InvalidInput, Problem

_DATES = ("refuse", "day first", "month first")
_SIDES = ("column", "row")
# Parts of an encounter that cannot stand without one of their fields.
_NEEDED = (
    ("visit", "visit.date", "the date of the visit"),
    ("recipient", "recipient.name", "the name of the recipient"),
    ("author", "author.name", "the name of the clinician"),
    ("clinic", "clinic.name", "the name of the clinic"),
)
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
        """Each column's name with what it is read as: in words, and as a mapping file names it."""
        return tuple(
            (name, "not used" if target is None else f"{target_words(target)} ({target_name(target)})")
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


@dataclass(frozen=True, slots=True)
class ColumnRead:
    """How one column is read. With `fault` its name does not say it well enough; `meant` is then what it may hold.

    `how` is: name, synonym, chosen (in the mapping), ignored, nameless, unknown (nothing like it is known) or unclear.
    """

    at: int
    name: str
    target: Target | None
    how: Literal["name", "synonym", "chosen", "ignored", "nameless", "unknown", "unclear"]
    fault: str = ""
    meant: tuple[str, ...] = ()


def _read(at: int, name: str, mapping: SheetMapping) -> ColumnRead:
    plain, name = folded(name), name.strip()
    if plain in mapping.ignore:
        return ColumnRead(at, name, None, "ignored")
    if not plain and not name:
        return ColumnRead(at, name, None, "nameless")
    chosen = mapping.columns.get(plain)
    try:
        target = match(name if chosen is None else chosen)
    except Unmatched as error:
        return ColumnRead(at, name, None, "unclear" if error.known else "unknown", str(error), error.meant)
    if chosen is not None:
        return ColumnRead(at, name, target, "chosen")
    return ColumnRead(at, name, target, "name" if by_own_name(name, target) else "synonym")


def read_columns(names: Sequence[str], mapping: SheetMapping) -> tuple[ColumnRead, ...]:
    """How each column of these names is read, or why it is not."""
    found = [_read(at, name, mapping) for at, name in enumerate(names)]
    taken: dict[object, str] = {}
    for each in found:
        if each.target is None:
            continue
        target = each.target
        key = target.path if isinstance(target, Field) else (*target.place, target.qualifier)
        if key in taken:
            fault = f"holds the same as {taken[key]!r}; ignore one of them in the mapping file"
            found[each.at] = replace(each, how="unclear", fault=fault)
        taken[key] = each.name
    targets = [each.target for each in found]
    places = {target.place for target in targets if isinstance(target, ItemColumn) and target.qualifier is None}
    for each in found:
        part = each.target
        if isinstance(part, ItemColumn) and part.qualifier is not None and part.place not in places:
            fault = f"has no column for {catalogue().items[part.item].name} itself beside it"
            found[each.at] = replace(each, how="unclear", fault=fault)
    return tuple(found)


def plan(names: Sequence[str], mapping: SheetMapping) -> Plan:
    """How the columns of these names are read. Raises `ColumnsUnmatched` naming each that stays unclear."""
    found = read_columns(names, mapping)
    unclear = [each for each in found if each.fault]
    if unclear:
        problems = tuple(Problem(f"column {letters(each.at)} {each.name!r}", each.fault) for each in unclear)
        raise ColumnsUnmatched(problems, tuple(each.name for each in unclear))
    return Plan(tuple(each.name for each in found), tuple(each.target for each in found), mapping)


def missing(found: Sequence[ColumnRead], mapping: SheetMapping) -> tuple[str, ...]:
    """What no row can be drafted without and no column holds, in words."""
    paths = {each.target.path for each in found if isinstance(each.target, Field)} | set(mapping.defaults)
    told: list[str] = []
    if not paths & {"patient.name.family", "patient.name.text"}:
        told.append("No column holds the patient's family name, or the whole name. Every letter needs one.")
    for part, needed, words in _NEEDED:
        beside = sorted(path for path in paths if path.startswith(f"{part}.") and path != needed)
        if beside and needed not in paths:
            there = " or ".join(fields()[path].words for path in beside)
            told.append(f"No column holds {words}. It is needed where there is {there}.")
    return tuple(told)


def _quoted(text: str) -> str:
    """A text as TOML has it; JSON writes the same but for one character."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def mapping_text(mapping: SheetMapping, names: Sequence[str]) -> str:
    """A mapping file that says this; `names` are the columns' own, so that it reads as the sheet does."""
    own = {folded(name): name.strip() for name in reversed(names)}
    lines = ["# How the columns of this sheet are read, where their names do not say it."]
    lines += [f"dates = {_quoted(mapping.dates)}", f"findings_side = {_quoted(mapping.findings_side)}"]
    lines += [f"{key} = {_quoted(value)}" for key in ("sheet", "encoding") if (value := getattr(mapping, key))]
    ignored = ", ".join(_quoted(own.get(each, each)) for each in sorted(mapping.ignore))
    lines += [f"ignore = [{ignored}]", "", "[columns]"]
    lines += [f"{_quoted(own.get(key, key))} = {_quoted(value)}" for key, value in mapping.columns.items()]
    lines += ["", "[defaults]", *(f"{_quoted(key)} = {_quoted(value)}" for key, value in mapping.defaults.items()), ""]
    return "\n".join(lines)


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
