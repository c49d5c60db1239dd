"""Hand items of the Beighton score: little finger extension and thumb to forearm, one point each a side, 0 to 4.

Source: Beighton score, hand items (from memory). The whole score has nine points; the others are not of the hand.
"""

from __future__ import annotations

from letterkit.measures.result import Mark, NotComputable, Range, Result, Source, checked, given, missing_names

SOURCE = Source("Beighton score, hand items", Mark.FROM_MEMORY)
LITTLE_FINGER_OVER_DEG = 90
LIMITS = ("Four of the nine points of the whole score",)


def beighton_hand_points(
    *,
    right_little_extension_deg: float | None,
    left_little_extension_deg: float | None,
    right_thumb_to_forearm: bool | None,
    left_thumb_to_forearm: bool | None,
) -> Result[int] | NotComputable:
    """Points of both hands: passive extension of the little finger's metacarpophalangeal joint over 90 degrees, thumb
    to forearm. Not computable with an item missing; the possible range is given."""
    angles = {
        "right_little_extension_deg": right_little_extension_deg,
        "left_little_extension_deg": left_little_extension_deg,
    }
    for name, angle in angles.items():
        if angle is not None:
            checked(f"beighton.{name}", angle, 0, 150, "degrees")
    thumbs = {"right_thumb_to_forearm": right_thumb_to_forearm, "left_thumb_to_forearm": left_thumb_to_forearm}
    items = {name: None if angle is None else angle > LITTLE_FINGER_OVER_DEG for name, angle in angles.items()} | thumbs
    inputs = given(**angles, **thumbs)
    points = sum(value is True for value in items.values())
    if missing := missing_names(**items):
        possible = Range(points, points + len(missing))
        return NotComputable("Beighton hand items", missing, SOURCE, possible=possible, inputs=inputs, limits=LIMITS)
    arithmetic = f"{' + '.join(str(int(bool(value))) for value in items.values())} = {points} of 4"
    return Result("Beighton hand items", points, inputs, arithmetic, SOURCE, LIMITS)
