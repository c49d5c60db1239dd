"""Hand items of the Beighton score (from memory)."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import Range
from letterkit.measures.beighton import beighton_hand_points
from letterkit.measures.result import required


@pytest.mark.parametrize(
    ("right_deg", "left_deg", "right_thumb", "left_thumb", "points"),
    [(95, 100, True, True, 4), (90, 91, False, True, 2), (0, 0, False, False, 0), (90, 90, True, False, 1)],
)
def test_points(right_deg, left_deg, right_thumb, left_thumb, points):
    result = required(
        beighton_hand_points(
            right_little_extension_deg=right_deg,
            left_little_extension_deg=left_deg,
            right_thumb_to_forearm=right_thumb,
            left_thumb_to_forearm=left_thumb,
        )
    )

    assert result.value == points
    assert result.source.mark == "from memory"


def test_missing_items_leave_a_range():
    outcome = beighton_hand_points(
        right_little_extension_deg=95,
        left_little_extension_deg=None,
        right_thumb_to_forearm=None,
        left_thumb_to_forearm=False,
    )

    assert outcome.missing == ("left_little_extension_deg", "right_thumb_to_forearm")
    assert outcome.possible == Range(1, 3)


def test_refused():
    with pytest.raises(InvalidValue, match="degrees"):
        beighton_hand_points(
            right_little_extension_deg=200,
            left_little_extension_deg=0,
            right_thumb_to_forearm=False,
            left_thumb_to_forearm=False,
        )
