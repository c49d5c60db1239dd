"""Sides as people write them. A side is never guessed."""

from __future__ import annotations

from typing import Literal, TypeAlias

Side: TypeAlias = Literal["left", "right"]
Sides: TypeAlias = Literal["left", "right", "both"]

_SPELLINGS: dict[str, Sides] = {
    "left": "left", "l": "left", "lt": "left", "(l)": "left", "lhs": "left",
    "right": "right", "r": "right", "rt": "right", "(r)": "right", "rhs": "right",
    "both": "both", "bilateral": "both", "b/l": "both", "bilat": "both", "l&r": "both", "r&l": "both", "r+l": "both",
    "l+r": "both",
}  # fmt: skip


def parse_sides(value: object) -> object:
    """`left`, `right` or `both` for the usual spellings; anything else is handed back for the model to refuse."""
    if isinstance(value, str):
        return _SPELLINGS.get(value.strip().casefold().rstrip("."), value)
    return value


def each(side: Sides | None) -> tuple[Side | None, ...]:
    """The single sides that `side` stands for, right before left; one None where no side applies."""
    if side == "both":
        return ("right", "left")
    return (side,)
