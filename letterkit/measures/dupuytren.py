"""Total passive extension deficit of a ray in Dupuytren's disease, and its Tubiana stage.

Source: Tubiana 1968 in whole degrees: N is a nodule or cord without contracture, then 1 to 45, 46 to 90, 91 to 135 and
over 135. Stages N, 1 and 2 are confirmed; 3 and 4 are confirmed in a modified table and from memory for the original;
stage 0 (no lesion) is from memory. Hyperextension counting as nought is common practice, no source.
"""

from __future__ import annotations

from typing import Literal

from letterkit.errors import InvalidValue
from letterkit.measures.result import (
    Mark,
    NotComputable,
    Result,
    Source,
    checked,
    exact,
    figure,
    given,
    missing_names,
)

Stage = Literal["0", "N", "1", "2", "3", "4"]
Lesion = Literal["none", "nodule_or_cord"]

TOTAL = Source("Tubiana 1968, total passive extension deficit", Mark.CONFIRMED)
SOURCES: dict[Stage, Source] = {
    "0": Source("Tubiana 1968", Mark.FROM_MEMORY),
    "N": Source("Tubiana 1968", Mark.CONFIRMED),
    "1": Source("Tubiana 1968", Mark.CONFIRMED),
    "2": Source("Tubiana 1968", Mark.CONFIRMED),
    "3": Source("Tubiana 1968, as tabled with the radiotherapy variant", Mark.CONFIRMED),
    "4": Source("Tubiana 1968, as tabled with the radiotherapy variant", Mark.CONFIRMED),
}
STAGE_UP_TO_DEG: tuple[tuple[Stage, int], ...] = (("1", 45), ("2", 90), ("3", 135))
LIMITS = ("Passive, fixed deficit only; the radiotherapy variant with its stage N/I is not used",)


def total_extension_deficit(
    mcp_deficit_deg: float | None, pip_deficit_deg: float | None, dip_deficit_deg: float | None
) -> Result[float] | NotComputable:
    """Total passive extension deficit of one ray in degrees; negative input is hyperextension and counts nought."""
    instrument = "total passive extension deficit"
    inputs = given(mcp_deficit_deg=mcp_deficit_deg, pip_deficit_deg=pip_deficit_deg, dip_deficit_deg=dip_deficit_deg)
    if mcp_deficit_deg is None or pip_deficit_deg is None or dip_deficit_deg is None:
        missing = missing_names(
            mcp_deficit_deg=mcp_deficit_deg, pip_deficit_deg=pip_deficit_deg, dip_deficit_deg=dip_deficit_deg
        )
        return NotComputable(instrument, missing, TOTAL, inputs=inputs)
    joints = (mcp_deficit_deg, pip_deficit_deg, dip_deficit_deg)
    for name, deficit in zip(("mcp", "pip", "dip"), joints, strict=True):
        checked(f"{name}_deficit_deg", deficit, -120, 180, "degrees")
    counted = [exact(max(deficit, 0)) for deficit in joints]
    arithmetic = f"{' + '.join(figure(part) for part in counted)} = {figure(sum(counted))} degrees"
    return Result(instrument, float(sum(counted)), inputs, arithmetic, TOTAL, LIMITS)


def tubiana_stage(
    total_deficit_deg: float | None, *, lesion: Lesion | None = None, table_top_negative: bool | None = None
) -> Result[Stage] | NotComputable:
    """Tubiana stage of one ray from its total passive extension deficit in degrees.

    A negative table-top test (the hand lies flat) stands for a deficit of nought. At nought the lesion decides between
    0 and N, and the stage is not computable without it. Raises InvalidValue for a deficit recorded with no lesion.
    """
    instrument = "Tubiana stage"
    inputs = given(total_deficit_deg=total_deficit_deg, lesion=lesion, table_top_negative=table_top_negative)
    if total_deficit_deg is None and table_top_negative:
        total_deficit_deg = 0
    if total_deficit_deg is None:
        return NotComputable(instrument, ("total_deficit_deg",), TOTAL, inputs=inputs)
    checked("total_deficit_deg", total_deficit_deg, 0, 540, "degrees")
    if total_deficit_deg == 0:
        if lesion is None:
            return NotComputable(instrument, ("lesion",), SOURCES["N"], inputs=inputs)
        flat: Stage = "N" if lesion == "nodule_or_cord" else "0"
        return Result(instrument, flat, inputs, f"no deficit, lesion {lesion}: {flat}", SOURCES[flat], LIMITS)
    if lesion == "none":
        raise InvalidValue(
            f"tubiana.lesion: none was given with a deficit of {figure(total_deficit_deg)} degrees. "
            "Allowed: nodule_or_cord, or no stage"
        )
    found: Stage = next((name for name, up_to in STAGE_UP_TO_DEG if total_deficit_deg <= up_to), "4")
    ends = "1-45 is 1, 46-90 is 2, 91-135 is 3, over 135 is 4"
    return Result(instrument, found, inputs, f"{figure(total_deficit_deg)} degrees; {ends}", SOURCES[found], LIMITS)
