"""Rules about wrist and thumb: snuffbox, first compartment, scaphoid shift, thumb ligament and forearm rotation."""

from __future__ import annotations

from collections.abc import Iterator

from letterkit.catalogue.model import Qualifier
from letterkit.consistency.claims import claims, named_sides, quoted
from letterkit.consistency.lookups import SIDES, entries, entry, number, opening, recorded
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.consistency.terms import HISTORY, OPINION
from letterkit.findings.facts import Fact
from letterkit.findings.sides import Side
from letterkit.measures.thumb_ulnar_ligament import MORE_THAN_OTHER_DEG, NORMAL_DIFFERENCE_DEG

_LIGAMENT = ("thumb_ucl", "thumb_ucl_extension", "thumb_ucl_flexion")
_FIRM = frozenset({"firm_endpoint", "lax_firm_endpoint"})
_DRUJ = (
    "druj_ballottement", "druj_ballottement_neutral", "druj_ballottement_pronation", "druj_ballottement_supination",
)  # fmt: skip
_BLOCKED_DEG = 20.0
_PAINLESS = ("painless", "no pain", "pain free", "pain-free", "without pain")


def _opening_deg(fact: Fact) -> float | None:
    angle = fact.qualifier(Qualifier.ANGLE)
    return float(angle) if isinstance(angle, (int, float)) else None


def _difference(case: Case, fact: Fact) -> float | None:
    """How many degrees more the ligament opens than that of the other thumb, or None where either is missing."""
    other: Side = "left" if fact.side == "right" else "right"
    mine = _opening_deg(fact)
    angles = [angle for one in case.of(fact.item, side=other) if (angle := _opening_deg(one)) is not None]
    return mine - max(angles) if mine is not None and angles else None


@rule(
    "snuffbox-tender-called-sprain",
    QueryClass.URGENT,
    asks="{tender} is recorded, {named}, and the scaphoid is named neither there nor in the plan. Does the plan cover "
    "this, under local policy?",
    settle="Confirm the tenderness, and read the wording and the plan again with it in mind.",
    source="occult fracture in 7.3 % of suspected ones, EMJ 2022;39:A984 (confirmed)",
)
def snuffbox_tender_called_sprain(case: Case) -> Iterator[Hit]:
    """A tender snuffbox after a fall, called a sprain, is read again even with a normal radiograph."""
    if case.mentioned("scaphoid", "scaphoid_injury", among=(*OPINION, "plan")):
        return
    fell = case.problem == "hand_injury" or case.named("fall", among=HISTORY)
    for mention, side in named_sides(case, "sprain"):
        tender = case.abnormal("snuffbox_tenderness", side=side)
        if tender and fell:
            said = quoted(mention)
            words = {"tender": opening(entries(tender, case)), "named": said[0].lower() + said[1:]}
            yield Hit(tender, (mention.path,), words)


@rule(
    "two-thumb-side-tests-positive",
    QueryClass.UNUSUAL,
    asks="{first} and {second} are both recorded. One pain can make both positive, so this is often right; is it?",
    settle="Confirm both, or say at which place each of them hurt.",
    source="Finkelstein's and Eichhoff's tests, J Hand Microsurg 2018 (confirmed)",
)
def two_thumb_side_tests_positive(case: Case) -> Iterator[Hit]:
    """The pull on the first compartment also moves a sore thumb base, and the grind a sore compartment."""
    for first in case.abnormal("finkelstein_test", "eichhoff_test"):
        for second in case.abnormal("thumb_base_grind_test", side=first.side):
            yield Hit((first, second), words={"first": opening(entry(first, case)), "second": entry(second, case)})


@rule(
    "painless-shift-on-both-sides",
    QueryClass.UNUSUAL,
    asks="{tests}, without pain. A third of healthy wrists do the same, so this is usually right; is it?",
    settle="Confirm the result, or say what was felt on each side.",
    source="Easterling and Wolfe 1994 (confirmed)",
)
def painless_shift_on_both_sides(case: Case) -> Iterator[Hit]:
    """A scaphoid that shifts on both sides without pain is found in 32 % of healthy people."""
    tests = case.abnormal("watson_test")
    if {fact.side for fact in tests} != set(SIDES):
        return
    told = [f"{fact.qualifier(Qualifier.DESCRIPTION) or ''} {fact.note or ''}".casefold() for fact in tests]
    if all(any(word in text for word in _PAINLESS) for text in told):
        yield Hit(tests, words={"tests": recorded(tests, case)})


@rule(
    "scapholunate-named-on-one-test",
    QueryClass.INCOMPLETE,
    asks="{named}, and {test} is recorded; neither grip strength nor a radiograph is. A reader may look for both.",
    settle="Record the grip and what was seen on imaging, or say that there is neither.",
    source="Prosser 2011, J Physiother (confirmed)",
)
def scapholunate_named_on_one_test(case: Case) -> Iterator[Hit]:
    """The shift test is common in healthy wrists; other evidence belongs beside it."""
    for mention, side in named_sides(case, "scapholunate"):
        tests = case.abnormal("watson_test", side=side)
        unseen = not case.mentioned("imaging", "normal_radiograph") and not case.recorded("grip_strength")
        if tests and unseen and not any(fact.item == "grip_strength" for fact in case.facts.unexamined):
            yield Hit(tests, (mention.path,), {"named": quoted(mention), "test": entries(tests, case)})


@rule(
    "complete-tear-beside-firm-endpoint",
    QueryClass.CONTRADICTORY,
    asks="{named}. Beside it stands {firm}, less than {limit} degrees more than the other side. Are both as intended?",
    settle="Correct the wording, the end point or the angle.",
    source="JAAOS 1997;5:224-9 (confirmed)",
)
def complete_tear_beside_firm_endpoint(case: Case) -> Iterator[Hit]:
    """A firm end point and a small difference from the other thumb do not go with a complete tear."""
    whole = {one.path for one in claims(case, "complete_tear")}
    for mention, side in named_sides(case, "thumb_ulnar_ligament"):
        if mention.path not in whole:
            continue
        for firm in case.of(*_LIGAMENT, side=side):
            difference = _difference(case, firm)
            if firm.state in _FIRM and difference is not None and difference < MORE_THAN_OTHER_DEG:
                words = {"named": quoted(mention), "firm": entry(firm, case), "limit": f"{MORE_THAN_OTHER_DEG:g}"}
                yield Hit((firm,), (mention.path,), words)


@rule(
    "lax-ligament-not-tender",
    QueryClass.UNUSUAL,
    asks="{lax} is recorded, {more} degrees more than on the other side, and the ligament as not tender. A third of "
    "healthy people differ as much; is it as intended?",
    settle="Confirm the angles, or correct the side or the tenderness.",
    source="J Hand Surg Eur 2009, 200 normal thumbs (confirmed)",
)
def lax_ligament_not_tender(case: Case) -> Iterator[Hit]:
    """A difference of 10 degrees or more between the thumbs is found in 34 % of healthy people."""
    for lax in case.of(*_LIGAMENT):
        difference = _difference(case, lax)
        if difference is None or difference < NORMAL_DIFFERENCE_DEG:
            continue
        calm = case.normal("ulnar_collateral_tenderness", side=lax.side, site="mcp_thumb")
        if calm:
            words = {"lax": opening(entry(lax, case)), "more": f"{difference:g}"}
            yield Hit((lax, *calm), words=words)


@rule(
    "rotation-blocked-beside-normal-joint",
    QueryClass.UNUSUAL,
    asks="{blocked} beside {stable}. Rotation can be held elsewhere in the forearm; are both as intended?",
    settle="Confirm both, or correct the rotation or the joint.",
    source="common practice, no source",
)
def rotation_blocked_beside_normal_joint(case: Case) -> Iterator[Hit]:
    """When the joint at the wrist is normal, lost rotation has its cause at the elbow or in the bones between."""
    for side in SIDES:
        blocked = [
            fact for fact in case.of("pronation", "supination", side=side) if (number(fact) or 99) <= _BLOCKED_DEG
        ]
        blocked += [f for f in case.of("pronation_range", "supination_range", side=side) if f.state == "absent"]
        stable = case.normal(*_DRUJ, side=side)
        if blocked and stable and not case.abnormal(*_DRUJ, "druj_tenderness", side=side):
            words = {"blocked": recorded(blocked, case), "stable": entries(stable, case)}
            yield Hit((*blocked, *stable), words=words)
