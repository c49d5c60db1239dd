"""Rules about the earlier visit: a side or a digit that was another one then."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date

from letterkit.catalogue.model import Polarity
from letterkit.consistency.lookups import entry, number, opening
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.findings.facts import EarlierFact, Fact
from letterkit.findings.sides import Side
from letterkit.findings.values import Quantity

_OTHER: Mapping[Side, Side] = {"right": "left", "left": "right"}
_SIDES_APART = 0.2  # hands that differ by less say nothing when they change places (common practice, no source)
_SAME = 0.1
# Nodes, cords and worn joints come in one digit after another; a new one beside an old one is no slip.
_SPREADING = frozenset({
    "heberdens_nodes", "bouchards_nodes", "bony_swelling", "dupuytren_nodule", "dupuytren_cord", "pretendinous_cord",
    "rheumatoid_nodules", "joint_tenderness", "synovitis", "swelling", "fusiform_swelling",
})  # fmt: skip


def _written(day: str) -> str:
    known = date.fromisoformat(day)
    return f"{known.day} {known:%B} {known.year}"


def _latest(case: Case) -> Mapping[tuple[str, Side | None, str | None, str], EarlierFact]:
    """The latest earlier record of each place."""
    return {each.place: each for each in sorted(case.facts.earlier, key=lambda one: one.date)}


def _then(case: Case) -> Iterator[EarlierFact]:
    """The latest earlier records that departed from normal."""
    for each in _latest(case).values():
        if each.polarity is Polarity.ABNORMAL:
            yield each


def _departs(case: Case, item: str, side: Side | None, site: str | None) -> tuple[Fact, ...]:
    return tuple(fact for fact in case.abnormal(item, side=side) if fact.site == site)


def _abnormal_then(case: Case, item: str, side: Side | None, sites: Iterable[str | None]) -> bool:
    found = set(sites)
    return any(each.item == item and each.side == side and each.site in found for each in _then(case))


def _unmentioned(case: Case, item: str, side: Side | None, site: str | None) -> bool:
    return not any(fact.site == site for fact in case.of(item, side=side))


@rule(
    "side-differs-from-earlier",
    QueryClass.CONTRADICTORY,
    asks="{what} is recorded. On {day} the same was recorded on the {then}, of which nothing is said now. Is the side "
    "right?",
    settle="Correct the side of the finding or of the earlier value, or record what the other side showed.",
    source="common practice, no source",
)
def side_differs_from_earlier(case: Case) -> Iterator[Hit]:
    """A finding seldom leaves one hand for the same place of the other without a word about the first."""
    for before in _then(case):
        if before.side is None:
            continue
        other = _OTHER[before.side]
        found = _departs(case, before.item, other, before.site)
        if not found or not _unmentioned(case, before.item, before.side, before.site):
            continue
        if _abnormal_then(case, before.item, other, [before.site]):
            continue
        words = {"what": opening(entry(found[0], case)), "day": _written(before.date), "then": before.side}
        yield Hit(found[:1], words=words)


@rule(
    "digit-differs-from-earlier",
    QueryClass.CONTRADICTORY,
    asks="{what} is recorded. On {day} the same was recorded for the {then} on that side, of which nothing is said "
    "now. Which digit is meant?",
    settle="Correct the digit of the finding or of the earlier value, or record what the earlier digit showed.",
    source="common practice, no source",
)
def digit_differs_from_earlier(case: Case) -> Iterator[Hit]:
    """A follow-up of one digit that speaks only of its neighbour is more often a slip than a new illness."""
    for before in _then(case):
        site = case.catalogue.sites[before.site] if before.site else None
        if site is None or site.digit is None or before.item in _SPREADING:
            continue
        if not _unmentioned(case, before.item, before.side, before.site):
            continue
        alike = {other.slug for other in case.catalogue.sites.values() if other.row == site.row and other is not site}
        found = tuple(fact for fact in case.abnormal(before.item, side=before.side) if fact.site in alike)
        if not found or _abnormal_then(case, before.item, before.side, (fact.site for fact in found)):
            continue
        words = {"what": opening(entry(found[0], case)), "day": _written(before.date),
                 "then": case.catalogue.digits[site.digit].name}  # fmt: skip
        yield Hit(found[:1], words=words)


def _pair(facts: Iterable[Fact | EarlierFact]) -> dict[Side, float]:
    return {fact.side: fact.value.number for fact in facts if fact.side and isinstance(fact.value, Quantity)}


def _close(one: float, other: float) -> bool:
    return abs(one - other) <= _SAME * max(abs(one), abs(other))


@rule(
    "sides-exchanged-since-earlier",
    QueryClass.UNUSUAL,
    asks="{right} and {left} are recorded, and on {day} the two sides were the other way round. This can be right; "
    "were the sides exchanged?",
    settle="Confirm the two figures, or exchange them.",
    source="common practice, no source",
)
def sides_exchanged_since_earlier(case: Case) -> Iterator[Hit]:
    """Two hands that clearly differ seldom change places; two columns of a form do."""
    latest = _latest(case)
    if not latest:
        return
    for fact in case.facts.facts:
        if fact.side != "right" or number(fact) is None:
            continue
        other = next((each for each in case.of(fact.item, side="left") if each.place[2:] == fact.place[2:]), None)
        item, _, site, mode = fact.place
        before = [latest[place] for place in ((item, "right", site, mode), (item, "left", site, mode))
                  if place in latest]  # fmt: skip
        then, now = _pair(before), _pair([fact, *([other] if other else [])])
        if other is None or len(then) + len(now) < 4:  # noqa: PLR2004 - both sides at both visits
            continue
        apart = abs(now["right"] - now["left"]) > _SIDES_APART * max(now.values())
        if apart and _close(now["right"], then["left"]) and _close(now["left"], then["right"]):
            words = {"right": opening(entry(fact, case)), "left": entry(other, case),
                     "day": _written(max(each.date for each in before))}  # fmt: skip
            yield Hit((fact, other), words=words)
