"""Minimal important differences of DASH and QuickDASH (confirmed); goniometer error (from memory)."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures.change import (
    GONIOMETER_ERROR_DEG,
    GONIOMETER_SOURCE,
    IMPORTANT_DIFFERENCES,
    score_change,
)


@pytest.mark.parametrize(
    ("name", "points", "low", "high"),
    [
        pytest.param("DASH", 10, 5, 15, id="DASH (confirmed)"),
        pytest.param("QuickDASH", 14, 9, 20, id="QuickDASH (confirmed)"),
    ],
)
def test_published(name, points, low, high):
    known = IMPORTANT_DIFFERENCES[name]

    assert (known.points, known.published.low, known.published.high) == (points, low, high)
    assert known.source.mark == "confirmed"


@pytest.mark.parametrize(
    ("name", "before", "after", "points", "direction", "reaches", "within"),
    [
        ("DASH", 50, 40, -10, "better", True, True),
        ("DASH", 50, 40.1, -9.9, "better", False, True),
        ("DASH", 40, 50, 10, "worse", True, True),
        ("QuickDASH", 47.7, 34, -13.7, "better", False, True),
        ("QuickDASH", 47.7, 33.7, -14, "better", True, True),
        ("QuickDASH", 60, 30, -30, "better", True, False),
        ("QuickDASH", 30, 30, 0, "none", False, False),
    ],
)
def test_change(name, before, after, points, direction, reaches, within):
    value = score_change(name, before, after).value

    assert (value.points, value.direction) == (points, direction)
    assert (value.reaches_important_difference, value.within_published_range) == (reaches, within)


@pytest.mark.parametrize(("name", "after"), [("Boston", 2), ("DASH", 101), ("DASH", -1)])
def test_refused(name, after):
    with pytest.raises(InvalidValue, match="Allowed"):
        score_change(name, 50, after)


def test_goniometer_from_memory():
    assert (GONIOMETER_ERROR_DEG, GONIOMETER_SOURCE.mark) == (5, "from memory")
