"""Weights that are of a grip because of the meter: 'Jamar: R 38 kg', '70/72/68 pounds on the right'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import Entry
from letterkit.reading.texts import Texts
from letterkit.reading.units import PULLED
from letterkit.reading.values import may_grade
from letterkit.reading.words import words

_WEIGHTS = frozenset({"kg", "lb"})
_GRIP = "grip strength"
_SOME = 2  # muscles with a grade that make the number behind a grip one
_LOOK = "that the weight is of grip is not said"


def gripped(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks of one sentence, whose words are `texts`, with the grip as a term where only its meter is named."""
    if texts.isdisjoint(words().sets["grip_meters"]) and "value" not in texts.kinds:
        return marks
    if words().sets["grips"] & texts:
        marks = _graded(marks)
    weighed = [mark for mark in marks if mark.amount is not None and mark.amount.unit in _WEIGHTS]
    metered = texts & words().sets["grip_meters"]
    if (metered or weighed) and not texts.items.isdisjoint(PULLED):
        marks = _of_the_hand(marks)
    if not (weighed or metered) or any(mark.kind in {"term", "hint", "ambiguous"} for mark in marks):
        return marks
    term = phrases[_GRIP].term
    if metered and any(mark.kind == "value" for mark in marks):
        at = next(index for index, mark in enumerate(marks) if mark.text in metered)
        named = Mark("term", marks[at].start, marks[at].end, term=term, text=_GRIP)
        return [*(_unnumbered(mark) for mark in marks[:at]), named, *_of_the_hand(marks[at + 1 :])]
    trials = [mark for mark in weighed if mark.amount is not None and mark.amount.kind == "trials"]
    if not trials or any(mark.kind == "word" and mark.text in words().sets["weighed"] for mark in marks):
        return marks
    return [Mark("term", marks[0].start, marks[0].start, term=term, text=_GRIP, look=_LOOK), *marks]


def _graded(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Biceps 4, triceps 4, grip 3': a grade of power as those before it, and no weight."""
    graded = [at for at, mark in enumerate(marks) if mark.kind == "term" and _is_grade(marks, at + 1)]
    muscles = [at for at in graded if items_of(marks[at])[:1] and items_of(marks[at])[0].endswith("_power")]
    if len(muscles) < _SOME:
        return marks
    return [
        replace(mark, hints=(*mark.hints, "power")) if at in graded and mark.text in words().sets["grips"] else mark
        for at, mark in enumerate(marks)
    ]


def _is_grade(marks: Sequence[Mark], at: int) -> bool:
    amount = marks[at].amount if at < len(marks) else None
    return amount is not None and may_grade(amount)


def _of_the_hand(marks: Sequence[Mark]) -> list[Mark]:
    """'(2nd handle)', 'setting 2', '3 trials': which handle and how often, and no result."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        near = {each.text for each in (*marks[max(0, index - 2) : index], *marks[index + 1 : index + 3])}
        times = any(each.text in words().sets["times_tried"] for each in marks[index + 1 : index + 2])
        bare = mark.kind in {"value", "piece"} and not _has_weight(mark)
        counted = bare and (times or near & words().sets["handles"])
        made.append(replace(mark, kind="word", amount=None, piece=None) if counted else mark)
    return made


def _has_weight(mark: Mark) -> bool:
    return mark.amount is not None and mark.amount.unit in _WEIGHTS


def _unnumbered(mark: Mark) -> Mark:
    """'Three trials with the dynamometer': how often, and no result."""
    return replace(mark, kind="word", amount=None) if mark.kind == "value" and not _has_weight(mark) else mark
