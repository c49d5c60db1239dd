"""'R arm: power 5/5, reflexes 2+ throughout': under one side, 'throughout' is of all of that side, and not of both."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.reading.carry import Carried
from letterkit.reading.marks import DASHES, Mark, side_of
from letterkit.reading.places import OPPOSITE, Places
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_PLACES = frozenset({"side", "piece", "filler", "word"})
_ENDS = DASHES | {":"}


def of_that_side_throughout(
    marks: list[Mark], texts: Texts, carried: Carried, around: Places | None, label: int
) -> list[Mark]:
    """The marks of one sentence with 'throughout', 'all joints' as the one side that its label or heading names.

    `around` is the place that the sentence takes for granted, `label` where its label ends.
    """
    if "both" not in texts:
        return marks
    spread = [mark for mark in marks if mark.kind == "side" and mark.word in words().sets["throughout"]]
    whole = _label_of(marks, label) if spread else []
    if not spread or not (whole or _is_headed(carried, around)):
        return marks
    made: list[Mark] = []
    for mark in marks:
        made += [replace(each, start=mark.start, end=mark.end) for each in whole] if mark in spread else [mark]
    return made


def _is_headed(carried: Carried, around: Places | None) -> bool:
    """Whether a heading of one side is in force, and the sentence is of that side."""
    base = carried.base
    return (
        carried.headed
        and base is not None
        and base.side in OPPOSITE
        and around is not None
        and around.side == base.side
    )


def _label_of(marks: Sequence[Mark], label: int) -> list[Mark]:
    """'R hand: ...', 'CRPS L arm - ...': the one side and its part that stand before what is said of it."""
    ends = label
    for mark in marks:
        if mark.text in _ENDS:
            ends = max(ends, mark.start)
        if mark.end > label and mark.kind not in _PLACES:
            break
    led = [mark for mark in marks if mark.end <= ends and mark.kind in {"side", "piece"}]
    return led if len({side_of(mark) for mark in led} & OPPOSITE.keys()) == 1 else []
