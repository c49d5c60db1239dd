"""'Coord: dysmetric LUE on FNF', 'finger-nose is done without ataxia': what a test of coordination showed.

It is the result of that test, of the arm named between them, and no finding of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import StateWord
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_TESTS = frozenset({"finger_nose_test", "rapid_alternating_movements"})
_COORDINATION = ("coordination",)
_ON = frozenset({"on", "with", "in", "during", "at", "for"})
_IMPAIRED = StateWord(("abnormal",))
_BETWEEN = frozenset({"filler", "side", "piece", "severity", "certain"})
_RESULTS = frozenset({"state", "value", "negator"})


def shown_on_test(marks: Sequence[Mark], texts: Texts) -> Sequence[Mark]:
    """The marks of one sentence with such words as the result of the test named beside them."""
    if texts.items.isdisjoint(_TESTS):
        return marks
    made = list(marks)
    for index, mark in enumerate(marks):
        if not items_of(mark)[:1] or items_of(mark)[0] not in _TESTS:
            continue
        if (behind := _shown_behind(marks, index)) is not None:
            made[behind] = replace(marks[behind], kind="state", term=None, state=_IMPAIRED)
        elif (at := _shown(marks, index)) is not None:
            made[at] = replace(marks[at], kind="state", term=None)
            before = marks[:at]
            label = next((each for each, other in enumerate(before) if items_of(other)[:1] == _COORDINATION), None)
            if label is not None and all(other.kind in _BETWEEN for other in before[label + 1 :]):
                made[label] = Mark("filler", before[label].start, before[label].end, text="on")
    return made


def _shown_behind(marks: Sequence[Mark], test: int) -> int | None:
    """'Finger-nose is done without ataxia', 'finger-nose showed ataxia': where the result stands behind its test."""
    at = test + 1
    led = False
    while at < len(marks) and (
        marks[at].kind in _BETWEEN or marks[at].kind == "negator" or marks[at].text in words().sets["tests_done"]
    ):
        led = led or marks[at].kind == "negator" or marks[at].text in words().sets["shows"]
        at += 1
    term = marks[at].term if led and at < len(marks) else None
    if term is None or term.items[:1] != _COORDINATION or not term.state:
        return None
    return at if _is_all(marks, at + 1) else None


def _is_all(marks: Sequence[Mark], at: int) -> bool:
    """'Without ataxia on the left' ends there; not so 'without ataxia or tremor', '..., left with ataxia'."""
    while at < len(marks) and marks[at].kind in _BETWEEN:
        at += 1
    if at == len(marks):
        return True
    rest = marks[at:]
    again = any(items_of(mark)[:1] == _COORDINATION for mark in rest)
    own = any(mark.kind in {"state", "value"} for mark in rest)
    return own and not again and rest[0].text in {"and", "comma", "but"}


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
