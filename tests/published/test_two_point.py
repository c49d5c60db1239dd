"""Two-point discrimination: American Society for Surgery of the Hand bands, Nolan 1982."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable
from letterkit.measures.result import required
from letterkit.measures.two_point import (
    NORMAL_MEAN_MM,
    TwoPoint,
    moving_within_normal,
    parse_two_point,
    two_point_band,
)


@pytest.mark.parametrize(
    ("gap_mm", "band"),
    [
        pytest.param(5, "normal", id="worked: thumb 5"),
        pytest.param(8, "fair", id="worked: index 8"),
        pytest.param(12, "poor", id="worked: middle 12"),
        pytest.param(4, "normal", id="worked: little 4"),
        pytest.param(5.9, "normal", id="ASSH (confirmed grouping) 5.9"),
        pytest.param(6, "fair", id="ASSH (confirmed grouping) 6"),
        pytest.param(10, "fair", id="ASSH (confirmed grouping) 10"),
        pytest.param(10.5, "poor", id="between two bands: the worse"),
        pytest.param(11, "poor", id="ASSH (confirmed grouping) 11"),
        pytest.param(15, "poor", id="ASSH (confirmed grouping) 15"),
        pytest.param(16, "worse_than_poor", id="common practice 16"),
    ],
)
def test_band(gap_mm, band):
    assert required(two_point_band(gap_mm)).value == band


@pytest.mark.parametrize(
    ("points", "band", "mark"), [(1, "protective", "confirmed"), (0, "anaesthetic", "from memory")]
)
def test_fewer_points(points, band, mark):
    result = required(two_point_band(None, points_perceived=points))

    assert (result.value, result.source.mark) == (band, mark)


def test_beyond_the_last_band():
    result = required(two_point_band(15, beyond=True))

    assert (result.value, result.source.mark) == ("worse_than_poor", "common practice, no source")


@pytest.mark.parametrize(
    "kwargs",
    [
        {"gap_mm": 21, "site": "first_web"},
        {"gap_mm": 5, "site": "dorsum"},
        {"gap_mm": 3, "method": "moving"},
        {"gap_mm": None},
        {"gap_mm": 10, "beyond": True},
    ],
)
def test_not_computable(kwargs):
    assert isinstance(two_point_band(**kwargs), NotComputable)


def test_sites_of_the_pulp():
    assert required(two_point_band(5, site="pulp_index")).value == "normal"


def test_nolan_1982_confirmed():
    assert NORMAL_MEAN_MM == {"first_web": 21.0, "pulp": 2.6}


@pytest.mark.parametrize(("gap_mm", "within"), [(2, True), (3, True), (3.5, False)])
def test_moving_from_memory(gap_mm, within):
    assert moving_within_normal(gap_mm).value is within


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2PD 5", TwoPoint("not_stated", 5)),
        ("s2PD 5mm", TwoPoint("static", 5)),
        ("m2PD 3", TwoPoint("moving", 3)),
        ("2PD 5/6", TwoPoint("not_stated", radial_mm=5, ulnar_mm=6)),
        ("2PD >15", TwoPoint("not_stated", 15, beyond=True)),
        ("2pd NT", TwoPoint("not_stated")),
    ],
)
def test_notation(text, expected):
    assert parse_two_point(text) == expected


@pytest.mark.parametrize("text", ["2PD", "2PD 2cm", "2PD >5/6", "2PD >NT", "TPD 5", "5mm", "2PD <6"])
def test_other_writing_is_refused(text):
    with pytest.raises(InvalidValue, match="Allowed"):
        parse_two_point(text)


@pytest.mark.parametrize("gap_mm", [0, -1, 101])
def test_impossible_gap_is_refused(gap_mm):
    with pytest.raises(InvalidValue, match="mm"):
        two_point_band(gap_mm)
