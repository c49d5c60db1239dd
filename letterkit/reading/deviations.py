"""The other deviation of the wrist in short: 'radial deviation 20, ulnar 30'; a finger that crosses another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry
from letterkit.reading.texts import Texts

_DEVIATIONS = frozenset({"radial deviation", "ulnar deviation"})
_SHORT = frozenset({"radial", "ulnar"})
_OVER = (
    "over", "under", "beneath", "overlaps", "underlaps", "overlap", "scissors", "scissor", "overrides", "overlapped",
)  # fmt: skip


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


def crossings(marks: Sequence[Mark], texts: Texts) -> Sequence[Mark]:
    """'The ring finger crosses over the middle finger': the finger that is crossed is not the one that is turned."""
    if "malrotation" not in texts.items:
        return marks
    made: list[Mark] = []
    crossing = False
    for mark in marks:
        turned = mark.term is not None and mark.term.items == ("malrotation",)
        goes_on = mark.kind in {"filler", "piece", "side"} or mark.text == "with"
        crossing = (crossing and goes_on) or (turned and mark.text.endswith(_OVER))
        if crossing and mark.kind in {"piece", "side"}:
            continue
        made.append(mark)
    return made
