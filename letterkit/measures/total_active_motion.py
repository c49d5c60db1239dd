"""Total active motion of a finger and its classes: ASSH, and Strickland and Glogovac, original and adjusted.

Sources: American Society for Surgery of the Hand (ASSH) classes (confirmed); its total of 260 degrees made of 85 at the
metacarpophalangeal, 110 at the proximal and 65 at the distal interphalangeal joint (from memory); Strickland and
Glogovac 1980, total of 175 degrees and original classes (confirmed), adjusted classes of 1985 (from memory). Counting
hyperextension as nought, and 50 % exactly as fair in the ASSH classes, are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from letterkit.measures.result import (
    Mark,
    NotComputable,
    Result,
    Source,
    checked,
    exact,
    figure,
    given,
    rounded,
)

ASSH = Source("American Society for Surgery of the Hand, total active motion", Mark.CONFIRMED)
STRICKLAND = Source("Strickland and Glogovac 1980, original classes", Mark.CONFIRMED)
STRICKLAND_ADJUSTED = Source("Strickland 1985, adjusted classes", Mark.FROM_MEMORY)
ASSH_NORMAL_DEG = 260
ASSH_PARTS_DEG = {"mcp": 85, "pip": 110, "dip": 65}
STRICKLAND_NORMAL_DEG = 175

ToClass = Literal["excellent", "good", "fair", "poor"]
# Least percentage of each class; Strickland's printed bands are whole numbers and their lower ends are used.
_STRICKLAND_LEAST: dict[str, tuple[tuple[ToClass, int], ...]] = {
    "original": (("excellent", 85), ("good", 70), ("fair", 50)),
    "adjusted": (("excellent", 75), ("good", 50), ("fair", 25)),
}
_FIST = "Take all joints in one active fist and one active extension, not joint by joint"


@dataclass(frozen=True, slots=True)
class JointMotion:
    """Active flexion and active extension deficit of one joint in degrees; a negative deficit is hyperextension."""

    flexion_deg: float | None
    extension_deficit_deg: float | None


@dataclass(frozen=True, slots=True)
class Motion:
    """Total in degrees, the total it is compared with, the percentage and the class."""

    total_deg: float
    normal_deg: float
    percent: float
    motion_class: ToClass


def _missing(**joints: JointMotion | None) -> tuple[str, ...]:
    names: list[str] = []
    for name, joint in joints.items():
        if joint is None or joint.flexion_deg is None:
            names.append(f"{name} flexion")
        if joint is None or joint.extension_deficit_deg is None:
            names.append(f"{name} extension deficit")
    return tuple(names)


def _total(**joints: JointMotion | None) -> tuple[Fraction, str]:
    flexions: list[Fraction] = []
    deficits: list[Fraction] = []
    for name, joint in joints.items():
        if joint is None or joint.flexion_deg is None or joint.extension_deficit_deg is None:
            continue
        checked(f"{name}.flexion_deg", joint.flexion_deg, 0, 180, "degrees")
        checked(f"{name}.extension_deficit_deg", joint.extension_deficit_deg, -180, 180, "degrees")
        flexions.append(exact(joint.flexion_deg))
        deficits.append(max(exact(joint.extension_deficit_deg), Fraction(0)))
    total = sum(flexions, Fraction(0)) - sum(deficits, Fraction(0))
    sums = (" + ".join(figure(part) for part in parts) for parts in (flexions, deficits))
    return total, f"({') - ('.join(sums)}) = {figure(total)} degrees"


def assh_class(percent: float) -> ToClass:
    """ASSH class of a percentage of normal: 100 excellent, over 75 good, over 50 (and 50 itself) fair, else poor."""
    if percent >= 100:  # noqa: PLR2004 - the limits stand in the docstring
        return "excellent"
    if percent > 75:  # noqa: PLR2004 - the same
        return "good"
    return "fair" if percent >= 50 else "poor"  # noqa: PLR2004 - the same


def total_active_motion(
    mcp: JointMotion | None,
    pip: JointMotion | None,
    dip: JointMotion | None,
    *,
    other_hand_total_deg: float | None = None,
) -> Result[Motion] | NotComputable:
    """ASSH total of a finger in degrees, as a percentage of the same finger of the other hand, or of 260 degrees.

    Not computable if any joint lacks flexion or extension deficit.
    """
    instrument = "total active motion (ASSH)"
    if missing := _missing(mcp=mcp, pip=pip, dip=dip):
        return NotComputable(instrument, missing, ASSH)
    total, arithmetic = _total(mcp=mcp, pip=pip, dip=dip)
    normal = exact(ASSH_NORMAL_DEG if other_hand_total_deg is None else other_hand_total_deg)
    checked("other_hand_total_deg", float(normal), 1, 540, "degrees")
    percent = 100 * total / normal
    value = Motion(float(total), float(normal), float(percent), assh_class(float(percent)))
    arithmetic += f"; {figure(total)} / {figure(normal)} = {rounded(percent, 1)} %"
    limits = (_FIST, "75 % exactly is fair; 50 % exactly has no printed class and is put with fair")
    return Result(instrument, value, _inputs(mcp=mcp, pip=pip, dip=dip), arithmetic, ASSH, limits)


def strickland(
    pip: JointMotion | None, dip: JointMotion | None, *, version: Literal["original", "adjusted"] = "original"
) -> Result[Motion] | NotComputable:
    """Strickland percentage of 175 degrees over the two interphalangeal joints, zone II flexor repairs.

    Classified by percentage only: the printed degree bands disagree with it at their edges.
    """
    instrument = f"Strickland, {version}"
    source = STRICKLAND if version == "original" else STRICKLAND_ADJUSTED
    if missing := _missing(pip=pip, dip=dip):
        return NotComputable(instrument, missing, source)
    total, arithmetic = _total(pip=pip, dip=dip)
    percent = 100 * total / STRICKLAND_NORMAL_DEG
    found = next((name for name, least in _STRICKLAND_LEAST[version] if percent >= least), None)
    value = Motion(float(total), STRICKLAND_NORMAL_DEG, float(percent), found or "poor")
    arithmetic += f"; {figure(total)} / {STRICKLAND_NORMAL_DEG} = {rounded(percent, 1)} %"
    return Result(instrument, value, _inputs(pip=pip, dip=dip), arithmetic, source, (_FIST,))


def _inputs(**joints: JointMotion | None) -> tuple[tuple[str, str | int | float | bool | None], ...]:
    items: dict[str, float | None] = {}
    for name, joint in joints.items():
        items[f"{name}_flexion_deg"] = joint.flexion_deg if joint else None
        items[f"{name}_extension_deficit_deg"] = joint.extension_deficit_deg if joint else None
    return given(**items)
