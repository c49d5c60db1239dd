"""A sign that is told of one place after another: 'Tinel's at the elbow negative, at the wrist positive on the right'.

What stands behind each place is of that place, so the sign is named again before it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark
from letterkit.reading.parting import PARTS
from letterkit.reading.phrases import Entry
from letterkit.reading.tapped import is_tinel


def at_each_place(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """The marks of one sentence with Tinel's sign named before each place that has a result of its own."""
    at = next((index for index, mark in enumerate(marks) if is_tinel(mark)), None)
    plain = phrases.get("tinel's")
    if at is None or plain is None or any(mark.kind == "term" for mark in marks[at + 1 :]):
        return list(marks)
    groups = _groups(marks, at + 1)
    while len(groups) > 1 and {mark.kind for mark in marks[slice(*groups[-1])]} <= {"side", "filler"}:
        groups.pop()  # '..., left'
    sited = marks[at].text.removeprefix("tinel's").removeprefix("tinel").strip() not in {"", "sign", "test"}
    first = _is_told(marks[slice(*groups[0])]) or (sited and _is_result(marks[slice(*groups[0])]))
    if len(groups) < 2 or not first or not all(_is_told(marks[slice(*each)]) for each in groups[1:]):  # noqa: PLR2004
        return list(marks)
    made = list(marks)
    for start, _ in reversed(groups[1:]):
        where = marks[start].start
        made.insert(start, replace(marks[at], start=where, end=where, term=plain.term, text="tinel's"))
    return made


def _groups(marks: Sequence[Mark], start: int) -> list[tuple[int, int]]:
    """The stretches between joiners from `start` on."""
    found: list[tuple[int, int]] = []
    for index in range(start, len(marks) + 1):
        if index == len(marks) or marks[index].kind in PARTS:
            if index > start:
                found.append((start, index))
            start = index + 1
    return found or [(start, start)]


def _is_told(group: Sequence[Mark]) -> bool:
    """'At the elbow neg on the right': a place, then its result, and at most a side behind it."""
    kinds = [mark.kind for mark in group if mark.kind not in {"filler", "side"}]
    return len(kinds) > 1 and kinds[-1] == "state" and set(kinds[:-1]) == {"piece"}


def _is_result(group: Sequence[Mark]) -> bool:
    return [mark.kind for mark in group if mark.kind not in {"filler", "side"}] == ["state"]
