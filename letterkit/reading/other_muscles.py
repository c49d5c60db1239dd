"""'The left quadriceps is tender', 'swelling of the biceps': what is found at a muscle is where that muscle is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, items_of, value_of
from letterkit.reading.phrases import Entry
from letterkit.reading.placenames import Piece
from letterkit.reading.predication import term_is_adjective
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_BEHIND = frozenset({"filler", "side", "certain", "severity", "negator", "maybe", "active_mode", "passive_mode"})
_BEFORE = frozenset({"filler", "side", "certain"})
_LISTED = frozenset({"and", "or", "comma"})
_ELSEWHERE = Piece("elsewhere", ())
_OF_IT = ("_wasting", "fasciculation", "pain_on")  # told of a muscle itself, or of what it does


def other_muscles(
    marks: Sequence[Mark], texts: Texts, catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> Sequence[Mark]:
    """The marks with each muscle at which something is found as a place: a part of the arm, or none of ours."""
    if len(texts.terms) <= 1 or texts.isdisjoint(_muscles()):
        return marks
    made = list(marks)
    for at, mark in enumerate(marks):
        place = _muscles().get(mark.text) if mark.kind == "term" else None
        found = _found(made, at) if place is not None else None
        if place is None or found is None or value_of(found, catalogue) is not ValueKind.PRESENCE:
            continue
        if not place:
            made[at] = replace(mark, kind="piece", term=None, piece=_ELSEWHERE)
        elif not any(name in items_of(found)[0] for name in _OF_IT):
            made[at] = replace(mark, kind="piece", term=None, piece=phrases[place].piece)
    return made


@cache
def _muscles() -> Mapping[str, str]:
    """In which part of the arm a muscle lies, by its name; in none of ours where that is empty."""
    names = {"other_muscles": "", "wasted_arm": "upper arm", "wasted_forearm": "forearm"}
    return {text: place for kind, place in names.items() for text in words().sets[kind]}


def _found(made: Sequence[Mark], at: int) -> Mark | None:
    """What is found at the muscle that stands `at`, behind it or before it."""
    parts = words().sets["of_muscles"]
    behind = next((mark for mark in made[at + 1 :] if mark.kind not in _BEHIND and mark.text not in parts), None)
    if behind is not None and behind.kind == "term" and term_is_adjective(behind):
        return behind  # 'the left quadriceps is tender', 'Achilles insertion tender and swollen'
    index = at - 1
    while index >= 0 and (made[index].kind in _BEFORE or _is_listed(made, index)):
        index -= 1
    return made[index] if index >= 0 and made[index].kind == "term" else None


def _is_listed(made: Sequence[Mark], index: int) -> bool:
    """'Tenderness of the hamstrings and the gastrocnemius': a muscle that is such a place, or what joins the next."""
    if made[index].kind == "joiner":
        return made[index].text in _LISTED and index > 0 and _is_listed(made, index - 1)
    return made[index].kind == "piece" and made[index].text in _muscles()
