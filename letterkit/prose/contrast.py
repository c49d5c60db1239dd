"""Contrasts: the right side and the left in one sentence, right first unless only the left departs from normal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Place, Qualifier, ValueKind
from letterkit.prose.phrases import (
    Variant,
    absent_nouns,
    after_place,
    denied_plural,
    grade_words,
    items_of,
    joined,
    noun_phrase,
    number_words,
    possible,
    qualifier_of,
    result_words,
    state_words,
    subjects,
    told_by_noun,
)
from letterkit.prose.places import site_phrase, where
from letterkit.prose.words import listed
from letterkit.summary.statement import Part, PlaceRef


def contrast(right: Part, left: Part, catalogue: Catalogue) -> Iterator[Variant]:
    """The ways to say a contrast: 'Phalen's test was positive on the right and negative on the left'."""
    items = items_of(right, catalogue)
    item = items[0]
    if item.value is ValueKind.PRESENCE:
        yield from _presence_contrast(right, left, catalogue)
        return
    words, verb = subjects(items)
    if item.value is ValueKind.MRC:
        words, verb = f"power of {words}", "was"
    mode = qualifier_of(right, Qualifier.MODE)
    subject = f"{mode} {words}" if mode else words
    at = _at_both(right, item, catalogue)
    one = _answer(right, item, catalogue, verb)
    other = _answer(left, item, catalogue, verb).removeprefix(f"{verb} ")
    said = {Qualifier.MODE}
    told = f"{one} on the right{after_place(right, said)} and {other} on the left{after_place(left, said)}"
    yield Variant("subject", f"{joined(subject, at)} {told}")


def _answer(part: Part, item: Item, catalogue: Catalogue, verb: str) -> str:
    """What one side of a contrast says, after the subject: 'was positive after 20 seconds'."""
    match item.value:
        case ValueKind.TEST:
            return result_words(item, part.state, verb)
        case ValueKind.STATE:
            return f"{verb} {state_words(item, part.state, catalogue)}"
        case ValueKind.MRC:
            return f"{verb} {grade_words(part.value)}"
        case ValueKind.TEXT:
            return f"{verb} normal" if part.state == "normal" else f"{verb} recorded as: {part.value}"
        case _:
            return f"{verb} {number_words(part, item)}"


def _presence_contrast(right: Part, left: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = items_of(right, catalogue)
    named = items if right.crossed else items[:1]

    def phrase(part: Part) -> tuple[str, bool]:
        places = where(part.places, catalogue)
        if part.state == "absent":
            return f"no {listed(absent_nouns(named), 'or')}", denied_plural(named[0])
        unsure = part.state == "equivocal"
        found = [possible(item, places) if unsure else noun_phrase(item, part, places) for item in named]
        return listed([words for words, _ in found]), found[0][1]

    def after(part: Part) -> str:
        return after_place(part, told_by_noun(named[0], part) if part.state == "present" else frozenset())

    at = _at_both(right, named[0], catalogue)
    if both := _severities(right, left, named, at, catalogue):
        yield from both
        return
    first, second = (right, left) if right.state != "absent" else (left, right)
    sides = {id(right): "on the right", id(left): "on the left"}
    words, plural = phrase(first)
    other = "none" if second.state == "absent" and not second.qualifiers and len(named) == 1 else phrase(second)[0]
    verb = "were" if plural else "was"
    if at and other != "none" and "equivocal" in {first.state, second.state}:
        # 'Possible tenderness at the ulnar fovea on the right and tenderness on the left' leaves the second anywhere.
        other = f"{other} {at}"
    end = f"{sides[id(first)]}{after(first)} and {other} {sides[id(second)]}{after(second)}"
    yield Variant("there", joined("there", verb, words, at, end))
    if first.state == "equivocal":  # what is only possible is not 'present'
        there = second.state == "present" and not second.qualifiers and len(named) == 1
        if other == "none" or there:
            words, plural = noun_phrase(named[0], replace(first, state="present"), where(first.places, catalogue))
            state = "present" if there else "absent"
            unsure = f"uncertain {end.replace(f' and {other} on', f' and {state} on')}"
            yield Variant("subject", joined(words, at, "were" if plural else "was", unsure))
        else:  # the side that is sure opens
            sure, several = phrase(second)
            verb = "were" if several or len(named) > 1 else "was"
            rest = f"{sides[id(second)]}{after(second)} and {joined(words, at, sides[id(first)])}{after(first)}"
            yield Variant("subject", joined(sure, at, verb, "present", rest))
        return
    plain = end.replace(" and none on", " and absent on") if other == "none" else end
    yield Variant("subject", joined(words, at, "were" if plural or len(named) > 1 else "was", "present", plain))


def _severities(right: Part, left: Part, named: Sequence[Item], at: str, catalogue: Catalogue) -> list[Variant]:
    """'There was squaring of the thumb base, moderate on the right and mild on the left', where only that differs."""
    grades = [part.qualifiers[0][1] for part in (right, left) if part.state == "present" and len(part.qualifiers) == 1
              and part.qualifiers[0][0] is Qualifier.SEVERITY]  # fmt: skip
    if at or len(grades) != 2 or len(named) != 1:  # noqa: PLR2004 - right and left
        return []
    plain = replace(right, qualifiers=())
    words, plural = noun_phrase(named[0], plain, where(right.places, catalogue))
    if " over " in words:  # after a place, 'mild on the right' would be read as part of it
        return []
    said = {Qualifier.SEVERITY}
    told = f"{grades[0]} on the right{after_place(right, said)} and {grades[1]} on the left{after_place(left, said)}"
    verb = "were" if plural else "was"
    return [
        Variant("there", f"{joined('there', verb, words, at)}, {told}"),
        Variant("subject", f"{joined(words, at)} {verb} {told}"),
    ]


def _at_both(part: Part, item: Item, catalogue: Catalogue) -> str:
    """The site that both sides of a contrast share, without a side; empty where the item's name says it."""
    if item.doctor.place is Place.SIDE:
        return ""
    sideless = where((PlaceRef(place.site, None) for place in part.places), catalogue)
    return site_phrase(sideless, item.doctor.place.value, catalogue)
