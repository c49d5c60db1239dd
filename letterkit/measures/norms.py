"""Strength against published means by age, sex and side: z score, expected range and share of the mean.

The z score, its limits at -1.5 and -2 and the expected range of two standard deviations either side of the mean are
common practice, no source. The tables are from Mathiowetz 1985; each band carries its own mark.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from letterkit.errors import InvalidValue
from letterkit.measures.result import (
    KG_PER_LB,
    Mark,
    NotComputable,
    Number,
    Range,
    Result,
    Source,
    exact,
    figure,
    given,
    missing_names,
    not_negative,
    rounded,
)
from letterkit.measures.tables import table

Side = Literal["right", "left"]
Sex = Literal["male", "female"]
Standing = Literal["below_expected_range", "low_end", "within_or_above"]

METHOD = (
    "Comparable only with the mean of three trials, seated, shoulder adducted, elbow at 90 degrees, forearm neutral, "
    "wrist in 0 to 30 degrees of extension"
)
_COLUMNS = {"male": "men", "female": "women"}
_OLDEST_YEARS = 94
_YOUNGEST_YEARS = 20


@dataclass(frozen=True, slots=True)
class Norm:
    """Mean and standard deviation in pounds, as published, of one age band, sex and side; ages in whole years."""

    age_from: int
    age_to: int | None
    sex: Sex
    side: Side
    mean_lb: float
    sd_lb: float
    source: Source
    unusable: str | None = None

    @property
    def mean_kg(self) -> float:
        """The mean in kilograms."""
        return float(exact(self.mean_lb) * KG_PER_LB)

    @property
    def sd_kg(self) -> float:
        """The standard deviation in kilograms."""
        return float(exact(self.sd_lb) * KG_PER_LB)

    @property
    def expected_kg(self) -> Range:
        """Two standard deviations either side of the mean, in kilograms, never below nought."""
        mean, spread = exact(self.mean_lb), 2 * exact(self.sd_lb)
        return Range(float(max(mean - spread, 0 * mean) * KG_PER_LB), float((mean + spread) * KG_PER_LB))


@dataclass(frozen=True, slots=True)
class Strength:
    """A force beside its norm: z in standard deviations, share of the mean in percent, expected range in kilograms."""

    force_kg: float
    z: float
    percent_of_mean: float
    standing: Standing
    norm: Norm


def _norm(band: dict[str, Any], sex: Sex, side: Side, head: dict[str, Any]) -> Norm:
    column = f"{_COLUMNS[sex]}_{side}"
    age = band["age_from"]
    mark = next((o["mark"] for o in head.get("own_mark", ()) if o["age_from"] == age and column in o["columns"]), None)
    why = next((u["why"] for u in head.get("unusable", ()) if (u["age_from"], u["column"]) == (age, column)), None)
    mean, sd = band[column]
    source = Source(head["citation"], Mark(mark or head["mark"]))
    return Norm(age, band.get("age_to"), sex, side, mean, sd, source, why)


@cache
def norms(name: str, kind: str | None = None) -> tuple[Norm, ...]:
    """Every cell of the published table `name` (and its part `kind`), youngest first, unusable cells included."""
    head = table(name) if kind is None else table(name)[kind]
    sexes: tuple[Sex, ...] = ("male", "female")
    sides: tuple[Side, ...] = ("right", "left")
    return tuple(_norm(band, sex, side, head) for band in head["band"] for sex in sexes for side in sides)


def standing(z: Number) -> Standing:
    """Where a z score lies: below the expected range under -2, at its low end from -2 to -1.5."""
    if z < -2:  # noqa: PLR2004 - the limit stands in the docstring
        return "below_expected_range"
    return "low_end" if z <= -1.5 else "within_or_above"  # noqa: PLR2004 - the same


def find_norm(cells: tuple[Norm, ...], age_years: int, sex: Sex, side: Side) -> Norm | None:
    """The cell of that age in whole years, sex and side; None under 20."""
    for cell in cells:
        if (cell.sex, cell.side) == (sex, side) and cell.age_from <= age_years <= (cell.age_to or age_years):
            return cell
    return None


def against_norm(
    instrument: str,
    cells: tuple[Norm, ...],
    force_kg: float | None,
    *,
    age_years: int | None,
    sex: str | None,
    side: Side,
) -> Result[Strength] | NotComputable:
    """A force in kilograms beside the norm for age, sex and side.

    Not computable without force, age or sex, for a sex that the tables do not hold, under 20 years, and for a cell that
    is marked unusable. Raises InvalidValue for a negative force or age, and for a side other than right or left.
    """
    if side not in {"right", "left"}:
        raise InvalidValue(f"{instrument}.side: {side!r} was given. Allowed: right, left")
    inputs = given(force_kg=force_kg, age_years=age_years, sex=sex, side=side)
    source = cells[0].source
    if force_kg is None or age_years is None or sex is None:
        missing = missing_names(force_kg=force_kg, age_years=age_years, sex=sex)
        return NotComputable(instrument, missing, source, inputs=inputs)
    not_negative(f"{instrument}.force_kg", force_kg, "kg")
    not_negative(f"{instrument}.age_years", age_years, "years")
    if sex not in {"male", "female"}:
        return NotComputable(instrument, ("sex",), source, "the norms hold male and female only", inputs=inputs)
    if age_years < _YOUNGEST_YEARS:
        return NotComputable(instrument, (), source, "there is no norm under 20 years", inputs=inputs)
    cell = find_norm(cells, age_years, "male" if sex == "male" else "female", side)
    if cell is None or cell.unusable is not None:
        reason = f"the published cell cannot be used: {cell.unusable}" if cell else "no norm for this age"
        return NotComputable(instrument, (), source, reason, inputs=inputs)
    return _compare(instrument, cell, force_kg, age_years, inputs)


def _compare(
    instrument: str, cell: Norm, force_kg: float, age_years: int, inputs: tuple[tuple[str, Any], ...]
) -> Result[Strength]:
    force_lb = exact(force_kg) / KG_PER_LB
    z = (force_lb - exact(cell.mean_lb)) / exact(cell.sd_lb)
    percent = 100 * force_lb / exact(cell.mean_lb)
    # Classified on the exact fraction: -1.995 is not below the range although it prints as -2.00.
    value = Strength(force_kg, float(z), float(percent), standing(z), cell)
    pounds = f"{rounded(force_lb, 1)} lb"
    arithmetic = (
        f"{figure(force_kg)} kg / 0.45359237 = {pounds}; ({rounded(force_lb, 1)} - {cell.mean_lb}) / {cell.sd_lb} "
        f"= z {rounded(z, 2)}; {rounded(force_lb, 1)} / {cell.mean_lb} = {rounded(percent)} % of the mean"
    )
    limits: tuple[str, ...] = (METHOD, "The other hand may be the better norm; height also matters")
    if age_years > _OLDEST_YEARS:
        limits = (*limits, "The oldest person measured was 94")
    return Result(instrument, value, inputs, arithmetic, cell.source, limits)
