"""Range of movement: published reference values, limits for checking input, and active against passive.

Degrees from neutral zero. References: American Academy of Orthopaedic Surgeons and Electronic Textbook of Hand Surgery
(confirmed), American Medical Association (confirmed or from memory, by row), functional ranges of Morrey 1981, Palmer
1985, Hume 1990 and Ryu 1991 (from memory). The limits for checking input are common practice, no source, and no norms.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from letterkit.errors import InvalidValue
from letterkit.measures.arc import Arc
from letterkit.measures.result import (
    PRACTICE,
    Mark,
    NotComputable,
    Range,
    Result,
    Source,
    exact,
    figure,
    given,
    not_negative,
    rounded,
)
from letterkit.measures.tables import table

Column = Literal["aaos", "textbook", "ama", "functional"]
Level = Literal["usual", "surprising", "impossible"]


@dataclass(frozen=True, slots=True)
class Reference:
    """One published value of one movement; a single angle has equal ends."""

    movement: str
    column: Column
    deg: Range
    source: Source
    comparable: bool = True
    note: str = ""


@dataclass(frozen=True, slots=True)
class Limit:
    """Angles above which a figure is surprising, and above which it is impossible."""

    movement: str
    query_above_deg: float
    refuse_above_deg: float


@dataclass(frozen=True, slots=True)
class Shortfall:
    """A measured angle beside one reference: what is lacking (nought if nothing is) and the share reached."""

    lacking_deg: float
    percent: float
    reference: Reference


@dataclass(frozen=True, slots=True)
class ActivePassive:
    """Active against passive movement of one hinge joint, in degrees.

    `fixed_deficit_deg` is the extension deficit that passive movement does not correct; `lag_deg` the part of the
    active deficit that it does. `active_beyond_passive_deg` is nought unless the figures contradict each other.
    """

    fixed_deficit_deg: float
    lag_deg: float
    active_arc_deg: float
    passive_arc_deg: float
    active_beyond_passive_deg: float


@cache
def references() -> tuple[Reference, ...]:
    """Every published value, proximal joints first."""
    return tuple(
        Reference(
            row["movement"],
            row["column"],
            Range(row["deg"][0], row["deg"][-1]),
            Source(row["citation"], Mark(row["mark"])),
            row.get("comparable", True),
            row.get("note", ""),
        )
        for row in table("movement")["reference"]
    )


@cache
def limits() -> dict[str, Limit]:
    """Limits for checking input, by movement."""
    rows = (
        Limit(row["movement"], row["query_above_deg"], row["refuse_above_deg"]) for row in table("movement")["limit"]
    )
    return {row.movement: row for row in rows}


def reference_values(movement: str, column: Column | None = None) -> tuple[Reference, ...]:
    """Published values of one movement, of one set or of all. Raises InvalidValue for a movement without any."""
    found = tuple(row for row in references() if row.movement == movement)
    if not found:
        known = ", ".join(dict.fromkeys(row.movement for row in references()))
        raise InvalidValue(f"movement: {movement!r} was given. Allowed: {known}")
    return tuple(row for row in found if column in {None, row.column})


def plausibility(movement: str, measured_deg: float) -> Result[Level]:
    """Whether an angle in degrees is usual, surprising or impossible for its movement: a check of input, not a norm.

    Raises InvalidValue for an unknown movement or a negative angle: write the opposite movement instead.
    """
    limit = limits().get(movement)
    if limit is None:
        raise InvalidValue(f"movement: {movement!r} was given. Allowed: {', '.join(limits())}")
    not_negative(f"movement.{movement}", measured_deg, "degrees")
    level: Level = "surprising" if measured_deg > limit.query_above_deg else "usual"
    if measured_deg > limit.refuse_above_deg:
        level = "impossible"
    arithmetic = (
        f"{figure(measured_deg)} against {figure(limit.query_above_deg)} (surprising above) "
        f"and {figure(limit.refuse_above_deg)} (impossible above)"
    )
    caution = ("Hyperextension past the first limit often comes with laxity, swan neck or Z thumb",)
    inputs = given(movement=movement, measured_deg=measured_deg)
    return Result("plausible angle", level, inputs, arithmetic, PRACTICE, caution if "hyper" in movement else ())


def against_reference(movement: str, measured_deg: float, column: Column) -> Result[Shortfall] | NotComputable:
    """A measured angle in degrees beside the one reference of a set.

    Not computable where the set gives no single angle, gives nought, or where sources disagree.
    """
    inputs = given(movement=movement, measured_deg=measured_deg, column=column)
    usable = [r for r in reference_values(movement, column) if r.comparable and r.deg.low == r.deg.high > 0]
    if len(usable) != 1:
        reason = "this set gives no single angle to compare with"
        return NotComputable("movement against reference", (), PRACTICE, reason, inputs=inputs)
    (reference,) = usable
    not_negative(f"movement.{movement}", measured_deg, "degrees")
    normal, measured = exact(reference.deg.low), exact(measured_deg)
    lacking, percent = max(normal - measured, 0 * normal), 100 * measured / normal
    arithmetic = (
        f"{figure(normal)} - {figure(measured)} = {figure(normal - measured)} degrees; "
        f"{figure(measured)} / {figure(normal)} = {rounded(percent)} %"
    )
    value = Shortfall(float(lacking), float(percent), reference)
    notes = ("The other hand is a better norm than any table; use one set of references at a time",)
    return Result("movement against reference", value, inputs, arithmetic, reference.source, notes)


def active_against_passive(active: Arc, passive: Arc) -> Result[ActivePassive]:
    """Extension lag, fixed deficit and both arcs of one joint. Common practice, no source.

    Figures in which active movement goes beyond passive are not refused here; they show in `active_beyond_passive_deg`.
    """
    lag = max(active.extension_deficit_deg - passive.extension_deficit_deg, 0)
    beyond = max(active.flexion_deg - passive.flexion_deg, passive.start_deg - active.start_deg, 0)
    value = ActivePassive(passive.extension_deficit_deg, lag, active.arc_deg, passive.arc_deg, beyond)
    arithmetic = (
        f"active {figure(active.flexion_deg)} - {figure(active.start_deg)} = {figure(active.arc_deg)}; "
        f"passive {figure(passive.flexion_deg)} - {figure(passive.start_deg)} = {figure(passive.arc_deg)}; "
        f"lag {figure(active.extension_deficit_deg)} - {figure(passive.extension_deficit_deg)} = {figure(lag)}"
    )
    inputs = given(
        active_start_deg=active.start_deg,
        active_flexion_deg=active.flexion_deg,
        passive_start_deg=passive.start_deg,
        passive_flexion_deg=passive.flexion_deg,
    )
    return Result("active against passive movement", value, inputs, arithmetic, PRACTICE)
