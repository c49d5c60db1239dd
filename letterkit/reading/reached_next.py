"""'The left thumb opposes to the ring finger, the right to the little': what the second one reaches is told of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry
from letterkit.reading.places import OPPOSITE
from letterkit.reading.texts import Texts

_OPPOSES = "thumb opposes"
_ITEM = "thumb_opposition"


def reached_next(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks with what one thumb reaches behind what the other does written out: 'the left thumb opposes to ...'."""
    if _ITEM not in texts.items or "to" not in texts or _OPPOSES not in texts.lines:
        return marks
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.kind == "side" and mark.text in OPPOSITE and (found := _next(marks, index, phrases)) is not None:
            ends, term = found
            begins = next(at for at, each in enumerate(made) if each is mark)
            made[begins + 1 : begins + ends - index] = [term]
    return made


def _next(marks: Sequence[Mark], index: int, phrases: Mapping[str, Entry]) -> tuple[int, Mark] | None:
    """Where 'the left to the ring finger' ends, whose side stands at `index`, and the term that it is."""
    before = next((mark for mark in reversed(marks[:index]) if mark.kind != "filler"), None)
    opposed = any(mark.kind == "term" and mark.text.startswith(_OPPOSES) for mark in marks[:index])
    if not opposed or before is None or before.kind not in {"joiner", "break"}:
        return None
    ends = index + 1
    if ends < len(marks) and marks[ends].piece is not None and marks[ends].text == "thumb":
        ends += 1
    said: list[str] = []
    while ends < len(marks) and marks[ends].kind in {"filler", "piece", "word"} and len(said) < 4:  # noqa: PLR2004 - 'only to the index'
        said.append(marks[ends].text)
        ends += 1
        entry = phrases.get(" ".join((_OPPOSES, *said)))
        if entry is not None and entry.term is not None and entry.term.items == (_ITEM,) and entry.term.state:
            start = marks[index + 1].start
            return ends, Mark("term", start, marks[ends - 1].end, term=entry.term, text=" ".join((_OPPOSES, *said)))
    return None
