"""Grip strength against published norms, and one hand against the other.

Norms: Mathiowetz 1985 (confirmed), 310 men and 328 women of 20 to 94 years. Right-handed people are about 10 % stronger
on the right, left-handed people equal on both sides: Crosby and Wehbe 1994 (confirmed). A remark on a difference above
about 20 % is common practice, no source. Further references for information: Massy-Westropp 2011 (confirmed), the
British centiles of Dodds 2014 (confirmed), the EWGSOP2 cut (from memory). All forces in kilograms.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from letterkit.measures.norms import Norm, Sex, Side, Strength, against_norm, norms
from letterkit.measures.result import (
    Mark,
    NotComputable,
    Result,
    Source,
    exact,
    figure,
    given,
    missing_names,
    not_negative,
    rounded,
)

INSTRUMENT = "grip strength"
HANDS = Source("Crosby and Wehbe 1994", Mark.CONFIRMED)
HANDS_PETERSEN = Source("Petersen 1989", Mark.FROM_MEMORY)
SARCOPENIA = Source("EWGSOP2", Mark.FROM_MEMORY)
CENTILES = Source("Dodds 2014", Mark.CONFIRMED)
MASSY = Source("Massy-Westropp 2011, as reprinted without the sexes named", Mark.CONFIRMED)

DOMINANT_ADVANTAGE_PERCENT = 10
REMARK_ABOVE_PERCENT = 20
PETERSEN_ADVANTAGE_PERCENT = {"all": 10.74, "right": 12.72, "left": -0.08}
SARCOPENIA_BELOW_KG: dict[Sex, float] = {"male": 27, "female": 16}
PEAK_MEDIAN_KG: dict[Sex, float] = {"male": 51, "female": 31}
PEAK_AGES_YEARS: dict[Sex, tuple[int, int]] = {"male": (29, 39), "female": (26, 42)}

# Sex, first and last year of age, then mean and SD of the right and of the left hand.
_MASSY: tuple[tuple[Sex, int, int | None, float, float, float, float], ...] = (
    ("male", 20, 29, 47, 9.5, 45, 9.7),
    ("male", 30, 39, 47, 9.7, 47, 9.8),
    ("male", 40, 49, 47, 9.5, 45, 9.3),
    ("male", 50, 59, 45, 8.4, 43, 8.3),
    ("male", 60, 69, 40, 8.3, 38, 8.0),
    ("male", 70, None, 33, 7.8, 32, 7.5),
    ("female", 20, 29, 30, 7.0, 28, 6.1),
    ("female", 30, 39, 31, 6.4, 29, 6.0),
    ("female", 40, 49, 29, 5.7, 28, 5.7),
    ("female", 50, 59, 28, 6.3, 26, 5.7),
    ("female", 60, 69, 24, 5.3, 23, 5.0),
    ("female", 70, None, 20, 5.8, 19, 5.5),
)


@dataclass(frozen=True, slots=True)
class Hands:
    """One hand against the other: the stronger, by how many percent of the weaker, and what dominance leads to expect.

    `expected_left_kg` is what the left would give if the right is sound; right-handed people only.
    """

    stronger: Literal["right", "left", "equal"]
    difference_percent: float
    above_remark_limit: bool
    expected_left_kg: float | None


def grip_norms() -> tuple[Norm, ...]:
    """Every cell of the Mathiowetz 1985 grip table."""
    return norms("grip")


@lru_cache(maxsize=1024, typed=True)  # asked by several rules and by the letter about the same hand
def grip_against_norm(
    force_kg: float | None, *, age_years: int | None, sex: str | None, side: Side
) -> Result[Strength] | NotComputable:
    """Grip in kilograms, mean of three trials on the second handle position, beside Mathiowetz 1985."""
    return against_norm(INSTRUMENT, grip_norms(), force_kg, age_years=age_years, sex=sex, side=side)


def massy_westropp_kg(age_years: int, sex: Sex, side: Side) -> tuple[float, float] | None:
    """Mean and standard deviation in kilograms of Massy-Westropp 2011 (confirmed); None under 20 years."""
    for row_sex, first, last, right, right_sd, left, left_sd in _MASSY:
        if row_sex == sex and first <= age_years <= (last or age_years):
            return (right, right_sd) if side == "right" else (left, left_sd)
    return None


def between_hands(
    right_kg: float | None, left_kg: float | None, *, dominant: Literal["right", "left", "both"] | None = None
) -> Result[Hands] | NotComputable:
    """One hand's strength against the other's, in kilograms, as a percentage of the weaker hand.

    The expected left is the right divided by 1.10 and is given for right-handed people only. Not computable when a hand
    is missing or the weaker gives nought. Crosby and Wehbe 1994 (confirmed).
    """
    instrument = "strength between hands"
    inputs = given(right_kg=right_kg, left_kg=left_kg, dominant=dominant)
    if right_kg is None or left_kg is None:
        return NotComputable(instrument, missing_names(right_kg=right_kg, left_kg=left_kg), HANDS, inputs=inputs)
    not_negative("grip.right_kg", right_kg, "kg")
    not_negative("grip.left_kg", left_kg, "kg")
    weaker, stronger = sorted((right_kg, left_kg))
    if weaker == 0:
        return NotComputable(instrument, (), HANDS, "nothing can be a percentage of 0 kg", inputs=inputs)
    difference = 100 * (exact(stronger) - exact(weaker)) / exact(weaker)
    expected = exact(right_kg) / (1 + Fraction(DOMINANT_ADVANTAGE_PERCENT, 100)) if dominant == "right" else None
    which: Literal["right", "left", "equal"] = "equal" if weaker == stronger else "left"
    which = "right" if right_kg > left_kg else which
    arithmetic = (
        f"({figure(stronger)} - {figure(weaker)}) / {figure(weaker)} = {rounded(difference, 1)} % of the weaker hand"
    )
    if expected is not None:
        arithmetic += f"; expected left if the right is sound {figure(right_kg)} / 1.10 = {rounded(expected, 1)} kg"
    value = Hands(
        which, float(difference), difference > REMARK_ABOVE_PERCENT, None if expected is None else float(expected)
    )
    limits = ("The allowance for the dominant hand holds for right-handed people only",)
    return Result(instrument, value, inputs, arithmetic, HANDS, limits)
