"""Rules about the record itself: entries that cannot both stand."""

from __future__ import annotations

from collections.abc import Iterator

from letterkit.catalogue.model import Qualifier
from letterkit.consistency.lookups import entry, opening
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.findings.facts import Fact, UnexaminedFact

# What may be found on the stump of a digit that is missing.
_OF_A_STUMP = frozenset({
    "absent_digit", "established_amputation", "acute_amputation", "palpable_neuroma", "scar_tenderness", "scar",
    "surgical_scar", "tinel_scar",
})  # fmt: skip
# Rows along a digit by how far out they lie; an amputation at one level takes everything farther out.
_LEVEL = {"metacarpal": 0, "mcp": 1, "proximal_phalanx": 2, "pip": 3, "ip": 3, "middle_phalanx": 4, "dip": 5,
          "distal_phalanx": 6, "pulp": 7, "nail": 7, "nailfold": 7}  # fmt: skip


@rule(
    "opposite-entries",
    QueryClass.CONTRADICTORY,
    asks="{first} and {second} are both recorded. Which one holds?",
    settle="Correct or remove one of the two entries.",
    source="common practice, no source",
)
def opposite_entries(case: Case) -> Iterator[Hit]:
    """One item at one place cannot be both present and absent, or have two values, at one examination."""
    for first, second in case.facts.opposed():
        yield Hit((first, second), words={"first": opening(entry(first, case)), "second": entry(second, case)})


def _of_a_stump(fact: Fact) -> bool:
    told_words = f"{fact.note or ''} {fact.qualifier(Qualifier.DESCRIPTION) or ''}".casefold()
    return fact.item in _OF_A_STUMP or "stump" in told_words


@rule(
    "finding-on-absent-digit",
    QueryClass.IMPOSSIBLE,
    asks="{what} is recorded, and the {digit} on the {side} is recorded as missing. Is the digit or the side right?",
    settle="Correct the digit or side of one of the two entries, or note the finding as a known exception.",
    source="common practice, no source",
)
def finding_on_absent_digit(case: Case) -> Iterator[Hit]:
    """A part that is not there cannot carry a finding, save one of the stump."""
    for absent in case.abnormal("absent_digit"):
        digit = case.digit(absent)
        for fact in case.facts.facts:
            if digit and case.digit(fact) == digit and fact.side == absent.side and not _of_a_stump(fact):
                yield Hit(
                    (absent, fact),
                    words={"what": opening(entry(fact, case)), "digit": case.catalogue.digits[digit].name,
                           "side": absent.side or ""},
                )  # fmt: skip


@rule(
    "finding-beyond-an-amputation",
    QueryClass.IMPOSSIBLE,
    asks="{what} is recorded, which lies beyond {amputation}. Is the level, the digit or the side right?",
    settle="Correct the level, digit or side of one of the two entries, or say in a note that the stump is meant.",
    source="common practice, no source",
)
def finding_beyond_an_amputation(case: Case) -> Iterator[Hit]:
    """What lies beyond the level of an amputation is not there to be examined."""
    for amputation in case.abnormal("established_amputation"):
        site = case.catalogue.sites[amputation.site] if amputation.site else None
        level = _LEVEL.get(site.row or "") if site else None
        if site is None or (level is None and site.slug != "wrist"):
            continue
        for fact in case.facts.facts:
            place = case.catalogue.sites[fact.site] if fact.site else None
            if place is None or place.digit is None or fact.side != amputation.side or _of_a_stump(fact):
                continue
            farther = level is None or (place.digit == site.digit and _LEVEL.get(place.row or "", -1) > level)
            if farther:
                words = {"what": opening(entry(fact, case)), "amputation": entry(amputation, case)}
                yield Hit((amputation, fact), words=words)


def _covers(unexamined: UnexaminedFact, fact: Fact) -> bool:
    if unexamined.item is None:
        same = fact.stage is unexamined.stage
    else:
        same = fact.item == unexamined.item and (not unexamined.sites or fact.site in unexamined.sites)
    return same and unexamined.side in {None, "both", fact.side}


@rule(
    "not-examined-and-recorded",
    QueryClass.CONTRADICTORY,
    asks="{what} is recorded, and the same was declared as not examined. Which one holds?",
    settle="Remove one of the two entries, or limit what was not examined to the item, side and site it applies to.",
    source="common practice, no source",
)
def not_examined_and_recorded(case: Case) -> Iterator[Hit]:
    """A finding needs an examination."""
    for unexamined in case.facts.unexamined:
        path = f"examination.notExamined[{unexamined.id[1:]}]"
        found = [fact for fact in case.facts.facts if _covers(unexamined, fact)]
        if found:
            yield Hit(tuple(found), (path,), {"what": opening(entry(found[0], case))})
