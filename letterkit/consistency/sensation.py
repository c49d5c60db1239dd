"""Rules about sensation, the provocation of nerves, and signs of the long tracts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from letterkit.catalogue.model import Qualifier
from letterkit.consistency.lookups import (
    FULL_POWER,
    SIDES,
    accounted_for,
    entries,
    entry,
    graded,
    listed,
    losses,
    normals,
    number,
    opening,
    recorded,
)
from letterkit.consistency.power import ULNAR_MUSCLES
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.consistency.terms import HISTORY
from letterkit.findings.facts import Fact
from letterkit.measures.monofilament import FILAMENTS

MEDIAN_PROVOCATION = (
    "phalen_test", "reverse_phalen_test", "tinel_carpal_tunnel", "carpal_compression_test", "hand_elevation_test",
)  # fmt: skip
AREA_SENSATION = (
    "median_sensation", "ulnar_sensation", "radial_sensation", "dorsal_ulnar_sensation", "palmar_cutaneous_sensation",
    "medial_forearm_sensation", "lateral_forearm_sensation", "digital_nerve_sensation", "dermatome_sensation",
    "light_touch", "pinprick_sensation",
)  # fmt: skip
HAND_MUSCLES = (
    "hand_power", "apb_power", "opponens_pollicis_power", "fpl_power", "fdp_radial_power", "fdp_ulnar_power",
    "finger_extension_power", "wrist_extensor_power", "finger_flexor_power", *ULNAR_MUSCLES,
)  # fmt: skip
SMALL_MUSCLE_WASTING = (
    "small_muscle_wasting", "thenar_wasting", "hypothenar_wasting", "first_dorsal_interosseous_wasting",
    "interosseous_guttering",
)  # fmt: skip
_NERVE_AREAS = ("median_sensation", "ulnar_sensation", "radial_sensation", "glove_sensory_loss")
_REFLEXES = ("upper_limb_reflexes", "biceps_reflex", "supinator_reflex", "triceps_reflex", "finger_jerk")
_LONG_TRACT = (
    "hoffmann_sign", "inverted_supinator_sign", "finger_escape_sign", "lhermitte_sign", "spasticity",
)  # fmt: skip
_ELBOW = (
    "ulnar_sensation", "dorsal_ulnar_sensation", "elbow_flexion_test", "froment_sign", "ulnar_nerve_subluxation",
    "first_dorsal_interosseous_wasting", "hypothenar_wasting", *ULNAR_MUSCLES,
)  # fmt: skip
_TINGLING = ("tingl", "numb", "paraesthes", "paresthes", "pins and needles", "electric", "shock", "buzz")
_PAIN = ("pain", "ache", "aching", "sore", "hurt")
_FINE_TWO_POINT_MM = 6.0
_WIDE_TWO_POINT_MM = 15.0
_FINE_MARKING = 3.61
_FINE_FILAMENTS = frozenset(
    f"marking_{each.marking.replace('.', '_')}" for each in FILAMENTS if float(each.marking) <= _FINE_MARKING
)


def same_pulp(case: Case, fact: Fact, others: Iterable[Fact]) -> tuple[Fact, ...]:
    """Those of `others` that were taken at the place of `fact`, or of the whole of the digit it is about."""
    digit = case.digit(fact)
    return tuple(
        other
        for other in others
        if other.side == fact.side
        and (
            other.site == fact.site
            or (digit is not None and case.digit(other) == digit and digit in {other.site, fact.site})
        )
    )


@rule(
    "provocation-beside-normal-nerve",
    QueryClass.UNUSUAL,
    asks="{tests} beside {normal}. This is often right, as provocation can come first; is it as intended?",
    settle="Confirm the entries, or correct the test, the sensation or the grade.",
    source="common practice, no source",
)
def provocation_beside_normal_nerve(case: Case) -> Iterator[Hit]:
    """A provoked nerve with normal sensation and full power is common, and so is a slip in one of the three."""
    for side in SIDES:
        tests = case.abnormal(*MEDIAN_PROVOCATION, side=side)
        sensation = case.normal("median_sensation", side=side)
        power = graded(case, "apb_power", low=FULL_POWER, side=side)
        if tests and sensation and power and not losses(case.of("median_sensation", side=side)):
            yield Hit(
                (*tests, *sensation, *power),
                words={
                    "tests": recorded(tests, case),
                    "normal": entries((*sensation, *power), case),
                },
            )


@rule(
    "provocation-positive-with-pain-only",
    QueryClass.INCOMPLETE,
    asks="{test} is recorded as positive, and what it brought on is told as pain. Was tingling or numbness felt?",
    settle="Say what the test brought on, and where.",
    source="common practice, no source",
)
def provocation_positive_with_pain_only(case: Case) -> Iterator[Hit]:
    """These tests count as positive when they bring on the tingling or numbness; pain alone leaves it open."""
    for fact in case.abnormal(*MEDIAN_PROVOCATION, "elbow_flexion_test"):
        told = f"{fact.qualifier(Qualifier.DISTRIBUTION) or ''} {fact.note or ''}".casefold()
        if any(word in told for word in _PAIN) and not any(word in told for word in _TINGLING):
            yield Hit((fact,), words={"test": opening(entry(fact, case).removesuffix(" (positive)"))})


@rule(
    "tinel-at-elbow-alone",
    QueryClass.UNUSUAL,
    asks="{tinel} is recorded, and everything else of the ulnar nerve on that side as normal. Healthy elbows often "
    "tingle too; is the entry as intended?",
    settle="Confirm the sign, and say whether the other elbow is the same.",
    source="Tinel's sign in 36 % of healthy elbows, report on 100 students (confirmed)",
)
def tinel_at_elbow_alone(case: Case) -> Iterator[Hit]:
    """Tapping the nerve at the elbow tingles in a good third of healthy elbows, so alone it says little."""
    for tinel in case.abnormal("tinel_elbow"):
        others = case.of(*_ELBOW, side=tinel.side)
        if len(others) > 1 and len(normals(others)) == len(others):
            yield Hit((tinel, *others), words={"tinel": opening(entry(tinel, case))})


@rule(
    "ulnar-loss-without-splitting",
    QueryClass.UNUSUAL,
    asks="{loss} is recorded, and the ring finger as not split. This can be right; is it?",
    settle="Confirm both, or correct the area of loss or the splitting.",
    source="from memory",
)
def ulnar_loss_without_splitting(case: Case) -> Iterator[Hit]:
    """The area of the ulnar nerve usually ends in the middle of the ring finger."""
    for split in case.normal("ring_finger_splitting"):
        for loss in losses(case.of("ulnar_sensation", side=split.side)):
            yield Hit((loss, split), words={"loss": opening(entry(loss, case))})


@rule(
    "touch-absent-beside-fine-touch-felt",
    QueryClass.CONTRADICTORY,
    asks="{absent} is recorded, and {fine} at the same place. Can both be right?",
    settle="Correct one of the two entries, or note when each was taken.",
    source="monofilament table, PMC7873561 (confirmed); common practice, no source, for two points",
)
def touch_absent_beside_fine_touch_felt(case: Case) -> Iterator[Hit]:
    """Two close points or a fine filament cannot be felt where light touch is not felt at all."""
    fine = [
        fact
        for fact in case.of("static_two_point_discrimination")
        if (number(fact) or _FINE_TWO_POINT_MM) < _FINE_TWO_POINT_MM
    ]
    fine += [fact for fact in case.of("monofilament") if fact.state in _FINE_FILAMENTS]
    if not fine:
        return
    for absent in case.of("light_touch", "digital_nerve_sensation"):
        if absent.state == "absent" and (felt := same_pulp(case, absent, fine)):
            yield Hit((absent, *felt), words={"absent": opening(entry(absent, case)), "fine": entries(felt, case)})


@rule(
    "touch-normal-beside-wide-two-points",
    QueryClass.UNUSUAL,
    asks="{normal} is recorded, and {wide} at the same place. Recovery, age or hard skin can part the two; is it so?",
    settle="Confirm both, or correct one of them.",
    source="J Peripher Nerv Syst 2014, sensibility declines with age (confirmed)",
)
def touch_normal_beside_wide_two_points(case: Case) -> Iterator[Hit]:
    """Normal touch with two points felt only far apart, or as one, is possible and worth a second look."""
    wide = [fact for fact in case.of("static_two_point_discrimination") if (number(fact) or 0) > _WIDE_TWO_POINT_MM]
    wide += [fact for fact in case.of("two_point_stimulus") if fact.state in {"one", "none"}]
    if not wide:
        return
    for touch in case.normal("light_touch", "digital_nerve_sensation"):
        if felt := same_pulp(case, touch, wide):
            yield Hit((touch, *felt), words={"normal": opening(entry(touch, case)), "wide": entries(felt, case)})


@rule(
    "sensation-and-power-not-both-recorded",
    QueryClass.INCOMPLETE,
    asks="{found}, and no {missing} of that hand. A reader may look for both.",
    settle="Record the other half, or say that it was not examined.",
    source="common practice, no source",
)
def sensation_and_power_not_both_recorded(case: Case) -> Iterator[Hit]:
    """Which nerve or root is meant shows only when loss of feeling and loss of power are read together."""
    for side in SIDES:
        numb = (
            *losses(case.of(*_NERVE_AREAS, side=side)), *case.abnormal("glove_sensory_loss", side=side),
        )  # fmt: skip
        weak = graded(case, *HAND_MUSCLES, high=FULL_POWER - 1, side=side)
        if numb and not accounted_for(case, *HAND_MUSCLES, side=side):
            yield Hit(numb, words={"found": recorded(numb, case), "missing": "muscle power"})
        elif weak and not accounted_for(case, *AREA_SENSATION, "glove_sensory_loss", side=side):
            yield Hit(weak, words={"found": recorded(weak, case), "missing": "sensation"})


@rule(
    "small-muscle-wasting-with-normal-sensation",
    QueryClass.UNUSUAL,
    asks="{wasting} beside {normal}, and no pain of that hand. Are all of these as intended?",
    settle="Confirm the entries, or correct the wasting or the sensation.",
    source="from memory",
)
def small_muscle_wasting_with_normal_sensation(case: Case) -> Iterator[Hit]:
    """Wasting beyond one nerve with normal feeling and no pain is seldom an accident of recording alone."""
    for side in SIDES:
        wasting = case.abnormal(*SMALL_MUSCLE_WASTING, side=side)
        if not ({"thenar_wasting", "first_dorsal_interosseous_wasting"} <= {fact.item for fact in wasting}) and not (
            case.abnormal("small_muscle_wasting", side=side)
        ):
            continue
        normal = case.normal("median_sensation", "ulnar_sensation", side=side)
        sore = case.abnormal("pain_on_movement", "joint_tenderness", "thumb_base_tenderness", side=side)
        numb = losses(case.of(*AREA_SENSATION, side=side))
        if {fact.item for fact in normal} == {"median_sensation", "ulnar_sensation"} and not sore and not numb:
            words = {"wasting": recorded(wasting, case), "normal": entries(normal, case)}
            yield Hit((*wasting, *normal), words=words)


@rule(
    "hand-wasting-beside-long-tract-signs",
    QueryClass.URGENT,
    asks="{wasting} together with {signs}. Does the plan cover the two together, under local policy?",
    settle="Confirm both, and read the plan again with both in mind.",
    source="from memory",
)
def hand_wasting_beside_long_tract_signs(case: Case) -> Iterator[Hit]:
    """Wasted hands with brisk reflexes, signs of the long tracts or a changed gait belong together for the reader."""
    wasting = case.abnormal(*SMALL_MUSCLE_WASTING)
    if not wasting:
        return
    signs = [fact for fact in case.of(*_REFLEXES) if fact.state == "brisk"]
    signs += [fact for fact in case.of("muscle_tone") if fact.state == "increased"]
    signs += case.abnormal(*_LONG_TRACT)
    gait = case.named("gait_change", among=HISTORY)
    if signs or gait:
        told = [*([entries(signs, case)] if signs else []), *(["a change of gait or balance"] if gait else [])]
        words = {"wasting": recorded(wasting, case), "signs": listed(told)}
        yield Hit((*wasting, *signs), tuple(one.path for one in gait[:1]), words)
