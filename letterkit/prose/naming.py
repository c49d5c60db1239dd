"""Findings as noun phrases, for lists and keys: 'mild swelling of the left wrist', 'Phalen's test (positive) ...'."""

from __future__ import annotations

from collections.abc import Iterable

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Place, Qualifier, ValueKind
from letterkit.findings.facts import EarlierFact, Fact
from letterkit.findings.values import Arc, Grade, Quantity
from letterkit.prose.phrases import arc_words
from letterkit.prose.places import side_phrase, site_phrase, where
from letterkit.prose.words import amount, with_article
from letterkit.summary.statement import PlaceRef

_SEVERITIES = frozenset({"mild", "moderate", "severe"})


def joined(*parts: str) -> str:
    """Words with a space between, without those that are empty."""
    return " ".join(part for part in parts if part)


def at_places(item: Item, places: Iterable[PlaceRef], catalogue: Catalogue) -> str:
    """Where an item holds, as its wording says it: 'on the right', 'over the left wrist'."""
    known = where(places, catalogue)
    if item.doctor.place is Place.SIDE:
        return side_phrase(known.sides)
    return site_phrase(known, item.doctor.place.value, catalogue)


def _severity(entry: Fact | EarlierFact) -> str | None:
    if isinstance(entry, EarlierFact):
        return entry.severity
    found = entry.qualifier(Qualifier.SEVERITY)
    return str(found) if found is not None else None


def state_words(entry: Fact | EarlierFact, item: Item, catalogue: Catalogue) -> str:
    """What was recorded of a finding, in a word or two: 'positive', 'grade 4 out of 5', 'severe'."""
    match entry.value:
        case Grade():
            return f"grade {entry.value.text.replace('-', ' minus').replace('+', ' plus')} out of 5"
        case Quantity():
            value = entry.value
            return amount(value.number, value.unit, value.comparator, max(item.decimals, 1))
        case Arc():
            return arc_words(entry.value)
        case _:
            pass
    if item.scale is not None:
        if entry.state in item.doctor.states:
            return item.doctor.states[entry.state]
        return next(each.doctor for each in catalogue.scales[item.scale].states if each.slug == entry.state)
    state = "uncertain" if entry.state == "equivocal" else entry.state
    return _severity(entry) or state if item.value is ValueKind.PRESENCE else state


def subject_words(item: Item, mode: str = "") -> str:
    """What an item is called where something is said of it: 'power of the thumb', 'active wrist flexion'."""
    words = item.doctor.subject or item.doctor.noun or item.name
    if item.value is ValueKind.MRC:
        return f"power of {words}"
    return f"{mode} {words.removeprefix('the ')}" if mode else words


def finding_words(
    entry: Fact | EarlierFact,
    item: Item,
    at: str,
    catalogue: Catalogue,
    *,
    article: bool = True,
    several: bool = False,
) -> str:
    """A finding with its place: 'a nodule over the right palm', 'power of the thumb on the left (grade 4 out of 5)'.

    `several` says that it lies at more than one place, which makes a plural of what can be counted.
    """
    state = state_words(entry, item, catalogue)
    if item.value is ValueKind.PRESENCE:
        plural = item.doctor.plural if several else None
        article = article and plural is None
        words = plural or item.doctor.noun or item.name
        words = f"{state} {words}" if state in _SEVERITIES | {"uncertain"} else words
        return joined(with_article(words) if article and item.doctor.article else words, at)
    mode = "" if isinstance(entry, EarlierFact) else str(entry.qualifier(Qualifier.MODE) or "")
    return f"{joined(subject_words(item, mode), at)} ({state})"
