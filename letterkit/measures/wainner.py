"""Wainner's five item rule for carpal tunnel syndrome, with the published accuracy of each count.

Source: Wainner 2005, Arch Phys Med Rehabil 86:609-18 (items and the row for five confirmed, rows for three and four
confirmed in a second text, row for two from memory). Derived in 82 patients and not validated. All limits are strict.
"""

from __future__ import annotations

from dataclasses import dataclass

from letterkit.measures.result import Mark, NotComputable, Range, Result, Source, checked, figure, given, missing_names

SOURCE = Source("Wainner 2005", Mark.CONFIRMED)
PRE_TEST_PERCENT = 34
RATIO_OVER, SEVERITY_OVER, AGE_OVER_YEARS = 0.67, 1.9, 45
LIMITS = ("Derived in 82 patients and not validated; information, not a diagnosis",)


@dataclass(frozen=True, slots=True)
class RuleAccuracy:
    """Published accuracy of that many items or more."""

    items_from: int
    sensitivity: float
    specificity: float
    lr_positive: float
    source: Source


ACCURACY: tuple[RuleAccuracy, ...] = (
    RuleAccuracy(2, 0.98, 0.14, 1.1, Source("Wainner 2005", Mark.FROM_MEMORY)),
    RuleAccuracy(3, 0.98, 0.54, 2.1, SOURCE),
    RuleAccuracy(4, 0.77, 0.83, 4.6, SOURCE),
    RuleAccuracy(5, 0.18, 0.99, 18.3, SOURCE),
)


@dataclass(frozen=True, slots=True)
class WainnerCount:
    """Number of items positive, and the published accuracy of that many or more; none for 0 or 1."""

    positive: int
    accuracy: RuleAccuracy | None


def wrist_ratio(depth_mm: float, width_mm: float) -> float:
    """Anteroposterior depth of the wrist divided by its width, both in millimetres."""
    checked("wainner.depth_mm", depth_mm, 1, 200, "mm")
    checked("wainner.width_mm", width_mm, 1, 200, "mm")
    return depth_mm / width_mm


def wainner(
    *,
    shaking_eases: bool | None,
    wrist_ratio: float | None,
    symptom_severity: float | None,
    thumb_sensation_reduced: bool | None,
    age_years: int | None,
) -> Result[WainnerCount] | NotComputable:
    """Count of five items: shaking the hands eases, wrist ratio over 0.67, Boston symptom severity over 1.9, reduced
    sensation in the median field of the thumb, age over 45.

    Not computable with an item missing; the possible range of the count is given.
    """
    if symptom_severity is not None:
        checked("wainner.symptom_severity", symptom_severity, 1, 5)
    if age_years is not None:
        checked("wainner.age_years", age_years, 0, 130, "years")
    items = {
        "shaking_eases": shaking_eases,
        "wrist_ratio": None if wrist_ratio is None else wrist_ratio > RATIO_OVER,
        "symptom_severity": None if symptom_severity is None else symptom_severity > SEVERITY_OVER,
        "thumb_sensation_reduced": thumb_sensation_reduced,
        "age_years": None if age_years is None else age_years > AGE_OVER_YEARS,
    }
    inputs = given(
        shaking_eases=shaking_eases,
        wrist_ratio=wrist_ratio,
        symptom_severity=symptom_severity,
        thumb_sensation_reduced=thumb_sensation_reduced,
        age_years=age_years,
    )
    positive = sum(value is True for value in items.values())
    if missing := missing_names(**items):
        possible = Range(positive, positive + len(missing))
        return NotComputable("Wainner rule", missing, SOURCE, possible=possible, inputs=inputs, limits=LIMITS)
    row = next((row for row in reversed(ACCURACY) if positive >= row.items_from), None)
    arithmetic = f"{' + '.join(str(int(bool(value))) for value in items.values())} = {positive} of 5"
    if row is not None:
        arithmetic += f"; {row.items_from} or more: positive likelihood ratio {figure(row.lr_positive)}"
    source = row.source if row is not None else SOURCE
    return Result("Wainner rule", WainnerCount(positive, row), inputs, arithmetic, source, LIMITS)
