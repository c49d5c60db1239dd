"""The marks of the drawing of hands: a shape, a shade and a hatching for each kind of finding."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Kind = Literal["form", "pain", "movement", "nerve", "test"]


@dataclass(frozen=True, slots=True)
class Look:
    """How a kind of finding looks and is called; the shade is at least 7:1 against the white number on it."""

    name: str
    shape: Literal["circle", "triangle", "square", "diamond", "hexagon"]
    shade: str
    hatch: int  # degrees of its lines


KINDS: Mapping[Kind, Look] = MappingProxyType({
    "form": Look("seen or felt", "circle", "#1f3550", 45),
    "pain": Look("tender or painful", "triangle", "#7a3200", 0),
    "movement": Look("movement", "square", "#3a3a3a", 90),
    "nerve": Look("feeling, power, circulation", "diamond", "#55246a", 135),
    "test": Look("test", "hexagon", "#0a4f44", 20),
})  # fmt: skip
_CORNERS = {"triangle": (3, -90.0, 1.45), "square": (4, -45.0, 1.3), "diamond": (4, -90.0, 1.38),
            "hexagon": (6, 0.0, 1.16)}  # fmt: skip


def marker(kind: Kind, centre: tuple[float, float], radius: float, label: str) -> str:
    """One mark with its number; `radius` is that of a circle of about the same size."""
    look = KINDS[kind]
    x, y = centre
    paint = f'fill="{look.shade}" stroke="#ffffff" stroke-width="1"'
    if look.shape == "circle":
        shape = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius}" {paint}/>'
    else:
        count, start, more = _CORNERS[look.shape]
        points = [
            (x + radius * more * math.cos(turn), y + radius * more * math.sin(turn))
            for turn in (math.radians(start + 360 * index / count) for index in range(count))
        ]
        corners = " ".join(f"{a:.1f},{b:.1f}" for a, b in points)
        shape = f'<polygon points="{corners}" {paint} stroke-linejoin="round"/>'
    if not label:
        return shape
    size = 8.5 if len(label) < 2 else 7.5  # noqa: PLR2004 - two figures need more room
    low = y + size * 0.36 + (1.2 if look.shape == "triangle" else 0)
    return (
        f'{shape}<text x="{x:.1f}" y="{low:.1f}" font-size="{size}" font-weight="bold" fill="#ffffff" '
        f'text-anchor="middle">{label}</text>'
    )
