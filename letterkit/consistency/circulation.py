"""Rules about the circulation: pulses, colour, warmth and refill that do not fit each other."""

from __future__ import annotations

from collections.abc import Iterator

from letterkit.catalogue.model import Polarity, Qualifier
from letterkit.consistency.lookups import SIDES, entries, entry, number, on_digit, opening
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.consistency.terms import OPINION, words_of
from letterkit.findings.facts import Fact
from letterkit.measures.refill import capillary_refill
from letterkit.measures.result import Result

_PULSES = ("radial_pulse", "ulnar_pulse", "brachial_pulse", "digital_pulse", "doppler_signal")
_ARTERIES = ("radial_pulse", "ulnar_pulse", "brachial_pulse")
_REFILL = ("capillary_refill", "capillary_refill_time")
_COLOURS = ("fingertip_colour", "skin_colour")
_FLOW = ("perfusion", *_REFILL, *_COLOURS, "skin_temperature")
_COLD = frozenset({"cold"})
_PALE_OR_BLUE = frozenset({"pale", "white", "blue", "dusky"})
_CONGESTED = frozenset({"blue", "congested", "purple", "dusky"})
_FRESH_WOUNDS = ("wound", "laceration", "puncture_wound", "avulsion_wound", "degloving", "acute_amputation",
                 "fingertip_injury", "bite_wound", "fight_bite", "exposed_bone")  # fmt: skip
_FLAPS = ("groin_flap", "cross_finger_flap_scar", "moberg_flap_scar", "v_y_flap_scar", "homodigital_flap_scar")
_INJURY_PROBLEMS = frozenset({"hand_injury", "tendon_cut"})
_ALLEN = ("allen_radial_flush", "allen_ulnar_flush", "allen_radial_flush_time", "allen_ulnar_flush_time")
_WRIST_POSITION = frozenset({"flexed", "flexion", "neutral"})
_WRIST_EXTENDED = frozenset({"extended", "extension", "hyperextended", "hyperextension", "dorsiflexed"})
_QUICK_S = 2.0


def _flow(case: Case, fact: Fact) -> tuple[Fact, ...]:
    return case.of(*_FLOW, side=fact.side)


@rule(
    "absent-pulse-and-good-flow",
    QueryClass.UNUSUAL,
    asks="{pulse} is recorded, and the hand as well supplied: {flow}. This can be right; is it?",
    settle="Confirm the pulse, or note why it is not felt.",
    source="from memory",
)
def absent_pulse_and_good_flow(case: Case) -> Iterator[Hit]:
    """A hand can live on one artery, and a pulse may be missed, absent from birth, taken or under a cuff."""
    for pulse in case.of("radial_pulse"):
        if pulse.state != "absent" or case.abnormal("radial_artery_harvest_scar", side=pulse.side):
            continue
        flow = _flow(case, pulse)
        if flow and all(fact.polarity is Polarity.NORMAL for fact in flow):
            yield Hit((pulse, *flow), words={"pulse": opening(entry(pulse, case)), "flow": entries(flow, case)})


@rule(
    "absent-pulse-in-an-injured-hand",
    QueryClass.URGENT,
    asks="{pulse} is recorded in an injured hand. Does the plan cover this, as local policy has it?",
    settle="Confirm the pulse and that the plan covers it, or correct the pulse or side.",
    source="BSSH standards of care for open hand fractures, draft (confirmed)",
)
def absent_pulse_in_an_injured_hand(case: Case) -> Iterator[Hit]:
    """A pulse that is missing beside a fresh injury is read again before the letter goes."""
    for pulse in case.of(*_PULSES):
        if pulse.state != "absent":
            continue
        wounds = case.abnormal(*_FRESH_WOUNDS, side=pulse.side)
        reason = case.encounter.reason
        told = case.problem in _INJURY_PROBLEMS and reason is not None and reason.side in {None, "both", pulse.side}
        if wounds or told:
            paths = ("reason.problem",) if told else ()
            yield Hit((pulse, *wounds), paths, {"pulse": opening(entry(pulse, case))})


def _quick(fact: Fact) -> bool:
    """Whether refill was recorded as normal, in words or in seconds."""
    if fact.item == "capillary_refill":
        return fact.state == "normal"
    seconds = number(fact)
    return seconds is not None and 0 < seconds <= _QUICK_S


def _discoloured(case: Case) -> tuple[Fact, ...]:
    return (
        *(fact for fact in case.of("skin_temperature") if fact.state in _COLD),
        *(fact for fact in case.of(*_COLOURS) if fact.state in _PALE_OR_BLUE),
    )


@rule(
    "cold-or-pale-digit-and-normal-refill",
    QueryClass.CONTRADICTORY,
    asks="{poor} is recorded beside {refill}. Colour, warmth and refill usually agree. Which one holds?",
    settle="Correct one of the entries, or note what explains both.",
    source="common practice, no source",
)
def cold_or_pale_digit_and_normal_refill(case: Case) -> Iterator[Hit]:
    """A digit that is cold, pale or blue seldom refills as a healthy one does."""
    for poor in _discoloured(case):
        digit = case.digit(poor)
        refills = tuple(fact for fact in case.of(*_REFILL, side=poor.side) if _quick(fact))
        same = on_digit(case, refills, digit) if digit else tuple(f for f in refills if f.site == poor.site)
        if same:
            words = {"poor": opening(entry(poor, case)), "refill": entries(same, case)}
            yield Hit((poor, *same), words=words)


@rule(
    "blue-digit-and-brisk-refill",
    QueryClass.URGENT,
    asks="{blue} is recorded beside {refill} after an injury or operation. Does the plan cover this, as local policy "
    "has it?",
    settle="Confirm the entries and that the plan covers them, or correct them.",
    source="from memory",
)
def blue_digit_and_brisk_refill(case: Case) -> Iterator[Hit]:
    """A blue digit that refills fast after an operation or injury is read again before the letter goes."""
    for refill in case.of("capillary_refill"):
        digit = case.digit(refill)
        if refill.state != "brisk" or digit is None:
            continue
        blue = on_digit(case, (f for f in case.of(*_COLOURS, side=refill.side) if f.state in _CONGESTED), digit)
        turgor = on_digit(case, case.of("pulp_turgor", side=refill.side), digit)
        slack = any(fact.state != "tense" for fact in turgor)
        if blue and not slack and _operated_or_injured(case, refill, digit):
            facts = (*blue, *turgor)
            words = {"blue": opening(entries(facts, case)), "refill": entry(refill, case)}
            yield Hit((*facts, refill), words=words)


def _operated_or_injured(case: Case, fact: Fact, digit: str) -> bool:
    if case.problem in {*_INJURY_PROBLEMS, "postoperative_review"} or case.named("replantation"):
        return True
    return bool(on_digit(case, case.abnormal(*_FRESH_WOUNDS, *_FLAPS, side=fact.side), digit))


@rule(
    "positive-allen-without-artery",
    QueryClass.INCOMPLETE,
    asks="Allen's test is called positive or negative, and the two words are used in opposite ways. Which artery was "
    "released, on which side, and after how many seconds did the palm flush?",
    settle="Give the artery, the side and the seconds.",
    source="common practice, no source",
)
def positive_allen_without_artery(case: Case) -> Iterator[Hit]:
    """To some a positive test is a good flush, to others a missing one."""
    for mention in case.wording.mentions("allen_word"):
        yield Hit((), (mention.path,), {})


@rule(
    "slow-flush-without-wrist-position",
    QueryClass.INCOMPLETE,
    asks="{flush} is recorded{how}. An extended wrist slows the flush by itself; how was the wrist held?",
    settle="Add the position of the wrist, or record the flush as not tested.",
    source="study of false positive Allen tests from wrist hyperextension (confirmed)",
)
def slow_flush_without_wrist_position(case: Case) -> Iterator[Hit]:
    """An Allen test with the wrist extended over 20 degrees looks abnormal in healthy hands."""
    for flush in case.abnormal(*_ALLEN):
        told = set(words_of(f"{flush.note or ''} {flush.qualifier(Qualifier.DESCRIPTION) or ''}"))
        if told & _WRIST_EXTENDED:
            yield Hit((flush,), words={"flush": opening(entry(flush, case)), "how": " with the wrist extended"})
        elif not told & _WRIST_POSITION:
            words = {"flush": opening(entry(flush, case)), "how": " without the position of the wrist"}
            yield Hit((flush,), words=words)


@rule(
    "painful-tense-compartment-and-pulses",
    QueryClass.URGENT,
    asks="{signs} is recorded beside {pulses}. A pulse that is felt does not settle it. Does the plan cover this, as "
    "local policy has it?",
    settle="Say in the plan how this is covered, or correct the entries.",
    source="BOAST compartment syndrome of the limbs, 2014 (confirmed)",
)
def painful_tense_compartment_and_pulses(case: Case) -> Iterator[Hit]:
    """In a limb under pressure the pulses are normally felt, so they must not be read as reassuring."""
    if case.mentioned("compartment", among=(*OPINION, "plan")):
        return
    for side in SIDES:
        tense = tuple(fact for fact in case.of("compartment_tension", side=side) if fact.state == "tense")
        signs = (*tense, *case.abnormal("passive_stretch_pain", "pain_out_of_proportion", side=side))
        pulses = case.normal(*_ARTERIES, side=side)
        strong = bool(tense) or len({fact.item for fact in signs}) > 1
        if strong and pulses:
            words = {"signs": opening(entries(signs, case)), "pulses": entries(pulses, case)}
            yield Hit((*signs, *pulses), words=words)


@rule(
    "slow-refill-within-the-limit-for-the-person",
    QueryClass.UNUSUAL,
    asks="{refill} is told as slow. It lies within the published upper limit of {limit} seconds for age and sex, and "
    "nothing else of the circulation departs from normal. Is it meant as slow?",
    settle="Confirm that it is meant as slow, or record refill as normal.",
    source="Schriger and Baraff 1988 (confirmed)",
)
def slow_refill_within_the_limit_for_the_person(case: Case) -> Iterator[Hit]:
    """The common limit of two seconds is that of the young; older people and women lie above it in health."""
    for refill in case.abnormal("capillary_refill_time"):
        seconds = number(refill)
        others = case.abnormal(*_FLOW, *_PULSES, side=refill.side)
        if any(fact.item != "capillary_refill_time" for fact in others):
            continue
        found = capillary_refill(seconds, age_years=case.age_years, sex=case.encounter.patient.gender)
        if isinstance(found, Result) and found.value.over_convention and not found.value.over_upper_limit:
            words = {"refill": opening(entry(refill, case)), "limit": f"{found.value.upper_limit_s:g}"}
            yield Hit((refill,), words=words)
