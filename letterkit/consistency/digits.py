"""Rules about digits: a digit that only the words name, a joint it lacks, postures that exclude each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache

from letterkit.catalogue import Catalogue
from letterkit.consistency.lookups import on_digit
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.consistency.sides import PART_NAMES, only_side, today
from letterkit.consistency.terms import OPINION, words_of
from letterkit.findings.facts import Fact

# Digits that an item is about although it has no site of a digit.
_AREAS = {
    "median_area": ("thumb", "index", "middle", "ring"), "ulnar_area": ("ring", "little"), "radial_area": ("thumb",),
    "first_web": ("thumb", "index"), "snuffbox": ("thumb",), "first_compartment": ("thumb",),
}  # fmt: skip
_IN_NAMES = {"thumb": "thumb", "pollicis": "thumb", "finkelstein": "thumb", "eichhoff": "thumb", "froment": "thumb",
             "kapandji": "thumb", "ok": "thumb", "indicis": "index", "index": "index", "minimi": "little",
             "little": "little", "middle": "middle", "stener": "thumb"}  # fmt: skip

# A splint is named after the digit it holds, not after the one that is ill.
_WORN = frozenset({"splint", "spica", "cast", "plaster", "orthosis", "strap", "strapping"})


@lru_cache(maxsize=4)
def _digits_of_items(catalogue: Catalogue) -> Mapping[str, frozenset[str]]:
    """The digits that the name or the sites of each item speak of."""
    found: dict[str, frozenset[str]] = {}
    for item in catalogue.items.values():
        named = words_of(f"{item.slug.replace('_', ' ')} {item.doctor.noun or ''} {item.doctor.subject or ''}")
        digits = {_IN_NAMES[word] for word in named if word in _IN_NAMES}
        digits |= {digit for site in item.sites for digit in _AREAS.get(site, ()) if len(item.sites) == 1}
        found[item.slug] = frozenset(digits)
    return found


def _about(case: Case, fact: Fact, digit: str) -> bool:
    if case.digit(fact) == digit or digit in _AREAS.get(fact.site or "", ()):
        return True
    return digit in _digits_of_items(case.catalogue).get(fact.item, ())


@rule(
    "digit-named-without-a-finding",
    QueryClass.CONTRADICTORY,
    asks="{part} names the {digit}{side}, and nothing is recorded about it. Is another digit meant, or is a finding "
    "missing?",
    settle="Correct the digit or the side, or add what was found there.",
    source="common practice, no source",
)
def digit_named_without_a_finding(case: Case) -> Iterator[Hit]:
    """An opinion or plan about a digit follows from something that was found or excluded there."""
    if not case.facts.facts:
        return
    for passage in case.wording.passages:
        if passage.part not in {*OPINION, "plan"} or not today(passage) or not _WORN.isdisjoint(passage.tokens):
            continue
        side = only_side(passage)
        for digit in sorted(passage.digits, key=lambda slug: case.catalogue.digits[slug].order):
            if not any(_about(case, fact, digit) for fact in case.facts.facts if side is None or fact.side == side):
                words = {"part": PART_NAMES[passage.part], "digit": case.catalogue.digits[digit].name,
                         "side": f" on the {side}" if side else ""}  # fmt: skip
                yield Hit((), (passage.path,), words)


@rule(
    "swan-neck-and-boutonniere",
    QueryClass.IMPOSSIBLE,
    asks="A swan-neck and a boutonnière deformity are both recorded for the {digit} on the {side}. Which one holds?",
    settle="Correct the digit or side of one of them, or remove one.",
    source="from memory",
)
def swan_neck_and_boutonniere(case: Case) -> Iterator[Hit]:
    """In one the middle joint of the finger is hyperextended, in the other it is flexed."""
    for swan in case.abnormal("swan_neck"):
        for other in on_digit(case, case.abnormal("boutonniere", side=swan.side), case.digit(swan)):
            digit = case.catalogue.digits[case.digit(swan) or ""].name
            yield Hit((swan, other), words={"digit": digit, "side": swan.side or ""})


@rule(
    "joint-the-digit-lacks",
    QueryClass.IMPOSSIBLE,
    asks="{part} names a joint or tendon that this digit does not have. Which one is meant?",
    settle="Correct the joint, the tendon or the digit.",
    source="common practice, no source",
)
def joint_the_digit_lacks(case: Case) -> Iterator[Hit]:
    """The thumb has one interphalangeal joint and no superficial flexor; a finger has two interphalangeal joints."""
    for mention in case.wording.mentions("thumb_joint_lacking", "finger_joint_lacking"):
        yield Hit((), (mention.path,), {"part": PART_NAMES[mention.passage.part]})
