"""Ulnar collateral ligament of the thumb: JAAOS 1997 (confirmed), Heyman 1993 (from memory)."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable
from letterkit.measures.result import required
from letterkit.measures.thumb_ulnar_ligament import (
    HEYMAN,
    HEYMAN_OVER_DEG,
    NORMAL_DIFFERENCE_DEG,
    NORMAL_DIFFERENCE_PERCENT,
    ulnar_ligament_laxity,
)


@pytest.mark.parametrize(
    ("opening", "other", "over", "difference", "reaches"),
    [
        pytest.param(30, 20, False, 10, False, id="JAAOS 1997 (confirmed) 30 is not over 30"),
        pytest.param(31, 20, True, 11, False, id="JAAOS 1997 (confirmed) 31 is"),
        pytest.param(25, 10, False, 15, True, id="JAAOS 1997 (confirmed) 15 more"),
        pytest.param(25, 10.5, False, 14.5, False, id="JAAOS 1997 (confirmed) 14.5 more"),
        pytest.param(35, None, True, None, None, id="other side not measured"),
        pytest.param(10, 20, False, -10, False, id="other side looser"),
    ],
)
def test_laxity(opening, other, over, difference, reaches):
    value = required(ulnar_ligament_laxity(opening, other_side_deg=other)).value

    assert (value.over_angle, value.difference_deg, value.reaches_difference) == (over, difference, reaches)


def test_published():
    assert (HEYMAN_OVER_DEG, HEYMAN.mark) == (35, "from memory")
    assert (NORMAL_DIFFERENCE_DEG, NORMAL_DIFFERENCE_PERCENT) == (10, 34)


def test_missing():
    outcome = ulnar_ligament_laxity(None, other_side_deg=20)

    assert isinstance(outcome, NotComputable)
    assert outcome.missing == ("opening_deg",)


@pytest.mark.parametrize(("opening", "other"), [(-1, 0), (91, 0), (20, -5)])
def test_refused(opening, other):
    with pytest.raises(InvalidValue, match="degrees"):
        ulnar_ligament_laxity(opening, other_side_deg=other)
