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
from letterkit.prose.phrases import arc_words
from letterkit.prose.places import site_phrases, where
from letterkit.prose.words import capital, listed, rounded
from letterkit.summary.change import Change, measured_change
from letterkit.summary.statement import Measurement, PlaceRef

_UNITS = {"deg": "degrees", "s": "seconds", "score": ""}
_COMPARATORS = {"<": "less than ", ">": "more than ", "<=": "at most ", ">=": "at least ", "": ""}


def _unit(item: Item) -> str:
    unit = "deg" if item.unit is None else item.unit
    return _UNITS.get(unit, unit)


def _label(rows: Sequence[Measurement], catalogue: Catalogue) -> str:
    """What rows measure, where, how and in which unit: 'Pulp of the ring finger, two-point discrimination (mm)'."""
    row = rows[0]
    item = catalogue.items[row.item]
    words = (item.doctor.subject or item.name).removeprefix("the ")
    if row.mode:
        words = f"{row.mode} {words}"
    if row.site and (len(item.sites) > 1 or item.doctor.place is not Place.SIDE):
        places = where((PlaceRef(each.site, None) for each in rows), catalogue)
        words = f"{listed(site_phrases(places, catalogue)).removeprefix('the ')}, {words}"
    unit = _unit(item)
    return capital(f"{words} ({unit})" if unit else words)


def _together(rows: Sequence[Measurement]) -> list[list[Measurement]]:
    """Neighbouring rows of one item with the same values on both sides and nothing earlier are one row."""
    groups: list[list[Measurement]] = []
    for row in rows:
        last = groups[-1][-1] if groups else None
        if last is not None and _alike(last, row):
            groups[-1].append(row)
        else:
            groups.append([row])
    return groups


def _alike(a: Measurement, b: Measurement) -> bool:
    def values(row: Measurement) -> tuple[Value, Value]:
        return (row.right.value if row.right else None, row.left.value if row.left else None)

    earlier = any((a.earlier_right, a.earlier_left, b.earlier_right, b.earlier_left))
    return (a.item, a.mode) == (b.item, b.mode) and values(a) == values(b) and not earlier


def _value(value: Value, item: Item) -> str:
    """A measured value with the item's precision."""
    match value:
        case Quantity():
            return _COMPARATORS[value.comparator] + rounded(value.number, max(item.decimals, 1))
        case Arc() if value.from_deg < 0:
            return arc_words(value).removeprefix("from ")
        case Arc():
            return f"{rounded(value.from_deg, 1)} to {rounded(value.to_deg, 1)}"
        case _:
            return ""


def _cell(facts: Sequence[Fact | None], item: Item) -> Cell:
    recorded = [fact for fact in facts if fact is not None]
    if not recorded:
        return Cell("not recorded")
    return Cell(_value(recorded[0].value, item), tuple(fact.id for fact in recorded))


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


def _before(right: Sequence[EarlierFact], left: Sequence[EarlierFact], item: Item) -> str:
    """All earlier values, by side, oldest first, each with its date."""
    told = []
    for side, facts in (("right", right), ("left", left)):
        values = [f"{_value(fact.value, item)} on {short_date(date.fromisoformat(fact.date))}" for fact in facts]
        if values:
            told.append(f"{side} {', '.join(values)}")
    return "; ".join(told)


def _size(change: Change, item: Item) -> str:
    """By how much one side changed: '32 more, beyond 5'; for an arc the change of its two ends."""
    decimals = max(item.decimals, 1)
    ends = [(change.amount or 0, "more", "less")]
    if change.amount_from is not None:
        ends = [(-change.amount_from, "straighter", "less straight"), (change.amount or 0, "more", "less")]
    told = [f"{rounded(abs(size), decimals)} {up if size > 0 else down}" for size, up, down in ends if size]
    if not told:
        return "none"
    limit = change.threshold
    if limit is None:
        return ", ".join(told)
    verdict = ("beyond", "within") if limit.error else ("reaches", "below")
    return f"{', '.join(told)} ({verdict[0] if change.beyond else verdict[1]} {rounded(limit.size, 1)})"


def _change(row: Measurement, item: Item) -> str:
    """The change since the latest earlier value, by side."""
    told = []
    for side, now, before in (("right", row.right, row.earlier_right), ("left", row.left, row.earlier_left)):
        if now is not None and before and (change := measured_change(now, before[-1], item)):
            told.append(f"{side} {_size(change, item)}")
    return "; ".join(told)


def measurement_table(rows: Sequence[Measurement], catalogue: Catalogue) -> Table | None:
    """The table of measurements, or None where there are none. Columns without any entry are left out."""
    if not rows:
        return None
    groups = _together(rows)
    items = [catalogue.items[group[0].item] for group in groups]
    expected = [_expected(item) for item in items]
    before = [_before(g[0].earlier_right, g[0].earlier_left, item) for g, item in zip(groups, items, strict=True)]
    changed = [_change(group[0], item) for group, item in zip(groups, items, strict=True)]
    header = ["Measurement", "Right", "Left"]
    header += ["Expected"] if any(expected) else []
    header += ["Earlier"] if any(before) else []
    header += ["Change"] if any(changed) else []
    lines = []
    for group, item, usual, earlier, change in zip(groups, items, expected, before, changed, strict=True):
        right, left = _cell([row.right for row in group], item), _cell([row.left for row in group], item)
        cells = [Cell(_label(group, catalogue)), right, left]
        cells += [Cell(usual)] if any(expected) else []
        cells += [Cell(earlier)] if any(before) else []
        cells += [Cell(change)] if any(changed) else []
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
