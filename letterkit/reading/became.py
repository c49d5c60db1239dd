"""'The elbow became stiff': how it came to be so, which may be told of another day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_WHEN = "it is told that it became so: is it so now?"
_SOFT = frozenset({"filler", "severity", "certain"})


def became(marks: Sequence[Mark], texts: Texts) -> Sequence[Mark]:
    """The marks with a look at each finding that something 'became'; what became pale 'on clenching' was seen then."""
    if texts.isdisjoint(words().sets["became"]) or not texts.isdisjoint(words().sets["seen_then"]):
        return marks
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text not in words().sets["became"]:
            continue
        at = next((at for at in range(index + 1, len(marks)) if marks[at].kind not in _SOFT), index)
        if marks[at].kind in {"term", "state"}:
            made[at] = replace(marks[at], look=_WHEN)
    return made
