"""2010 ACR/EULAR rheumatoid arthritis criteria (confirmed) and the list form of Altman 1990 (confirmed)."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable, Range
from letterkit.measures.classification import (
    OA_SENSITIVITY,
    OA_SPECIFICITY,
    hand_oa_1990,
    ra_2010,
    ra_2010_joint_points,
    serology_level,
)
from letterkit.measures.result import required


@pytest.mark.parametrize(
    ("small", "large", "other", "points"),
    [
        pytest.param(*row, id=f"2010 ACR/EULAR (confirmed) {row[0]} small {row[1]} large {row[2]} other")
        for row in (
            (0, 1, 0, 0),
            (0, 2, 0, 1),
            (0, 10, 0, 1),
            (1, 0, 0, 2),
            (3, 5, 0, 2),
            (4, 0, 0, 3),
            (10, 0, 0, 3),
            (5, 5, 0, 3),
            (11, 0, 0, 5),
            (1, 10, 0, 5),
            (5, 5, 1, 5),
            (0, 10, 2, 1),
        )
    ],
)
def test_joint_points(small, large, other, points):
    assert required(ra_2010_joint_points(small, large, other=other)).value == points


@pytest.mark.parametrize(("small", "large", "missing"), [(None, 1, ("small",)), (5, None, ("large",)), (0, 0, ())])
def test_joint_points_not_computable(small, large, missing):
    outcome = ra_2010_joint_points(small, large)

    assert isinstance(outcome, NotComputable)
    assert outcome.missing == missing


def test_a_hand_examination_alone_says_so():
    assert any("joint domain only" in limit for limit in required(ra_2010_joint_points(5, 0)).limits)


def test_worked_sum():
    """5 small joints, low positive ACPA, raised CRP, 8 weeks: 7, meets."""
    joints = required(ra_2010_joint_points(5, 0)).value
    result = required(
        ra_2010(joint_points=joints, serology="low_positive", acute_phase_abnormal=True, duration_weeks=8)
    )

    assert (result.value.total, result.value.definite) == (7, True)
    assert result.arithmetic == "3 + 2 + 1 + 1 = 7 of 10; definite from 6"


def test_worked_serology_not_done():
    outcome = ra_2010(joint_points=3, serology=None, acute_phase_abnormal=True, duration_weeks=8)

    assert isinstance(outcome, NotComputable)
    assert (outcome.missing, outcome.possible) == (("serology",), Range(5, 8))


def test_all_missing_leaves_the_whole_range():
    outcome = ra_2010(joint_points=None, serology=None, acute_phase_abnormal=None, duration_weeks=None)

    assert outcome.possible == Range(0, 10)


@pytest.mark.parametrize(
    ("serology", "acute", "weeks", "total", "definite"),
    [
        ("negative", False, 5.9, 5, False),
        ("negative", False, 6, 6, True),
        ("negative", True, 5, 6, True),
        ("low_positive", False, 0, 7, True),
        ("high_positive", True, 52, 10, True),
    ],
)
def test_points(serology, acute, weeks, total, definite):
    value = required(ra_2010(joint_points=5, serology=serology, acute_phase_abnormal=acute, duration_weeks=weeks)).value

    assert (value.total, value.definite) == (total, definite)


@pytest.mark.parametrize(
    ("value", "level"),
    [(10, "negative"), (10.1, "low_positive"), (30, "low_positive"), (30.1, "high_positive"), (0, "negative")],
)
def test_serology_level(value, level):
    assert serology_level(value, 10) == level


@pytest.mark.parametrize(("small", "large"), [(-1, 0), (31, 0), (0, 11)])
def test_impossible_counts_are_refused(small, large):
    with pytest.raises(InvalidValue, match="joints"):
        ra_2010_joint_points(small, large)


@pytest.mark.parametrize(
    ("pain", "selected", "dip", "mcp", "deformed", "items", "meets"),
    [
        pytest.param(True, 2, 2, 0, 0, 3, True, id="worked: DIP2 and DIP3 right"),
        pytest.param(True, 1, 1, 4, 0, 0, False, id="worked: 4 swollen MCPs"),
        pytest.param(False, 2, 2, 0, 1, 4, False, id="without pain"),
        pytest.param(True, 2, 2, 3, 1, 3, True, id="3 swollen MCPs is not fewer than 3"),
        pytest.param(True, 1, 2, 2, 1, 3, True, id="list form is met without two of the ten"),
        pytest.param(True, 2, 1, 2, 0, 2, False, id="two of four"),
    ],
)
def test_hand_oa(pain, selected, dip, mcp, deformed, items, meets):
    result = required(
        hand_oa_1990(
            pain=pain, enlarged_selected=selected, enlarged_dip=dip, swollen_mcp=mcp, deformed_selected=deformed
        )
    )

    assert (result.value.items, result.value.meets) == (items, meets)


def test_hand_oa_missing_items():
    outcome = hand_oa_1990(pain=None, enlarged_selected=2, enlarged_dip=None, swollen_mcp=0, deformed_selected=0)

    assert isinstance(outcome, NotComputable)
    assert (outcome.missing, outcome.possible) == (("pain", "enlarged_dip"), Range(2, 3))


def test_hand_oa_accuracy():
    """Altman 1990 (confirmed)."""
    assert (OA_SENSITIVITY, OA_SPECIFICITY) == (0.94, 0.87)


def test_hand_oa_impossible_count_is_refused():
    with pytest.raises(InvalidValue, match="enlarged_dip: 9"):
        hand_oa_1990(pain=True, enlarged_selected=2, enlarged_dip=9, swollen_mcp=0, deformed_selected=0)
