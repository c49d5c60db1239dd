"""Tip, key and palmar pinch against published norms.

Source: Mathiowetz 1985. Tip pinch is confirmed but for the left hands at 75 and over (from memory); key and palmar
pinch are from memory. One tip cell (men of 30 to 34, right) is excluded because its figures contradict each other.
Forces in kilograms.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Literal

from letterkit.errors import InvalidValue
from letterkit.measures.norms import Norm, Side, Strength, against_norm, norms
from letterkit.measures.result import NotComputable, Result

Pinch = Literal["tip", "key", "palmar"]
PINCHES: tuple[Pinch, ...] = ("tip", "key", "palmar")


def pinch_norms(kind: Pinch) -> tuple[Norm, ...]:
    """Every cell of one pinch table; palmar is also called three-jaw chuck or tripod, key also lateral."""
    if kind not in PINCHES:
        raise InvalidValue(f"pinch.kind: {kind!r} was given. Allowed: {', '.join(PINCHES)}")
    return norms("pinch", kind)


@lru_cache(maxsize=1024, typed=True)  # asked by several rules and by the letter about the same hand
def pinch_against_norm(
    kind: Pinch, force_kg: float | None, *, age_years: int | None, sex: str | None, side: Side
) -> Result[Strength] | NotComputable:
    """Pinch in kilograms, mean of three trials, beside Mathiowetz 1985."""
    return against_norm(f"{kind} pinch", pinch_norms(kind), force_kg, age_years=age_years, sex=sex, side=side)
