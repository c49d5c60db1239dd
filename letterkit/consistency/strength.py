"""Rules about grip, pinch and the tasks of the hand: strengths and skills that do not fit each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Literal

from letterkit.catalogue.model import Stage
from letterkit.consistency.lookups import (
    FULL_POWER,
    SIDES,
    accounted_for,
    entries,
    entry,
    graded,
    number,
    opening,
    rank,
)
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.consistency.terms import OPINION
from letterkit.findings.facts import Fact
from letterkit.findings.values import Grade
from letterkit.measures.grip import between_hands, grip_against_norm
from letterkit.measures.norms import Standing
from letterkit.measures.pinch import Pinch, pinch_against_norm
from letterkit.measures.result import Result

_PINCHES: Mapping[str, Pinch] = {"key_pinch": "key", "tip_pinch": "tip", "tripod_pinch": "palmar"}
_GRIP_NORMS = "Mathiowetz 1985 (confirmed)"
_UNUSUAL_GRIP_KG: Mapping[str, float] = {"male": 90, "female": 60}
_FIRM_PINCH_KG = 2
_HARDLY_FLEXES = 2
_REFLEXES = ("upper_limb_reflexes", "biceps_reflex", "supinator_reflex", "triceps_reflex", "finger_jerk")
_TONE = ("muscle_tone", "spasticity", "rigidity")
_FULL_RANGE = ("composite_fist", "range_of_movement")
_TREMORS = ("rest_tremor", "postural_tremor", "kinetic_tremor", "writing_tremor", "spiral_tremor")
_ONE_HAND: tuple[Literal["right", "left"], ...] = ("right", "left")
_PAIN = ("pain", "tender")


def _standing(case: Case, fact: Fact) -> Standing | None:
    """Where a grip or pinch lies beside its norm, or None where no norm applies."""
    force, side = number(fact), fact.side
    if force is None or side is None:
        return None
    age, sex = case.age_years, case.encounter.patient.gender
    if fact.item in _PINCHES:
        found = pinch_against_norm(_PINCHES[fact.item], force, age_years=age, sex=sex, side=side)
    else:
        found = grip_against_norm(force, age_years=age, sex=sex, side=side)
    return found.value.standing if isinstance(found, Result) else None


@rule(
    "unusually-strong-grip",
    QueryClass.UNUSUAL,
    asks="{grip} is recorded. Were these pounds?",
    settle="Confirm the figure in kilograms, or correct it.",
    source="Mathiowetz 1985 for the norms (confirmed); the limits are common practice, no source",
)
def unusually_strong_grip(case: Case) -> Iterator[Hit]:
    """So strong a grip is far beyond the norms, and is what pounds look like when they are entered as kilograms."""
    limit = _UNUSUAL_GRIP_KG.get(case.encounter.patient.gender or "")
    for grip in case.of("grip_strength"):
        if limit is not None and (number(grip) or 0) > limit:
            yield Hit((grip,), words={"grip": opening(entry(grip, case))})


@rule(
    "pinch-not-below-grip",
    QueryClass.CONTRADICTORY,
    asks="{pinch} is not less than {grip}. Are both in kilograms, or was grip limited by pain?",
    settle="Correct the figure or unit, or note what limited the grip.",
    source="common practice, no source",
)
def pinch_not_below_grip(case: Case) -> Iterator[Hit]:
    """The whole hand grips with more muscle than the thumb and a finger pinch."""
    for pinch in case.of(*_PINCHES):
        for grip in case.of("grip_strength", side=pinch.side):
            squeezed, pinched = number(grip), number(pinch)
            if squeezed and pinched is not None and pinched >= squeezed:
                yield Hit((pinch, grip), words={"pinch": opening(entry(pinch, case)), "grip": entry(grip, case)})


@rule(
    "no-grip-and-firm-pinch",
    QueryClass.CONTRADICTORY,
    asks="{grip} is recorded beside {pinch}. A hand that pinches usually grips a little; are both right?",
    settle="Correct one of the figures, or note why the hand does not close on the handle.",
    source="common practice, no source",
)
def no_grip_and_firm_pinch(case: Case) -> Iterator[Hit]:
    """A hand with a firm pinch shows some grip, unless the fingers are too stiff to close."""
    for grip in case.of("grip_strength"):
        for pinch in case.of(*_PINCHES, side=grip.side) if number(grip) == 0 else ():
            if (number(pinch) or 0) > _FIRM_PINCH_KG:
                yield Hit((grip, pinch), words={"grip": opening(entry(grip, case)), "pinch": entry(pinch, case)})


def _painless(case: Case, grip: Fact) -> bool:
    return not any(
        fact.side == grip.side and any(word in f"{fact.item} {fact.note or ''}" for word in _PAIN)
        for fact in case.departures
    )


@rule(
    "weak-grip-in-a-hand-without-a-finding",
    QueryClass.UNUSUAL,
    asks="{grip} is below the expected range for age and sex, and power is recorded as full, the range as full, and no "
    "pain. This can be right; is it?",
    settle="Confirm the figure and how it was measured, or add what limits the grip.",
    source=_GRIP_NORMS,
)
def weak_grip_in_a_hand_without_a_finding(case: Case) -> Iterator[Hit]:
    """A weak grip has a reason: effort, pain, the method, or something that is not recorded yet."""
    for grip in case.of("grip_strength"):
        if _standing(case, grip) != "below_expected_range":
            continue
        powers = [fact for fact in case.facts.facts if isinstance(fact.value, Grade) and fact.side == grip.side]
        full = case.normal(*_FULL_RANGE, side=grip.side)
        stiff = any(fact.stage is Stage.MOVEMENT and fact.side == grip.side for fact in case.departures)
        if powers and full and not stiff and all(rank(fact) == FULL_POWER for fact in powers) and _painless(case, grip):
            yield Hit((grip, *powers, *full), words={"grip": opening(entry(grip, case))})


@rule(
    "expected-grip-and-weak-flexors",
    QueryClass.CONTRADICTORY,
    asks="{grip} is within the expected range, and {weak}. The finger flexors make the grip. Which one holds?",
    settle="Correct the figure or the grade.",
    source="common practice, no source",
)
def expected_grip_and_weak_flexors(case: Case) -> Iterator[Hit]:
    """Without the finger flexors there is hardly any grip."""
    for weak in graded(case, "finger_flexor_power", high=_HARDLY_FLEXES + 1 / 3):
        for grip in case.of("grip_strength", side=weak.side):
            if _standing(case, grip) in {"within_or_above", "low_end"}:
                yield Hit((grip, weak), words={"grip": opening(entry(grip, case)), "weak": entry(weak, case)})


@rule(
    "grip-of-one-hand-only",
    QueryClass.INCOMPLETE,
    asks="{grip} is recorded, and the other hand is not. What did the other hand give?",
    settle="Record the other hand, or that it was not measured.",
    source="common practice, no source",
)
def grip_of_one_hand_only(case: Case) -> Iterator[Hit]:
    """The other hand is the best norm there is."""
    grips = case.of("grip_strength")
    measured = {grip.side for grip in grips}
    for side, other in (_ONE_HAND, _ONE_HAND[::-1]):
        declared = any(
            told.item == "grip_strength" and told.side in {None, "both", other} for told in case.facts.unexamined
        )
        if side in measured and other not in measured and not declared:
            own = tuple(grip for grip in grips if grip.side == side)
            yield Hit(own, words={"grip": opening(entries(own, case))})


@rule(
    "dominant-hand-weaker",
    QueryClass.UNUSUAL,
    asks="The patient is right-handed and complains of the left hand, and the right grip is the weaker by over 20 %: "
    "{grips}. This can be right; is it, or were the sides exchanged?",
    settle="Confirm the figures, or exchange the sides.",
    source="Crosby and Wehbe 1994 (confirmed); the limit of 20 % is common practice, no source",
)
def dominant_hand_weaker(case: Case) -> Iterator[Hit]:
    """In right-handed people the right hand is usually the stronger, so a much weaker one wants a reason."""
    reason = case.encounter.reason
    if case.encounter.patient.handedness != "right" or reason is None or reason.side != "left":
        return
    right, left = (case.of("grip_strength", side=side) for side in SIDES)
    if len(right) == len(left) == 1:
        compared = between_hands(number(right[0]), number(left[0]))
        if isinstance(compared, Result) and compared.value.stronger == "left" and compared.value.above_remark_limit:
            yield Hit((*right, *left), words={"grips": entries((*right, *left), case)})


@rule(
    "expected-key-pinch-and-weak-adductor",
    QueryClass.UNUSUAL,
    asks="{pinch} is within the expected range beside {weak}. This can be right, as the long flexor of the thumb may "
    "stand in; is it?",
    settle="Confirm the entries, or correct one of them.",
    source="from memory",
)
def expected_key_pinch_and_weak_adductor(case: Case) -> Iterator[Hit]:
    """Key pinch is made by the muscles whose weakness Froment's sign shows."""
    for froment in case.abnormal("froment_sign"):
        weak = case.abnormal("first_dorsal_interosseous_power", side=froment.side)
        for pinch in case.of("key_pinch", side=froment.side) if weak else ():
            if _standing(case, pinch) == "within_or_above":
                facts = (froment, *weak)
                words = {"pinch": opening(entry(pinch, case)), "weak": entries(facts, case)}
                yield Hit((pinch, *facts), words=words)


@rule(
    "coin-picked-up-without-sensation",
    QueryClass.UNUSUAL,
    asks="{coin} is recorded beside {numb}. This can be right where sight helps; is it?",
    settle="Confirm the entries, or say whether the eyes were open.",
    source="from memory",
)
def coin_picked_up_without_sensation(case: Case) -> Iterator[Hit]:
    """A coin is picked up with the fingertips that the median nerve supplies, unless the eyes guide them."""
    for coin in case.normal("coin_pick_up"):
        for numb in case.of("median_sensation", side=coin.side):
            if numb.state == "absent":
                yield Hit((coin, numb), words={"coin": opening(entry(coin, case)), "numb": entry(numb, case)})


@rule(
    "buttons-fail-and-pinch-succeeds",
    QueryClass.UNUSUAL,
    asks="{buttons} is recorded, and {good}. Buttoning uses the same pinch. This can be right; is it?",
    settle="Confirm the entries, or add what made buttoning fail.",
    source="common practice, no source",
)
def buttons_fail_and_pinch_succeeds(case: Case) -> Iterator[Hit]:
    """Where pinch and the picking up of a coin succeed, something else than the pinch stops the buttoning."""
    for buttons in case.of("buttons"):
        coin = case.normal("coin_pick_up", side=buttons.side)
        pinches = case.of(*_PINCHES, side=buttons.side)
        good = tuple(pinch for pinch in pinches if _standing(case, pinch) == "within_or_above")
        if buttons.state == "unable" and coin and good and len(good) == len(pinches):
            facts = (*coin, *good)
            words = {"buttons": opening(entry(buttons, case)), "good": entries(facts, case)}
            yield Hit((buttons, *facts), words=words)


@rule(
    "small-writing-and-writing-not-seen",
    QueryClass.CONTRADICTORY,
    asks="Micrographia is recorded, and handwriting {other}. Which one holds?",
    settle="Correct one of the two entries.",
    source="common practice, no source",
)
def small_writing_and_writing_not_seen(case: Case) -> Iterator[Hit]:
    """Small writing is seen in writing, and writing of the usual size is not small."""
    for small in case.abnormal("micrographia"):
        usual = case.normal("handwriting")
        paths = tuple(
            f"examination.notExamined[{told.id[1:]}]" for told in case.facts.unexamined if told.item == "handwriting"
        )
        if usual or paths:
            yield Hit((small, *usual), paths, {"other": "as usual" if usual else "as not examined"})


@rule(
    "tremor-and-no-tremor",
    QueryClass.CONTRADICTORY,
    asks="{tremor} is recorded, and the text denies a tremor. Which one holds, or which kind is meant?",
    settle="Name the kind of tremor in the text, or correct the finding.",
    source="common practice, no source",
)
def tremor_and_no_tremor(case: Case) -> Iterator[Hit]:
    """A tremor of one kind may be there and of another not, so the word alone is not enough."""
    found = case.abnormal(*_TREMORS)
    if not found:
        return
    denied = [each for each in case.wording.mentions("tremor", among=OPINION) if each.said == "negated"]
    if denied and not case.named("tremor", among=OPINION):
        paths = tuple(dict.fromkeys(each.path for each in denied))
        yield Hit(found, paths, {"tremor": opening(entries(found, case))})


@rule(
    "weak-hand-without-reflexes",
    QueryClass.INCOMPLETE,
    asks="The patient was seen for a weak hand, and neither {missing} is recorded. Were they examined?",
    settle="Record them, or that they were not examined.",
    source="common practice, no source",
)
def weak_hand_without_reflexes(case: Case) -> Iterator[Hit]:
    """Reflexes and tone tell a weak hand of the arm from one of the neck or the head."""
    if case.problem != "weak_grip":
        return
    if not accounted_for(case, *_REFLEXES) and not accounted_for(case, *_TONE):
        yield Hit((), ("reason.problem",), {"missing": "a reflex nor muscle tone"})
