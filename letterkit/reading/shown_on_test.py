"""'Coord: dysmetric LUE on FNF', 'right arm ataxic on finger-nose': what a test of coordination showed.

It is the result of that test, of the arm named between them, and no finding of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark, items_of
from letterkit.reading.texts import Texts

_TESTS = frozenset({"finger_nose_test", "rapid_alternating_movements"})
_COORDINATION = ("coordination",)
_ON = frozenset({"on", "with", "in", "during", "at", "for"})
_BETWEEN = frozenset({"filler", "side", "piece", "severity", "certain"})
_RESULTS = frozenset({"state", "value", "negator"})


def shown_on_test(marks: Sequence[Mark], texts: Texts) -> Sequence[Mark]:
    """The marks of one sentence with such words as the result of the test named behind them."""
    if texts.items.isdisjoint(_TESTS) or texts.isdisjoint(_ON):
        return marks
    made = list(marks)
    for index, mark in enumerate(marks):
        if items_of(mark)[:1] and items_of(mark)[0] in _TESTS and (at := _shown(marks, index)) is not None:
            made[at] = replace(marks[at], kind="state", term=None)
            before = marks[:at]
            label = next((each for each, other in enumerate(before) if items_of(other)[:1] == _COORDINATION), None)
            if label is not None and all(other.kind in _BETWEEN for other in before[label + 1 :]):
                made[label] = Mark("filler", before[label].start, before[label].end, text="on")
    return made


def _shown(marks: Sequence[Mark], test: int) -> int | None:
    """Where the result stands of a test that is told behind it; None where the test has a result of its own."""
    after = marks[test + 1] if test + 1 < len(marks) else None
    if after is not None and (after.kind in _RESULTS or after.text == ":"):
        return None
    at = test - 1
    led = False
    while at >= 0 and marks[at].kind in _BETWEEN:
        led = led or marks[at].text in _ON
        at -= 1
    state = marks[at].state if at >= 0 and led else None
    if state is None or "coordination" not in state.scales:
        return None
    return at if marks[at].kind == "state" or items_of(marks[at])[:1] == _COORDINATION else None
