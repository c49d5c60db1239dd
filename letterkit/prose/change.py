"""Sentences about what changed since an earlier visit: what is new, what has resolved, and by how much figures moved.

Each names the side and the date it compares with, and keeps the ids of today's facts.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Place, Qualifier, ValueKind
from letterkit.findings.facts import EarlierFact, Fact
from letterkit.findings.values import Arc, Quantity
from letterkit.prose.naming import at_places, finding_words, joined, state_words, subject_words
from letterkit.prose.phrases import arc_words
from letterkit.prose.words import amount, capital, listed, long_date, rounded
from letterkit.prose.writer import Said
from letterkit.summary.change import Change, ChangeKind, Threshold
from letterkit.summary.statement import PlaceRef

_MOST = 4  # findings a sentence; a longer list is hard to hold in mind
_Entry = Fact | EarlierFact


def _item(change: Change, catalogue: Catalogue) -> Item:
    entry = change.fact or change.before
    assert entry is not None
    return catalogue.items[entry.item]


def _entry(change: Change) -> _Entry:
    entry = change.fact or change.before
    assert entry is not None
    return entry


def _at(change: Change, group: Iterable[Change], item: Item, catalogue: Catalogue) -> str:
    site = _entry(change).site
    places = sorted({_entry(each).side for each in group}, key=lambda side: side == "left")
    return at_places(item, [PlaceRef(site, side) for side in places], catalogue)


def _moved(change: Change, item: Item, at: str, catalogue: Catalogue) -> str:
    assert change.fact is not None
    assert change.before is not None
    then, now = state_words(change.before, item, catalogue), state_words(change.fact, item, catalogue)
    return f"{joined(subject_words(item), at)} (from {then} to {now})"


def _day(change: Change) -> str:
    assert change.before is not None
    return change.before.date


def _long(day: str) -> str:
    return long_date(date.fromisoformat(day))


def _grouped(changes: Sequence[Change]) -> list[list[Change]]:
    """Changes of the same item and site that say the same of both sides are told once."""
    groups: dict[tuple[object, ...], list[Change]] = {}
    for change in changes:
        then, now = change.before, change.fact
        entry = _entry(change)
        key = (entry.item, entry.site, then and (then.state, then.value, then.severity),
               now and (now.state, now.value, now.qualifier(Qualifier.SEVERITY)))  # fmt: skip
        groups.setdefault(key, []).append(change)
    return list(groups.values())


def _facts(changes: Iterable[Change]) -> tuple[str, ...]:
    return tuple(change.fact.id for change in changes if change.fact is not None)


def _named(kind: ChangeKind, group: Sequence[Change], catalogue: Catalogue) -> str:
    """A finding as words: by name where it came, went or stayed, with both states where these differ."""
    first = group[0]
    item = _item(first, catalogue)
    entry = _entry(first)
    at = _at(first, group, item, catalogue)
    if kind is ChangeKind.CHANGED or (kind in _BOTH and item.value is not ValueKind.PRESENCE):
        return _moved(first, item, at, catalogue)
    if kind is ChangeKind.RESOLVED and first.before is not None:
        entry = first.before
    return finding_words(entry, item, at, catalogue, several=len(group) > 1)


_BOTH = frozenset({ChangeKind.NEW, ChangeKind.RESOLVED})
_LEADS = {
    ChangeKind.NEW: ("Since {day}, this is new: ", "Since {day}, these are new: "),
    ChangeKind.RESOLVED: ("Since {day}, this has resolved: ", "Since {day}, these have resolved: "),
    ChangeKind.CHANGED: ("Since {day}, this has changed: ", "Since {day}, these have changed: "),
    ChangeKind.UNCHANGED: ("Since {day}, this is unchanged: ", "Since {day}, these are unchanged: "),
    ChangeKind.ONLY_NOW: ("Recorded now and not on {day}: ",) * 2,
    ChangeKind.ONLY_THEN: ("Recorded on {day} and not now: ",) * 2,
}


def _sentences(kind: ChangeKind, changes: Sequence[Change], day: str, catalogue: Catalogue) -> list[Said]:
    groups = _grouped(changes)
    said = []
    for start in range(0, len(groups), _MOST):
        some = groups[start : start + _MOST]
        lead = _LEADS[kind][len(some) > 1].format(day=day)
        words = [_named(kind, group, catalogue) for group in some]
        told = "; ".join(words) if any(", " in each for each in words) else listed(words)
        said.append(Said(f"{lead}{told}.", _facts(change for group in some for change in group)))
    return said


# Figures


def _direction(size: float) -> str:
    return "rose" if size > 0 else "fell"


def _quantity(change: Change, item: Item) -> str:
    now, then = _numbers(change)
    decimals = max(item.decimals, 1)
    if not change.amount:
        return f"was {amount(now.number, now.unit, '', decimals)} as before"
    by = amount(abs(change.amount), now.unit, "", decimals)
    return f"{_direction(change.amount)} by {by} {_ends(now, then, decimals)}"


def _numbers(change: Change) -> tuple[Quantity, Quantity]:
    assert change.fact is not None
    assert change.before is not None
    now, then = change.fact.value, change.before.value
    assert isinstance(now, Quantity)
    assert isinstance(then, Quantity)
    return now, then


def _ends(now: Quantity, then: Quantity, decimals: int) -> str:
    return f"(from {rounded(then.number, decimals)} to {amount(now.number, now.unit, '', decimals)})"


def _arc(change: Change) -> str:
    assert change.fact is not None
    assert change.before is not None
    now, then = change.fact.value, change.before.value
    assert isinstance(now, Arc)
    assert isinstance(then, Arc)
    if now == then:
        return f"was {arc_words(now)} as before"
    parts: list[str] = []
    for size, more, less in ((-(change.amount_from or 0), "straighter", "less straight"),
                             (change.amount or 0, "more flexion", "less flexion")):  # fmt: skip
        if size:
            words = amount(abs(size), "deg")
            parts.append(f"{words} {more if size > 0 else less}")
    return f"was {arc_words(then)} and is {arc_words(now)} ({listed(parts)})"


def _against(change: Change, several: str = "") -> str:
    """What the size of a change is held against; `several` stands before it where it is said of several."""
    limit = change.threshold
    if limit is None or not (change.amount or change.amount_from):
        return ""
    size = amount(limit.size, "deg") if limit.error else f"{rounded(limit.size, 1)} points"
    if limit.error:
        return f", {several}{'more than' if change.beyond else 'within'} the {limit.name} of {size}"
    return f", which {'reaches' if change.beyond else 'is less than'} the {limit.name} of {size}"


def _figure(change: Change, catalogue: Catalogue) -> str:
    """How one figure moved, without a full stop."""
    fact = change.fact
    assert fact is not None
    item = catalogue.items[fact.item]
    at = _at(change, [change], item, catalogue)
    subject = subject_words(item, str(fact.qualifier(Qualifier.MODE) or ""))
    told = _arc(change) if isinstance(fact.value, Arc) else _quantity(change, item)
    return f"{joined(subject, at)} {told}{_against(change)}"


def _together(change: Change, catalogue: Catalogue) -> tuple[object, ...]:
    """What figures share that are told in one sentence: the side, the unit, the direction and the verdict."""
    fact = change.fact
    assert fact is not None
    item = catalogue.items[fact.item]
    if isinstance(fact.value, Arc) or item.doctor.place is not Place.SIDE or not change.amount or fact.side is None:
        return (fact.id,)
    return (fact.side, item.unit, change.amount > 0, change.threshold, change.beyond)


def _series(members: Sequence[Change], catalogue: Catalogue) -> str:
    """'On the left, wrist flexion rose by 32 degrees (from 30 to 62 degrees) and pronation by 20 degrees (...)'."""
    parts: list[str] = []
    for change in members:
        fact = change.fact
        assert fact is not None
        assert change.amount is not None
        item = catalogue.items[fact.item]
        now, then = _numbers(change)
        verb = "" if parts else _direction(change.amount)
        decimals = max(item.decimals, 1)
        by = amount(abs(change.amount), now.unit, "", decimals)
        subject = subject_words(item, str(fact.qualifier(Qualifier.MODE) or ""))
        parts.append(joined(subject, verb, f"by {by}", _ends(now, then, decimals)))
    side = members[0].fact.side if members[0].fact else None
    return f"on the {side}, {listed(parts)}{_against(members[0], 'each ')}"


def _figures(changes: Sequence[Change], day: str, catalogue: Catalogue) -> list[Said]:
    groups: dict[tuple[object, ...], list[Change]] = {}
    for change in changes:
        groups.setdefault(_together(change, catalogue), []).append(change)
    said: list[Said] = []
    for members in groups.values():
        for start in range(0, len(members), _MOST):
            some = members[start : start + _MOST]
            text = _series(some, catalogue) if len(some) > 1 else _figure(some[0], catalogue)
            lead = f"since {day}, " if not said else ""
            said.append(Said(f"{capital(lead + text)}.", _facts(some)))
    return said


def change_sentences(changes: Sequence[Change], catalogue: Catalogue) -> tuple[tuple[Said, ...], ...]:
    """What changed, one group of sentences a kind of change and date: new, resolved, changed, figures, unchanged."""
    told = []
    visits = [change.before.date for change in changes if change.before is not None]
    for kind in ChangeKind:
        members = [change for change in changes if change.kind is kind]
        # What only today's record has is set against the latest earlier visit.
        days = {max(visits): members} if kind is ChangeKind.ONLY_NOW and visits else {}
        for change in members if not days else ():
            days.setdefault(_day(change), []).append(change)
        for day, found in sorted(days.items()):
            if kind is ChangeKind.MEASURED:
                said = _figures(found, _long(day), catalogue)
            else:
                said = _sentences(kind, found, _long(day), catalogue)
            told.append(tuple(said))
    return tuple(told)


def threshold_sources(changes: Iterable[Change]) -> tuple[Threshold, ...]:
    """What the changes were held against, each once."""
    return tuple(
        dict.fromkeys(change.threshold for change in changes if change.threshold and change.amount is not None)
    )
