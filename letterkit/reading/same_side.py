"""Sides told by that which was named last: 'on that side', 'the ipsilateral elbow', 'in the same hand'."""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.reading.marks import NAMES_SIDE, Mark, beside, side_of
from letterkit.reading.places import OPPOSITE
from letterkit.reading.texts import Texts
from letterkit.reading.words import words


def last_side(marks: Sequence[Mark], texts: Texts, before: str = "") -> str:
    """The one side that a sentence names, or that was named `before` it; empty where it names both."""
    if texts.kinds.isdisjoint(NAMES_SIDE):
        return before
    sides = {side_of(mark) for mark in marks if mark.kind in NAMES_SIDE} & {*OPPOSITE, "both", "other"}
    if not sides:
        return before
    only = sides.pop()
    return only if not sides and only in OPPOSITE else ""


def on_that_side(marks: list[Mark], texts: Texts, before: str) -> list[Mark]:
    """'Grip is 20 kg on the right, with wasting on the same side': the side named last, here or `before`."""
    if "same" not in texts:
        return marks
    made: list[Mark] = []
    named = before
    for _, mark, after in beside(marks):
        same = mark.text == "same" and (mark.kind == "side" or _leads_one_of_two(after))
        if same and named in OPPOSITE:
            made.append(Mark("side", mark.start, mark.end, text=named, word=mark.word))
        else:
            made.append(mark)
            named = side_of(mark) or named
    return made


def _leads_one_of_two(after: Mark | None) -> bool:
    """'In the same hand'; not 'the same as before', 'the same digit'."""
    return after is not None and after.kind == "piece" and after.text in words().sets["of_two"]
