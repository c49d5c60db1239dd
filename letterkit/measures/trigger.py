"""Trigger digit grades by two scales that share their numerals and not their meanings: Green and Quinnell.

Sources: Green's grades I to IV (confirmed in two texts for IIIA and IIIB); Quinnell 1980, grades 0 to IV (from memory).
A grade is never given without the name of its scale.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from letterkit.errors import InvalidValue
from letterkit.measures.result import Mark, NotComputable, Result, Source, given, missing_names

Scale = Literal["Green", "Quinnell"]
Release = Literal["none_seen", "active", "passive", "cannot_flex", "fixed_contracture"]

SOURCES: dict[Scale, Source] = {
    "Green": Source("Green's trigger digit grades", Mark.CONFIRMED),
    "Quinnell": Source("Quinnell 1980", Mark.FROM_MEMORY),
}
GRADES: dict[Scale, dict[str, str]] = {
    "Green": {
        "I": "pain and tenderness at the A1 pulley, catching by history only",
        "II": "demonstrable catching, extends actively",
        "IIIA": "locking that needs passive extension",
        "IIIB": "cannot flex actively",
        "IV": "fixed flexion contracture of the proximal interphalangeal joint",
    },
    "Quinnell": {
        "0": "normal movement",
        "I": "uneven movement",
        "II": "locking, actively correctable",
        "III": "locking, passively correctable",
        "IV": "fixed deformity",
    },
}
_GREEN: dict[Release, str] = {
    "active": "II",
    "passive": "IIIA",
    "cannot_flex": "IIIB",
    "fixed_contracture": "IV",
}
# Quinnell has no grade for a finger that cannot flex, and needs the movement itself to part 0 from I.
_QUINNELL: dict[Release, str] = {"active": "II", "passive": "III", "fixed_contracture": "IV"}
LIMITS = ("Name the scale with the grade: the same numeral means different things in the two",)


@dataclass(frozen=True, slots=True)
class TriggerGrade:
    """A grade with the scale it belongs to and its meaning."""

    scale: Scale
    grade: str
    meaning: str


def trigger_grade(scale: Scale, grade: str) -> TriggerGrade:
    """The grade as recorded, with its meaning. Raises InvalidValue for a grade that the scale does not have."""
    if scale not in GRADES:
        raise InvalidValue(f"trigger.scale: {scale!r} was given. Allowed: {', '.join(GRADES)}")
    if grade not in GRADES[scale]:
        allowed = ", ".join(GRADES[scale])
        raise InvalidValue(f"trigger.grade: {grade!r} was given. Allowed on the scale of {scale}: {allowed}")
    return TriggerGrade(scale, grade, GRADES[scale][grade])


def green_grade(release: Release | None, *, a1_tender: bool | None = None) -> Result[TriggerGrade] | NotComputable:
    """Green's grade from how the digit lets go.

    With no catching seen, grade I needs a tender A1 pulley; without it there is no grade. Raises InvalidValue for a
    release that is not on the list.
    """
    inputs = given(release=release, a1_tender=a1_tender)
    source = SOURCES["Green"]
    if release is None:
        return NotComputable("trigger digit, Green", ("release",), source, inputs=inputs, limits=LIMITS)
    if release == "none_seen":
        if a1_tender is None:
            missing = missing_names(a1_tender=a1_tender)
            return NotComputable("trigger digit, Green", missing, source, inputs=inputs, limits=LIMITS)
        if not a1_tender:
            reason = "neither catching nor a tender A1 pulley was found"
            return NotComputable("trigger digit, Green", (), source, reason, inputs=inputs, limits=LIMITS)
        grade = "I"
    else:
        grade = _looked_up(_GREEN, release)
    value = trigger_grade("Green", grade)
    return Result("trigger digit, Green", value, inputs, f"{release}: {grade}", source, LIMITS)


def quinnell_grade(release: Release | None, *, uneven: bool | None = None) -> Result[TriggerGrade] | NotComputable:
    """Quinnell's grade from how the digit lets go; `uneven` parts grade 0 from I where no locking is seen.

    Not computable for a digit that cannot flex: the scale has no such grade.
    """
    inputs = given(release=release, uneven=uneven)
    source = SOURCES["Quinnell"]
    instrument = "trigger digit, Quinnell"
    if release is None:
        return NotComputable(instrument, ("release",), source, inputs=inputs, limits=LIMITS)
    if release == "cannot_flex":
        reason = "the scale has no grade for a digit that cannot flex"
        return NotComputable(instrument, (), source, reason, inputs=inputs, limits=LIMITS)
    if release == "none_seen":
        if uneven is None:
            reason = "grade 0 or I, as movement was not called even or uneven"
            return NotComputable(instrument, ("uneven",), source, reason, inputs=inputs, limits=LIMITS)
        grade = "I" if uneven else "0"
    else:
        grade = _looked_up(_QUINNELL, release)
    return Result(instrument, trigger_grade("Quinnell", grade), inputs, f"{release}: {grade}", source, LIMITS)


def _looked_up(grades: dict[Release, str], release: Release) -> str:
    if release not in grades:
        allowed = "none_seen, active, passive, cannot_flex, fixed_contracture"
        raise InvalidValue(f"trigger.release: {release!r} was given. Allowed: {allowed}")
    return grades[release]
