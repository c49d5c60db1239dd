"""What is said of all limbs in short: 'pulses 2+ x4', 'biceps and triceps 4/5' beside deltoids in the plural."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, items_of, side_of, value_of
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_GRADED = frozenset({"grade", "signed", "span"})
_ENDS = frozenset({"joiner", "break"})
_FOUR_TIMES = frozenset({"x", "x4", "×", "×4"})


def of_all_limbs(marks: list[Mark], texts: Texts, catalogue: Catalogue) -> list[Mark]:
    """The marks of one sentence with what is said of all four limbs told of both arms."""
    if not texts.isdisjoint(_FOUR_TIMES):
        marks = _four_times(marks)
    if "clubbing" in texts.items and "negator" not in texts.kinds and not words().sets["clubbed"].isdisjoint(texts):
        marks = [_of_both(mark) for mark in marks]
    if not any([side_of(mark) for mark in (*texts.sides, *texts.placed)]):  # noqa: C419 - quicker than a generator
        marks = _muscles_of_both(marks, catalogue)
    return marks


def _of_both(mark: Mark) -> Mark:
    """'Clubbing of the fingers': of both hands, where no side is named."""
    if mark.term is None or items_of(mark)[:1] != ("clubbing",):
        return mark
    return replace(mark, term=replace(mark.term, side="both"))


def _four_times(marks: Sequence[Mark]) -> list[Mark]:
    """'Strength 5/5 x4', 'pulses palpable x 4 extremities': on both sides."""
    made: list[Mark] = []
    at = 0
    while at < len(marks):
        mark = marks[at]
        end = at + (1 if mark.text.endswith("4") else 2)
        counted = mark.text in _FOUR_TIMES and mark.kind == "word" and _is_four(marks[end - 1 : end])
        if counted and made and _is_result(made[-1]):
            end += 1 if marks[end : end + 1] and marks[end].kind == "filler" else 0  # 'x 4 extremities'
            if end == len(marks) or marks[end].kind in _ENDS:
                made.append(Mark("side", mark.start, marks[end - 1].end, text="both", word="both"))
                at = end
                continue
        made.append(mark)
        at += 1
    return made


def _is_result(mark: Mark) -> bool:
    """'Intact', '5/5', '2+': and no '8' or '3 cm', which another number may follow."""
    return mark.kind == "state" or (mark.amount is not None and mark.amount.kind in _GRADED)


def _is_four(last: Sequence[Mark]) -> bool:
    if not last:
        return False
    amount = last[0].amount
    return last[0].text.endswith("4") or (amount is not None and amount.kind == "bare" and amount.numbers == (4.0,))


def _muscles_of_both(marks: list[Mark], catalogue: Catalogue) -> list[Mark]:
    """'3/5 in the deltoids, 4/5 in the biceps and triceps': one muscle in the plural makes all of them both sides'."""
    muscles = [mark.term for mark in marks if value_of(mark, catalogue) is ValueKind.MRC]
    plural = [term for term in muscles if term is not None and term.plural]
    if not plural or len(plural) == len(muscles):
        return marks
    return [
        replace(mark, term=replace(mark.term, plural=True))
        if mark.term is not None and value_of(mark, catalogue) is ValueKind.MRC
        else mark
        for mark in marks
    ]
