"""What changed since an earlier visit: place by place, by how much, and beyond which published error.

A finding is new where the same item at the same place was recorded as expected before, and resolved where it is so now.
What was recorded at one of the two visits only is told as that, never as new or resolved.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Polarity, Qualifier, ValueKind
from letterkit.findings.facts import EarlierFact, Fact, Facts
from letterkit.findings.values import Arc, Grade, Quantity, Value
from letterkit.measures.change import GONIOMETER_ERROR_DEG, GONIOMETER_SOURCE, IMPORTANT_DIFFERENCES
from letterkit.measures.result import exact

_Key = tuple[str, str | None, str | None, str]
_QUESTIONNAIRES = {"dash_score": "DASH", "quickdash_score": "QuickDASH"}


class ChangeKind(StrEnum):
    """How a finding compares with the latest earlier record of the same place, in the order in which it is told."""

    NEW = "new"
    RESOLVED = "resolved"
    CHANGED = "changed"
    MEASURED = "measured"
    UNCHANGED = "unchanged"
    ONLY_NOW = "only now"
    ONLY_THEN = "only then"


@dataclass(frozen=True, slots=True)
class Threshold:
    """A published size that a change is held against: what it is called, in the unit of the value, and its source."""

    name: str
    size: float
    source: str
    error: bool  # measurement error, which a change exceeds; else a difference that matters, which a change reaches


@dataclass(frozen=True, slots=True)
class Change:
    """One comparison. `fact` or `before` is None where one visit has no record of the place.

    `amount` is now less then, in the unit of the item; for an arc it is that of its most flexed position, and
    `amount_from` that of its most extended one (less means straighter).
    """

    kind: ChangeKind
    fact: Fact | None
    before: EarlierFact | None
    amount: float | None = None
    amount_from: float | None = None
    threshold: Threshold | None = None

    @property
    def beyond(self) -> bool | None:
        """Whether the change exceeds the error, or reaches the difference, it is held against; None without one."""
        if self.threshold is None or self.amount is None:
            return None
        size = max(abs(self.amount), abs(self.amount_from or 0))
        return size > self.threshold.size if self.threshold.error else size >= self.threshold.size


def threshold_of(item: Item) -> Threshold | None:
    """What is published for changes of an item, or None. Angles have the usual error of a goniometer."""
    if item.value is ValueKind.ARC or (item.value is ValueKind.QUANTITY and item.unit == "deg"):
        return Threshold("usual error of a goniometer", GONIOMETER_ERROR_DEG, GONIOMETER_SOURCE.citation, error=True)
    known = IMPORTANT_DIFFERENCES.get(_QUESTIONNAIRES.get(item.slug, ""))
    if known is None:
        return None
    return Threshold("published minimal important difference", known.points, known.source.citation, error=False)


def _difference(now: float, then: float) -> float:
    return float(exact(now) - exact(then))


def _severity(fact: Fact) -> str | None:
    found = fact.qualifier(Qualifier.SEVERITY)
    return str(found) if found is not None else None


def _same(fact: Fact, before: EarlierFact) -> bool:
    return (fact.state, _comparable(fact.value), _severity(fact)) == (
        before.state, _comparable(before.value), before.severity
    )  # fmt: skip


def _degree_unknown(fact: Fact, before: EarlierFact) -> bool:
    """Whether a finding stays and only one of the two records says how severe it was: neither same nor changed."""
    same = (fact.state, _comparable(fact.value)) == (before.state, _comparable(before.value))
    return same and (_severity(fact) is None) != (before.severity is None)


def _comparable(value: Value) -> object:
    """What of a value counts: the mean of three readings and that mean alone are one value."""
    match value:
        case Grade():
            return value.rank
        case Quantity():
            return value.number, value.comparator
        case _:
            return value


def measured_change(fact: Fact, before: EarlierFact, item: Item) -> Change | None:
    """The change of a number; None where one of the two is only a bound, such as 'less than 5'."""
    now, then = fact.value, before.value
    if isinstance(now, Quantity) and isinstance(then, Quantity):
        if now.comparator or then.comparator:
            return None
        amount = _difference(now.number, then.number)
        return Change(ChangeKind.MEASURED, fact, before, amount, None, threshold_of(item))
    if isinstance(now, Arc) and isinstance(then, Arc):
        ends = _difference(now.to_deg, then.to_deg), _difference(now.from_deg, then.from_deg)
        return Change(ChangeKind.MEASURED, fact, before, *ends, threshold_of(item))
    return None


def _compare(fact: Fact, before: EarlierFact, item: Item) -> Change | None:
    if item.is_measured:
        return measured_change(fact, before, item)
    if item.value is ValueKind.TEXT:
        return None  # two texts can be set beside each other, not compared
    was, now = before.polarity is Polarity.ABNORMAL, fact.polarity is Polarity.ABNORMAL
    if was and now:
        if _degree_unknown(fact, before):
            return None
        kind = ChangeKind.UNCHANGED if _same(fact, before) else ChangeKind.CHANGED
        return Change(kind, fact, before)
    if now and before.polarity is Polarity.NORMAL:
        return Change(ChangeKind.NEW, fact, before)
    if was and fact.polarity is Polarity.NORMAL:
        return Change(ChangeKind.RESOLVED, fact, before)
    if before.polarity is Polarity.NORMAL and fact.polarity is Polarity.NORMAL:
        return None
    return None if _same(fact, before) else Change(ChangeKind.CHANGED, fact, before)


def latest_earlier(earlier: Iterable[EarlierFact]) -> Mapping[_Key, EarlierFact]:
    """The latest earlier record of each place; none where two records of that day disagree."""
    found: dict[_Key, EarlierFact] = {}
    disputed: set[_Key] = set()
    for each in sorted(earlier, key=lambda one: one.date):
        known = found.get(each.place)
        if known is not None and known.date == each.date:
            if (known.state, _comparable(known.value)) != (each.state, _comparable(each.value)):
                disputed.add(each.place)
        else:
            disputed.discard(each.place)
        found[each.place] = each
    return {place: each for place, each in found.items() if place not in disputed}


def changes(facts: Facts, catalogue: Catalogue) -> tuple[Change, ...]:
    """Every comparison that the record allows, kind by kind, each in the order of the trade.

    A place with two entries that disagree is not compared. What was recorded at one visit only is named where the whole
    record of the earlier visit is known (`facts.earlier_visit`).
    """
    before = latest_earlier(facts.earlier)
    if not before:
        return ()
    disputed = {fact.place for pair in facts.opposed() for fact in pair}
    found: list[Change] = []
    told: set[_Key] = set()
    for fact in facts.facts:
        then = before.get(fact.place)
        if fact.place in disputed or fact.place in told:
            continue
        told.add(fact.place)
        if then is not None:
            compared = _compare(fact, then, catalogue.items[fact.item])
            found += [compared] if compared else []
        elif facts.earlier_visit and fact.polarity is Polarity.ABNORMAL:
            found.append(Change(ChangeKind.ONLY_NOW, fact, None))
    if facts.earlier_visit:
        recorded = {fact.place for fact in facts.facts}
        found += [
            Change(ChangeKind.ONLY_THEN, None, then)
            for place, then in before.items()
            if place not in recorded and then.date == facts.earlier_visit and then.polarity is Polarity.ABNORMAL
        ]
    order = list(ChangeKind)
    return tuple(sorted(found, key=lambda each: order.index(each.kind)))
