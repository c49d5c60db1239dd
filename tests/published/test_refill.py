"""Capillary refill, Schriger and Baraff 1988 (confirmed); ages of the groups are common practice, no source."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable, Range
from letterkit.measures.refill import COLD_MEDIAN_S, MEDIAN_S, UPPER_LIMIT_S, capillary_refill
from letterkit.measures.result import required


def test_published():
    assert UPPER_LIMIT_S == {"child": 2.0, "man": 2.0, "woman": 2.9, "older": 4.5}
    assert MEDIAN_S == {"girl": 0.7, "boy": 0.8, "man": 1.0, "woman": 1.2, "older woman": 1.5, "older man": 1.8}
    assert COLD_MEDIAN_S == (1.3, 2.9)


@pytest.mark.parametrize(
    ("refill_s", "age", "sex", "over_convention", "over_limit"),
    [
        pytest.param(3, 30, "male", True, True, id="worked: man of 30"),
        pytest.param(3, 75, "female", True, False, id="worked: woman of 75"),
        (2, 30, "male", False, False),
        (2.1, 30, "male", True, True),
        (2.9, 30, "female", True, False),
        (3, 30, "female", True, True),
        (4.5, 65, None, True, False),
        (4.6, 65, None, True, True),
        (3, 64, "male", True, True),
        (2.5, 17, None, True, True),
        (2.5, 18, "female", True, False),
    ],
)
def test_limits(refill_s, age, sex, over_convention, over_limit):
    value = required(capillary_refill(refill_s, age_years=age, sex=sex)).value

    assert (value.over_convention, value.over_upper_limit) == (over_convention, over_limit)


@pytest.mark.parametrize(
    ("refill_s", "age", "missing"),
    [(None, 30, ("refill_s",)), (3, None, ("age_years",)), (None, None, ("refill_s", "age_years"))],
)
def test_missing(refill_s, age, missing):
    assert capillary_refill(refill_s, age_years=age, sex="male").missing == missing


def test_sex_decides_between_two_limits():
    outcome = capillary_refill(2.5, age_years=40, sex=None)

    assert isinstance(outcome, NotComputable)
    assert (outcome.missing, outcome.possible) == (("sex",), Range(2.0, 2.9))


@pytest.mark.parametrize(("refill_s", "age"), [(-1, 30), (2, -1), (float("inf"), 30)])
def test_refused(refill_s, age):
    with pytest.raises(InvalidValue, match="Allowed"):
        capillary_refill(refill_s, age_years=age, sex="male")
