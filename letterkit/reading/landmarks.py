"""'On the dorsum of the hand, a little proximal to the ring knuckle': the second only tells how far up the first."""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.reading.marks import Mark, without_place
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_WHOLE = frozenset({"hand", "arm", "upper_limb"})  # beside which the landmark says more than they do
_BETWEEN = frozenset({"filler", "value", "certain"})
_NAMED = frozenset({"piece", "side", "filler"})


def landmarks(marks: Sequence[Mark], texts: Texts) -> Sequence[Mark]:
    """The marks without the parts from which another part, named right before, lies away; their side stays."""
    if texts.isdisjoint(words().sets["away"]) and texts.isdisjoint(words().sets["near_to"]):
        return marks
    made: list[Mark] = []
    at = 0
    while at < len(marks):
        made.append(marks[at])
        at += 1
        begin = _begin(marks, at) if _is_placed(made) else at
        made += marks[at:begin]
        while begin > at and begin < len(marks) and _is_of_landmark(marks, begin):
            made.append(without_place(marks[begin]))
            begin += 1
        at = begin
    return made


def _begin(marks: Sequence[Mark], at: int) -> int:
    """Where the landmark is named that the word before `at` leads to; `at` where that is no such word."""
    word = marks[at - 1].text
    if word in words().sets["near_to"]:
        end = at
    elif word in words().sets["away"] and at < len(marks) and marks[at].text == "to":
        end = at + 1
    else:
        return at
    while end < len(marks) and marks[end].kind == "filler":
        end += 1
    return end if end < len(marks) and marks[end].kind in _NAMED else at


def _is_placed(made: Sequence[Mark]) -> bool:
    """Whether a part of a limb stands right before the last mark, or is set off from it by a comma alone."""
    for mark in reversed(made[:-1]):
        if mark.kind == "piece":
            piece = mark.piece
            return piece is not None and piece.kind == "site" and _WHOLE.isdisjoint(piece.slugs)
        if mark.kind not in _BETWEEN and mark.text != "comma":
            return False
    return False


def _is_of_landmark(marks: Sequence[Mark], at: int) -> bool:
    """Whether this still names the landmark: 'the index and long finger knuckles'."""
    if marks[at].kind in _NAMED:
        return True
    ahead = marks[at + 1 : at + 3]
    joined = marks[at].text in {"and", "slash"} and any(mark.kind == "piece" for mark in ahead)
    return joined and ahead[0].kind in _NAMED
