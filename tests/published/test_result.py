"""Rounding, once and half away from zero, and what a result carries."""

from __future__ import annotations

import dataclasses
import math
import pickle
from fractions import Fraction

import pytest

from letterkit.errors import InvalidValue, MissingValue
from letterkit.measures.result import (
    Mark,
    NotComputable,
    Range,
    Result,
    Source,
    checked,
    figure,
    given,
    required,
    rounded,
)

SOURCE = Source("a table", Mark.FROM_MEMORY)


@pytest.mark.parametrize(
    ("value", "places", "shown"),
    [
        (2.375, 1, "2.4"),
        (2.45, 1, "2.5"),
        (-2.45, 1, "-2.5"),
        (0.5, 0, "1"),
        (-0.5, 0, "-1"),
        (1.5, 0, "2"),
        (2.5, 0, "3"),
        (1.005, 2, "1.01"),
        (2.675, 2, "2.68"),
        (59.635, 1, "59.6"),
        (-0.04, 1, "0.0"),
        (Fraction(1, 3), 3, "0.333"),
        (Fraction(-1, 8), 2, "-0.13"),
        (42, 1, "42.0"),
        (1e-7, 3, "0.000"),
    ],
)
def test_rounded(value, places, shown):
    assert shown == str(rounded(value, places))


@pytest.mark.parametrize(
    ("value", "shown"), [(40, "40"), (40.0, "40"), (36.3636, "36.364"), (0.5, "0.5"), (100, "100"), (-0.0, "0")]
)
def test_figure(value, shown):
    assert shown == figure(value)


@pytest.mark.parametrize("value", [-0.1, 10.1, math.nan, math.inf, -math.inf])
def test_checked_refuses(value):
    with pytest.raises(InvalidValue, match="Allowed: 0 to 10 mm"):
        checked("gap", value, 0, 10, "mm")


def test_required_names_what_is_missing():
    with pytest.raises(MissingValue, match="Missing: left_kg, age_years"):
        required(NotComputable("grip strength", ("left_kg", "age_years"), SOURCE))


def test_results_are_frozen_and_pickle():
    result = Result("x", 1, given(a=1), "1", SOURCE)

    assert result == pickle.loads(pickle.dumps(result))
    with pytest.raises(dataclasses.FrozenInstanceError):
        result.value = 2


def test_source_shows_its_mark():
    assert str(SOURCE) == "a table (from memory)"


def test_range_reads():
    assert str(Range(8.5, 13)) == "8.5 to 13"
