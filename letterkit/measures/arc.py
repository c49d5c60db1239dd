"""Written angles of a hinge joint: `0-90`, `15-0-90`, `lag 20`, `FFD 20`, pulp to palm distance.

All notation is common practice, no source. Degrees from neutral zero; a deficit of extension is recorded as a positive
start, hyperextension as a negative one. A minus before the first figure means a deficit to most hand units and
hyperextension to others, so it is refused unless the unit's convention is given.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from letterkit.errors import InvalidValue

MinusMeans = Literal["deficit", "hyperextension"]


class AmbiguousArc(InvalidValue):
    """Writing that means one thing in one unit and the opposite in another."""


@dataclass(frozen=True, slots=True)
class Arc:
    """From the most extended to the most flexed position, in degrees; a negative start is hyperextension."""

    start_deg: float
    flexion_deg: float

    @property
    def extension_deficit_deg(self) -> float:
        """Degrees short of full extension; nought if neutral is reached or passed."""
        return max(self.start_deg, 0)

    @property
    def hyperextension_deg(self) -> float:
        """Degrees beyond neutral; nought if it is not passed."""
        return max(-self.start_deg, 0)

    @property
    def arc_deg(self) -> float:
        """Degrees of movement from one end to the other."""
        return self.flexion_deg - self.start_deg


@dataclass(frozen=True, slots=True)
class ExtensionLag:
    """Active extension deficit in degrees, passively correctable."""

    deficit_deg: float


@dataclass(frozen=True, slots=True)
class FixedDeficit:
    """Passive extension deficit in degrees."""

    deficit_deg: float


@dataclass(frozen=True, slots=True)
class FullRange:
    """Full range recorded without figures; none may be printed."""

    active_only: bool


@dataclass(frozen=True, slots=True)
class PulpToPalm:
    """Distance from pulp to distal palmar crease: millimetres, or finger breadths, which do not convert."""

    gap_mm: float | None
    gap_finger_breadths: float | None


@dataclass(frozen=True, slots=True)
class ActiveThenPassive:
    """Active and passive flexion in degrees."""

    active_deg: float
    passive_deg: float


Movement = Arc | ExtensionLag | FixedDeficit | FullRange | PulpToPalm | ActiveThenPassive

_N = r"(\d+(?:\.\d+)?)"
_TO = r"\s*(?:-|/|to)\s*"
_PLAIN = re.compile(rf"{_N}{_TO}{_N}")
_MINUS = re.compile(rf"-\s?{_N}{_TO}{_N}")
_THREE = re.compile(rf"\+?{_N}{_TO}0{_TO}{_N}")
_HYPER = re.compile(rf"h\s?{_N}{_TO}{_N}|{_N}\s?h{_TO}{_N}")
_SAGITTAL = re.compile(rf"(?:sftr\s+)?s\s+{_N}-0-{_N}")
_LAG = re.compile(rf"(?:ext(?:ension)?\s+)?lag\s+{_N}")
_FIXED = re.compile(rf"(?:ffd|fixed|ffc|contracture)\s+{_N}")
_FULL = re.compile(r"(from|full rom)|full arom")
_PULP = re.compile(rf"(?:ppd|tpd|tip to dpc|pulp to palm)\s+{_N}\s?(mm|cm|fb)")
_BOTH = re.compile(rf"(?:a/p|arom/prom)\s+{_N}/{_N}")
_EXAMPLES = "0-90, 15-90, 15-0-90, H15-90, S 70-0-80, lag 20, FFD 20, full ROM, PPD 25mm, a/p 60/80"


def _ordered(start_deg: float, flexion_deg: float, text: str) -> Arc:
    if start_deg > flexion_deg:
        raise InvalidValue(f"arc: {text!r} was given. The more extended position stands first, as in 15-90")
    return Arc(start_deg, flexion_deg)


def _angles(words: str, text: str, minus_means: MinusMeans | None) -> Arc | None:
    if found := _MINUS.fullmatch(words):
        first, flexion = float(found[1]), float(found[2])
        if first and minus_means is None:
            raise AmbiguousArc(
                f"arc: {text!r} was given, which is {first:g} short of extension to some and {first:g} of "
                f"hyperextension to others. Write {first:g}-{flexion:g} or {first:g}-0-{flexion:g}"
            )
        return _ordered(first if minus_means == "deficit" else 0.0 - first, flexion, text)
    if found := _PLAIN.fullmatch(words):
        return _ordered(float(found[1]), float(found[2]), text)
    if found := _THREE.fullmatch(words) or _SAGITTAL.fullmatch(words):
        return Arc(0.0 - float(found[1]), float(found[2]))
    if found := _HYPER.fullmatch(words):
        return Arc(0.0 - float(found[1] or found[3]), float(found[2] or found[4]))
    return None


def parse_movement(text: str, *, minus_means: MinusMeans | None = None) -> Movement:
    """What the writing of one hinge joint's movement records; figures in degrees, distances in millimetres.

    `minus_means` is the unit's convention for a minus before the first figure. Raises AmbiguousArc without it, and
    InvalidValue for writing that is not in use or figures in the wrong order.
    """
    words = re.sub(r"[\u2010-\u2015\u2212]", "-", text).lower()
    words = " ".join(re.sub(r"\u00b0|\bdeg(?:ree)?s?\b", " ", words).split())
    words = re.sub(r"\s*([/+])\s*", r"\1", words)
    if (arc := _angles(words, text, minus_means)) is not None:
        return arc
    if found := _LAG.fullmatch(words):
        return ExtensionLag(float(found[1]))
    if found := _FIXED.fullmatch(words):
        return FixedDeficit(float(found[1]))
    if found := _FULL.fullmatch(words):
        return FullRange(active_only=found[1] is None)
    if found := _PULP.fullmatch(words):
        gap = float(found[1])
        if found[2] == "fb":
            return PulpToPalm(None, gap)
        return PulpToPalm(gap * 10 if found[2] == "cm" else gap, None)
    if found := _BOTH.fullmatch(words):
        return ActiveThenPassive(float(found[1]), float(found[2]))
    raise InvalidValue(f"arc: {text!r} was given. Allowed: {_EXAMPLES}")
