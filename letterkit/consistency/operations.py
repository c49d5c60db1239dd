"""Rules about scars and operations: what the history says was done against what the hand shows."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import resources

from letterkit.catalogue.model import Stage
from letterkit.consistency.lookups import accounted_for, entries, entry, listed, opening
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.consistency.terms import HISTORY, OPINION, Mention, Part, terms
from letterkit.findings.facts import Fact
from letterkit.findings.sides import Side


@dataclass(frozen=True, slots=True)
class Operation:
    """An operation by its term, the scars named after it, and where a scar of it may lie."""

    term: str
    scars: tuple[str, ...]
    sites: frozenset[str]
    by_digit: bool
    confused: tuple[str, ...]


def _load() -> tuple[Operation, ...]:
    source = resources.files("letterkit.consistency").joinpath("data", "operations.toml").read_text(encoding="utf-8")
    return tuple(
        Operation(
            row["term"], tuple(row["scars"]), frozenset(row["sites"]), row.get("by_digit", False),
            tuple(row.get("confused", ())),
        )
        for row in tomllib.loads(source)["operation"]
    )  # fmt: skip


OPERATIONS = _load()
_NAMED = {operation.term: operation for operation in OPERATIONS}
_SCARS = tuple(dict.fromkeys(scar for operation in OPERATIONS for scar in operation.scars))
_BY_SCAR = {scar: tuple(each.term for each in OPERATIONS if scar in each.scars) for scar in _SCARS}
_TERMS = tuple(slug for slug, term in terms().items() if term.kind == "operation")
_PLAIN_SCARS = ("surgical_scar", "scar")
_DONE: tuple[Part, ...] = ("past", "presenting")
_TRIGGERS = ("triggering", "locking", "catching")
_WOUND = ("wound", "wound_state", "sutures", *_PLAIN_SCARS, *_SCARS, "hypertrophic_scar", "keloid_scar",
          "adherent_scar", "scar_tenderness", "pillar_pain", "wound_discharge")  # fmt: skip
_SENSATION = ("median_sensation", "ulnar_sensation", "radial_sensation", "dorsal_ulnar_sensation", "light_touch",
              "palmar_cutaneous_sensation", "digital_nerve_sensation", "static_two_point_discrimination",
              "moving_two_point_discrimination", "two_point_stimulus", "monofilament", "pinprick_sensation",
              "dermatome_sensation", "medial_forearm_sensation", "lateral_forearm_sensation")  # fmt: skip


def _side(mention: Mention) -> Side | None:
    return next(iter(mention.sides)) if len(mention.sides) == 1 else None


def _done(case: Case) -> tuple[tuple[Operation, Mention, Side], ...]:
    """The operations the history names, each with its side; one named for both sides or for none is left out."""
    named = case.named(*_NAMED, among=_DONE) if case.encounter.history else ()
    return tuple((_NAMED[mention.term], mention, side) for mention in named if (side := _side(mention)))


def _other(side: Side) -> Side:
    return "left" if side == "right" else "right"


def _row(case: Case, fact: Fact) -> str | None:
    site = case.catalogue.sites[fact.site] if fact.site else None
    return (site.row or site.slug) if site else None


@rule(
    "scar-without-an-operation",
    QueryClass.INCOMPLETE,
    asks="{scar} is recorded, and the history names no such operation. When was it done, and what for?",
    settle="Add the operation to the history, or record the scar without naming an operation.",
    source="common practice, no source",
)
def scar_without_an_operation(case: Case) -> Iterator[Hit]:
    """A second operation in the same place is another operation, so a reader looks for the first."""
    scars = case.abnormal(*_SCARS)
    if not scars or case.mentioned("any_operation", among=HISTORY):
        return
    for scar in scars:
        if not case.mentioned(*_BY_SCAR[scar.item], among=(*HISTORY, *OPINION)):
            yield Hit((scar,), words={"scar": opening(entry(scar, case))})


@rule(
    "operation-without-a-scar",
    QueryClass.UNUSUAL,
    asks="The history names an operation on the {side}, and {absent} is recorded. Scars fade; is the side right?",
    settle="Confirm that no scar is to be seen, or correct the side or the operation.",
    source="common practice, no source",
)
def operation_without_a_scar(case: Case) -> Iterator[Hit]:
    """An open operation leaves a scar, if a faint one; none at all may mean the other side."""
    for operation, mention, side in case.once(_done):
        if case.mentioned("endoscopic") or case.abnormal(*operation.scars, *_PLAIN_SCARS, side=side):
            continue
        absent = case.normal(*operation.scars, side=side)
        absent += tuple(
            fact for fact in case.normal(*_PLAIN_SCARS, side=side) if _row(case, fact) in {*operation.sites, "hand"}
        )
        if absent:
            yield Hit(absent, (mention.path,), {"side": side, "absent": entries(absent, case)})


@rule(
    "scar-on-the-other-side",
    QueryClass.CONTRADICTORY,
    asks="The history names an operation on the {side}, and {scar} is recorded. Which side is right?",
    settle="Correct the side of the history or of the scar, or add the operation of the other side.",
    source="common practice, no source",
)
def scar_on_the_other_side(case: Case) -> Iterator[Hit]:
    """A scar lies on the side that was operated on."""
    for operation, mention, side in case.once(_done):
        told = {one for each in case.named(operation.term, among=_DONE) for one in each.sides}
        scars = case.abnormal(*operation.scars, side=_other(side))
        if scars and _other(side) not in told and not case.abnormal(*operation.scars, side=side):
            yield Hit(scars, (mention.path,), {"side": side, "scar": entries(scars, case)})


def _misfits(case: Case, operation: Operation, mention: Mention, side: Side) -> tuple[Fact, ...]:
    """Surgical scars on the side of an operation, if none of them can be its scar."""
    own = case.abnormal(*operation.scars, side=side)
    if own:
        named = mention.digits
        here = {case.digit(fact) for fact in own}
        if operation.by_digit and named and None not in here and not here & named:
            return own
        return ()
    plain = case.abnormal("surgical_scar", side=side)
    if any(_row(case, fact) in operation.sites for fact in plain):
        return ()
    return (*case.abnormal(*operation.confused, side=side), *plain) if operation.confused or plain else ()


@rule(
    "scar-does-not-fit-the-operation",
    QueryClass.CONTRADICTORY,
    asks="The history names an operation on the {side} to which this does not fit: {scars}. Is it the scar of another "
    "operation, or is one of the places wrong?",
    settle="Correct the place of the scar or the operation, or add the other operation to the history.",
    source="common practice, no source",
)
def scar_does_not_fit_the_operation(case: Case) -> Iterator[Hit]:
    """Each operation has its own access, and a scar elsewhere belongs to something else."""
    for operation, mention, side in case.once(_done):
        others = [each for each in case.named(*_TERMS, "any_operation", among=_DONE)
                  if each.term != operation.term and each.path != mention.path]  # fmt: skip
        if any(each.sides != {_other(side)} for each in others):
            continue
        if scars := _misfits(case, operation, mention, side):
            yield Hit(scars, (mention.path,), {"side": side, "scars": entries(scars, case)})


@rule(
    "radial-artery-harvest-and-pulse",
    QueryClass.CONTRADICTORY,
    asks="{scar} is recorded beside {pulse}. The artery was taken from there; is the side, or the pulse, right?",
    settle="Correct the side or the pulse, or note that flow from the palm is felt.",
    source="from memory",
)
def radial_artery_harvest_and_pulse(case: Case) -> Iterator[Hit]:
    """Where the radial artery was removed its pulse is not felt at the wrist, save by flow from the palm."""
    for scar in case.abnormal("radial_artery_harvest_scar"):
        for pulse in case.normal("radial_pulse", side=scar.side):
            yield Hit((scar, pulse), words={"scar": opening(entry(scar, case)), "pulse": entry(pulse, case)})


@rule(
    "review-after-operation-lacks-a-part",
    QueryClass.INCOMPLETE,
    asks="This is a review after an operation, and nothing is recorded of {missing}. Were they examined?",
    settle="Record them, or that they were not examined.",
    source="common practice, no source",
)
def review_after_operation_lacks_a_part(case: Case) -> Iterator[Hit]:
    """A review after an operation is there for the wound, the sensation and the movement."""
    if case.problem != "postoperative_review":
        return
    moved = any(fact.stage is Stage.MOVEMENT for fact in case.facts.facts) or accounted_for(case, "composite_fist")
    seen = {
        "the wound": accounted_for(case, *_WOUND),
        "sensation": accounted_for(case, *_SENSATION),
        "movement": moved,
    }
    missing = [part for part, found in seen.items() if not found]
    if missing:
        yield Hit((), ("reason.problem",), {"missing": listed(missing)})


@rule(
    "grind-test-after-trapeziectomy",
    QueryClass.UNUSUAL,
    asks="{grind} is recorded, and the trapezium as removed on that side. This can be right; was another joint or side "
    "meant?",
    settle="Confirm the test and say what hurt, or correct the side.",
    source="common practice, no source",
)
def grind_test_after_trapeziectomy(case: Case) -> Iterator[Hit]:
    """The joint that the test loads is no longer there, so the pain comes from beside it or from the other side."""
    for grind in case.abnormal("thumb_base_grind_test"):
        scars = case.abnormal("trapeziectomy_scar", side=grind.side)
        paths = tuple(each.path for each in case.named("trapeziectomy", among=_DONE) if each.sides == {grind.side})
        if scars or paths:
            yield Hit((grind, *scars), paths, {"grind": opening(entry(grind, case))})


@rule(
    "triggering-after-release",
    QueryClass.UNUSUAL,
    asks="{trigger} is recorded in a digit that was released. This can be right; is it, and since when?",
    settle="Confirm it and say since when, or correct the digit or side.",
    source="common practice, no source",
)
def triggering_after_release(case: Case) -> Iterator[Hit]:
    """A digit that still catches after its release was released in part, catches elsewhere, or is another digit."""
    for trigger in case.abnormal(*_TRIGGERS):
        digit = case.digit(trigger)
        scars = tuple(
            scar
            for scar in case.abnormal("trigger_release_scar", "percutaneous_trigger_scar", side=trigger.side)
            if case.digit(scar) == digit
        )
        paths = tuple(
            each.path
            for each in case.named("trigger_release", among=_DONE)
            if each.sides == {trigger.side} and each.digits == {digit}
        )
        if scars or paths:
            yield Hit((trigger, *scars), paths, {"trigger": opening(entry(trigger, case))})


@rule(
    "sensation-soon-after-a-block",
    QueryClass.INCOMPLETE,
    asks="Sensation or power is recorded as normal, and the history names a local anaesthetic or a tourniquet of the "
    "same day: {normal}. Was it tested before that, or after it had worn off?",
    settle="Say when it was tested, or record it as not examined.",
    source="common practice, no source",
)
def sensation_soon_after_a_block(case: Case) -> Iterator[Hit]:
    """Under a block or just after a tourniquet neither sensation nor power can be tested."""
    told = [
        block
        for block in case.named("local_block", among=("presenting", "reason"))
        if any(each.path == block.path for each in case.named("within_hours", among=("presenting", "reason")))
    ]
    normal = case.normal(*_SENSATION, "hand_power") if told else ()
    if normal:
        yield Hit(normal, tuple(dict.fromkeys(each.path for each in told)), {"normal": entries(normal, case)})


@rule(
    "numb-side-after-fasciectomy",
    QueryClass.UNUSUAL,
    asks="{numb} is recorded in a digit with a fasciectomy, and no earlier record of it. This can be right; is it new?",
    settle="Confirm it and say since when, or correct the digit or side.",
    source="common practice, no source",
)
def numb_side_after_fasciectomy(case: Case) -> Iterator[Hit]:
    """The digital nerves lie in the field of the operation, so a reader asks whether the loss was there before."""
    for numb in case.abnormal("digital_nerve_sensation"):
        digit = case.digit(numb)
        before = any((each.item, each.side, each.site) == (numb.item, numb.side, numb.site)
                     and each.state == numb.state for each in case.facts.earlier)  # fmt: skip
        scars = tuple(
            scar for scar in case.abnormal("dupuytren_fasciectomy_scar", side=numb.side) if case.digit(scar) == digit
        )
        paths = tuple(each.path for each in case.named("fasciectomy", among=_DONE)
                      if each.sides == {numb.side} and digit in each.digits)  # fmt: skip
        if (scars or paths) and not before:
            yield Hit((numb, *scars), paths, {"numb": opening(entry(numb, case))})
