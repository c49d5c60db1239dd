"""Scales of single entries: strength against norms and between hands, sensibility, and trigger digit grades."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from letterkit.catalogue.model import Qualifier
from letterkit.consistency.rule import Case
from letterkit.findings.facts import Fact
from letterkit.findings.models import ScaleName
from letterkit.findings.values import Quantity
from letterkit.measures import grip, monofilament, pinch, trigger, two_point
from letterkit.measures.result import PRACTICE, NotComputable, Result
from letterkit.summary.statement import PlaceRef, Score
from letterkit.summary.working import NOWHERE, SIDES, Outcome, ids, one_number, tried, whether

_PINCHES: Mapping[str, pinch.Pinch] = MappingProxyType(
    {"key_pinch": "key", "tip_pinch": "tip", "tripod_pinch": "palmar"}
)
_TRIGGERING = ("triggering", "catching", "locking")


def _against_norms(case: Case, scale: ScaleName, items: Sequence[str]) -> Iterator[Score]:
    gender = case.encounter.patient.gender
    sex = None if gender == "unknown" else gender
    measured = [(item, side) for item in items for side in SIDES if case.of(item, side=side)]
    for item, side in measured:
        force, facts = one_number(case, item, side)
        if item == "grip_strength":
            outcome = grip.grip_against_norm(force, age_years=case.age_years, sex=sex, side=side)
        else:
            outcome = pinch.pinch_against_norm(_PINCHES[item], force, age_years=case.age_years, sex=sex, side=side)
        # The norms are of means of three, so a reader must see what was recorded.
        trials = max((len(fact.value.trials) for fact in facts if isinstance(fact.value, Quantity)), default=0)
        outcome = replace(outcome, inputs=(*outcome.inputs, ("readings", trials or "number not stated")))
        yield Score(scale, PlaceRef(None, side), outcome, ids(facts))
    if not measured:
        instrument = "grip strength" if scale == "grip_norms" else "pinch strength"
        yield Score(scale, NOWHERE, NotComputable(instrument, ("force_kg",), grip.grip_norms()[0].source))


def grip_norms(case: Case) -> Iterator[Score]:
    """Grip of each hand beside the mean of its age, sex and side."""
    yield from _against_norms(case, "grip_norms", ("grip_strength",))


def pinch_norms(case: Case) -> Iterator[Score]:
    """Each pinch of each hand beside the mean of its age, sex and side."""
    yield from _against_norms(case, "pinch_norms", tuple(_PINCHES))


def hands_compared(case: Case) -> Iterator[Score]:
    """Grip and each pinch of one hand against the other."""
    handedness = case.encounter.patient.handedness
    dominant = None if handedness == "unknown" else handedness
    measured = [item for item in ("grip_strength", *_PINCHES) if case.of(item)]
    for item in measured:
        (right, first), (left, second) = (one_number(case, item, side) for side in SIDES)
        # The allowance for the dominant hand was published for grip; a pinch is compared without it.
        outcome = grip.between_hands(right, left, dominant=dominant if item == "grip_strength" else None)
        named = replace(outcome, instrument=f"{case.catalogue.items[item].name} between hands")
        yield Score("hands_compared", NOWHERE, named, ids((*first, *second)))
    if not measured:
        yield Score("hands_compared", NOWHERE, grip.between_hands(None, None))


def _each(
    case: Case, scale: ScaleName, works: Mapping[str, Callable[[Fact], Outcome]], none: NotComputable
) -> Iterator[Score]:
    """A scale of single entries, once for each place; entries about one place that differ give nothing."""
    told = False
    for item, work in works.items():
        places: dict[PlaceRef, list[Fact]] = {}
        for fact in case.of(item):
            places.setdefault(PlaceRef(fact.site, fact.side), []).append(fact)
        for place, found in places.items():
            told = True
            outcome = tried(none.instrument, none.source, work, found[0])
            if len({(fact.state, fact.value) for fact in found}) > 1:
                outcome = replace(none, missing=(), reason="the entries about this place differ")
            yield Score(scale, place, outcome, ids(found))
    if not told:
        yield Score(scale, NOWHERE, none)


_NO_GAP = NotComputable(two_point.INSTRUMENT, ("gap_mm",), two_point.GROUPING)


def _gap(fact: Fact) -> Outcome:
    value = fact.value
    if not isinstance(value, Quantity) or value.comparator not in {"", ">"}:
        return replace(_NO_GAP, reason="the gap was recorded as a limit")
    return two_point.two_point_band(value.number, beyond=value.comparator == ">", site=fact.site or "")


def _moving(fact: Fact) -> Outcome:
    value = fact.value
    if not isinstance(value, Quantity) or value.comparator:
        return NotComputable("moving two-point discrimination", ("gap_mm",), two_point.MOVING)
    return two_point.moving_within_normal(value.number)


def _points(fact: Fact) -> Outcome:
    if fact.state not in {"one", "none"}:
        return _NO_GAP
    return two_point.two_point_band(None, points_perceived=1 if fact.state == "one" else 0, site=fact.site or "")


def two_point_bands(case: Case) -> Iterator[Score]:
    """The band of each two-point reading at a fingertip."""
    works = {
        "static_two_point_discrimination": _gap,
        "moving_two_point_discrimination": _moving,
        "two_point_stimulus": _points,
    }
    yield from _each(case, "two_point", works, _NO_GAP)


def _filament(fact: Fact) -> Outcome:
    if fact.state == "none_felt":
        return monofilament.monofilament_band(monofilament.THICKEST, felt=False)
    return monofilament.monofilament_band(fact.state.removeprefix("marking_").replace("_", "."))


def monofilament_bands(case: Case) -> Iterator[Score]:
    """The band of the finest filament felt at each place."""
    none = NotComputable("monofilament", ("finest_felt",), monofilament.SOURCE, limits=monofilament.LIMITS)
    yield from _each(case, "monofilament", {"monofilament": _filament}, none)


def _recorded_grade(fact: Fact) -> Outcome:
    named, _, grade = str(fact.qualifier(Qualifier.GRADE)).rpartition(" ")
    scale: trigger.Scale | None = next((each for each in trigger.GRADES if each.casefold() == named.casefold()), None)
    if scale is None:
        return NotComputable("trigger digit", (), PRACTICE, "the scale that was named is neither Green nor Quinnell")
    value = trigger.trigger_grade(scale, grade.upper())
    arithmetic = f"grade {value.grade} as recorded"
    return Result(f"trigger digit, {scale}", value, (), arithmetic, trigger.SOURCES[scale], trigger.LIMITS)


def trigger_grades(case: Case) -> Iterator[Score]:
    """The grade recorded of each digit with its meaning; Green's grade I where no catching was seen but tenderness."""
    source = trigger.SOURCES["Green"]
    none = NotComputable("trigger digit", ("grade",), source, limits=trigger.LIMITS)
    digits = dict.fromkeys((fact.side, fact.site) for fact in case.of(*_TRIGGERING))
    for side, site in digits:
        found = case.of(*_TRIGGERING, side=side, site=site)
        place = PlaceRef(site, side)
        graded = [fact for fact in found if fact.qualifier(Qualifier.GRADE) is not None]
        for fact in graded:
            yield Score("trigger_grade", place, tried("trigger digit", source, _recorded_grade, fact), (fact.id,))
        if graded:
            continue
        if any(fact.state != "absent" for fact in found):
            yield Score("trigger_grade", place, none, ids(found))
            continue
        tender = case.of("a1_pulley_tenderness", side=side, site=f"a1_{site}")
        outcome = trigger.green_grade("none_seen", a1_tender=whether(tender, "present", "absent"))
        yield Score("trigger_grade", place, outcome, ids((*found, *tender)))
    if not digits:
        yield Score("trigger_grade", NOWHERE, none)
