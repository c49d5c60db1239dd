"""'The left thumb opposes to the ring finger, the right to the index': what the second one reaches is told of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import takewhile

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry
from letterkit.reading.places import OPPOSITE
from letterkit.reading.texts import Texts

_OPPOSES = "thumb opposes"
_ITEM = "thumb_opposition"
_REACHED = frozenset({"filler", "piece", "word"})
_UNTOLD = "how far that is of full opposition is not told"


def reached_next(marks: list[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> list[Mark]:
    """The marks with what one thumb reaches behind what the other does written out: 'the left thumb opposes to ...'."""
    if _ITEM not in texts.items or "to" not in texts or _OPPOSES not in texts.lines:
        return marks
    made = list(marks)
    for index in range(len(marks) - 1, -1, -1):
        if marks[index].kind == "side" and marks[index].text in OPPOSITE and _follows(marks[:index]):
            made[index:] = _written_out(made[index:], phrases)
    return made


def _follows(before: Sequence[Mark]) -> bool:
    """Whether what the first thumb reaches stands before, and a new part of the sentence begins."""
    last = next((mark for mark in reversed(before) if mark.kind != "filler"), None)
    opposed = any(mark.kind == "term" and mark.text.startswith(_OPPOSES) for mark in before)
    return opposed and last is not None and last.kind in {"joiner", "break"}


def _written_out(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Right only to the index', whose side comes first, as the side and its term.

    What says nothing of opposition ('right to the little finger') is shown as not read, and is of no other thumb.
    """
    begins = 2 if [mark.text for mark in marks[1:2]] == ["thumb"] else 1
    reached = list(takewhile(lambda mark: mark.kind in _REACHED, marks[begins:]))
    if all(mark.text != "to" for mark in reached):
        return list(marks)
    for end in range(1, len(reached) + 1):
        name = " ".join((_OPPOSES, *[mark.text for mark in reached[:end]]))
        term = phrases[name].term if name in phrases else None
        if term is not None and term.items == (_ITEM,) and term.state:
            told = Mark("term", reached[0].start, reached[end - 1].end, term=term, text=name)
            return [marks[0], told, *marks[begins + end :]]
    untold = Mark("ambiguous", marks[0].start, reached[-1].end, text=_OPPOSES, look=_UNTOLD)
    return [untold, *marks[begins + len(reached) :]]
