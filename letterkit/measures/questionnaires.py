"""Scores of upper limb questionnaires from their answers, each with its own rule for missing items.

Sources: QuickDASH, at least 10 of 11 items (confirmed); DASH, official scoring sheet, at least 27 of 30 items, optional
modules complete (confirmed); Boston carpal tunnel questionnaire, mean of 11 and of 8 items (confirmed), of which at
least 9 and 6 answered (common practice, no source: the original sets no least number); patient-rated wrist and hand
evaluation, MacDermid 1998 (from memory). Answers only: no item's text stands here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from letterkit.errors import InvalidValue
from letterkit.measures.result import Mark, NotComputable, Result, Source, figure, given

QUICK_DASH = Source("QuickDASH scoring", Mark.CONFIRMED)
DASH = Source("DASH scoring sheet", Mark.CONFIRMED)
BOSTON = Source("Boston carpal tunnel questionnaire, Leite 2006", Mark.CONFIRMED)
BOSTON_MISSING = Source("least number of Boston items answered", Mark.COMMON_PRACTICE)
PRWHE = Source("patient-rated wrist and hand evaluation, MacDermid 1998", Mark.FROM_MEMORY)

Answers = Sequence[int | None]


@dataclass(frozen=True, slots=True)
class Score:
    """A questionnaire's score, and how many of its items were answered."""

    score: float
    answered: int
    items: int


@dataclass(frozen=True, slots=True)
class _Form:
    name: str
    items: int
    least_answered: int
    source: Source
    disability: bool  # ((mean) - 1) x 25 instead of the mean
    limits: tuple[str, ...] = ()


_BOSTON_LIMITS = ("Mean of the answered items; the least number answered is common practice, so show how many were",)
_FORMS = {
    "quick_dash": _Form("QuickDASH", 11, 10, QUICK_DASH, disability=True),
    "dash": _Form("DASH", 30, 27, DASH, disability=True),
    "module": _Form("DASH optional module", 4, 4, DASH, disability=True),
    "severity": _Form("Boston symptom severity", 11, 9, BOSTON, disability=False, limits=_BOSTON_LIMITS),
    "function": _Form("Boston functional status", 8, 6, BOSTON, disability=False, limits=_BOSTON_LIMITS),
}


def _check(name: str, answers: Answers, items: int, low: int, high: int) -> None:
    if len(answers) != items:
        raise InvalidValue(f"{name}: {len(answers)} answers were given. Allowed: {items}, None where unanswered")
    for number, answer in enumerate(answers, 1):
        if answer is not None and not (isinstance(answer, int) and low <= answer <= high):
            raise InvalidValue(f"{name}, item {number}: {answer} was given. Allowed: a whole number {low} to {high}")


def _unanswered(answers: Answers, first: int = 1) -> tuple[str, ...]:
    return tuple(f"item {number}" for number, answer in enumerate(answers, first) if answer is None)


def _scored(form: _Form, answers: Answers) -> Result[Score] | NotComputable:
    _check(form.name, answers, form.items, 1, 5)
    known = [answer for answer in answers if answer is not None]
    inputs = given(answered=len(known), sum=sum(known))
    if len(known) < form.least_answered:
        reason = f"{len(known)} of {form.items} items were answered and {form.least_answered} are needed"
        return NotComputable(form.name, _unanswered(answers), form.source, reason, inputs=inputs, limits=form.limits)
    mean = Fraction(sum(known), len(known))
    score = (mean - 1) * 25 if form.disability else mean
    quotient = f"{sum(known)} / {len(known)}"
    arithmetic = f"({quotient} - 1) x 25" if form.disability else quotient
    value = Score(float(score), len(known), form.items)
    text = f"{arithmetic} = {figure(score)} ({len(known)} of {form.items} items)"
    return Result(form.name, value, inputs, text, form.source, form.limits)


def quick_dash(answers: Answers) -> Result[Score] | NotComputable:
    """QuickDASH, 0 best to 100, from 11 answers of 1 to 5, None where unanswered; at least 10 needed."""
    return _scored(_FORMS["quick_dash"], answers)


def dash(answers: Answers) -> Result[Score] | NotComputable:
    """DASH, 0 best to 100, from 30 answers of 1 to 5, None where unanswered; at least 27 needed."""
    return _scored(_FORMS["dash"], answers)


def dash_module(answers: Answers) -> Result[Score] | NotComputable:
    """One optional DASH or QuickDASH module, 0 best to 100, from 4 answers of 1 to 5; all needed."""
    return _scored(_FORMS["module"], answers)


def boston_symptom_severity(answers: Answers) -> Result[Score] | NotComputable:
    """Boston symptom severity, 1 best to 5: mean of 11 items; at least 9 needed (common practice, no source)."""
    return _scored(_FORMS["severity"], answers)


def boston_functional_status(answers: Answers) -> Result[Score] | NotComputable:
    """Boston functional status, 1 best to 5: mean of 8 items; at least 6 needed (common practice, no source)."""
    return _scored(_FORMS["function"], answers)


def prwhe(pain: Answers, function: Answers) -> Result[Score] | NotComputable:
    """Patient-rated wrist (and hand) evaluation, 0 best to 100: sum of 5 pain items and half the sum of 10 of function.

    Answers of 0 to 10, all 15 needed: no rule for missing items is used here. From memory.
    """
    name = "patient-rated wrist and hand evaluation"
    _check(f"{name}, pain", pain, 5, 0, 10)
    _check(f"{name}, function", function, 10, 0, 10)
    pains = [answer for answer in pain if answer is not None]
    functions = [answer for answer in function if answer is not None]
    inputs = given(pain_sum=sum(pains), function_sum=sum(functions))
    if len(pains) + len(functions) < 15:  # noqa: PLR2004 - all items
        missing = _unanswered(pain) + _unanswered(function, 6)
        return NotComputable(name, missing, PRWHE, inputs=inputs)
    score = sum(pains) + Fraction(sum(functions), 2)
    arithmetic = f"{sum(pains)} + {sum(functions)} / 2 = {figure(score)}"
    return Result(name, Score(float(score), 15, 15), inputs, arithmetic, PRWHE)
