"""CTS-6, Graham 2008: weights and cut confirmed, probability from memory."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable, Range
from letterkit.measures.cts6 import PROBABILITY_AT_CUT, PROBABILITY_SOURCE, WEIGHTS, cts6, two_point_lost
from letterkit.measures.result import required

NONE = dict.fromkeys(WEIGHTS, False)


@pytest.mark.parametrize(
    ("item", "points"),
    [
        pytest.param("median_numbness", 3.5, id="Graham 2008 (confirmed) median numbness"),
        pytest.param("night_numbness", 4, id="Graham 2008 (confirmed) night numbness"),
        pytest.param("thenar_weak_or_wasted", 5, id="Graham 2008 (confirmed) thenar"),
        pytest.param("phalen", 5, id="Graham 2008 (confirmed) Phalen"),
        pytest.param("two_point_lost", 4.5, id="Graham 2008 (confirmed) two points"),
        pytest.param("tinel", 4, id="Graham 2008 (confirmed) Tinel"),
    ],
)
def test_weight(item, points):
    assert required(cts6(**(NONE | {item: True}))).value.score == points


def test_total():
    assert required(cts6(**dict.fromkeys(WEIGHTS, True))).value.score == 26


def test_nothing_positive():
    result = required(cts6(**NONE))

    assert (result.value.score, result.value.at_or_over_cut) == (0, False)
    assert result.arithmetic == "0 = 0 of 26; cut 12"


@pytest.mark.parametrize(
    ("positive", "score", "at_or_over", "arithmetic"),
    [
        pytest.param(
            ("median_numbness", "night_numbness", "phalen"),
            12.5,
            True,
            "3.5 + 4 + 5 = 12.5 of 26; cut 12",
            id="worked 12.5",
        ),
        pytest.param(("tinel", "phalen"), 9, False, "5 + 4 = 9 of 26; cut 12", id="worked 9"),
        pytest.param(
            ("median_numbness", "night_numbness", "two_point_lost"),
            12,
            True,
            "3.5 + 4 + 4.5 = 12 of 26; cut 12",
            id="12 itself",
        ),
    ],
)
def test_worked(positive, score, at_or_over, arithmetic):
    result = required(cts6(**(NONE | dict.fromkeys(positive, True))))

    assert (result.value.score, result.value.at_or_over_cut, result.arithmetic) == (score, at_or_over, arithmetic)


def test_missing_item_gives_the_range():
    """8.5 of 26 with two points not tested: 8.5 to 13."""
    outcome = cts6(**(NONE | {"median_numbness": True, "phalen": True, "two_point_lost": None}))

    assert isinstance(outcome, NotComputable)
    assert (outcome.missing, outcome.possible) == (("two_point_lost",), Range(8.5, 13))


def test_all_missing():
    assert cts6(**dict.fromkeys(WEIGHTS)).possible == Range(0, 26)


@pytest.mark.parametrize(("gap_mm", "lost"), [(6, True), (5, False), (5.5, True), (2, False)])
def test_two_points_are_lost_beyond_5_mm(gap_mm, lost):
    assert two_point_lost(gap_mm) is lost


def test_negative_gap_is_refused():
    with pytest.raises(InvalidValue, match="mm"):
        two_point_lost(-1)


def test_probability_from_memory():
    assert (PROBABILITY_AT_CUT, PROBABILITY_SOURCE.mark) == (0.80, "from memory")
