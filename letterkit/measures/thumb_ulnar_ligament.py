"""Laxity of the ulnar collateral ligament at the thumb's metacarpophalangeal joint, side against side, in degrees.

Sources: over 30 degrees, or 15 more than the other side, in extension, JAAOS 1997;5:224-9 (confirmed); 35 and 15 by
Heyman 1993 (from memory); a side difference of 10 degrees or more in 34 % of 200 normal thumbs, J Hand Surg Eur 2009
(confirmed). In British practice the lack of a firm end point weighs most, Bone Jt Open 2024 (confirmed).
"""

from __future__ import annotations

from dataclasses import dataclass

from letterkit.measures.result import (
    Mark,
    NotComputable,
    Result,
    Source,
    checked,
    exact,
    figure,
    given,
    missing_names,
)

SOURCE = Source("JAAOS 1997;5:224-9", Mark.CONFIRMED)
HEYMAN = Source("Heyman 1993", Mark.FROM_MEMORY)
OVER_DEG, MORE_THAN_OTHER_DEG = 30, 15
HEYMAN_OVER_DEG = 35
NORMAL_DIFFERENCE_DEG, NORMAL_DIFFERENCE_PERCENT = 10, 34
LIMITS = (
    "A difference of 10 degrees or more is found in 34 % of normal people",
    "The end point counts for more than the angle in British practice",
)


@dataclass(frozen=True, slots=True)
class Laxity:
    """Opening in extension beside the published limits; the difference is None if the other side was not measured."""

    over_angle: bool
    difference_deg: float | None
    reaches_difference: bool | None


def ulnar_ligament_laxity(
    opening_deg: float | None, *, other_side_deg: float | None = None
) -> Result[Laxity] | NotComputable:
    """Opening on ulnar stress in extension beside 30 degrees (strictly over) and 15 more than the other side (or more).

    Not computable without the opening of the side in question.
    """
    instrument = "ulnar collateral ligament stress"
    inputs = given(opening_deg=opening_deg, other_side_deg=other_side_deg)
    if opening_deg is None:
        missing = missing_names(opening_deg=opening_deg)
        return NotComputable(instrument, missing, SOURCE, inputs=inputs, limits=LIMITS)
    checked("ulnar_ligament.opening_deg", opening_deg, 0, 90, "degrees")
    arithmetic = f"{figure(opening_deg)} against {OVER_DEG} degrees"
    if other_side_deg is None:
        value = Laxity(opening_deg > OVER_DEG, None, None)
        return Result(instrument, value, inputs, arithmetic, SOURCE, LIMITS)
    checked("ulnar_ligament.other_side_deg", other_side_deg, 0, 90, "degrees")
    difference = exact(opening_deg) - exact(other_side_deg)
    arithmetic += (
        f"; {figure(opening_deg)} - {figure(other_side_deg)} = {figure(difference)} against {MORE_THAN_OTHER_DEG}"
    )
    value = Laxity(opening_deg > OVER_DEG, float(difference), difference >= MORE_THAN_OTHER_DEG)
    return Result(instrument, value, inputs, arithmetic, SOURCE, LIMITS)
