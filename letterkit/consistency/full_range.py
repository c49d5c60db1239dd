"""Rules about statements of a whole range: full, a full fist, opposition, a fusion, beside the single joints."""

from __future__ import annotations

from collections.abc import Iterator

from letterkit.catalogue.model import Qualifier
from letterkit.consistency.lookups import SIDES, arc, entries, entry, number, opening, passive
from letterkit.consistency.movement import ANGLES, ARCS, FINGERS
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.findings.facts import Fact

_FINGER_ARCS = ("finger_mcp_movement", "pip_movement", "dip_movement")
_DIGIT_ARCS = ARCS[:-1]
# Site of a recorded full range -> the measured movements it speaks of.
_OF_SITE = {
    "wrist": ("wrist_flexion", "wrist_extension", "radial_deviation", "ulnar_deviation"),
    "forearm": ("pronation", "supination"),
    "elbow": ("elbow_movement",),
    "cmc_thumb": ("thumb_palmar_abduction", "thumb_radial_abduction"),
    "hand": _DIGIT_ARCS,
}
_RANGES = {f"{item}_range": item for item in ANGLES}

_FULL_RANGE_SHORT_DEG = 20.0
_FULL_FIST_SUM_DEG = 200.0
_BARELY_BENDS_DEG = 10.0
_LITTLE_FINGER_SCORE = 6
_WRIST_FUSED_ARC_DEG = 10.0


def _short(case: Case, fact: Fact) -> bool:
    """Whether a measured movement stays more than 20 degrees below what is expected."""
    item = case.item(fact)
    own = arc(fact)
    reached = own.to_deg if own else number(fact)
    low = item.expected.low if item.expected else None
    high = item.expected_from.high if item.expected_from else None
    if low is not None and reached is not None and reached < low - _FULL_RANGE_SHORT_DEG:
        return True
    return own is not None and high is not None and own.from_deg > high + _FULL_RANGE_SHORT_DEG


def _measured_within(case: Case, full: Fact) -> tuple[Fact, ...]:
    """The measured movements that a statement of full range covers."""
    if full.item in _RANGES:
        return case.of(_RANGES[full.item], side=full.side)
    site = case.catalogue.sites[full.site] if full.site else None
    if site is None:
        return ()
    if site.slug in _OF_SITE:
        return case.of(*_OF_SITE[site.slug], side=full.side)
    arcs = case.of(*_DIGIT_ARCS, side=full.side)
    if site.row == "digit":
        return tuple(fact for fact in arcs if case.digit(fact) == site.digit)
    return tuple(fact for fact in arcs if fact.site == full.site)


@rule(
    "full-range-and-short-movement",
    QueryClass.CONTRADICTORY,
    asks="{full} is recorded, and {short} is more than 20 degrees short of what is expected. Which one holds?",
    settle="Correct the figure, or the statement that the range is full.",
    source="common practice, no source",
)
def full_range_and_short_movement(case: Case) -> Iterator[Hit]:
    """A range called full and a joint far short of it do not fit; the first is often a habit of writing."""
    for full in case.normal("range_of_movement", *_RANGES):
        mode = full.qualifier(Qualifier.MODE)
        found = [
            fact
            for fact in _measured_within(case, full)
            if _short(case, fact) and mode in {None, fact.qualifier(Qualifier.MODE)}
        ]
        if found:
            words = {"full": opening(entry(full, case)), "short": entries(found, case)}
            yield Hit((full, *found), words=words)


@rule(
    "full-fist-and-short-flexion",
    QueryClass.CONTRADICTORY,
    asks="A full fist is recorded on the {side} beside {short}. Which one holds?",
    settle="Correct the fist, the distance or the angles.",
    source="common practice, no source",
)
def full_fist_and_short_flexion(case: Case) -> Iterator[Hit]:
    """A full fist brings every pulp to the palm, and the three joints of a finger must bend some 200 degrees for it."""
    for fist in case.normal("composite_fist"):
        if passive(fist):
            continue
        found = [fact for fact in case.of("pulp_to_palm_distance", side=fist.side)
                 if not passive(fact) and (number(fact) or 0) > 0]  # fmt: skip
        by_digit: dict[str | None, list[Fact]] = {finger: [] for finger in FINGERS}
        for fact in case.of(*_FINGER_ARCS, side=fist.side):
            if not passive(fact):
                by_digit.setdefault(case.digit(fact), []).append(fact)
        for arcs in (by_digit[finger] for finger in FINGERS):
            bent = {fact.item: own.to_deg for fact in arcs if (own := arc(fact))}
            if len(bent) == len(_FINGER_ARCS) == len(arcs) and sum(bent.values()) < _FULL_FIST_SUM_DEG:
                found += arcs
        if found:
            yield Hit((fist, *found), words={"side": fist.side or "", "short": entries(found, case)})


@rule(
    "full-fist-and-unbending-joint",
    QueryClass.CONTRADICTORY,
    asks="A full fist is recorded on the {side}, and a finger joint that does not bend: {still}. Which one holds?",
    settle="Correct the fist or the finger.",
    source="common practice, no source",
)
def full_fist_and_unbending_joint(case: Case) -> Iterator[Hit]:
    """The fingertips cannot reach the palm without the joints between the fingers' bones."""
    for fist in case.normal("composite_fist"):
        if passive(fist):
            continue
        still = [fact for fact in case.of("pip_movement", "dip_movement", side=fist.side)
                 if not passive(fact) and (own := arc(fact)) and own.to_deg < _BARELY_BENDS_DEG]  # fmt: skip
        still += [fact for fact in case.of("flexor_digitorum_profundus", side=fist.side) if fact.state == "absent"]
        if still:
            yield Hit((fist, *still), words={"side": fist.side or "", "still": entries(still, case)})


@rule(
    "opposition-score-and-no-opposition",
    QueryClass.CONTRADICTORY,
    asks="{score} is recorded, which is opposition at least to the little finger, beside {none}. Which one holds?",
    settle="Correct the score or the entry about opposition.",
    source="Kapandji 1986 (confirmed)",
)
def opposition_score_and_no_opposition(case: Case) -> Iterator[Hit]:
    """From a score of 6 the thumb reaches the tip of the little finger, which is opposition."""
    for none in case.of("thumb_opposition"):
        for score in case.of("kapandji_score", side=none.side):
            if none.state == "absent" and (number(score) or 0) >= _LITTLE_FINGER_SCORE:
                yield Hit((score, none), words={"score": opening(entry(score, case)), "none": entry(none, case)})


@rule(
    "movement-of-a-fused-joint",
    QueryClass.CONTRADICTORY,
    asks="{scar} is recorded, and {moved}. A joint that is soundly fused does not move. Is the joint right?",
    settle="Correct the joint or the angles, or note why a joint with this scar moves.",
    source="common practice, no source",
)
def movement_of_a_fused_joint(case: Case) -> Iterator[Hit]:
    """A fused joint that moves is another joint, or has not united."""
    for scar in case.abnormal("joint_fusion_scar"):
        for moved in case.of(*_DIGIT_ARCS, side=scar.side, site=scar.site):
            own = arc(moved)
            if own and own.to_deg - own.from_deg > _BARELY_BENDS_DEG:
                yield Hit((scar, moved), words={"scar": opening(entry(scar, case)), "moved": entry(moved, case)})


@rule(
    "movement-of-a-fused-wrist",
    QueryClass.CONTRADICTORY,
    asks="A fusion of the {side} wrist is recorded beside {moved}. A total fusion abolishes that arc; was it a limited "
    "one, or is the side wrong?",
    settle="Name the fusion as limited, or correct the side or the figures.",
    source="common practice, no source",
)
def movement_of_a_fused_wrist(case: Case) -> Iterator[Hit]:
    """After a total fusion the wrist neither bends nor extends; some movement is left by a limited one."""
    if not case.recorded("wrist_flexion", "wrist_extension") or case.mentioned("limited_wrist_fusion"):
        return
    told = case.named("wrist_fusion", among=("past", "presenting", "diagnoses"))
    for side in SIDES:
        scars = case.abnormal("wrist_fusion_scar", side=side)
        paths = tuple(mention.path for mention in told if mention.sides == {side})
        moved = case.of("wrist_flexion", "wrist_extension", side=side)
        if (scars or paths) and sum(number(fact) or 0 for fact in moved) > _WRIST_FUSED_ARC_DEG:
            yield Hit((*scars, *moved), paths, {"side": side, "moved": entries(moved, case)})
