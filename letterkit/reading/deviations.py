"""The other deviation of the wrist in short: 'radial deviation 20, ulnar 30'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry
from letterkit.reading.texts import Texts

_DEVIATIONS = frozenset({"radial deviation", "ulnar deviation"})
_SHORT = frozenset({"radial", "ulnar"})


def other_deviation(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks of one sentence, whose words are `texts`, with 'ulnar 30' behind one deviation as the other."""
    if texts.isdisjoint(_DEVIATIONS) or texts.isdisjoint(_SHORT):
        return marks
    made = list(marks)
    named = False
    for index, mark in enumerate(marks[:-1]):
        named = named or (mark.text in _DEVIATIONS and mark.kind == "term")
        leads = index > 0 and marks[index - 1].kind in {"joiner", "break"}
        measured = marks[index + 1].kind == "value"
        if named and leads and measured and mark.text in _SHORT and mark.kind == "piece":
            name = f"{mark.text} deviation"
            made[index] = Mark("term", mark.start, mark.end, term=phrases[name].term, text=name)
    return made
