"""Rules about the side and the digit: what the words of the letter name against what was examined."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise

from letterkit.catalogue.model import Qualifier
from letterkit.consistency.lookups import SIDES, entries, entry, opening
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.consistency.terms import OPINION, Part, Passage, terms, words_of
from letterkit.findings.facts import Fact
from letterkit.findings.sides import Side

_OTHER: Mapping[Side, Side] = {"right": "left", "left": "right"}
PART_NAMES: Mapping[Part, str] = {
    "reason": "The reason for the visit", "presenting": "The history", "past": "The past history",
    "diagnoses": "The list of conditions", "impression": "The impression", "plan": "The plan",
    "information": "The information given",
}  # fmt: skip
# A text that denies something may well name the sound side.
DENIALS = frozenset({"no", "not", "normal", "without", "nil", "unaffected", "asymptomatic", "excluded", "resolved"})
# A text about what was, or about what may come, rests on nothing found today.
OTHER_TIMES = frozenset({"previous", "previously", "past", "old", "treated", "historic", "history", "if", "should",
                         "unless"})  # fmt: skip
_PLURAL = frozenset({"generalised", "generalized", "hands", "wrists", "thumbs", "elbows", "nodal", "multiple",
                     "polyarticular", "widespread"})  # fmt: skip
_SIDED_CONDITIONS = tuple(slug for slug, term in terms().items() if term.sided and term.kind == "condition")
OPERATIONS = tuple(slug for slug, term in terms().items() if term.kind == "operation")
_SIDED_OPERATIONS = tuple(slug for slug in OPERATIONS if terms()[slug].sided)
_COMPARED = ("watson_test", "druj_ballottement", "druj_ballottement_neutral", "druj_ballottement_pronation",
             "druj_ballottement_supination", "thumb_ucl", "thumb_ucl_extension", "thumb_ucl_flexion",
             "ulnar_fovea_sign", "tinel_elbow")  # fmt: skip
_WRITTEN = ("handwriting", "micrographia", "writing_tremor")


def _departures(case: Case, side: Side) -> tuple[Fact, ...]:
    return tuple([fact for fact in case.departures if fact.side == side])


def only_side(passage: Passage) -> Side | None:
    """The side a text is about, where it is about one."""
    sides = passage.sides
    return next(iter(sides)) if len(sides) == 1 else None


def today(passage: Passage) -> bool:
    """Whether a text asserts something about now: it denies nothing, and speaks of no other time."""
    return DENIALS.isdisjoint(passage.tokens) and OTHER_TIMES.isdisjoint(passage.tokens)


def _on_the_other_side(case: Case, named: Side | None) -> tuple[Fact, ...]:
    """The departures from normal, if every one of them is on the side opposite to the one named."""
    if named is None or _departures(case, named):
        return ()
    return _departures(case, _OTHER[named])


@rule(
    "opinion-on-the-other-side",
    QueryClass.CONTRADICTORY,
    asks="{part} names the {side} side, and everything recorded as departing from normal is on the {other}: {found}. "
    "Which side is meant?",
    settle="Correct the side of the text or of the findings.",
    source="common practice, no source",
)
def opinion_on_the_other_side(case: Case) -> Iterator[Hit]:
    """An opinion about one hand rests on what was found in that hand."""
    done = {mention.path for mention in case.wording.mentions(*OPERATIONS, among=OPINION)}
    for passage in case.wording.passages:
        if passage.part in OPINION and passage.path not in done and today(passage):
            side = only_side(passage)
            if side and (found := _on_the_other_side(case, side)):
                words = {"part": PART_NAMES[passage.part], "side": side, "other": _OTHER[side],
                         "found": entries(found, case)}  # fmt: skip
                yield Hit(found, (passage.path,), words)


@rule(
    "operation-planned-on-the-side-without-findings",
    QueryClass.URGENT,
    asks="The plan names an operation or injection on the {side}, and everything recorded as departing from normal is "
    "on the {other}: {found}. Is the side of the plan right?",
    settle="Correct the side of the plan or of the findings, and follow the local policy on marking the side.",
    source="common practice, no source",
)
def operation_planned_on_the_side_without_findings(case: Case) -> Iterator[Hit]:
    """A wrong side in the plan is the step before a wrong side in theatre."""
    seen: set[str] = set()
    for mention in case.named(*OPERATIONS, "any_operation", among=("plan",)):
        side = next(iter(mention.sides)) if len(mention.sides) == 1 else None
        found = _on_the_other_side(case, side)
        if side and found and mention.path not in seen:
            seen.add(mention.path)
            words = {"side": side, "other": _OTHER[side], "found": entries(found, case)}
            yield Hit(found, (mention.path,), words)


@rule(
    "complaint-on-the-other-side",
    QueryClass.CONTRADICTORY,
    asks="The reason for the visit names the {side} side, and everything recorded as departing from normal is on the "
    "{other}: {found}. Is one of the sides wrong, or is the other side affected too?",
    settle="Correct the side of the reason or of the findings, or add what was found on the side of the complaint.",
    source="common practice, no source",
)
def complaint_on_the_other_side(case: Case) -> Iterator[Hit]:
    """The hand that hurts is usually the hand that shows something, unless it has been treated since."""
    reason = case.encounter.reason
    if reason is None or case.problem == "postoperative_review":
        return
    told = next((one for one in case.wording.passages if one.path == "reason.text"), None)
    named: Side | None = only_side(told) if told else None
    if reason.side in SIDES:
        named = reason.side
    elif reason.side == "both":
        return
    if named and (found := _on_the_other_side(case, named)):
        words = {"side": named, "other": _OTHER[named], "found": entries(found, case)}
        yield Hit(found, ("reason.side" if reason.side else "reason.text",), words)


@rule(
    "opinion-without-a-side",
    QueryClass.INCOMPLETE,
    asks="{part} names no side. Which side is meant?",
    settle="Give the side, or write 'both'.",
    source="common practice, no source",
)
def opinion_without_a_side(case: Case) -> Iterator[Hit]:
    """A reader who has not seen the patient knows the side only from the letter."""
    reason = case.encounter.reason
    if reason and reason.side in SIDES and not _departures(case, _OTHER[reason.side]):
        return
    seen: set[str] = set()
    for mention in case.named(*_SIDED_CONDITIONS, among=OPINION):
        if mention.path not in seen and not mention.passage.sides and _PLURAL.isdisjoint(mention.passage.tokens):
            seen.add(mention.path)
            yield Hit((), (mention.path,), {"part": PART_NAMES[mention.passage.part]})


@rule(
    "operation-planned-without-a-side",
    QueryClass.INCOMPLETE,
    asks="The plan names an operation or injection without a side. Which side is meant?",
    settle="Give the side, or write 'both'.",
    source="common practice, no source",
)
def operation_planned_without_a_side(case: Case) -> Iterator[Hit]:
    """The side of an operation is written wherever the operation is."""
    seen: set[str] = set()
    for mention in case.named(*_SIDED_OPERATIONS, among=("plan",)):
        if mention.path not in seen and not mention.passage.sides:
            seen.add(mention.path)
            yield Hit((), (mention.path,), {})


@rule(
    "both-sides-and-one-side-normal",
    QueryClass.CONTRADICTORY,
    asks="{found} is recorded for both sides, and {stage} of the {side} side as normal. Which one holds?",
    settle="Correct the side of the finding, or of what is recorded as normal.",
    source="common practice, no source",
)
def both_sides_and_one_side_normal(case: Case) -> Iterator[Hit]:
    """A finding recorded for both hands includes the hand that was called normal."""
    findings = case.encounter.examination.findings
    for index, normal in enumerate(case.encounter.examination.normal):
        if normal.side not in SIDES:
            continue
        for fact in case.departures:
            both = any(findings[position].side == "both" for position in fact.findings)
            if both and fact.stage is normal.stage and fact.side == normal.side:
                words = {"found": opening(entry(fact, case)), "stage": normal.stage.value.replace("_", " "),
                         "side": normal.side}  # fmt: skip
                yield Hit((fact,), (f"examination.normal[{index}]",), words)


@rule(
    "comparison-test-on-one-side",
    QueryClass.INCOMPLETE,
    asks="{what} is recorded and the other side is not. This test is read against the other side; what did it show?",
    settle="Record the other side, or that it was not examined.",
    source="Tay and Berger 2007 (confirmed); Thumb MCP ulnar collateral ligament injuries, JAAOS 1997 (confirmed)",
)
def comparison_test_on_one_side(case: Case) -> Iterator[Hit]:
    """Many sound wrists and thumbs are lax, and many sound nerves tingle: only the difference tells."""
    for fact in case.abnormal(*_COMPARED):
        other = _OTHER[fact.side] if fact.side else None
        covered = {None, "both", other}
        declared = any(
            told.side in covered and (told.item == fact.item or (told.item is None and told.stage is fact.stage))
            for told in case.facts.unexamined
        ) or any(told.stage is fact.stage and told.side in covered for told in case.facts.normal)
        if other and not declared and not case.of(fact.item, side=other):
            yield Hit((fact,), words={"what": opening(entry(fact, case))})


@rule(
    "writing-with-the-other-hand",
    QueryClass.UNUSUAL,
    asks="The patient is recorded as {dominant}-handed, and writing as done with the {other} hand. This can be right; "
    "is it?",
    settle="Confirm the hand that wrote, or correct the dominant hand.",
    source="common practice, no source",
)
def writing_with_the_other_hand(case: Case) -> Iterator[Hit]:
    """Writing tells about the hand that usually writes."""
    dominant = case.encounter.patient.handedness
    if dominant not in {"right", "left"}:
        return
    other = "left" if dominant == "right" else "right"
    for fact in case.of(*_WRITTEN):
        told = words_of(f"{fact.note or ''} {fact.qualifier(Qualifier.DESCRIPTION) or ''}")
        if dominant not in told and (other, "hand") in pairwise(told):
            yield Hit((fact,), words={"dominant": dominant, "other": other})


@rule(
    "dominant-hand-differs",
    QueryClass.CONTRADICTORY,
    asks="The patient is recorded as {dominant}-handed, and {part} says {other}-handed. Which one holds?",
    settle="Correct the dominant hand or the text.",
    source="common practice, no source",
)
def dominant_hand_differs(case: Case) -> Iterator[Hit]:
    """Grip, pinch and writing are read by which hand is dominant."""
    dominant = case.encounter.patient.handedness
    if dominant not in {"right", "left"}:
        return
    other = "left" if dominant == "right" else "right"
    for mention in case.named(f"{other}_handed"):
        part = PART_NAMES[mention.passage.part]
        words = {"dominant": dominant, "other": other, "part": part[:1].lower() + part[1:]}
        yield Hit((), ("patient.handedness", mention.path), words)
