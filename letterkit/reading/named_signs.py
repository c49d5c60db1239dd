"""A sign that is named with its side and no result, as whoever found it writes it: 'Hoffmann's sign, right'."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import takewhile

from letterkit.reading.marks import Mark, items_of, side_of
from letterkit.reading.phrases import StateWord
from letterkit.reading.places import OPPOSITE
from letterkit.reading.predication import BE, THERE_IS
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_PLAIN = frozenset({"filler", "side", "piece", "certain", "joiner", "term"})
_KINDS = _PLAIN | {"state", "severity", "negator", "break"}
_LISTED = frozenset({"or", "slash"})
_LOOK = "a sign is named without a result"


def named_signs(marks: list[Mark], texts: Texts) -> list[Mark]:
    """The marks with such a sign as one that is there: 'brisk reflexes with Hoffmann's sign on the right'.

    No result may stand beside it that could be its own; 'none on the left' is of the other side.
    """
    named = words().sets["named_where_present"]
    if texts.items.isdisjoint(named) or not texts.kinds <= _KINDS or marks[-1].text == ":":
        return marks
    other = _other_side(marks)
    if not {mark.kind for mark in marks[:other]} <= _PLAIN:
        return marks
    there = any(mark.text == "with" or mark.text in THERE_IS for mark in marks)
    look = "" if there or other < len(marks) else _LOOK
    made: list[Mark] = []
    for at, mark in enumerate(marks):
        made.append(mark)
        if named.isdisjoint(items_of(mark)) or mark.text.endswith(("test", "tests")):
            continue
        if not _is_alone(marks[:other], at):
            continue
        made[-1] = replace(mark, look=look or mark.look)
        made.append(Mark("state", mark.end, mark.end, state=StateWord(("positive",)), text="positive"))
    return made


def _other_side(marks: Sequence[Mark]) -> int:
    """Where 'none on the left', 'but not on the left' begins at the end, behind what is said of the right."""
    at = next((at for at, mark in enumerate(marks) if mark.kind == "negator" or _is_none(mark)), len(marks))
    tail = [mark for mark in marks[at + 1 :] if mark.kind != "filler"]
    own = {side_of(mark) for mark in marks[:at]} - {""}
    apart = at > 1 and marks[at - 1].kind in {"joiner", "break"} and len(tail) == 1 and tail[0].kind == "side"
    return at - 1 if apart and own == {OPPOSITE.get(tail[0].text)} else len(marks)


def _is_none(mark: Mark) -> bool:
    return mark.state is not None and mark.state.classes in {("absent",), ("negative",)}


def _is_alone(marks: Sequence[Mark], at: int) -> bool:
    """Whether nothing is told of the sign at `at` but its side."""
    before = list(takewhile(lambda mark: mark.kind in {"filler", "side", "certain", "piece"}, reversed(marks[:at])))
    behind = list(takewhile(lambda mark: mark.kind != "term", marks[at + 1 :]))
    led = at == len(before) or marks[at - len(before) - 1].kind == "joiner"
    told = {mark.text for mark in before + behind if mark.kind == "joiner"}
    plain = all(mark.kind in _PLAIN and mark.text not in BE for mark in marks[at + 1 :]) and told.isdisjoint(_LISTED)
    term = marks[at].term
    return led and plain and term is not None and not term.state and any(side_of(mark) for mark in before + behind)
