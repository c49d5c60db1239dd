"""What an exception takes out of a statement, and what it says: 'negative bilaterally, except on the right'."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import StateWord
from letterkit.reading.places import Places
from letterkit.reading.predication import Predication, Said
from letterkit.reading.result import ReadFinding
from letterkit.reading.said import classes_of
from letterkit.reading.sides import Statement

_DECIDES = frozenset({"negative", "absent", "positive", "present"})  # classes of which each has its opposite


def of_exception(predication: Predication, places: Places) -> Statement | None:
    """What is so at the place that is excepted; None where what was said of the others does not tell."""
    if predication.negated:
        return Statement((), places, implied=True)
    told = [each for each in (*predication.before, *predication.tail) if isinstance(each, Said)]
    classes, unclear, some = classes_of(told)
    if unclear or not some or not classes <= _DECIDES:
        return None
    other = ("positive", "present") if classes & {"negative", "absent"} else ("negative", "absent")
    return Statement((Said(Mark("state", 0, 0, state=StateWord(other))),), places)


def without(finding: ReadFinding, excepted: Sequence[ReadFinding]) -> Iterator[ReadFinding]:
    """The finding without the side or place that an exception takes out of it; nothing where none of it is left."""
    left: ReadFinding | None = finding
    for each in excepted:
        if left is None or each.item != left.item:
            continue
        same = not each.sites or each.sites == left.sites
        if same and each.side in {left.side, "both"}:
            left = None
        elif same and left.side == "both" and each.side is not None:
            left = replace(left, side="left" if each.side == "right" else "right")
    if left is not None:
        yield left
