"""Wainner 2005: items and the row for five confirmed, three and four confirmed in a second text, two from memory."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable, Range, rounded
from letterkit.measures.accuracy import post_test
from letterkit.measures.result import required
from letterkit.measures.wainner import ACCURACY, PRE_TEST_PERCENT, wainner, wrist_ratio

ALL = {
    "shaking_eases": True,
    "wrist_ratio": 0.7,
    "symptom_severity": 2.5,
    "thumb_sensation_reduced": True,
    "age_years": 50,
}


@pytest.mark.parametrize(
    ("items", "sensitivity", "specificity", "lr", "post_percent", "mark"),
    [
        pytest.param(*row, id=f"Wainner 2005 ({row[5]}) {row[0]} or more")
        for row in (
            (2, 0.98, 0.14, 1.1, "36", "from memory"),
            (3, 0.98, 0.54, 2.1, "52", "confirmed"),
            (4, 0.77, 0.83, 4.6, "70", "confirmed"),
            (5, 0.18, 0.99, 18.3, "90", "confirmed"),
        )
    ],
)
def test_row(items, sensitivity, specificity, lr, post_percent, mark):
    row = {one.items_from: one for one in ACCURACY}[items]

    assert (row.sensitivity, row.specificity, row.lr_positive) == (sensitivity, specificity, lr)
    assert row.source.mark == mark
    after = required(post_test(PRE_TEST_PERCENT / 100, row.lr_positive)).value.probability
    assert str(rounded(100 * after)) == post_percent


@pytest.mark.parametrize(
    ("change", "positive"),
    [
        pytest.param({}, 5, id="all five"),
        pytest.param({"age_years": 45}, 4, id="worked: 45 is not over 45"),
        pytest.param({"age_years": 46}, 5, id="46 is"),
        pytest.param({"wrist_ratio": 0.67}, 4, id="worked: 0.67 is not over 0.67"),
        pytest.param({"symptom_severity": 1.9}, 4, id="worked: 1.9 is not over 1.9"),
        pytest.param({"shaking_eases": False, "thumb_sensation_reduced": False}, 3, id="three"),
    ],
)
def test_count(change, positive):
    result = required(wainner(**(ALL | change)))

    assert (result.value.positive, result.value.accuracy.items_from) == (positive, positive)


@pytest.mark.parametrize("positive", [0, 1])
def test_nothing_is_published_for_none_or_one(positive):
    none = {"shaking_eases": positive == 1, "wrist_ratio": 0.6, "symptom_severity": 1, "thumb_sensation_reduced": False}
    value = required(wainner(**none, age_years=30)).value

    assert (value.positive, value.accuracy) == (positive, None)


def test_missing_items_leave_a_range():
    outcome = wainner(**(ALL | {"wrist_ratio": None, "age_years": None}))

    assert isinstance(outcome, NotComputable)
    assert (outcome.missing, outcome.possible) == (("wrist_ratio", "age_years"), Range(3, 5))


def test_wrist_ratio():
    assert wrist_ratio(42, 60) == 0.7


@pytest.mark.parametrize("wrong", [{"symptom_severity": 0.5}, {"symptom_severity": 6}, {"age_years": -1}])
def test_refused(wrong):
    with pytest.raises(InvalidValue, match="Allowed"):
        wainner(**(ALL | wrong))


def test_width_of_nought_is_refused():
    with pytest.raises(InvalidValue, match="width_mm"):
        wrist_ratio(40, 0)
