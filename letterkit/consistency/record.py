"""Rules about the record itself: entries that cannot both stand."""

from __future__ import annotations

from collections.abc import Iterator

from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.findings.facts import Fact


def told(fact: Fact, case: Case) -> str:
    """The item of a fact with its side, for a message: 'swelling on the right'."""
    item = case.item(fact)
    name = item.doctor.noun or item.doctor.subject or item.name
    site = f" ({case.catalogue.sites[fact.site].name})" if fact.site else ""
    return f"{name}{site} on the {fact.side}" if fact.side else f"{name}{site}"


@rule(
    "opposite-entries",
    QueryClass.CONTRADICTORY,
    asks="Two entries about {what} say different things. Which one holds?",
    settle="Correct or remove one of the two entries.",
    source="common practice, no source",
)
def opposite_entries(case: Case) -> Iterator[Hit]:
    """One item at one place cannot be both present and absent, or have two values, at one examination."""
    for first, second in case.facts.opposed():
        yield Hit((first, second), words={"what": told(first, case)})


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
            if fact.item != "absent_digit" and fact.side == absent.side and case.digit(fact) == digit and digit:
                yield Hit(
                    (absent, fact),
                    words={"what": told(fact, case), "digit": case.catalogue.digits[digit].name,
                           "side": absent.side or ""},
                )  # fmt: skip
