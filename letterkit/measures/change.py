"""Change between two scores beside the published minimal important difference, and error of the goniometer.

Sources: minimal important differences of DASH and QuickDASH (confirmed); five degrees as the usual error of a
goniometer (from memory). No minimal detectable change is held here for any other instrument.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from letterkit.errors import InvalidValue
from letterkit.measures.result import Mark, Range, Result, Source, checked, exact, figure, given

GONIOMETER_ERROR_DEG = 5
GONIOMETER_SOURCE = Source("usual error of a goniometer", Mark.FROM_MEMORY)
LIMITS = ("Applies to the group in which it was measured; information on size, not on cause",)


@dataclass(frozen=True, slots=True)
class ImportantDifference:
    """Least change in points that patients call important: the value, and the range of published values."""

    points: float
    published: Range
    source: Source


IMPORTANT_DIFFERENCES = {
    "DASH": ImportantDifference(10, Range(5, 15), Source("DASH minimal important difference", Mark.CONFIRMED)),
    "QuickDASH": ImportantDifference(
        14, Range(9, 20), Source("QuickDASH minimal important difference", Mark.CONFIRMED)
    ),
}


@dataclass(frozen=True, slots=True)
class Change:
    """Change in points (negative is fewer), its direction, and whether its size reaches the important difference."""

    points: float
    direction: Literal["better", "worse", "none"]
    reaches_important_difference: bool
    within_published_range: bool


def score_change(questionnaire: str, before: float, after: float) -> Result[Change]:
    """Change between two DASH or two QuickDASH scores (0 best to 100). Raises InvalidValue for another instrument."""
    known = IMPORTANT_DIFFERENCES.get(questionnaire)
    if known is None:
        allowed = ", ".join(IMPORTANT_DIFFERENCES)
        raise InvalidValue(f"change.questionnaire: {questionnaire!r} was given. Allowed: {allowed}")
    checked("change.before", before, 0, 100, "points")
    checked("change.after", after, 0, 100, "points")
    points = exact(after) - exact(before)
    size = abs(points)
    direction: Literal["better", "worse", "none"] = "better" if points < 0 else "worse"
    value = Change(
        float(points),
        direction if points else "none",
        size >= known.points,
        known.published.low <= size <= known.published.high,
    )
    arithmetic = f"{figure(after)} - {figure(before)} = {figure(points)}; important from {figure(known.points)} points"
    inputs = given(questionnaire=questionnaire, before=before, after=after)
    return Result(f"{questionnaire} change", value, inputs, arithmetic, known.source, LIMITS)
