"""'Tapping set off an electric discharge', 'Phalen's triggered tingling': what a test did, and what it brought on.

Written as the words that tests are told with: a nerve that discharges is no discharge of a wound, an electrical
sensation is no sensation, and a test that triggers something is no finger that triggers.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from letterkit.reading.marks import Mark
from letterkit.reading.predication import BE
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_BETWEEN = frozenset({"filler", "severity", "certain", "negator", "side", "piece"})
_FAR = 5  # marks between what a test did and what it brought on
_ON = frozenset({"on", "upon", "with", "by", "during", "after", "when"})
_WHERE = frozenset({"filler", "side", "piece", "certain", "severity"})
_LED = frozenset({"filler", "certain", "severity", "negator"})
_DID = "provoked"  # as which a verb of two words is read
_SHOCK = "electric shock"  # as which what is felt along a nerve is read


@cache
def _asked() -> frozenset[str]:
    sets = words().sets
    return sets["electric"] | sets["sets_off"] | sets["shooting"] | sets["triggers_something"] | sets["taps"]


def brought_on(marks: Sequence[Mark], texts: Texts) -> Sequence[Mark]:
    """The marks of one sentence with such words as those that tests are told with."""
    if texts.isdisjoint(_asked()):
        return marks
    sets = words().sets
    made = list(marks)
    if not texts.isdisjoint(sets["electric"]) or not texts.isdisjoint(sets["shooting"]):
        made = _shocks(made, tapped=not texts.isdisjoint(sets["taps"]))
    if not texts.isdisjoint(sets["sets_off"]) or not texts.isdisjoint(sets["triggers_something"]):
        made = _verbs(made)
    return made if texts.isdisjoint(sets["taps"]) else _felt_then(made)


def _shocks(marks: Sequence[Mark], *, tapped: bool) -> list[Mark]:
    """'An electric shock-like sensation', 'an electrical discharge', and 'shooting pain' where a nerve was `tapped`."""
    sets = words().sets
    felt = sets["electric"] | sets["electric_feelings"]
    made: list[Mark] = []
    at = 0
    while at < len(marks):
        mark = marks[at]
        end = at + 1
        if mark.text in sets["electric"]:
            while end < len(marks) and (marks[end].text in felt or marks[end].text == "-"):
                end += 1
            end -= marks[end - 1].text == "-"
        hurts = tapped and (mark.text in sets["electric"] or mark.text in sets["shooting"])
        if hurts and end < len(marks) and marks[end].text in sets["pains"]:
            end += 1
        shock = end > at + 1 or (tapped and mark.text in sets["shooting_pains"])
        made.append(Mark("word", mark.start, marks[end - 1].end, text=_SHOCK) if shock else mark)
        at = end
    return made


def _verbs(marks: Sequence[Mark]) -> list[Mark]:
    """'Tapping resulted in tingling', 'was followed by tingling', 'set off a shock', 'triggered paraesthesia'."""
    sets = words().sets
    made: list[Mark] = []
    at = 0
    while at < len(marks):
        mark = marks[at]
        two = mark.text in sets["sets_off"] and at + 1 < len(marks) and marks[at + 1].text in sets["off"]
        end = at + 1 + two
        verb = two or (mark.text in sets["triggers_something"] and _is_verb(marks, at))
        did = verb and _brings_symptom(marks, end)
        made += [Mark("word", mark.start, marks[end - 1].end, text=_DID)] if did else marks[at:end]
        at = end
    return made


def _felt_then(marks: list[Mark]) -> list[Mark]:
    """'On tapping the carpal tunnel, tingling was felt', 'on percussion of the wrist there was no tingling'."""
    sets = words().sets
    at = next((at for at, mark in enumerate(marks[1:], 1) if mark.text in sets["taps"] and mark.kind != "term"), 0)
    if not at or marks[at - 1].text not in _ON:
        return marks
    symptom = next((each for each in range(at + 1, len(marks)) if marks[each].text in sets["tingles"]), 0)
    place = next((each for each in range(symptom - 1, at, -1) if marks[each].kind == "piece"), 0)
    if not place or any(mark.kind not in _WHERE for mark in marks[at + 1 : place]):
        return marks
    between = marks[place + 1 : symptom]
    if any(mark.kind not in _LED and mark.text != "comma" and not _is_noted(mark) for mark in between):
        return marks
    behind = symptom + 1
    while behind < len(marks) and (marks[behind].text in BE or _is_noted(marks[behind])):
        behind += 1
    denied = [mark for mark in between if mark.kind == "negator"]
    did = Mark("word", marks[place].end, marks[place].end, text=_DID)
    return [*marks[: place + 1], did, *denied, marks[symptom], *marks[behind:]]


def _is_noted(mark: Mark) -> bool:
    """'Felt', 'noted': that it is there, and no more."""
    return mark.kind == "state" and mark.state is not None and mark.state.classes == ("present",)


def _is_verb(marks: Sequence[Mark], at: int) -> bool:
    """'Triggered', 'triggers', 'did not trigger'; and no 'trigger pain'."""
    return marks[at].text != "trigger" or bool(at and (marks[at - 1].kind == "negator" or marks[at - 1].text == "to"))


def _brings_symptom(marks: Sequence[Mark], start: int) -> bool:
    """Whether a symptom comes next: 'an electric shock', 'mild tingling', 'no symptoms', 'left thumb pain'."""
    near = (mark for mark in marks[start : start + _FAR] if mark.kind not in _BETWEEN or mark.text == "with")
    mark = next(near, None)
    return mark is not None and (
        mark.text in words().symptoms or (mark.term is not None and mark.term.pain) or mark.text == _SHOCK
    )
