"""Bare numbers behind a movement that is also a muscle's: 'elbow flexion 140, extension 0' tells angles, no power."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import DASHES, Mark, items_of
from letterkit.reading.phrases import Entry
from letterkit.reading.texts import Texts
from letterkit.reading.values import BEST_GRADE, may_grade
from letterkit.reading.words import words

_BETWEEN = frozenset({"filler", "side", "piece", "certain", "active_mode", "passive_mode"})
_UNNAMED_PLANE = "thumb abduction"
_WHICH_PLANE = "in which plane the thumb was abducted is not said"
_LOOK = "whether this is a grade of power or an angle is not said"


def angles_or_grades(marks: list[Mark], topic: Sequence[Mark], catalogue: Catalogue) -> list[Mark]:
    """The marks of one sentence, in which a small bare number beside angles is an angle, and alone a doubt.

    `topic` are the terms of the heading: under 'Power' a number is a grade.
    """
    marks = _dashed(marks, catalogue)
    values = [at for at, mark in enumerate(marks) if mark.kind == "value"]
    told = {at: term for at in values if (term := _moved(marks, at, catalogue)) is not None}
    small = [at for at, term in told.items() if _is_small(marks[at]) and may_be_graded(marks[term], catalogue)]
    if not small or any("power" in mark.hints for mark in (*marks, *topic)):
        return marks
    if any(_is_angle(marks[at]) for at in told):
        unit = {at: replace(amount, kind="amount", unit="deg") for at in small if (amount := marks[at].amount)}
        return [replace(mark, amount=unit[at]) if at in unit else mark for at, mark in enumerate(marks)]
    doubted = {told[at] for at in small}
    if any(_is_grade(mark) for mark in marks) or _names_a_muscle(marks, catalogue):  # 'biceps 4+, wrist extension 3'
        return [replace(mark, hints=("power",)) if at in doubted else mark for at, mark in enumerate(marks)]
    return [replace(mark, look=mark.look or _LOOK) if at in doubted else mark for at, mark in enumerate(marks)]


def thumb_abducted(marks: list[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Thumb abduction is limited to 40 degrees': how far it goes, and no power of the muscle that does it."""
    made = list(marks)
    term: int | None = None
    for at, mark in enumerate(marks):
        if mark.kind in {"term", "break"}:
            term = at if mark.text == _UNNAMED_PLANE else None
        elif term is not None and mark.kind == "value" and _is_angle(mark):
            palmar = phrases["palmar abduction"].term
            made[term] = replace(marks[term], term=palmar, look=_WHICH_PLANE)
    return made


def thumb_restricted(
    marks: list[Mark], texts: Texts, topic: Sequence[Mark], phrases: Mapping[str, Entry]
) -> list[Mark]:
    """'Thumb abduction is restricted', 'limitation of thumb abduction': how far it goes, unless power is spoken of."""
    restricts = words().sets["restricts"]
    if _UNNAMED_PLANE not in texts or texts.isdisjoint(restricts):
        return marks
    if any("power" in mark.hints for mark in (*marks, *topic)) or any(_is_grade(mark) for mark in marks):
        return marks
    made = list(marks)
    for at, mark in enumerate(marks):
        if mark.text != _UNNAMED_PLANE or mark.term is None:
            continue
        near = (
            next((each for each in reversed(marks[:at]) if each.kind not in _BETWEEN), None),
            next((each for each in marks[at + 1 :] if each.kind not in _BETWEEN), None),
        )
        if any(each is not None and each.text in restricts for each in near):
            made[at] = replace(mark, term=phrases["palmar abduction"].term, look=_WHICH_PLANE)
    return made


def _dashed(marks: list[Mark], catalogue: Catalogue) -> list[Mark]:
    """'Wrist flexion -10': a dash that touches its number only may be a minus."""
    if DASHES.isdisjoint([mark.text for mark in marks]):
        return marks
    made = list(marks)
    for at in range(1, len(marks) - 1):
        before, dash, value = marks[at - 1 : at + 2]
        touches = value.kind == "value" and before.end < dash.start and dash.end == value.start
        if touches and dash.text in DASHES and (term := _moved(marks, at + 1, catalogue)) is not None:
            made[term] = replace(made[term], look=made[term].look or "whether the dash is a minus is not said")
    return made


def _moved(marks: Sequence[Mark], at: int, catalogue: Catalogue) -> int | None:
    """Where the movement stands that the number at `at` is told of."""
    if marks[at].kind != "value":
        return None
    before = next((each for each in range(at - 1, -1, -1) if marks[each].kind not in _BETWEEN), None)
    if before is None or marks[before].kind != "term":
        return None
    return before if any(catalogue.items[slug].unit == "deg" for slug in items_of(marks[before])) else None


def _is_small(mark: Mark) -> bool:
    return mark.amount is not None and mark.amount.kind == "bare" and may_grade(mark.amount)


def _is_angle(mark: Mark) -> bool:
    """Whether the number can be none of power: it has degrees, or is too large."""
    amount = mark.amount
    if amount is None:
        return False
    large = amount.kind in {"bare", "arc"} and not amount.unit and max(amount.numbers) > BEST_GRADE
    return amount.unit == "deg" or large


def _is_grade(mark: Mark) -> bool:
    return mark.amount is not None and mark.amount.kind in {"grade", "signed", "span", "pair"}


def may_be_graded(mark: Mark, catalogue: Catalogue) -> bool:
    """Whether a power is among what the movement may mean, or goes by the same words."""
    slugs = set(items_of(mark))
    slugs |= {other for group in words().siblings if slugs & set(group) for other in group}
    return any(catalogue.items[slug].value is ValueKind.MRC for slug in slugs)


def _names_a_muscle(marks: Sequence[Mark], catalogue: Catalogue) -> bool:
    """Whether some muscle that is no movement stands in the sentence: 'biceps 5, elbow extension 4'."""
    return any(
        bool(items) and all(catalogue.items[slug].value is ValueKind.MRC for slug in items)
        for items in map(items_of, marks)
    )
