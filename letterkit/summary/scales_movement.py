"""Scales of movement: total active motion, Strickland, total passive extension deficit with its stage, Kapandji.

Movement counts as active or passive only where the record says so, and two arcs that differ about one joint as none.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from letterkit.catalogue.model import Qualifier
from letterkit.consistency.rule import Case
from letterkit.findings.facts import Fact
from letterkit.findings.models import ScaleName
from letterkit.findings.sides import Side
from letterkit.findings.values import Arc
from letterkit.measures import dupuytren, kapandji, total_active_motion
from letterkit.measures.result import NotComputable, Result, Source
from letterkit.measures.total_active_motion import JointMotion
from letterkit.summary.statement import PlaceRef, Score
from letterkit.summary.working import FINGERS, NOWHERE, SIDES, Outcome, ids, one_number, tried, whether

_JOINTS = {"mcp": "finger_mcp_movement", "pip": "pip_movement", "dip": "dip_movement"}
_CORDS = ("dupuytren_nodule", "dupuytren_cord", "pretendinous_cord", "natatory_cord", "spiral_cord")
_LOOKED_FOR = frozenset({"dupuytren_nodule", "dupuytren_cord"})


def _arc(case: Case, side: Side, digit: str, joint: str, mode: str) -> tuple[Arc | None, tuple[Fact, ...]]:
    """The one arc of a joint recorded in that mode, with its facts; None for none, or for several that differ."""
    found = case.of(_JOINTS[joint], side=side, site=f"{joint}_{digit}")
    found = tuple(fact for fact in found if fact.qualifier(Qualifier.MODE) == mode)
    arcs = {fact.value for fact in found if isinstance(fact.value, Arc)}
    return (arcs.pop(), found) if len(arcs) == 1 else (None, ())


def _moved(case: Case, side: Side, digit: str) -> tuple[Fact, ...]:
    """Every arc recorded at the three joints of a finger."""
    return tuple(fact for joint, item in _JOINTS.items() for fact in case.of(item, side=side, site=f"{joint}_{digit}"))


def _active(
    case: Case, scale: ScaleName, instrument: str, source: Source, make: Callable[..., Outcome], joints: Sequence[str]
) -> Iterator[Score]:
    """A scale of active movement for each finger in which movement was recorded."""
    fingers = [(side, digit) for side in SIDES for digit in FINGERS if _moved(case, side, digit)]
    for side, digit in fingers:
        place = PlaceRef(digit, side)
        modes = {fact.qualifier(Qualifier.MODE) for fact in _moved(case, side, digit)}
        if "active" not in modes:
            missing = "whether_active" if None in modes else "active_movement"
            yield Score(scale, place, NotComputable(instrument, (missing,), source))
            continue
        motions: list[JointMotion | None] = []
        used: list[Fact] = []
        for joint in joints:
            arc, facts = _arc(case, side, digit, joint, "active")
            motions.append(None if arc is None else JointMotion(arc.to_deg, arc.from_deg))
            used += facts
        yield Score(scale, place, tried(instrument, source, make, *motions), ids(used))
    if not fingers:
        yield Score(scale, NOWHERE, NotComputable(instrument, ("active_movement",), source))


def asshs_total(case: Case) -> Iterator[Score]:
    """Total active motion of each finger against 260 degrees."""
    yield from _active(
        case, "total_active_motion", "total active motion (ASSH)", total_active_motion.ASSH,
        total_active_motion.total_active_motion, ("mcp", "pip", "dip"),
    )  # fmt: skip


def stricklands_share(case: Case) -> Iterator[Score]:
    """Strickland's percentage of each finger, in the original classes."""
    yield from _active(
        case, "strickland", "Strickland, original", total_active_motion.STRICKLAND, total_active_motion.strickland,
        ("pip", "dip"),
    )  # fmt: skip


def _fixed_deficit(case: Case, side: Side, digit: str, joint: str) -> tuple[float | None, tuple[Fact, ...]]:
    """Passive extension deficit of a joint: from its passive arc, or from a fixed deformity recorded in degrees."""
    arc, facts = _arc(case, side, digit, joint, "passive")
    if arc is not None:
        return arc.from_deg, facts
    fixed = case.of("fixed_flexion_deformity", side=side, site=f"{joint}_{digit}")
    angles = {0.0 if fact.state == "absent" else fact.qualifier(Qualifier.ANGLE) for fact in fixed}
    angle = angles.pop() if len(angles) == 1 else None
    return (float(angle), fixed) if isinstance(angle, (int, float)) else (None, ())


def _lesion(case: Case, side: Side, digit: str) -> tuple[dupuytren.Lesion | None, tuple[Fact, ...]]:
    """Whether a nodule or cord was found in the ray; none only where both were looked for there and in the palm."""
    found = tuple(fact for site in (f"ray_{digit}", "palm") for fact in case.of(*_CORDS, side=side, site=site))
    here = tuple(fact for fact in found if fact.state == "present" and fact.site == f"ray_{digit}")
    if here:
        return "nodule_or_cord", here
    if any(fact.state != "absent" for fact in found):
        return None, ()  # a cord of the palm that names no ray
    looked_for = {fact.item for fact in found if fact.site == f"ray_{digit}"}
    return ("none", found) if looked_for >= _LOOKED_FOR else (None, ())


def extension_deficit(case: Case) -> Iterator[Score]:
    """Total passive extension deficit of each ray with any entry, and its stage where that can be told."""
    told = False
    instrument = "total passive extension deficit"
    for side in SIDES:
        for digit in FINGERS:
            joints = [_fixed_deficit(case, side, digit, joint) for joint in _JOINTS]
            used = [fact for _, facts in joints for fact in facts]
            lesion, lesions = _lesion(case, side, digit)
            if not (used or lesions or _moved(case, side, digit)):
                continue
            told = True
            place = PlaceRef(digit, side)
            deficits = [deficit for deficit, _ in joints]
            if used:
                total = tried(instrument, dupuytren.TOTAL, dupuytren.total_extension_deficit, *deficits)
            else:
                modes = {fact.qualifier(Qualifier.MODE) for fact in _moved(case, side, digit)}
                missing = "whether_passive" if None in modes else "passive_movement"
                total = NotComputable(instrument, (missing,), dupuytren.TOTAL)
            yield Score("extension_deficit", place, total, ids(used))
            known = total.value if isinstance(total, Result) else None
            table_top = case.of("table_top_test", side=side)
            flat = whether(table_top, "negative", "positive") if known is None else None
            if known is None and not (flat and lesion):
                continue  # what is missing was told with the total
            outcome = tried(
                "Tubiana stage", dupuytren.TOTAL, dupuytren.tubiana_stage, known, lesion=lesion, table_top_negative=flat
            )
            used += [*lesions, *(table_top if flat else ())]
            yield Score("extension_deficit", place, outcome, ids(used))
    if not told:
        yield Score("extension_deficit", NOWHERE, NotComputable(instrument, ("passive_movement",), dupuytren.TOTAL))


def _landmark(number: float | None) -> Outcome:
    if number is None or number != int(number):
        return kapandji.kapandji_score(None)
    return kapandji.kapandji_score(kapandji.kapandji_landmark(int(number)))


def kapandjis_score(case: Case) -> Iterator[Score]:
    """The recorded score of each thumb, with the landmark it stands for."""
    sides = [side for side in SIDES if case.of("kapandji_score", side=side)]
    for side in sides:
        number, facts = one_number(case, "kapandji_score", side)
        outcome = tried("Kapandji score", kapandji.SOURCE, _landmark, number)
        yield Score("kapandji", PlaceRef(None, side), outcome, ids(facts))
    if not sides:
        yield Score("kapandji", NOWHERE, kapandji.kapandji_score(None))
