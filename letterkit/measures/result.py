"""What a measure gives back: the value with its inputs, arithmetic, source and limits, or what is missing.

Common practice of this room: rounding happens once, half away from zero, for display only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from typing import Generic, TypeVar

from letterkit.errors import InvalidValue, MissingValue

Value_co = TypeVar("Value_co", covariant=True)
Number = int | float | Fraction | Decimal
Input = str | int | float | bool | None

KG_PER_LB = Fraction(45359237, 100000000)
"""Kilograms in one avoirdupois pound, exact by definition."""


class Mark(StrEnum):
    """How far a published value was checked."""

    CONFIRMED = "confirmed"
    FROM_MEMORY = "from memory"
    COMMON_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Source:
    """Where a rule or value was published, and how far that was checked."""

    citation: str
    mark: Mark

    def __str__(self) -> str:
        return f"{self.citation} ({self.mark.value})"


PRACTICE = Source("common practice", Mark.COMMON_PRACTICE)


@dataclass(frozen=True, slots=True)
class Range:
    """Two ends, both included, in the unit of the value they belong to."""

    low: float
    high: float

    def __str__(self) -> str:
        return f"{figure(self.low)} to {figure(self.high)}"


@dataclass(frozen=True, slots=True)
class Result(Generic[Value_co]):
    """A computed measure.

    `inputs` are name and value pairs in the order of the instrument; `arithmetic` can be redone by hand; `limits` say
    what the value must not be used for.
    """

    instrument: str
    value: Value_co
    inputs: tuple[tuple[str, Input], ...]
    arithmetic: str
    source: Source
    limits: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class NotComputable:
    """A measure that cannot be given: `missing` names the items not recorded, `possible` the range left open."""

    instrument: str
    missing: tuple[str, ...]
    source: Source
    reason: str = "a required item was not recorded"
    possible: Range | None = None
    inputs: tuple[tuple[str, Input], ...] = ()
    limits: tuple[str, ...] = ()


def required(outcome: Result[Value_co] | NotComputable) -> Result[Value_co]:
    """The result of a measure that the caller cannot do without. Raises MissingValue naming the missing items."""
    if isinstance(outcome, NotComputable):
        lacking = ", ".join(outcome.missing)
        raise MissingValue(
            f"{outcome.instrument}: not computable, {outcome.reason}"
            + (f". Missing: {lacking}. Record them to compute it" if lacking else "")
        )
    return outcome


def given(**items: Input) -> tuple[tuple[str, Input], ...]:
    """Inputs as name and value pairs, in the order in which they are given."""
    return tuple(items.items())


def missing_names(**items: object) -> tuple[str, ...]:
    """Names of the items that were not recorded (None), in the order in which they are given."""
    return tuple(name for name, value in items.items() if value is None)


def exact(value: Number) -> Fraction:
    """A number as the fraction its decimal writing stands for, so that 0.1 is a tenth."""
    return Fraction(repr(value)) if isinstance(value, float) else Fraction(value)


def rounded(value: Number, places: int = 0) -> Decimal:
    """A value for display with that many decimal places: half away from zero, never a negative zero."""
    number = exact(value)
    scale = 10**places
    whole = math.floor(abs(number) * scale + Fraction(1, 2))
    return Decimal(-whole if number < 0 else whole).scaleb(-places)


def figure(value: Number, places: int = 3) -> str:
    """A number as written in arithmetic: at most that many decimals, no trailing zeros."""
    text = f"{rounded(value, places):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def checked(name: str, value: float, low: float, high: float, unit: str = "") -> None:
    """Refuses a number outside low to high (both allowed), or one that is not finite. Raises InvalidValue."""
    if not (math.isfinite(value) and low <= value <= high):
        allowed = f"{figure(low)} to {figure(high)}" if math.isfinite(high) else f"{figure(low)} or more"
        raise InvalidValue(f"{name}: {value} was given. Allowed: {allowed}{' ' + unit if unit else ''}")


def not_negative(name: str, value: float, unit: str) -> None:
    """Refuses a negative or endless number. Raises InvalidValue."""
    checked(name, value, 0, math.inf, unit)
