"""Grip strength against Mathiowetz 1985 and the other published references."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue, MissingValue
from letterkit.measures import NotComputable, Result, rounded
from letterkit.measures.grip import (
    PEAK_MEDIAN_KG,
    SARCOPENIA_BELOW_KG,
    between_hands,
    grip_against_norm,
    grip_norms,
    massy_westropp_kg,
)
from letterkit.measures.norms import find_norm, standing
from letterkit.measures.result import KG_PER_LB, required
from letterkit.measures.tables import table

# First year of the band; mean and SD in pounds: men right, men left, women right, women left. Mathiowetz 1985, confirmed.
GRIP = (
    (20, (121.0, 20.6), (104.5, 21.8), (70.4, 14.5), (61.0, 13.1)),
    (25, (120.8, 23.0), (110.5, 16.2), (74.5, 13.9), (63.5, 12.2)),
    (30, (121.8, 22.4), (110.4, 21.7), (78.7, 19.2), (68.0, 17.7)),
    (35, (119.7, 24.0), (112.9, 21.7), (74.1, 10.8), (66.3, 11.7)),
    (40, (116.8, 20.7), (112.8, 18.7), (70.4, 13.5), (62.3, 13.8)),
    (45, (109.9, 23.0), (100.8, 22.8), (62.2, 15.1), (56.0, 12.7)),
    (50, (113.6, 18.1), (101.9, 17.0), (65.8, 11.6), (57.3, 10.7)),
    (55, (101.1, 26.7), (83.2, 23.4), (57.3, 12.5), (47.3, 11.9)),
    (60, (89.7, 20.4), (76.8, 20.3), (55.1, 10.1), (45.7, 10.1)),
    (65, (91.1, 20.6), (76.8, 19.8), (49.6, 9.7), (41.0, 8.2)),
    (70, (75.3, 21.5), (64.8, 18.1), (49.6, 11.7), (41.5, 10.2)),
    (75, (65.7, 21.0), (55.0, 17.0), (42.6, 11.0), (37.6, 8.9)),
)

# The same in kilograms to one decimal place: worked out apart from the code.
GRIP_KG = (
    (20, ("54.9", "9.3"), ("47.4", "9.9"), ("31.9", "6.6"), ("27.7", "5.9")),
    (25, ("54.8", "10.4"), ("50.1", "7.3"), ("33.8", "6.3"), ("28.8", "5.5")),
    (30, ("55.2", "10.2"), ("50.1", "9.8"), ("35.7", "8.7"), ("30.8", "8.0")),
    (35, ("54.3", "10.9"), ("51.2", "9.8"), ("33.6", "4.9"), ("30.1", "5.3")),
    (40, ("53.0", "9.4"), ("51.2", "8.5"), ("31.9", "6.1"), ("28.3", "6.3")),
    (45, ("49.8", "10.4"), ("45.7", "10.3"), ("28.2", "6.8"), ("25.4", "5.8")),
    (50, ("51.5", "8.2"), ("46.2", "7.7"), ("29.8", "5.3"), ("26.0", "4.9")),
    (55, ("45.9", "12.1"), ("37.7", "10.6"), ("26.0", "5.7"), ("21.5", "5.4")),
    (60, ("40.7", "9.3"), ("34.8", "9.2"), ("25.0", "4.6"), ("20.7", "4.6")),
    (65, ("41.3", "9.3"), ("34.8", "9.0"), ("22.5", "4.4"), ("18.6", "3.7")),
    (70, ("34.2", "9.8"), ("29.4", "8.2"), ("22.5", "5.3"), ("18.8", "4.6")),
    (75, ("29.8", "9.5"), ("24.9", "7.7"), ("19.3", "5.0"), ("17.1", "4.0")),
)
COLUMNS = (("male", "right"), ("male", "left"), ("female", "right"), ("female", "left"))
CELLS = [
    pytest.param(age, sex, side, lb, kg, id=f"Mathiowetz 1985 (confirmed) {sex} {side} {age}")
    for (age, *pounds), (_, *kilos) in zip(GRIP, GRIP_KG, strict=True)
    for (sex, side), lb, kg in zip(COLUMNS, pounds, kilos, strict=True)
]


@pytest.mark.parametrize(("age", "sex", "side", "lb", "kg"), CELLS)
def test_norm(age, sex, side, lb, kg):
    norm = find_norm(grip_norms(), age, sex, side)

    assert lb == (norm.mean_lb, norm.sd_lb)
    assert kg == (str(rounded(norm.mean_kg, 1)), str(rounded(norm.sd_kg, 1)))
    assert norm.source.mark == "confirmed"
    assert norm.unusable is None


def test_whole_table_is_checked():
    assert len(CELLS) == len(grip_norms()) == 48


@pytest.mark.parametrize(
    ("column", "mean", "sd", "mark"),
    [
        ("men_right", 104.3, 28.3, "confirmed"),
        ("men_left", 93.1, 27.6, "confirmed"),
        ("women_right", 62.8, 17.0, "from memory"),
        ("women_left", 53.9, 15.7, "from memory"),
    ],
)
def test_all_ages(column, mean, sd, mark):
    assert {"mean": mean, "sd": sd, "mark": mark} == table("grip")["all_ages"][column]


@pytest.mark.parametrize(
    ("force_kg", "age", "sex", "side", "lb", "z", "percent", "where"),
    [
        pytest.param(12, 52, "female", "right", "26.5", "-3.39", "40", "below_expected_range", id="woman of 52"),
        pytest.param(40, 33, "male", "right", "88.2", "-1.50", "72", "low_end", id="man of 33"),
        pytest.param(9, 80, "female", "left", "19.8", "-2.00", "53", "low_end", id="woman of 80, strictly below"),
    ],
)
def test_worked(force_kg, age, sex, side, lb, z, percent, where):
    result = grip_against_norm(force_kg, age_years=age, sex=sex, side=side)

    assert isinstance(result, Result)
    assert z == str(rounded(result.value.z, 2))
    assert percent == str(rounded(result.value.percent_of_mean))
    assert where == result.value.standing
    assert f"= {lb} lb" in result.arithmetic
    assert f"z {z}" in result.arithmetic
    assert dict(result.inputs) == {"force_kg": force_kg, "age_years": age, "sex": sex, "side": side}


def test_woman_of_80_is_short_of_the_limit_before_rounding():
    result = required(grip_against_norm(9, age_years=80, sex="female", side="left"))

    assert str(rounded(result.value.z, 3)) == "-1.995"


@pytest.mark.parametrize(
    ("z", "where"),
    [
        (-2.01, "below_expected_range"),
        (-2, "low_end"),
        (-1.5, "low_end"),
        (-1.49, "within_or_above"),
        (3, "within_or_above"),
    ],
)
def test_standing(z, where):
    assert where == standing(z)


@pytest.mark.parametrize(("age", "first"), [(20, 20), (24, 20), (25, 25), (74, 70), (75, 75), (94, 75), (101, 75)])
def test_band_edges(age, first):
    assert first == find_norm(grip_norms(), age, "female", "right").age_from


def test_expected_range_is_two_deviations_either_side():
    norm = find_norm(grip_norms(), 52, "female", "right")

    assert (str(rounded(norm.expected_kg.low, 1)), str(rounded(norm.expected_kg.high, 1))) == ("19.3", "40.4")


@pytest.mark.parametrize(
    ("force_kg", "age", "sex", "missing"),
    [
        (None, 52, "female", ("force_kg",)),
        (12, None, "female", ("age_years",)),
        (12, 52, None, ("sex",)),
        (None, None, None, ("force_kg", "age_years", "sex")),
        (12, 52, "indeterminate", ("sex",)),
        (12, 19, "female", ()),
    ],
)
def test_no_comparison(force_kg, age, sex, missing):
    outcome = grip_against_norm(force_kg, age_years=age, sex=sex, side="right")

    assert isinstance(outcome, NotComputable)
    assert missing == outcome.missing
    with pytest.raises(MissingValue, match="grip strength: not computable"):
        required(outcome)


def test_over_94_says_so():
    within = required(grip_against_norm(15, age_years=94, sex="female", side="right"))
    beyond = required(grip_against_norm(15, age_years=95, sex="female", side="right"))

    assert len(set(beyond.limits) - set(within.limits)) == 1


@pytest.mark.parametrize(("force_kg", "side"), [(-1, "right"), (float("nan"), "right"), (12, "both")])
def test_refused(force_kg, side):
    with pytest.raises(InvalidValue, match="Allowed"):
        grip_against_norm(force_kg, age_years=52, sex="female", side=side)


def test_pound_is_exact():
    assert float(KG_PER_LB) == 0.45359237


def test_between_hands_worked():
    """Crosby and Wehbe 1994 (confirmed): right 40 kg, left 34 kg, right-handed."""
    result = required(between_hands(40, 34, dominant="right"))

    assert result.value.stronger == "right"
    assert str(rounded(result.value.difference_percent, 1)) == "17.6"
    assert str(rounded(result.value.expected_left_kg, 1)) == "36.4"
    assert result.value.above_remark_limit is False
    assert "= 36.4 kg" in result.arithmetic


@pytest.mark.parametrize("dominant", ["left", "both", None])
def test_no_allowance_unless_right_handed(dominant):
    assert required(between_hands(40, 34, dominant=dominant)).value.expected_left_kg is None


@pytest.mark.parametrize(("left", "above"), [(30, False), (29.9, False), (30.1, True)])
def test_remark_is_strictly_above_20_percent(left, above):
    result = required(between_hands(25, left, dominant="right"))

    assert above is result.value.above_remark_limit
    assert result.value.stronger == "left"


def test_equal_hands():
    value = required(between_hands(30, 30)).value

    assert (value.stronger, value.difference_percent) == ("equal", 0)


@pytest.mark.parametrize(
    ("right", "left", "missing"), [(None, 3, ("right_kg",)), (3, None, ("left_kg",)), (0, 30, ()), (0, 0, ())]
)
def test_between_hands_not_computable(right, left, missing):
    outcome = between_hands(right, left)

    assert isinstance(outcome, NotComputable)
    assert missing == outcome.missing


@pytest.mark.parametrize(
    ("sex", "age", "right", "left"),
    [
        pytest.param(*row, id=f"Massy-Westropp 2011 (confirmed) {row[0]} {row[1]}")
        for row in (
            ("male", 20, (47, 9.5), (45, 9.7)),
            ("male", 39, (47, 9.7), (47, 9.8)),
            ("male", 40, (47, 9.5), (45, 9.3)),
            ("male", 50, (45, 8.4), (43, 8.3)),
            ("male", 60, (40, 8.3), (38, 8.0)),
            ("male", 90, (33, 7.8), (32, 7.5)),
            ("female", 29, (30, 7.0), (28, 6.1)),
            ("female", 30, (31, 6.4), (29, 6.0)),
            ("female", 49, (29, 5.7), (28, 5.7)),
            ("female", 50, (28, 6.3), (26, 5.7)),
            ("female", 69, (24, 5.3), (23, 5.0)),
            ("female", 70, (20, 5.8), (19, 5.5)),
        )
    ],
)
def test_massy_westropp(sex, age, right, left):
    assert right == massy_westropp_kg(age, sex, "right")
    assert left == massy_westropp_kg(age, sex, "left")


def test_massy_westropp_has_nobody_under_20():
    assert massy_westropp_kg(19, "male", "right") is None


def test_other_references():
    """EWGSOP2 (from memory) and Dodds 2014 (confirmed)."""
    assert SARCOPENIA_BELOW_KG == {"male": 27, "female": 16}
    assert PEAK_MEDIAN_KG == {"male": 51, "female": 31}
