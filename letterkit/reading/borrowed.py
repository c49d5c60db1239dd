"""A part of one side, and a finding of the other side behind it that names no part.

'The left index was pale. Sensation was intact on the right.': whether the right index is meant, or the
whole of the right hand, is asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark, items_of
from letterkit.reading.places import OF_OTHER_SIDE, OPPOSITE, Places
from letterkit.reading.predication import Predication, term_is_adjective
from letterkit.reading.result import ReadFinding
from letterkit.reading.sides import Statement
from letterkit.reading.words import words


def borrows_part(predication: Predication, statement: Statement, around: Places | None) -> bool:
    """Whether the part of what is told of one side was named on the other side alone; `around` is the context's place.

    Not so where the name is left out too: 'stiff on the right and bruised on the left', 'both are normal on the left'.
    """
    own = statement.places
    if own is None and _is_led_by_side(predication):  # 'The left thumb has a scar. The right scar is tender.'
        own = predication.places
        return own is not None and not own.has_site and around is not None and OF_OTHER_SIDE in around.look
    if own is None or own.has_site or own.side not in OPPOSITE or not (predication.negated or statement.said):
        return False
    if predication.part_left_out:
        return False  # 'no swelling of the right wrist or tenderness of the left'
    if any(term_is_adjective(mark) or mark.start == mark.end for mark in predication.terms):
        return False
    told = predication.places if predication.carried else None if predication.places is not None else around
    if told is None or not told.has_site:
        return False
    return told.side == OPPOSITE[own.side or ""] or OF_OTHER_SIDE in told.look


def _is_led_by_side(predication: Predication) -> bool:
    """'The right scar': a side right before the first term, and no 'the right has a scar', 'the right moves well'."""
    first = predication.terms[0]
    if predication.carried or first.text.partition(" ")[0] in words().sets["movement_verbs"]:
        return False
    return any(each.kind == "side" and each.end == first.start - 1 for each in predication.used)


def is_before_another(predication: Predication, mark: Mark) -> bool:
    """'Thenar wasting and swelling of the knee': a finding that only a hand has, before one of another part."""
    last = predication.terms[-1]
    own = words().sets["only_of_hands"]
    if mark is last or own.isdisjoint(items_of(mark)) or not own.isdisjoint(items_of(last)):
        return False
    beyond = [each for each in predication.used if each.piece is not None and each.piece.kind == "elsewhere"]
    between = any(mark.start < each.start < last.start for each in beyond)
    return not between and any(each.start > last.start for each in beyond)


def beside_borrowed(made: Sequence[ReadFinding], before: Sequence[ReadFinding]) -> Sequence[ReadFinding]:
    """'The left wrist is swollen. The right scar is tender.': where the scar is, is asked; so of its tenderness too."""
    last = before[-1] if before else None
    if last is None or not made or OF_OTHER_SIDE not in last.reasons:
        return made
    own = words().tender_itself.get(last.item.rpartition("_")[2], "")
    return [
        replace(each, sure="needs_a_look", reasons=(*each.reasons, OF_OTHER_SIDE))
        if each.item == own and each.sites == last.sites and OF_OTHER_SIDE not in each.reasons
        else each
        for each in made
    ]
