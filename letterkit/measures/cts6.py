"""CTS-6 of Graham: six weighted findings, 0 to 26.

Source: Graham 2008; weights, total and cut of 12 confirmed, the probability of 0.80 at the cut from memory. Giving the
possible range when an item is missing is common practice, no source. Another instrument with the same short name
(Atroshi 2009, six symptoms each 1 to 5) is a mean and has nothing to do with this one.
"""

from __future__ import annotations

from dataclasses import dataclass

from letterkit.measures.result import (
    Mark,
    NotComputable,
    Range,
    Result,
    Source,
    figure,
    given,
    missing_names,
    not_negative,
)

SOURCE = Source("Graham 2008", Mark.CONFIRMED)
PROBABILITY_SOURCE = Source("Graham 2008", Mark.FROM_MEMORY)
WEIGHTS = {
    "median_numbness": 3.5,
    "night_numbness": 4.0,
    "thenar_weak_or_wasted": 5.0,
    "phalen": 5.0,
    "two_point_lost": 4.5,
    "tinel": 4.0,
}
"""Points of each item; they sum to 26."""
CUT = 12.0
PROBABILITY_AT_CUT = 0.80
TWO_POINT_GAP_MM = 5
LIMITS = (
    "Not the six symptom scale with the same short name",
    "Published probability of 0.80 from 12 points on; information, not a diagnosis",
)


@dataclass(frozen=True, slots=True)
class Cts6:
    """Score of at most 26, and whether it is 12 or more."""

    score: float
    at_or_over_cut: bool


def two_point_lost(gap_mm: float) -> bool:
    """Whether the points are not told apart at 5 mm or less, given the least gap in mm at which they are."""
    not_negative("cts6.gap_mm", gap_mm, "mm")
    return gap_mm > TWO_POINT_GAP_MM


def cts6(
    *,
    median_numbness: bool | None,
    night_numbness: bool | None,
    thenar_weak_or_wasted: bool | None,
    phalen: bool | None,
    two_point_lost: bool | None,
    tinel: bool | None,
) -> Result[Cts6] | NotComputable:
    """CTS-6 score. Positive: numbness mainly in thumb to ring finger; waking with it; thenar bulk lost or power 4 or
    less; Phalen brings numbness in median territory; two points lost at 5 mm; Tinel at the tunnel into median digits.

    Not computable with an item missing; the possible range then runs from the score without to the score with them.
    """
    items = {
        "median_numbness": median_numbness,
        "night_numbness": night_numbness,
        "thenar_weak_or_wasted": thenar_weak_or_wasted,
        "phalen": phalen,
        "two_point_lost": two_point_lost,
        "tinel": tinel,
    }
    inputs = given(**items)
    score = sum(WEIGHTS[name] for name, positive in items.items() if positive)
    if missing := missing_names(**items):
        possible = Range(score, score + sum(WEIGHTS[name] for name in missing))
        return NotComputable("CTS-6 (Graham)", missing, SOURCE, possible=possible, inputs=inputs, limits=LIMITS)
    sums = " + ".join(figure(WEIGHTS[name]) for name, positive in items.items() if positive)
    arithmetic = f"{sums or '0'} = {figure(score)} of 26; cut {figure(CUT)}"
    return Result("CTS-6 (Graham)", Cts6(score, score >= CUT), inputs, arithmetic, SOURCE, LIMITS)
