"""The table of measurements: right and left side by side, what is expected and what was measured before."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, NormalRange, Place
from letterkit.findings.facts import EarlierFact, Fact
from letterkit.findings.values import Arc, Quantity, Value
from letterkit.letter.display import short_date
from letterkit.letter.model import Cell, Table
from letterkit.prose.words import capital, rounded
from letterkit.summary.statement import Measurement

_UNITS = {"deg": "degrees", "s": "seconds", "score": ""}
_COMPARATORS = {"<": "less than ", ">": "more than ", "<=": "at most ", ">=": "at least ", "": ""}


def _unit(item: Item) -> str:
    unit = "deg" if item.unit is None else item.unit
    return _UNITS.get(unit, unit)


def _label(row: Measurement, catalogue: Catalogue) -> str:
    """What a row measures, where, how and in which unit: 'Ring finger pulp, two-point discrimination (mm)'."""
    item = catalogue.items[row.item]
    words = (item.doctor.subject or item.name).removeprefix("the ")
    if row.mode:
        words = f"{row.mode} {words}"
    if row.site and (len(item.sites) > 1 or item.doctor.place is not Place.SIDE):
        words = f"{catalogue.sites[row.site].name}, {words}"
    unit = _unit(item)
    return capital(f"{words} ({unit})" if unit else words)


def _value(value: Value) -> str:
    """A measured value as recorded: a table keeps the recorded precision, prose does not."""
    match value:
        case Quantity():
            return _COMPARATORS[value.comparator] + rounded(value.number, 1)
        case Arc() if value.from_deg < 0:
            return f"{rounded(-value.from_deg, 1)} hyperextension to {rounded(value.to_deg, 1)}"
        case Arc():
            return f"{rounded(value.from_deg, 1)} to {rounded(value.to_deg, 1)}"
        case _:
            return ""


def _cell(fact: Fact | None) -> Cell:
    return Cell(_value(fact.value), (fact.id,)) if fact else Cell("not recorded")


def _bounds(expected: NormalRange) -> str:
    low = None if expected.low is None else rounded(expected.low, 1)
    high = None if expected.high is None else rounded(expected.high, 1)
    if low is not None and high is not None:
        return low if low == high else f"{low} to {high}"
    return f"up to {high}" if high is not None else f"{low} or more"


def _expected(item: Item) -> str:
    if item.expected is None:
        return ""
    if item.expected_from is None:
        return _bounds(item.expected)
    start = item.expected_from.high if item.expected_from.high is not None else 0
    return f"{rounded(start, 1)} to {item.expected.low or item.expected.high:g}"


def _before(right: Sequence[EarlierFact], left: Sequence[EarlierFact]) -> str:
    """All earlier values, by side, oldest first, each with its date."""
    told = []
    for side, facts in (("right", right), ("left", left)):
        values = [f"{_value(fact.value)} on {short_date(date.fromisoformat(fact.date))}" for fact in facts]
        if values:
            told.append(f"{side} {', '.join(values)}")
    return "; ".join(told)


def measurement_table(rows: Sequence[Measurement], catalogue: Catalogue) -> Table | None:
    """The table of measurements, or None where there are none. Columns without any entry are left out."""
    if not rows:
        return None
    items = [catalogue.items[row.item] for row in rows]
    expected = [_expected(item) for item in items]
    before = [_before(row.earlier_right, row.earlier_left) for row in rows]
    header = ["Measurement", "Right", "Left"]
    header += ["Expected"] if any(expected) else []
    header += ["Earlier"] if any(before) else []
    lines = []
    for row, usual, earlier in zip(rows, expected, before, strict=True):
        cells = [Cell(_label(row, catalogue)), _cell(row.right), _cell(row.left)]
        cells += [Cell(usual)] if any(expected) else []
        cells += [Cell(earlier)] if any(before) else []
        lines.append(tuple(cells))
    return Table(
        caption="Measurements",
        description="Each row is one measurement, with the right side, the left side and what is expected.",
        header=tuple(header),
        rows=tuple(lines),
    )


def expected_sources(rows: Sequence[Measurement], catalogue: Catalogue) -> tuple[str, ...]:
    """The published sources of the expected ranges that the table shows, each once, in the order of the table."""
    found: dict[str, None] = {}
    for row in rows:
        item = catalogue.items[row.item]
        for expected in (item.expected, item.expected_from):
            if expected is not None:
                found[expected.source] = None
    return tuple(found)
