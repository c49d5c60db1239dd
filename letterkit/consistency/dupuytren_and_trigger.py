"""Rules about Dupuytren's disease and trigger digits: cords, angles, stages, grades and locking."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from letterkit.catalogue.model import Qualifier
from letterkit.consistency.claims import dealt_with, named_sides, quoted
from letterkit.consistency.lookups import (
    STRAIGHT_DEG,
    abnormals,
    arc,
    entries,
    entry,
    joint,
    normals,
    on_digit,
    opening,
    passive,
)
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.consistency.terms import OPINION, digits_in
from letterkit.findings.facts import Fact
from letterkit.findings.sides import Side
from letterkit.measures.dupuytren import total_extension_deficit, tubiana_stage
from letterkit.measures.result import Result

_FLAT_HAND_DEG = 30.0
_ARCS = ("finger_mcp_movement", "pip_movement", "dip_movement", "thumb_mcp_movement", "thumb_ip_movement")
_CORDS = ("dupuytren_cord", "pretendinous_cord", "natatory_cord", "spiral_cord")
_CONTRACTURES = ("dupuytren_contracture", "fixed_flexion_deformity", "extension_lag")
_LOCKING = ("triggering", "catching", "locking")
_TRIGGER_SIGNS = (*_LOCKING, "clicking", "a1_pulley_nodule", "a1_pulley_tenderness")
_STAGE = re.compile(r"\btubiana(?:'s|’s)?\s*(?:stage|grade)?\s*(?P<stage>n|iv|i{1,3}|[0-4])\b")
_ROMAN = {"i": "1", "ii": "2", "iii": "3", "iv": "4", "n": "N"}
_DEVON = "Devon referral guidance, hand that cannot be laid flat (confirmed)"
_GREEN = "Green's trigger digit grades (confirmed)"
_TUBIANA = "Tubiana 1968 (confirmed for stages N, 1 and 2)"


def _deficit(fact: Fact) -> float | None:
    """How many degrees a fact says that a joint lacks of straight, or None where it gives no passive figure."""
    angles = arc(fact)
    if angles is not None:
        return angles.from_deg if passive(fact) else None
    angle = fact.qualifier(Qualifier.ANGLE)
    if fact.item in {"dupuytren_contracture", "fixed_flexion_deformity"} and isinstance(angle, (int, float)):
        return float(angle)
    return None


def _passively_straight(facts: Iterable[Fact]) -> tuple[Fact, ...]:
    """Those facts that record a joint as passively straight, or a fixed deformity as absent."""
    return tuple(
        fact
        for fact in facts
        if ((angles := arc(fact)) is not None and passive(fact) and angles.from_deg <= STRAIGHT_DEG)
        or (fact.item == "fixed_flexion_deformity" and fact.state == "absent")
    )


@rule(
    "flat-hand-beside-contracture",
    QueryClass.CONTRADICTORY,
    asks="{table} is recorded beside {deficit}. Can a hand with that angle lie flat?",
    settle="Correct the table-top test or the angle.",
    source=_DEVON,
)
def flat_hand_beside_contracture(case: Case) -> Iterator[Hit]:
    """With 30 degrees or more missing at a knuckle or middle joint, the hand does not lie flat on a table."""
    for table in case.normal("table_top_test"):
        bent = tuple(
            fact
            for fact in case.of(*_ARCS, "dupuytren_contracture", "fixed_flexion_deformity", side=table.side)
            if joint(case, fact) in {"mcp", "pip"}
            and fact.state != "absent"
            and (_deficit(fact) or 0) >= _FLAT_HAND_DEG
        )
        if bent:
            words = {"table": opening(entry(table, case)), "deficit": entries(bent, case)}
            yield Hit((table, *bent), words=words)


@rule(
    "table-top-positive-without-contracture",
    QueryClass.INCOMPLETE,
    asks="{table} is recorded, and no joint of that hand as short of straight. What keeps the hand off the table?",
    settle="Record the joint and its angle, or what else stops the hand from lying flat.",
    source="common practice, no source",
)
def table_top_positive_without_contracture(case: Case) -> Iterator[Hit]:
    """A positive test says that a joint does not straighten; a reader looks for which one, and by how much."""
    for table in case.abnormal("table_top_test"):
        short = case.abnormal(*_CONTRACTURES, "swan_neck", "boutonniere", "clawing", "camptodactyly", side=table.side)
        bent = [f for f in case.of(*_ARCS, side=table.side) if (a := arc(f)) is not None and a.from_deg > STRAIGHT_DEG]
        stiff = case.abnormal("full_finger_extension", "range_of_movement", side=table.side)
        if not short and not bent and not stiff:
            yield Hit((table,), words={"table": opening(entry(table, case))})


@rule(
    "cord-beside-full-passive-extension",
    QueryClass.UNUSUAL,
    asks="{cord} is recorded beside {straight}. An early cord does not bend a finger, so this is often right; is it?",
    settle="Confirm both, or correct the cord or the angle.",
    source="from memory",
)
def cord_beside_full_passive_extension(case: Case) -> Iterator[Hit]:
    """A cord usually costs some passive extension, except early on."""
    for cord in case.abnormal(*_CORDS):
        movements = on_digit(
            case, case.of(*_ARCS, "fixed_flexion_deformity", side=cord.side), case.digit(cord)
        )  # fmt: skip
        straight = _passively_straight(movements)
        bent = [fact for fact in movements if (_deficit(fact) or 0) > STRAIGHT_DEG]
        joints = {joint(case, fact) for fact in straight}
        if joints >= {"mcp", "pip"} and not bent:
            yield Hit(
                (cord, *straight), words={"cord": opening(entry(cord, case)), "straight": entries(straight, case)}
            )


def _stages(case: Case) -> Iterator[tuple[str, str, str, frozenset[str], tuple[Side, ...]]]:
    """Each Tubiana stage in impression and diagnoses: path, quoted words, stage, digits and sides named with it."""
    for passage in case.wording.passages:
        if passage.part not in OPINION or "tubiana" not in passage.tokens:
            continue
        found = [match["stage"] for match in _STAGE.finditer(passage.text.casefold())]
        if len(found) == 1:
            sides = tuple(sorted(passage.sides))
            yield passage.path, passage.text, _ROMAN.get(found[0], found[0]), digits_in(passage.tokens), sides


def _worst_stage(case: Case, digit: str, side: Side) -> tuple[str, tuple[Fact, ...]] | None:
    """The stage of one ray by its recorded passive deficits, with the facts, or None where a joint is missing."""
    deficits: dict[str, tuple[float, Fact]] = {}
    movements = case.of(*_ARCS, "dupuytren_contracture", "fixed_flexion_deformity", side=side)
    for fact in on_digit(case, movements, digit):
        lack = 0.0 if fact.state == "absent" else _deficit(fact)
        kind = joint(case, fact)
        if lack is not None and kind in {"mcp", "pip", "dip"}:
            deficits[kind] = (lack, fact)
    if set(deficits) != {"mcp", "pip", "dip"}:
        return None
    total = total_extension_deficit(deficits["mcp"][0], deficits["pip"][0], deficits["dip"][0])
    assert isinstance(total, Result)
    stage = tubiana_stage(total.value, lesion="nodule_or_cord")
    assert isinstance(stage, Result)
    return stage.value, tuple(fact for _, fact in deficits.values())


@rule(
    "stage-beside-other-angles",
    QueryClass.CONTRADICTORY,
    asks="The text says “{text}”, and the recorded passive angles of the {digit} add up to Tubiana stage {stage}. "
    "Which one holds?",
    settle="Correct the stage or the angles.",
    source=_TUBIANA,
)
def stage_beside_other_angles(case: Case) -> Iterator[Hit]:
    """The stage follows from the sum of the passive deficits of one ray."""
    for path, text, stage, digits, sides in _stages(case):
        if len(digits) != 1 or len(sides) != 1:
            continue
        digit = next(iter(digits))
        computed = _worst_stage(case, digit, sides[0])
        if computed is not None and computed[0] != stage:
            name = case.catalogue.digits[digit].name
            words = {"text": text.rstrip("."), "digit": f"{sides[0]} {name}", "stage": computed[0]}
            yield Hit(computed[1], (path,), words)


@rule(
    "stage-without-passive-angles",
    QueryClass.INCOMPLETE,
    asks="The text says “{text}”, and no passive angle is recorded that the stage could be checked against.",
    settle="Record the passive extension of the three joints of the ray, or leave the stage out.",
    source=_TUBIANA,
)
def stage_without_passive_angles(case: Case) -> Iterator[Hit]:
    """The stage is the sum of the passive deficits; active angles or none do not give it."""
    for path, text, stage, _, _ in _stages(case):
        angles = [f for f in case.of(*_ARCS, *_CONTRACTURES[:2]) if _deficit(f) is not None]
        if stage not in {"0", "N"} and not angles:
            yield Hit((), (path,), {"text": text.rstrip(".")})


@rule(
    "trigger-named-without-its-signs",
    QueryClass.INCOMPLETE,
    asks="{named}, and neither catching or locking nor a tender or thick A1 pulley is recorded on that side.",
    settle="Record what was found at the pulley and on movement, or say that it was told and not seen.",
    source=_GREEN,
)
def trigger_named_without_its_signs(case: Case) -> Iterator[Hit]:
    """A reader looks for at least one of the signs on which the name rests."""
    for mention, side in named_sides(case, "trigger_digit"):
        if dealt_with(case, mention):
            continue
        digits = mention.digits
        found = [f for f in case.abnormal(*_TRIGGER_SIGNS, side=side) if not digits or case.digit(f) in digits]
        if not found:
            facts = case.normal(*_TRIGGER_SIGNS, side=side)
            yield Hit(facts, (mention.path,), {"named": quoted(mention)})


@rule(
    "fixed-grade-beside-full-extension",
    QueryClass.CONTRADICTORY,
    asks="{grade} is recorded as {name}, which is a fixed deformity, beside {straight}. Which one holds?",
    settle="Correct the grade or the movement.",
    source=f"{_GREEN}; Quinnell 1980 (from memory)",
)
def fixed_grade_beside_full_extension(case: Case) -> Iterator[Hit]:
    """The fourth grade of either scale says that the joint cannot be straightened even by the examiner."""
    for fact in case.abnormal(*_LOCKING):
        grade = str(fact.qualifier(Qualifier.GRADE) or "")
        if grade.casefold() not in {"green iv", "green 4", "quinnell iv", "quinnell 4"}:
            continue
        movements = case.of("pip_movement", "thumb_ip_movement", "fixed_flexion_deformity", side=fact.side)
        here = on_digit(case, movements, case.digit(fact))
        straight = tuple(f for f in _passively_straight(here) if joint(case, f) in {"pip", "ip"})
        if straight:
            words = {"grade": opening(entry(fact, case)), "name": grade, "straight": entries(straight, case)}
            yield Hit((fact, *straight), words=words)


@rule(
    "locking-beside-full-movement",
    QueryClass.UNUSUAL,
    asks="{locking} is recorded beside full active and passive movement. Between episodes this is often right; is it?",
    settle="Confirm both, or say whether the locking was seen or told.",
    source="common practice, no source",
)
def locking_beside_full_movement(case: Case) -> Iterator[Hit]:
    """Full movement between episodes is usual; a locked digit with full movement is not."""
    for locking in case.abnormal("locking"):
        movements = on_digit(
            case, case.of("pip_movement", "thumb_ip_movement", side=locking.side), case.digit(locking)
        )  # fmt: skip
        modes = {str(fact.qualifier(Qualifier.MODE)) for fact in movements}
        if modes >= {"active", "passive"} and len(normals(movements)) == len(movements):
            yield Hit((locking, *movements), words={"locking": opening(entry(locking, case))})


@rule(
    "trigger-and-nodule-in-one-ray",
    QueryClass.UNUSUAL,
    asks="{trigger} and {nodule} are recorded in one ray. The two are common and easily taken for each other; are both "
    "meant?",
    settle="Confirm both, or remove the one that does not apply.",
    source="common practice, no source",
)
def trigger_and_nodule_in_one_ray(case: Case) -> Iterator[Hit]:
    """A lump that moves with the tendon and one that does not are told apart by feel, and both sit in the palm."""
    for nodule in case.abnormal("dupuytren_nodule"):
        for trigger in on_digit(case, case.abnormal("triggering", "locking", side=nodule.side), case.digit(nodule)):
            yield Hit(
                (trigger, nodule), words={"trigger": opening(entry(trigger, case)), "nodule": entry(nodule, case)}
            )


@rule(
    "end-joint-contracture-alone",
    QueryClass.UNUSUAL,
    asks="{dip} is recorded, and the other joints of that finger as straight. This can be right; is it?",
    settle="Confirm the joint, or correct it.",
    source="from memory",
)
def end_joint_contracture_alone(case: Case) -> Iterator[Hit]:
    """In Dupuytren's disease the end joint is seldom the only one held."""
    for dip in case.abnormal("dupuytren_contracture", "fixed_flexion_deformity"):
        if joint(case, dip) != "dip":
            continue
        digit = case.digit(dip)
        cords = on_digit(case, case.abnormal(*_CORDS, "dupuytren_nodule", side=dip.side), digit)
        others = on_digit(case, case.of(*_ARCS, *_CONTRACTURES[:2], side=dip.side), digit)
        others = tuple(fact for fact in others if joint(case, fact) in {"mcp", "pip"})
        straight = (*_passively_straight(others), *normals(others))
        if (cords or dip.item == "dupuytren_contracture") and straight and not abnormals(others):
            facts = tuple(dict.fromkeys((dip, *cords, *straight)))
            yield Hit(facts, words={"dip": opening(entry(dip, case))})
