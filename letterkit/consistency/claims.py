"""What the clinician names in impression and diagnoses, on which side, and how it is quoted in a message."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache

from letterkit.consistency.lookups import SIDES
from letterkit.consistency.rule import Case
from letterkit.consistency.terms import OPINION, Mention
from letterkit.consistency.terms import terms as known_terms
from letterkit.findings.sides import Side, each

_LONGEST_QUOTE = 90


def claims(case: Case, *terms: str) -> tuple[Mention, ...]:
    """Where impression or diagnoses name one of the terms, be it surely or as likely.

    What is denied is left out, and so is a term that is only part of the name of an operation.
    """
    found = tuple(one for one in case.wording.mentions(*terms, among=OPINION) if one.said != "negated")
    if not found:
        return ()
    done = {(one.path, one.at) for one in case.wording.mentions(*_operations(), among=OPINION)}
    return tuple(one for one in found if (one.path, one.at) not in done)


@cache
def _operations() -> tuple[str, ...]:
    return tuple(slug for slug, term in known_terms().items() if term.kind == "operation")


def claimed(case: Case, *terms: str) -> bool:
    """Whether impression or diagnoses name one of the terms."""
    return bool(claims(case, *terms))


def sides_meant(case: Case, mention: Mention) -> tuple[Side, ...]:
    """The sides a mention is about: named with it, else of the reason, else the only side examined; or none.

    A side is never guessed: with findings on both sides and none named, there is no answer.
    """
    if mention.sides:
        return tuple(side for side in SIDES if side in mention.sides)
    reason = case.encounter.reason
    if reason is not None and reason.side:
        return tuple(side for side in each(reason.side) if side)
    examined = {fact.side for fact in case.facts.facts if fact.side}
    return tuple(side for side in SIDES if side in examined) if len(examined) == 1 else ()


def named_sides(case: Case, *terms: str) -> Iterator[tuple[Mention, Side]]:
    """Every naming of the terms with each side it is about; each side once a term."""
    yield from with_sides(case, claims(case, *terms))


def with_sides(case: Case, mentions: Iterable[Mention]) -> Iterator[tuple[Mention, Side]]:
    """The mentions with each side they are about; each side once a term."""
    seen: set[tuple[str, Side]] = set()
    for mention in mentions:
        for side in sides_meant(case, mention):
            if (mention.term, side) not in seen:
                seen.add((mention.term, side))
                yield mention, side


def dealt_with(case: Case, mention: Mention) -> bool:
    """Whether what is named has been treated or has gone, so that normal findings are what is expected."""
    if case.problem == "postoperative_review":
        return True
    around = case.wording.mentions("resolved", "any_operation", "injection", *_operations(), among=OPINION)
    return any(one.path == mention.path for one in around)


def quoted(mention: Mention) -> str:
    """The clinician's words for a message, shortened where long: 'The record says “right carpal tunnel”'."""
    text = " ".join(mention.passage.text.split())
    if len(text) > _LONGEST_QUOTE:
        text = text[: _LONGEST_QUOTE - 1].rstrip() + "…"
    return f"The record says “{text.rstrip('.')}”"
