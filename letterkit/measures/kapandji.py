"""Kapandji opposition score of the thumb, 0 to 10.

Source: Kapandji A, Clinical test of apposition and counter-apposition of the thumb, Ann Chir Main 1986;5:67-73
(confirmed for 1 to 10, from memory for 0). A common reprint moves scores 1 and 2 one phalanx nearer the palm; the paper
is followed here. Normal is 9 to 10 (from memory).
"""

from __future__ import annotations

from typing import Literal, get_args

from letterkit.errors import InvalidValue
from letterkit.measures.result import Mark, NotComputable, Result, Source, given

SOURCE = Source("Kapandji 1986", Mark.CONFIRMED)
SOURCE_NOUGHT = Source("Kapandji 1986", Mark.FROM_MEMORY)
NORMAL_FROM = 9
NORMAL_SOURCE = Source("Kapandji score, normal 9 to 10", Mark.FROM_MEMORY)

Landmark = Literal[
    "none",
    "index_second_phalanx_radial_side",
    "index_third_phalanx_radial_side",
    "index_tip",
    "middle_tip",
    "ring_tip",
    "little_tip",
    "little_dip_crease",
    "little_pip_crease",
    "little_proximal_crease",
    "distal_palmar_crease",
]
LANDMARKS: tuple[Landmark, ...] = get_args(Landmark)
"""What the tip of the thumb reaches, by score from 0 to 10."""

LIMITS = (
    "Counts only if the early stages are possible: a thumb that crawls across the palm does not oppose",
    "Above 6 it does not measure pronation",
    "Scores 1 and 2 follow the paper, not the reprint that moves them one phalanx nearer the palm",
)


def kapandji_score(
    reached: Landmark | None, *, early_stages_possible: bool | None = None
) -> Result[int] | NotComputable:
    """The score for the furthest landmark that the tip of the thumb reaches.

    Not computable without a landmark, or if the early stages are recorded as impossible. Raises InvalidValue for a
    landmark that is not on the scale.
    """
    inputs = given(reached=reached, early_stages_possible=early_stages_possible)
    if reached is None:
        return NotComputable("Kapandji score", ("reached",), SOURCE, inputs=inputs, limits=LIMITS)
    if reached not in LANDMARKS:
        raise InvalidValue(f"kapandji.reached: {reached!r} was given. Allowed: {', '.join(LANDMARKS)}")
    if early_stages_possible is False:
        reason = "the early stages are not possible, so the score does not hold"
        return NotComputable("Kapandji score", (), SOURCE, reason, inputs=inputs, limits=LIMITS)
    score = LANDMARKS.index(reached)
    arithmetic = f"{reached.replace('_', ' ')} = {score}"
    return Result("Kapandji score", score, inputs, arithmetic, SOURCE if score else SOURCE_NOUGHT, LIMITS)


def kapandji_landmark(score: int) -> Landmark:
    """What the tip of the thumb reaches at a score. Raises InvalidValue outside the whole numbers 0 to 10."""
    if isinstance(score, int) and 0 <= score < len(LANDMARKS):
        return LANDMARKS[score]
    raise InvalidValue(f"kapandji: {score} was given. Allowed: a whole number from 0 to 10")
