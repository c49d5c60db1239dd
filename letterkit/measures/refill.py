"""Capillary refill time in seconds against the two second convention and against measured upper limits.

Source: Schriger DL, Baraff L, Defining normal capillary refill, Ann Emerg Med 1988;17:932-5 (confirmed). The ages at
which a person counts as a child (under 18) or as older (65 and over) are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from letterkit.measures.result import Mark, NotComputable, Range, Result, Source, figure, given, not_negative

Group = Literal["child", "man", "woman", "older"]

SOURCE = Source("Schriger and Baraff 1988", Mark.CONFIRMED)
CONVENTION_S = 2.0
UPPER_LIMIT_S: dict[Group, float] = {"child": 2.0, "man": 2.0, "woman": 2.9, "older": 4.5}
"""95 % upper limits; about 4 % of healthy men and children lie above two seconds."""
MEDIAN_S = {"girl": 0.7, "boy": 0.8, "man": 1.0, "woman": 1.2, "older woman": 1.5, "older man": 1.8}
COLD_MEDIAN_S = (1.3, 2.9)
"""Median before and after one minute in water at 14 degrees Celsius."""
ADULT_FROM_YEARS = 18
OLDER_FROM_YEARS = 65
LIMITS = ("A cold hand refills slowly: one minute in water at 14 degrees raised the median from 1.3 to 2.9 s",)


@dataclass(frozen=True, slots=True)
class Refill:
    """A refill time beside the convention of two seconds and the upper limit of its group, in seconds."""

    refill_s: float
    over_convention: bool
    group: Group
    upper_limit_s: float
    over_upper_limit: bool


def refill_group(age_years: int, sex: str | None) -> Group | None:
    """The group of a person for the upper limit; None if an adult's sex is not recorded as male or female."""
    if age_years >= OLDER_FROM_YEARS:
        return "older"
    if age_years < ADULT_FROM_YEARS:
        return "child"
    groups: dict[str | None, Group] = {"male": "man", "female": "woman"}
    return groups.get(sex)


def capillary_refill(
    refill_s: float | None, *, age_years: int | None, sex: str | None
) -> Result[Refill] | NotComputable:
    """A refill time in seconds beside the convention and the upper limit for age and sex; over means strictly over.

    Not computable without the time or the age, or without the sex of an adult under 65, for whom the limit is 2 or 2.9.
    """
    instrument = "capillary refill"
    inputs = given(refill_s=refill_s, age_years=age_years, sex=sex)
    if refill_s is None or age_years is None:
        missing = tuple(n for n, v in (("refill_s", refill_s), ("age_years", age_years)) if v is None)
        return NotComputable(instrument, missing, SOURCE, inputs=inputs, limits=LIMITS)
    not_negative("capillary_refill.refill_s", refill_s, "s")
    not_negative("capillary_refill.age_years", age_years, "years")
    group = refill_group(age_years, sex)
    if group is None:
        reason = "the upper limit of an adult depends on sex"
        between = Range(UPPER_LIMIT_S["man"], UPPER_LIMIT_S["woman"])
        return NotComputable(instrument, ("sex",), SOURCE, reason, between, inputs, LIMITS)
    limit = UPPER_LIMIT_S[group]
    arithmetic = f"{figure(refill_s)} s against {figure(CONVENTION_S)} s and {figure(limit)} s ({group})"
    value = Refill(refill_s, refill_s > CONVENTION_S, group, limit, refill_s > limit)
    return Result(instrument, value, inputs, arithmetic, SOURCE, LIMITS)
