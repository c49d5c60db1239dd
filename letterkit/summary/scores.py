"""The published scales that a record's options choose, worked out from its facts.

Nothing is inferred: a scale whose items were not all recorded gives what is missing. Movement counts as active or
passive only where the record says so, and two entries that differ about one place count as none. No scale changes what
else the letter says. The tests, counts and criteria themselves are in the room of measures.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any, TypeAlias

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Qualifier
from letterkit.consistency.rule import Case
from letterkit.errors import InvalidValue
from letterkit.findings.facts import Fact, Facts
from letterkit.findings.models import Encounter, ScaleName
from letterkit.findings.sides import Side
from letterkit.findings.values import Arc, Quantity
from letterkit.measures import dupuytren, grip, kapandji, monofilament, pinch, total_active_motion, trigger, two_point
from letterkit.measures.result import Mark, NotComputable, Result, Source
from letterkit.summary.criteria import CRITERIA, Working
from letterkit.summary.statement import PlaceRef, Score

Outcome: TypeAlias = Result[Any] | NotComputable
Scale: TypeAlias = Callable[[Case], Iterator[Score]]

SIDES: tuple[Side, ...] = ("right", "left")
_FINGERS = ("index", "middle", "ring", "little")
_JOINTS = {"mcp": "finger_mcp_movement", "pip": "pip_movement", "dip": "dip_movement"}
_NOWHERE = PlaceRef(None, None)
_PINCHES: Mapping[str, pinch.Pinch] = MappingProxyType(
    {"key_pinch": "key", "tip_pinch": "tip", "tripod_pinch": "palmar"}
)
_CORDS = ("dupuytren_nodule", "dupuytren_cord", "pretendinous_cord", "natatory_cord", "spiral_cord")
_PAIRED_STRENGTH = ("grip_strength", *_PINCHES)


def _tried(instrument: str, source: Source, make: Callable[[], Outcome]) -> Outcome:
    """The outcome, or that a recorded value lies outside the instrument: a scale never stops a letter."""
    try:
        return make()
    except InvalidValue:
        return NotComputable(instrument, (), source, "a recorded value lies outside the instrument")


def _arc(case: Case, item: str, side: Side, site: str, mode: str | None, used: list[str]) -> Arc | None:
    """The one arc recorded in that mode; None where there is none, or several that differ."""
    found = [fact for fact in case.of(item, side=side, site=site) if fact.qualifier(Qualifier.MODE) == mode]
    arcs = {fact.value for fact in found if isinstance(fact.value, Arc)}
    if len(arcs) != 1:
        return None
    used += [fact.id for fact in found]
    return arcs.pop()


def _moved(case: Case, side: Side, digit: str) -> tuple[Fact, ...]:
    """Every arc recorded at the three joints of a finger."""
    return tuple(fact for joint, item in _JOINTS.items() for fact in case.of(item, side=side, site=f"{joint}_{digit}"))


def _motion(case: Case, side: Side, digit: str, joint: str, used: list[str]) -> total_active_motion.JointMotion | None:
    arc = _arc(case, _JOINTS[joint], side, f"{joint}_{digit}", "active", used)
    return None if arc is None else total_active_motion.JointMotion(arc.to_deg, arc.from_deg)


def _active(
    case: Case, scale: ScaleName, instrument: str, source: Source, make: Callable[..., Outcome], joints: Sequence[str]
) -> Iterator[Score]:
    """A scale of active movement for each finger in which movement was recorded."""
    told = False
    for side in SIDES:
        for digit in _FINGERS:
            moved = _moved(case, side, digit)
            if not moved:
                continue
            told = True
            place = PlaceRef(digit, side)
            used: list[str] = []
            if all(fact.qualifier(Qualifier.MODE) is None for fact in moved):
                yield Score(scale, place, NotComputable(instrument, ("active_movement",), source))
                continue
            motions = [_motion(case, side, digit, joint, used) for joint in joints]
            outcome = _tried(instrument, source, lambda motions=motions: make(*motions))  # type: ignore[misc]
            yield Score(scale, place, outcome, tuple(used))
    if not told:
        yield Score(scale, _NOWHERE, NotComputable(instrument, ("finger_movement",), source))


def _total_active_motion(case: Case) -> Iterator[Score]:
    yield from _active(
        case, "total_active_motion", "total active motion (ASSH)", total_active_motion.ASSH,
        total_active_motion.total_active_motion, ("mcp", "pip", "dip"),
    )  # fmt: skip


def _strickland(case: Case) -> Iterator[Score]:
    yield from _active(
        case, "strickland", "Strickland, original", total_active_motion.STRICKLAND, total_active_motion.strickland,
        ("pip", "dip"),
    )  # fmt: skip


def _fixed_deficit(case: Case, side: Side, digit: str, joint: str, used: list[str]) -> float | None:
    """Passive extension deficit of a joint: from its passive arc, or from a fixed deformity recorded in degrees."""
    site = f"{joint}_{digit}"
    arc = _arc(case, _JOINTS[joint], side, site, "passive", used)
    if arc is not None:
        return arc.from_deg
    fixed = case.of("fixed_flexion_deformity", side=side, site=site)
    angles = {0.0 if fact.state == "absent" else fact.qualifier(Qualifier.ANGLE) for fact in fixed}
    angle = angles.pop() if len(angles) == 1 else None
    if not isinstance(angle, (int, float)):
        return None
    used += [fact.id for fact in fixed]
    return float(angle)


def _lesion(case: Case, side: Side, digit: str, used: list[str]) -> dupuytren.Lesion | None:
    """Whether a nodule or cord was found in the ray or the palm; none only where each was looked for and absent."""
    found = [fact for site in (f"ray_{digit}", digit, "palm") for fact in case.of(*_CORDS, side=side, site=site)]
    present = [fact for fact in found if fact.state == "present"]
    if present:
        used += [fact.id for fact in present]
        return "nodule_or_cord"
    looked_for = {fact.item for fact in found if fact.state == "absent"}
    if {"dupuytren_nodule", "dupuytren_cord"} <= looked_for:
        used += [fact.id for fact in found]
        return "none"
    return None


def _flat(case: Case, side: Side, used: list[str]) -> bool | None:
    """Whether the hand lies flat on the table; None where that was not tested."""
    found = case.of("table_top_test", side=side)
    states = {fact.state for fact in found}
    if states not in ({"negative"}, {"positive"}):
        return None
    used += [fact.id for fact in found]
    return states == {"negative"}


def _extension_deficit(case: Case) -> Iterator[Score]:
    told = False
    for side in SIDES:
        for digit in _FINGERS:
            used: list[str] = []
            mcp, pip, dip = (_fixed_deficit(case, side, digit, joint, used) for joint in ("mcp", "pip", "dip"))
            total = _tried(
                "total passive extension deficit",
                dupuytren.TOTAL,
                lambda deficits=(mcp, pip, dip): dupuytren.total_extension_deficit(*deficits),  # type: ignore[misc]
            )
            lesion_facts: list[str] = []
            lesion = _lesion(case, side, digit, lesion_facts)
            flat = _flat(case, side, lesion_facts) if lesion_facts else None
            if not used and not lesion_facts and not _moved(case, side, digit):
                continue
            told = True
            place = PlaceRef(digit, side)
            yield Score("extension_deficit", place, total, tuple(used))
            known = total.value if isinstance(total, Result) else None
            if known is None and not (flat and lesion):
                continue  # what is missing was told with the total
            stage = _tried(
                "Tubiana stage", dupuytren.TOTAL,
                lambda known=known, lesion=lesion, flat=flat: dupuytren.tubiana_stage(  # type: ignore[misc]
                    known, lesion=lesion, table_top_negative=flat
                ),
            )  # fmt: skip
            yield Score("extension_deficit", place, stage, (*used, *lesion_facts))
    if not told:
        instrument = "total passive extension deficit"
        yield Score("extension_deficit", _NOWHERE, NotComputable(instrument, ("passive_movement",), dupuytren.TOTAL))


def _number(case: Case, item: str, side: Side, used: list[str]) -> float | None:
    """The one number recorded; None for none, for several that differ, or for 'more than' and 'less than'."""
    found = case.of(item, side=side)
    numbers = {fact.value.number for fact in found if isinstance(fact.value, Quantity) and not fact.value.comparator}
    if len(numbers) != 1 or len(found) != len([fact for fact in found if isinstance(fact.value, Quantity)]):
        return None
    used += [fact.id for fact in found]
    return numbers.pop()


def _against_norms(case: Case, scale: ScaleName, items: Sequence[str]) -> Iterator[Score]:
    sex = case.encounter.patient.gender
    sex = None if sex == "unknown" else sex
    told = False
    for item in items:
        for side in SIDES:
            if not case.of(item, side=side):
                continue
            told = True
            used: list[str] = []
            force, age = _number(case, item, side, used), case.age_years
            if item == "grip_strength":
                outcome = grip.grip_against_norm(force, age_years=age, sex=sex, side=side)
            else:
                outcome = pinch.pinch_against_norm(_PINCHES[item], force, age_years=age, sex=sex, side=side)
            yield Score(scale, PlaceRef(None, side), outcome, tuple(used))
    if not told:
        instrument = "grip strength" if scale == "grip_norms" else "pinch strength"
        source = grip.grip_norms()[0].source
        yield Score(scale, _NOWHERE, NotComputable(instrument, ("force_kg",), source))


def _grip_norms(case: Case) -> Iterator[Score]:
    yield from _against_norms(case, "grip_norms", ("grip_strength",))


def _pinch_norms(case: Case) -> Iterator[Score]:
    yield from _against_norms(case, "pinch_norms", tuple(_PINCHES))


def _hands_compared(case: Case) -> Iterator[Score]:
    told = False
    handedness = case.encounter.patient.handedness
    dominant = None if handedness == "unknown" else handedness
    for item in _PAIRED_STRENGTH:
        if not case.of(item):
            continue
        told = True
        used: list[str] = []
        right, left = (_number(case, item, side, used) for side in SIDES)
        # The allowance for the dominant hand was published for grip; a pinch is compared without it.
        outcome = grip.between_hands(right, left, dominant=dominant if item == "grip_strength" else None)
        name = f"{case.catalogue.items[item].name} between hands"
        yield Score("hands_compared", _NOWHERE, _renamed(outcome, name), tuple(used))
    if not told:
        missing = ("right_kg", "left_kg")
        yield Score("hands_compared", _NOWHERE, NotComputable("strength between hands", missing, grip.HANDS))


def _renamed(outcome: Outcome, instrument: str) -> Outcome:
    if isinstance(outcome, NotComputable):
        return NotComputable(
            instrument, outcome.missing, outcome.source, outcome.reason, outcome.possible, outcome.inputs, outcome.limits
        )
    return Result(instrument, outcome.value, outcome.inputs, outcome.arithmetic, outcome.source, outcome.limits)


def _landmark(number: float | None) -> Outcome:
    if number is None or number != int(number):
        return kapandji.kapandji_score(None)
    return kapandji.kapandji_score(kapandji.kapandji_landmark(int(number)))


def _kapandji(case: Case) -> Iterator[Score]:
    sides = [side for side in SIDES if case.of("kapandji_score", side=side)]
    for side in sides:
        used: list[str] = []
        number = _number(case, "kapandji_score", side, used)
        outcome = _tried("Kapandji score", kapandji.SOURCE, lambda number=number: _landmark(number))  # type: ignore[misc]
        yield Score("kapandji", PlaceRef(None, side), outcome, tuple(used))
    if not sides:
        yield Score("kapandji", _NOWHERE, kapandji.kapandji_score(None))


def _gap(fact: Fact) -> Outcome:
    value = fact.value
    if not isinstance(value, Quantity) or value.comparator not in {"", ">"}:
        return two_point.two_point_band(None)
    return two_point.two_point_band(value.number, beyond=value.comparator == ">", site=fact.site or "")


def _moving(fact: Fact) -> Outcome:
    value = fact.value
    if not isinstance(value, Quantity) or value.comparator:
        return NotComputable("moving two-point discrimination", ("gap_mm",), two_point.MOVING)
    return two_point.moving_within_normal(value.number)


def _points(fact: Fact) -> Outcome:
    points = {"one": 1, "none": 0}.get(fact.state)
    if points is None:
        return two_point.two_point_band(None)
    return two_point.two_point_band(None, points_perceived=1 if points else 0, site=fact.site or "")


def _each(case: Case, scale: ScaleName, works: Mapping[str, Callable[[Fact], Outcome]], none: Outcome) -> Iterator[Score]:
    """A scale of single entries, once for each place; entries about one place that differ are told as missing."""
    told = False
    for item, work in works.items():
        places: dict[PlaceRef, list[Fact]] = {}
        for fact in case.of(item):
            places.setdefault(PlaceRef(fact.site, fact.side), []).append(fact)
        for place, found in places.items():
            told = True
            agreed = len({(fact.state, fact.value) for fact in found}) == 1
            outcome = _tried(none.instrument, none.source, lambda fact=found[0], work=work: work(fact))  # type: ignore[misc]
            if not agreed:
                outcome = NotComputable(none.instrument, (), none.source, "two entries about this place differ")
            yield Score(scale, place, outcome, tuple(fact.id for fact in found))
    if not told:
        yield Score(scale, _NOWHERE, none)


def _two_point(case: Case) -> Iterator[Score]:
    works = {
        "static_two_point_discrimination": _gap,
        "moving_two_point_discrimination": _moving,
        "two_point_stimulus": _points,
    }
    yield from _each(case, "two_point", works, two_point.two_point_band(None))


def _filament(fact: Fact) -> Outcome:
    if fact.state == "none_felt":
        return monofilament.monofilament_band(monofilament.THICKEST, felt=False)
    return monofilament.monofilament_band(fact.state.removeprefix("marking_").replace("_", "."))


def _monofilament(case: Case) -> Iterator[Score]:
    yield from _each(case, "monofilament", {"monofilament": _filament}, monofilament.monofilament_band(None))


_TRIGGERING = ("triggering", "catching", "locking")


def _recorded_grade(fact: Fact) -> Outcome:
    scale, _, grade = str(fact.qualifier(Qualifier.GRADE)).rpartition(" ")
    known: trigger.Scale | None = next((name for name in trigger.GRADES if name.casefold() == scale.casefold()), None)
    if known is None:
        unknown = Source(scale or "scale not named", Mark.COMMON_PRACTICE)
        return NotComputable("trigger digit", (), unknown, "the scale that was named is neither Green nor Quinnell")
    value = trigger.trigger_grade(known, grade.upper() if grade.upper() in trigger.GRADES[known] else grade)
    arithmetic = f"grade {value.grade} as recorded"
    return Result(f"trigger digit, {known}", value, (), arithmetic, trigger.SOURCES[known], trigger.LIMITS)


def _trigger_grade(case: Case) -> Iterator[Score]:
    digits = dict.fromkeys((fact.side, fact.site) for fact in case.of(*_TRIGGERING))
    source = trigger.SOURCES["Green"]
    for side, site in digits:
        found = case.of(*_TRIGGERING, side=side, site=site)
        place = PlaceRef(site, side)
        graded = [fact for fact in found if fact.qualifier(Qualifier.GRADE) is not None]
        for fact in graded:
            outcome = _tried("trigger digit", source, lambda fact=fact: _recorded_grade(fact))  # type: ignore[misc]
            yield Score("trigger_grade", place, outcome, (fact.id,))
        if graded:
            continue
        if all(fact.state == "absent" for fact in found):
            tender = case.of("a1_pulley_tenderness", side=side, site=f"a1_{site}")
            states = {fact.state for fact in tender}
            known = {frozenset({"present"}): True, frozenset({"absent"}): False}.get(frozenset(states))
            outcome = trigger.green_grade("none_seen", a1_tender=known)
            yield Score("trigger_grade", place, outcome, tuple(fact.id for fact in (*found, *tender)))
        else:
            yield Score("trigger_grade", place, NotComputable("trigger digit", ("grade",), source))
    if not digits:
        yield Score("trigger_grade", _NOWHERE, NotComputable("trigger digit", ("grade",), source))


def _criterion(name: ScaleName) -> Scale:
    def work(case: Case) -> Iterator[Score]:
        working: Working
        for working in CRITERIA[name](case):
            yield Score(
                name, working.place, working.outcome, working.facts, working.counted, working.unrecorded
            )

    return work


SCALES: Mapping[ScaleName, Scale] = MappingProxyType(
    {
        "total_active_motion": _total_active_motion,
        "strickland": _strickland,
        "extension_deficit": _extension_deficit,
        "grip_norms": _grip_norms,
        "pinch_norms": _pinch_norms,
        "hands_compared": _hands_compared,
        "kapandji": _kapandji,
        "two_point": _two_point,
        "monofilament": _monofilament,
        "trigger_grade": _trigger_grade,
        "joint_counts": _criterion("joint_counts"),
        "cts6": _criterion("cts6"),
        "hand_osteoarthritis": _criterion("hand_osteoarthritis"),
        "rheumatoid_joints": _criterion("rheumatoid_joints"),
    }
)


def scores(encounter: Encounter, facts: Facts, catalogue: Catalogue) -> tuple[Score, ...]:
    """The chosen scales in the order of the options, each once, place by place; empty where none is chosen."""
    chosen = tuple(dict.fromkeys(encounter.options.measures))
    if not chosen:
        return ()
    case = Case(encounter, facts, catalogue)
    return tuple(score for name in chosen for score in SCALES[name](case))
