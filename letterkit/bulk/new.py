"""A workbook to fill in: the columns for one presenting problem, with drop-downs, examples and a page of notes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import xlsxwriter
from xlsxwriter.worksheet import Worksheet

from letterkit.bulk.columns import Field, fields
from letterkit.bulk.columns import match as read_column
from letterkit.catalogue import Catalogue, catalogue
from letterkit.catalogue.model import Item, Polarity, PresentingProblem, ValueKind
from letterkit.errors import InvalidInput, Problem

_ROWS = 1000  # rows with drop-downs
_LONGEST_LIST = 255  # characters of a drop-down; the format's limit
_MOST_COLUMNS = 80  # of findings; items that find no room are named in the notes
_SIDES = ("R", "L")


@dataclass(frozen=True, slots=True)
class _Column:
    """One column of the new workbook."""

    name: str
    choices: tuple[str, ...] = ()
    sample: str = ""
    about: str = ""
    date: bool = False


def _choices(item: Item, known: Catalogue) -> tuple[str, ...]:
    match item.value:
        case ValueKind.PRESENCE:
            return ("present", "absent", "equivocal", "not tested")
        case ValueKind.TEST:
            return ("positive", "negative", "equivocal", "not tested")
        case ValueKind.STATE:
            return (*(state.slug for state in known.scales[item.scale or ""].states), "not tested")
        case ValueKind.MRC:
            return ("0", "1", "2", "3", "4-", "4", "4+", "5", "not tested")
        case _:
            return ()


def _sample(item: Item, known: Catalogue) -> str:
    match item.value:
        case ValueKind.PRESENCE:
            return "absent"
        case ValueKind.TEST:
            return "negative"
        case ValueKind.STATE:
            return next(
                state.slug for state in known.scales[item.scale or ""].states if state.polarity is Polarity.NORMAL
            )
        case ValueKind.MRC:
            return "5"
        case _:
            return ""


def _about(item: Item) -> str:
    match item.value:
        case ValueKind.QUANTITY:
            return f"A number from {item.minimum:g} to {item.maximum:g} ({item.unit}); several parted by semicolons"
        case ValueKind.ARC:
            return "From the most extended to the most flexed position, such as 0-90, in degrees"
        case ValueKind.TEXT:
            return "In words"
        case ValueKind.MRC:
            return "Medical Research Council grade"
        case _:
            return "One of the list, or empty where nothing was recorded"


def _wanted(problem: PresentingProblem, known: Catalogue) -> list[Item]:
    """The items looked for in the problem: first those whose normal result tells most, then by weight."""
    slugs = dict.fromkeys(slug for negative in problem.negatives for slug in negative.items)
    bearing = [item for item in known.items.values() if problem.slug in item.bears_on]
    slugs |= dict.fromkeys(item.slug for item in sorted(bearing, key=lambda item: -item.weight))
    return [known.items[slug] for slug in slugs]


def _count(item: Item) -> int:
    return max(1, len(item.sites)) * (len(_SIDES) if item.paired else 1)


def _chosen(problem: PresentingProblem, known: Catalogue) -> tuple[list[Item], list[Item]]:
    """The items that get columns, in the order of the examination, and those that find no room."""
    room = _MOST_COLUMNS
    chosen: list[Item] = []
    left_out: list[Item] = []
    for item in _wanted(problem, known):
        if _count(item) <= min(room, _MOST_COLUMNS // 4):
            chosen.append(item)
            room -= _count(item)
        else:
            left_out.append(item)
    order = list(known.items)
    return sorted(chosen, key=lambda item: order.index(item.slug)), left_out


def _item_columns(problem: PresentingProblem, known: Catalogue) -> Iterator[_Column]:
    for item in _chosen(problem, known)[0]:
        for site in item.sites if len(item.sites) > 1 else ("",):
            for side in _SIDES if item.paired else ("",):
                unit = (
                    f" ({item.unit})" if item.value is ValueKind.QUANTITY and item.unit not in {"score", None} else ""
                )
                place = f" {known.sites[site].name}" if site else ""
                name = f"{item.name}{place} {side}".strip() + unit
                read_column(name)  # a column that the reading of sheets would not know is a fault of ours
                yield _Column(name, _choices(item, known), _sample(item, known), _about(item))


def _field_column(field: Field, problem: PresentingProblem) -> _Column:
    name = field.names[0][:1].upper() + field.names[0][1:]
    choices = tuple(dict.fromkeys(field.codes.values())) or (("R", "L", "B/L") if field.kind == "side" else ())
    sample = problem.slug if field.path == "reason.problem" else field.sample
    return _Column(name, choices, sample, field.about, date=field.kind == "date")


def columns(problem: PresentingProblem, known: Catalogue) -> tuple[_Column, ...]:
    """The columns of a new workbook."""
    general = [_field_column(field, problem) for field in fields().values() if field.sample]
    before = next(at for at, field in enumerate(f for f in fields().values() if f.sample) if field.path == "diagnoses")
    return (*general[:before], *_item_columns(problem, known), *general[before:])


def _header(sheet: Worksheet, made: tuple[_Column, ...], bold: object) -> None:
    for at, column in enumerate(made):
        sheet.write_string(0, at, column.name, bold)
        sheet.set_column(at, at, max(12, min(len(column.name) + 2, 36)))
    sheet.freeze_panes(1, 1)


def _notes(problem: PresentingProblem, known: Catalogue) -> Iterator[str]:
    yield f"Encounters for: {problem.name}"
    yield "One row for each visit. Only the first sheet is read; the examples are for looking at."
    yield "Leave a cell empty where nothing was recorded. 'not tested' says that something was not examined."
    yield "Dates are written YYYY-MM-DD. A date that could be two days, such as 03/04/2026, is refused, never guessed."
    yield "Each finding has a column for the right (R) and one for the left (L). A side is never guessed."
    yield "Several diagnoses or lines of the plan in one cell are parted by semicolons."
    yield "Columns may be deleted, and others added: letterkit catalogue WORD lists what can be recorded."
    yield "A column is named after an item, with its site and side, such as: PIP joint movement ring finger R."
    if left_out := _chosen(problem, known)[1]:
        names = ", ".join(item.name for item in left_out)
        yield f"Also looked for in this problem, to be added as columns where they are recorded: {names}."


def write_workbook(problem: str, path: Path) -> int:
    """Write the workbook for a presenting problem, named by slug, name or alias; gives the number of its columns.

    Raises `InvalidInput` for a problem that is not known.
    """
    known = catalogue()
    slug = known.problem_terms.get(problem.casefold())
    if slug is None:
        raise InvalidInput((Problem("problem", f"{problem!r} is not known; known: {', '.join(known.problems)}"),))
    wanted = known.problems[slug]
    made = columns(wanted, known)
    with xlsxwriter.Workbook(str(path), {"strings_to_formulas": False, "strings_to_urls": False}) as book:
        bold, day = book.add_format({"bold": True}), book.add_format({"num_format": "yyyy-mm-dd"})
        text = book.add_format({"num_format": "@"})  # keeps '4-' and '5/10' from being turned into dates
        sheet, examples, notes = (book.add_worksheet(name) for name in ("Encounters", "Examples", "Notes"))
        for each in (sheet, examples):
            _header(each, made, bold)
        for at, column in enumerate(made):
            sheet.set_column(at, at, max(12, min(len(column.name) + 2, 36)), day if column.date else text)
            if column.choices and len(",".join(column.choices)) <= _LONGEST_LIST:
                sheet.data_validation(1, at, _ROWS, at, {"validate": "list", "source": list(column.choices),
                                                         "error_type": "warning"})  # fmt: skip
            examples.write_string(1, at, column.sample)
        notes.set_column(0, 0, 40)
        notes.set_column(1, 1, 90)
        lines = list(_notes(wanted, known))
        for row, line in enumerate(lines):
            notes.write_string(row, 0, line, bold if row == 0 else None)
        for row, column in enumerate(made, len(lines) + 1):
            notes.write_string(row, 0, column.name)
            notes.write_string(row, 1, column.about)
    return len(made)
