"""Rules about tendons and wounds: function beside movement, posture and the wrist-driven movement of the digits."""

from __future__ import annotations

from collections.abc import Iterator

from letterkit.consistency.lookups import (
    SIDES,
    abnormals,
    accounted_for,
    arc,
    entries,
    entry,
    on_digit,
    opening,
    passive,
    recorded,
)
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.findings.facts import Fact

_FLEXORS = ("flexor_digitorum_profundus", "flexor_digitorum_superficialis", "flexor_pollicis_longus")
_EXTENSORS = (
    "extensor_digitorum_communis", "extensor_indicis_proprius", "extensor_digiti_minimi", "extensor_pollicis_longus",
)  # fmt: skip
TENDONS = (
    *_FLEXORS, *_EXTENSORS, "extensor_pollicis_brevis", "abductor_pollicis_longus", "terminal_slip",
    "palmaris_longus", "fcr_tendon_continuity", "fcu_tendon_continuity", "ecrl_tendon_continuity",
    "ecrb_tendon_continuity", "ecu_tendon_continuity",
)  # fmt: skip
OPEN_WOUNDS = ("wound", "laceration", "puncture_wound")
_OVER_TENDONS = frozenset({"hand", "palm", "dorsum", "volar_wrist", "dorsal_wrist", "wrist", "forearm"})
_DEEP_FLEXOR_TENDON = {"flexor_digitorum_profundus": "dip_movement", "flexor_pollicis_longus": "thumb_ip_movement"}
_BENDS_DEG = 10.0
_LOST = {
    "flexion_lost": _FLEXORS,
    "extension_lost": _EXTENSORS,
    "lost": (*_FLEXORS, *_EXTENSORS),
}
_FINGERS = 4
_PULP_FEELING = ("digital_nerve_sensation",)
_BONES = ("bony_tenderness", "dropped_knuckle")
_SMALL_BONES = frozenset({"metacarpal", "metacarpal_head", "proximal_phalanx", "middle_phalanx", "distal_phalanx"})


def _in_line(case: Case, fact: Fact) -> bool:
    site = case.catalogue.sites[fact.site] if fact.site else None
    return site is not None and (site.digit is not None or site.slug in _OVER_TENDONS)


@rule(
    "end-joint-bends-without-its-tendon",
    QueryClass.IMPOSSIBLE,
    asks="{tendon} is recorded beside active movement of its joint: {movement}. Which one holds?",
    settle="Correct the tendon or the movement, or say that the movement was passive.",
    source="from memory",
)
def end_joint_bends_without_its_tendon(case: Case) -> Iterator[Hit]:
    """One tendon alone bends the end joint; without it the joint does not bend actively."""
    for tendon, movement_item in _DEEP_FLEXOR_TENDON.items():
        for absent in case.abnormal(tendon):
            if absent.state != "absent":
                continue
            for movement in on_digit(case, case.of(movement_item, side=absent.side), case.digit(absent)):
                angles = arc(movement)
                if angles is not None and not passive(movement) and angles.to_deg - angles.from_deg >= _BENDS_DEG:
                    words = {"tendon": opening(entry(absent, case)), "movement": entry(movement, case)}
                    yield Hit((absent, movement), words=words)


@rule(
    "little-finger-superficialis-one-side-only",
    QueryClass.INCOMPLETE,
    asks="{absent}, and nothing of the other hand. In about a third of people none acts alone there.",
    settle="Record the same tendon of the other hand.",
    source="absent superficialis in 2,016 hands, Rev Bras Ortop 2020 (confirmed)",
)
def little_finger_superficialis_one_side_only(case: Case) -> Iterator[Hit]:
    """About a third of little fingers have no superficialis that acts alone; the other side gives the measure."""
    for side, other in (SIDES, SIDES[::-1]):
        item = "flexor_digitorum_superficialis"
        absent = [fact for fact in case.of(item, side=side, site="little") if fact.state == "absent"]
        if absent and not case.of(item, side=other, site="little"):
            yield Hit(tuple(absent), words={"absent": recorded(absent, case)})


@rule(
    "thumb-lifts-without-its-extensor",
    QueryClass.CONTRADICTORY,
    asks="{tendon} is recorded beside {lift}. Which one holds?",
    settle="Correct the tendon or the lift of the thumb off the table.",
    source="from memory",
)
def thumb_lifts_without_its_extensor(case: Case) -> Iterator[Hit]:
    """Lifting the thumb off the table is what shows that its long extensor works."""
    for tendon in case.abnormal("extensor_pollicis_longus"):
        lifts = case.normal("thumb_retropulsion", side=tendon.side)
        if tendon.state == "absent" and lifts:
            yield Hit((tendon, *lifts), words={"tendon": opening(entry(tendon, case)), "lift": entries(lifts, case)})


@rule(
    "intact-tendon-beside-lost-tenodesis",
    QueryClass.CONTRADICTORY,
    asks="{lost} is recorded, and every tendon tested there as intact: {tendons}. Which one holds?",
    settle="Correct the tendon or the posture, or name the tendon that was not tested.",
    source="from memory",
)
def intact_tendon_beside_lost_tenodesis(case: Case) -> Iterator[Hit]:
    """The movement of a digit with the wrist and the resting cascade both show whether the tendons are whole."""
    for lost in case.abnormal("tenodesis_effect"):
        tendons = on_digit(case, case.of(*_LOST.get(lost.state, ()), side=lost.side), case.digit(lost))
        if tendons and all(tendon.state == "intact" for tendon in tendons):
            yield Hit((lost, *tendons), words=_lost(lost, tendons, case))
    for lost in case.abnormal("resting_cascade"):
        tendons = case.of(*_FLEXORS[:2], side=lost.side)
        deep = {tendon.site for tendon in tendons if tendon.item == _FLEXORS[0]}
        if len(deep) == _FINGERS and all(tendon.state == "intact" for tendon in tendons):
            yield Hit((lost, *tendons), words=_lost(lost, tendons, case))


def _lost(lost: Fact, tendons: tuple[Fact, ...], case: Case) -> dict[str, str]:
    return {"lost": opening(entry(lost, case)), "tendons": entries(tendons, case)}


@rule(
    "absent-tendon-beside-intact-tenodesis",
    QueryClass.CONTRADICTORY,
    asks="{absent} is recorded beside {tenodesis}. A tendon that no longer pulls seldom follows; are both right?",
    settle="Correct one of the two, or note what holds the tendon.",
    source="from memory",
)
def absent_tendon_beside_intact_tenodesis(case: Case) -> Iterator[Hit]:
    """A divided tendon does not follow the wrist, unless it is stuck or another tendon does it."""
    for absent in case.abnormal(_FLEXORS[0], _FLEXORS[2], "extensor_digitorum_communis", "extensor_pollicis_longus"):
        if absent.state != "absent":
            continue
        for tenodesis in on_digit(case, case.normal("tenodesis_effect", side=absent.side), case.digit(absent)):
            yield Hit(
                (absent, tenodesis),
                words={"absent": opening(entry(absent, case)), "tenodesis": entry(tenodesis, case)},
            )


@rule(
    "tendons-intact-not-named",
    QueryClass.INCOMPLETE,
    asks="{wound} with the tendons called intact as a whole. A reader may look for each tendon by name.",
    settle="Name the tendons that were tested, or say that they were not tested one by one.",
    source="common practice, no source",
)
def tendons_intact_not_named(case: Case) -> Iterator[Hit]:
    """A partial cut hides behind a word for all tendons."""
    called = case.named("tendons_intact")
    if not called:
        return
    for side in SIDES:
        wounds = [fact for fact in case.abnormal(*OPEN_WOUNDS, side=side) if _in_line(case, fact)]
        if wounds and not case.of(*TENDONS, side=side):
            yield Hit(tuple(wounds), (called[0].path,), {"wound": recorded(wounds, case)})


@rule(
    "finger-wound-without-both-digital-nerves",
    QueryClass.INCOMPLETE,
    asks="{wound} is recorded, and feeling on {missing} of that digit is not recorded.",
    settle="Record the feeling of both sides of the pulp, or say that it was not examined.",
    source="common practice, no source",
)
def finger_wound_without_both_digital_nerves(case: Case) -> Iterator[Hit]:
    """Each digit has a nerve on either side, and a reader looks for both beyond a wound."""
    if case.problem == "postoperative_review":
        return
    for wound in case.abnormal("laceration", "puncture_wound", "wound"):
        digit = case.digit(wound)
        if digit is None or any(fact.item in {*_PULP_FEELING, "light_touch"} for fact in case.facts.unexamined):
            continue
        felt = on_digit(
            case,
            case.of(*_PULP_FEELING, "static_two_point_discrimination", "monofilament", "two_point_stimulus",
                    side=wound.side), digit)  # fmt: skip
        rows = {case.catalogue.sites[fact.site].row for fact in felt if fact.site}
        missing = [side for side in ("radial_side", "ulnar_side") if side not in rows]
        if missing:
            told = "either side" if len(missing) > 1 else f"the {missing[0].split('_')[0]} side"
            yield Hit((wound,), words={"wound": opening(entry(wound, case)), "missing": told})


@rule(
    "pain-on-resistance-after-cut",
    QueryClass.UNUSUAL,
    asks="{pain} beside {wound}. Movement can be full with part of a tendon cut; is it as intended?",
    settle="Confirm the entry and the tendon it is about.",
    source="from memory",
)
def pain_on_resistance_after_cut(case: Case) -> Iterator[Hit]:
    """Full movement that hurts against resistance after a cut is worth a second look at the tendon."""
    for wound in case.abnormal("laceration", "puncture_wound", "wound"):
        sore = on_digit(case, case.abnormal("pain_on_resistance_full_range", side=wound.side), case.digit(wound))
        tendons = [fact for fact in case.of(*TENDONS, side=wound.side) if fact.state == "painful"]
        sore += on_digit(case, tendons, case.digit(wound))
        if sore:
            yield Hit((wound, *sore), words={"pain": recorded(sore, case), "wound": entry(wound, case)})


@rule(
    "injured-bone-without-rotation",
    QueryClass.INCOMPLETE,
    asks="{bone}, and the rotation of the fingers on bending is not recorded.",
    settle="Record whether the fingers overlap or turn on bending, or say that it was not examined.",
    source="common practice, no source",
)
def injured_bone_without_rotation(case: Case) -> Iterator[Hit]:
    """Turning of a finger after an injury to its bone is missed when it is not looked for."""
    if case.problem not in {"hand_injury", "stiff_finger_after_injury"}:
        return
    for side in SIDES:
        bones = [
            fact
            for fact in abnormals(case.of(*_BONES, side=side))
            if fact.site and case.catalogue.sites[fact.site].row in _SMALL_BONES and case.digit(fact) != "thumb"
        ]
        if bones and not accounted_for(case, "rotational_alignment", "malrotation", side=side):
            yield Hit(tuple(bones), words={"bone": recorded(bones, case)})
