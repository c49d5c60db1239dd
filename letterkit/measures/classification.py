"""Classification sets that a hand examination feeds: rheumatoid arthritis 2010 and hand osteoarthritis 1990.

Sources: 2010 ACR/EULAR rheumatoid arthritis criteria (confirmed; other joints counting towards "more than 10" from
memory) and the list form of the ACR 1990 hand osteoarthritis criteria, Altman 1990 (confirmed). Classification is made
for studies and is not a diagnosis.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from letterkit.measures.result import (
    Mark,
    NotComputable,
    Range,
    Result,
    Source,
    checked,
    given,
    missing_names,
    not_negative,
)

Serology = Literal["negative", "low_positive", "high_positive"]

RA_2010 = Source("2010 ACR/EULAR rheumatoid arthritis criteria", Mark.CONFIRMED)
OA_1990 = Source("Altman 1990, list form", Mark.CONFIRMED)
OA_SENSITIVITY, OA_SPECIFICITY = 0.94, 0.87
RA_DEFINITE_FROM = 6
SEROLOGY_POINTS: dict[Serology, int] = {"negative": 0, "low_positive": 2, "high_positive": 3}
DURATION_FROM_WEEKS = 6
RA_LIMITS = (
    "For a new presentation with at least one swollen joint that nothing else explains better",
    "A hand examination alone gives the joint domain only",
    "A class for studies, not a diagnosis",
)
OA_LIMITS = (
    "The list form is used; the tree form can differ",
    "Misses much early disease and disease mainly at the base of the thumb",
    "A class for studies, not a diagnosis",
)
_MOST_POINTS = {"joint_points": 5, "serology": 3, "acute_phase_abnormal": 1, "duration_weeks": 1}


@dataclass(frozen=True, slots=True)
class Ra2010:
    """Points of the four domains, their sum of at most 10, and whether it reaches 6."""

    joints: int
    serology: int
    acute_phase: int
    duration: int
    total: int
    definite: bool


@dataclass(frozen=True, slots=True)
class HandOa1990:
    """How many of the four list items are present, and whether pain and at least three of them are."""

    items: int
    meets: bool


def serology_level(value: float, upper_limit_of_normal: float) -> Serology:
    """Level of rheumatoid factor or ACPA: low up to three times the upper limit of normal, high above it."""
    not_negative("serology.value", value, "")
    if value <= upper_limit_of_normal:
        return "negative"
    return "low_positive" if value <= 3 * upper_limit_of_normal else "high_positive"


def ra_2010_joint_points(small: int | None, large: int | None, *, other: int = 0) -> Result[int] | NotComputable:
    """Joint domain of the 2010 criteria, 0 to 5 points, from the number of swollen or tender joints.

    `other` are temporomandibular, sternoclavicular and acromioclavicular joints, which count towards "more than 10"
    only. Not computable without both counts, or with no joint involved.
    """
    instrument = "2010 ACR/EULAR criteria, joint domain"
    inputs = given(small=small, large=large, other=other)
    if small is None or large is None:
        missing = missing_names(small=small, large=large)
        return NotComputable(instrument, missing, RA_2010, inputs=inputs, possible=Range(0, 5), limits=RA_LIMITS)
    for name, count, most in (("small", small, 30), ("large", large, 10), ("other", other, 6)):
        checked(f"ra_2010.{name}", count, 0, most, "joints")
    if small + large == 0:
        reason = "no joint is involved, and the criteria need one that is swollen"
        return NotComputable(instrument, (), RA_2010, reason, inputs=inputs, limits=RA_LIMITS)
    points, row = _joint_row(small, large, other)
    arithmetic = f"{small} small, {large} large, {other} other: {row} = {points}"
    return Result(instrument, points, inputs, arithmetic, RA_2010, RA_LIMITS)


def _joint_row(small: int, large: int, other: int) -> tuple[int, str]:
    if small and small + large + other > 10:  # noqa: PLR2004 - rows of the published table
        return 5, "more than 10, at least 1 small"
    if small >= 4:  # noqa: PLR2004 - the same
        return 3, "4 to 10 small"
    if small:
        return 2, "1 to 3 small"
    return (1, "2 to 10 large") if large > 1 else (0, "1 large")


def ra_2010(
    *,
    joint_points: int | None,
    serology: Serology | None,
    acute_phase_abnormal: bool | None,
    duration_weeks: float | None,
) -> Result[Ra2010] | NotComputable:
    """The sum of the four domains, definite from 6 of 10; `duration_weeks` scores from 6 weeks on.

    Not computable with a domain missing; the possible range then runs from nought to the most that domain can give.
    """
    instrument = "2010 ACR/EULAR criteria"
    inputs = given(
        joint_points=joint_points,
        serology=serology,
        acute_phase_abnormal=acute_phase_abnormal,
        duration_weeks=duration_weeks,
    )
    if joint_points is not None:
        checked("ra_2010.joint_points", joint_points, 0, 5, "points")
    if duration_weeks is not None:
        not_negative("ra_2010.duration_weeks", duration_weeks, "weeks")
    points = {
        "joint_points": joint_points,
        "serology": None if serology is None else SEROLOGY_POINTS[serology],
        "acute_phase_abnormal": None if acute_phase_abnormal is None else int(acute_phase_abnormal),
        "duration_weeks": None if duration_weeks is None else int(duration_weeks >= DURATION_FROM_WEEKS),
    }
    known = {name: value for name, value in points.items() if value is not None}
    total = sum(known.values())
    if missing := missing_names(**points):
        possible = Range(total, total + sum(_MOST_POINTS[name] for name in missing))
        return NotComputable(instrument, missing, RA_2010, possible=possible, inputs=inputs, limits=RA_LIMITS)
    joints, blood, acute, weeks = known.values()
    value = Ra2010(joints, blood, acute, weeks, total, total >= RA_DEFINITE_FROM)
    arithmetic = f"{joints} + {blood} + {acute} + {weeks} = {total} of 10; definite from {RA_DEFINITE_FROM}"
    return Result(instrument, value, inputs, arithmetic, RA_2010, RA_LIMITS)


def hand_oa_1990(
    *,
    pain: bool | None,
    enlarged_selected: int | None,
    enlarged_dip: int | None,
    swollen_mcp: int | None,
    deformed_selected: int | None,
) -> Result[HandOa1990] | NotComputable:
    """List form of the ACR 1990 hand osteoarthritis criteria: pain, aching or stiffness, and three of four items.

    Counts of joints of both hands: hard tissue enlargement and deformity among the ten selected joints, enlargement
    among all distal interphalangeal joints (which may be the same ones), swollen metacarpophalangeal joints. Not
    computable with an input missing; the possible range then is that of the items present.
    """
    instrument = "ACR 1990 hand osteoarthritis criteria"
    counts = (
        ("enlarged_selected", enlarged_selected, 10),
        ("enlarged_dip", enlarged_dip, 8),
        ("swollen_mcp", swollen_mcp, 10),
        ("deformed_selected", deformed_selected, 10),
    )
    inputs = given(pain=pain, **{name: count for name, count, _ in counts})
    for name, count, most in counts:
        if count is not None:
            checked(f"hand_oa_1990.{name}", count, 0, most, "joints")
    items = {
        "enlarged_selected": None if enlarged_selected is None else enlarged_selected >= 2,  # noqa: PLR2004 - published
        "enlarged_dip": None if enlarged_dip is None else enlarged_dip >= 2,  # noqa: PLR2004 - the same
        "swollen_mcp": None if swollen_mcp is None else swollen_mcp < 3,  # noqa: PLR2004 - the same
        "deformed_selected": None if deformed_selected is None else deformed_selected >= 1,
    }
    present = sum(value is True for value in items.values())
    if missing := missing_names(pain=pain, **items):
        unknown = sum(value is None for value in items.values())
        possible = Range(present, present + unknown)
        return NotComputable(instrument, missing, OA_1990, possible=possible, inputs=inputs, limits=OA_LIMITS)
    value = HandOa1990(present, bool(pain) and present >= 3)  # noqa: PLR2004 - published
    marks = " + ".join(str(int(bool(item))) for item in items.values())
    arithmetic = f"{marks} = {present} of 4, {'with' if pain else 'without'} pain, aching or stiffness; 3 needed"
    return Result(instrument, value, inputs, arithmetic, OA_1990, OA_LIMITS)
