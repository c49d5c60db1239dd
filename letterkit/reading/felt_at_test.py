"""What a test was like for the patient: 'MCP squeeze was tender', 'Phalen's was positive for tingling in the thumb'."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, items_of, value_of
from letterkit.reading.phrases import StateWord
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_BETWEEN = frozenset({"filler", "certain", "severity", "piece", "side", "negator"})
_BROUGHT_ON = frozenset({"for", "with"})
_NEGATIVE_FOR = "negative for"
_LINKS = frozenset({"filler", "certain", "side", "piece"})
_WHERE = frozenset({"piece", "filler", "joiner"})
_HURTS = StateWord(("painful",))
_CALM = StateWord(("negative",))


def felt_at_test(marks: Sequence[Mark], texts: Texts, catalogue: Catalogue) -> Sequence[Mark]:
    """The marks of one sentence, whose words are `texts`, with these as results of the test, or left out."""
    if not texts.isdisjoint(_BROUGHT_ON) and not texts.isdisjoint(words().symptoms):
        marks = _without_symptom(marks, catalogue)
    if _NEGATIVE_FOR in texts:
        marks = _negative(marks, catalogue)
    if "tender\n" in texts.lines:
        marks = _tender(marks, catalogue)
    return marks


def _negative(marks: Sequence[Mark], catalogue: Catalogue) -> Sequence[Mark]:
    """'Phalen's was negative for tingling or numbness': the test is negative, of the skin nothing is told."""
    made: list[Mark] = []
    at = 0
    while at < len(marks):
        mark = marks[at]
        tested = next((each for each in reversed(made) if each.kind not in _LINKS), None)
        end = _symptoms_end(marks, at + 1, catalogue) if mark.text == _NEGATIVE_FOR else at
        if end > at and tested is not None and value_of(tested, catalogue) is ValueKind.TEST:
            made.append(replace(mark, kind="state", end=marks[end - 1].end, state=_CALM, text="negative"))
            at = end
            continue
        made.append(mark)
        at += 1
    return made


def _symptoms_end(marks: Sequence[Mark], start: int, catalogue: Catalogue) -> int:
    """Where a list of symptoms ends that begins at `start`; 0 where it goes on to what is none: 'pain or swelling'."""
    at, end = start, 0
    symptoms = words().symptoms | words().sets["felt_by_examiner"]
    while at < len(marks) and (marks[at].text in symptoms or marks[at].kind in {"joiner", "certain", "severity"}):
        at += 1
        end = at if marks[at - 1].text in symptoms else end
    ends = at == len(marks) or marks[at].kind in {"break", "side", "filler", "state"}
    return end if ends or value_of(marks[at], catalogue) not in {None, ValueKind.PRESENCE} else 0


def _tender(marks: Sequence[Mark], catalogue: Catalogue) -> Sequence[Mark]:
    """'MCP squeeze was tender', 'the grind test was not tender': a test that hurts, and no tender joint."""
    made = list(marks)
    for index, mark in enumerate(marks):
        if not mark.text.endswith("tender") or items_of(mark)[:1] != ("joint_tenderness",):
            continue
        at = index - 1
        while at >= 0 and marks[at].kind in _BETWEEN:
            at -= 1
        if at < 0 or value_of(marks[at], catalogue) is not ValueKind.TEST:
            continue
        if any(each.kind == "piece" for each in marks[at:index]) and marks[at + 1].text not in {"of", "at", "on"}:
            continue  # 'with Watson's test the scaphoid was tender'
        calm = mark.term is not None and mark.term.state == "absent"
        made[index] = replace(mark, kind="state", term=None, state=_CALM if calm else _HURTS, text="painful")
    return made


def _without_symptom(marks: Sequence[Mark], catalogue: Catalogue) -> Sequence[Mark]:
    """'Positive on the right for tingling in the thumb': what makes the test positive is no finding of its own."""
    made: list[Mark] = []
    at = 0
    while at < len(marks):
        ahead = marks[at + 1].text if at + 1 < len(marks) else ""
        led = marks[at].text == "for" or (marks[at].text == "with" and ahead not in words().sets["found_at_test"])
        if led and ahead in words().symptoms and _is_positive(made, catalogue):
            at += 2
            while at < len(marks) and marks[at].kind in _WHERE and not _is_parted(marks, at):
                at += 1
            continue
        made.append(marks[at])
        at += 1
    return made


def _is_positive(before: Sequence[Mark], catalogue: Catalogue) -> bool:
    """Whether a test has just been called positive."""
    last = next((mark for mark in reversed(before) if mark.kind in {"term", "state", "negator"}), None)
    told = last is not None and last.state is not None and last.state.classes == ("positive",)
    tested = next((mark for mark in reversed(before) if mark.kind == "term"), None)
    return told and tested is not None and value_of(tested, catalogue) is ValueKind.TEST


def _is_parted(marks: Sequence[Mark], at: int) -> bool:
    """Whether the joiner at `at` leads to anything but one more place: ', and Tinel's was negative'."""
    if marks[at].kind != "joiner":
        return False
    ahead = next((mark for mark in marks[at + 1 :] if mark.kind not in {"filler", "joiner"}), None)
    return ahead is None or ahead.kind != "piece"
