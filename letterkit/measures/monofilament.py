"""Semmes-Weinstein monofilaments: marking, target force in grams, band and colour.

Source: monofilament table in PMC7873561, after instructions of 2011, and a published colour key (confirmed); the red of
6.65 is from memory. The band is that of the finest filament felt.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from letterkit.errors import InvalidValue
from letterkit.measures.result import Mark, NotComputable, Result, Source, figure, given

Band = Literal[
    "normal",
    "diminished_light_touch",
    "diminished_protective_sensation",
    "loss_of_protective_sensation",
    "deep_pressure_only",
    "untestable",
]
SOURCE = Source("monofilament table, PMC7873561", Mark.CONFIRMED)
THICKEST = "6.65"
LIMITS = (
    "About half of 80 healthy adults missed 2.83 at the fingertip in one reading, so 3.61 alone is weak evidence",
    "The marking is a logarithm, not a force",
)


@dataclass(frozen=True, slots=True)
class Filament:
    """One filament: its marking as printed on the handle, target force in grams, band and colour."""

    marking: str
    force_g: float
    band: Band
    colour: Literal["green", "blue", "purple", "red"]


FILAMENTS: tuple[Filament, ...] = (
    Filament("1.65", 0.008, "normal", "green"),
    Filament("2.36", 0.02, "normal", "green"),
    Filament("2.44", 0.04, "normal", "green"),
    Filament("2.83", 0.07, "normal", "green"),
    Filament("3.22", 0.16, "diminished_light_touch", "blue"),
    Filament("3.61", 0.4, "diminished_light_touch", "blue"),
    Filament("3.84", 0.6, "diminished_protective_sensation", "purple"),
    Filament("4.08", 1, "diminished_protective_sensation", "purple"),
    Filament("4.17", 1.4, "diminished_protective_sensation", "purple"),
    Filament("4.31", 2, "diminished_protective_sensation", "purple"),
    Filament("4.56", 4, "loss_of_protective_sensation", "red"),
    Filament("4.74", 6, "loss_of_protective_sensation", "red"),
    Filament("4.93", 8, "loss_of_protective_sensation", "red"),
    Filament("5.07", 10, "loss_of_protective_sensation", "red"),
    Filament("5.18", 15, "loss_of_protective_sensation", "red"),
    Filament("5.46", 26, "loss_of_protective_sensation", "red"),
    Filament("5.88", 60, "loss_of_protective_sensation", "red"),
    Filament("6.10", 100, "loss_of_protective_sensation", "red"),
    Filament("6.45", 180, "loss_of_protective_sensation", "red"),
    Filament("6.65", 300, "deep_pressure_only", "red"),
)
"""The twenty filaments, finest first."""


def filament(marking: str | float) -> Filament:
    """The filament with that marking, `6.1` meaning 6.10. Raises InvalidValue for a marking that is not made."""
    text = f"{marking:.2f}" if isinstance(marking, int | float) else marking.strip()
    for one in FILAMENTS:
        if one.marking == text or one.marking.rstrip("0") == text:
            return one
    raise InvalidValue(f"monofilament: {marking} was given. Allowed: {', '.join(f.marking for f in FILAMENTS)}")


def monofilament_band(finest_felt: str | float | None, *, felt: bool = True) -> Result[Band] | NotComputable:
    """Band of the finest filament felt; `felt=False` says that even this one was not felt.

    Only 6.65 not felt gives a band (untestable); a finer one not felt leaves the band open. Not computable without a
    filament.
    """
    if finest_felt is None:
        return NotComputable("monofilament", ("finest_felt",), SOURCE, limits=LIMITS)
    one = filament(finest_felt)
    inputs = given(finest_felt=one.marking, felt=felt)
    if not felt and one.marking != THICKEST:
        reason = f"{one.marking} was not felt and no thicker filament was recorded"
        return NotComputable("monofilament", ("finest_felt",), SOURCE, reason, inputs=inputs, limits=LIMITS)
    band = one.band if felt else "untestable"
    arithmetic = f"{one.marking} = {figure(one.force_g)} g, {'felt' if felt else 'not felt'}"
    return Result("monofilament", band, inputs, arithmetic, SOURCE, LIMITS)
