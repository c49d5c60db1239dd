"""Semmes-Weinstein monofilaments, PMC7873561 table 1 and published colour key (confirmed; red of 6.65 from memory)."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable
from letterkit.measures.monofilament import FILAMENTS, filament, monofilament_band
from letterkit.measures.result import required

N, T, P, L = "normal", "diminished_light_touch", "diminished_protective_sensation", "loss_of_protective_sensation"
TABLE = [
    ("1.65", 0.008, N, "green"),
    ("2.36", 0.02, N, "green"),
    ("2.44", 0.04, N, "green"),
    ("2.83", 0.07, N, "green"),
    ("3.22", 0.16, T, "blue"),
    ("3.61", 0.4, T, "blue"),
    ("3.84", 0.6, P, "purple"),
    ("4.08", 1, P, "purple"),
    ("4.17", 1.4, P, "purple"),
    ("4.31", 2, P, "purple"),
    ("4.56", 4, L, "red"),
    ("4.74", 6, L, "red"),
    ("4.93", 8, L, "red"),
    ("5.07", 10, L, "red"),
    ("5.18", 15, L, "red"),
    ("5.46", 26, L, "red"),
    ("5.88", 60, L, "red"),
    ("6.10", 100, L, "red"),
    ("6.45", 180, L, "red"),
    ("6.65", 300, "deep_pressure_only", "red"),
]


@pytest.mark.parametrize(
    ("marking", "force_g", "band", "colour"),
    [pytest.param(*row, id=f"PMC7873561 (confirmed) {row[0]}") for row in TABLE],
)
def test_filament(marking, force_g, band, colour):
    one = filament(marking)

    assert (one.force_g, one.band, one.colour) == (force_g, band, colour)
    assert required(monofilament_band(marking)).value == band


def test_whole_table_is_checked():
    assert [row[0] for row in TABLE] == [one.marking for one in FILAMENTS]


def test_markings_are_near_the_logarithm_of_the_force():
    """The marking is about the common logarithm of ten times the force in milligrams; makers round both."""
    from math import log10  # noqa: PLC0415 - used by this check alone

    for one in FILAMENTS:
        assert log10(10 * 1000 * one.force_g) == pytest.approx(float(one.marking), abs=0.27)


def test_thickest_not_felt():
    assert required(monofilament_band("6.65", felt=False)).value == "untestable"


def test_finer_not_felt_leaves_the_band_open():
    assert isinstance(monofilament_band("4.31", felt=False), NotComputable)


def test_missing():
    assert monofilament_band(None).missing == ("finest_felt",)


@pytest.mark.parametrize("marking", [6.1, "6.1", " 6.10 "])
def test_last_nought_may_be_dropped(marking):
    assert filament(marking).force_g == 100


@pytest.mark.parametrize("marking", ["2.84", 0.07, "", "green", "6"])
def test_unknown_marking_is_refused(marking):
    with pytest.raises(InvalidValue, match=r"Allowed: 1\.65"):
        filament(marking)


def test_worked_arithmetic():
    assert required(monofilament_band("3.61")).arithmetic == "3.61 = 0.4 g, felt"
