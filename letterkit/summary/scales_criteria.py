"""Scales over many entries: joint counts, CTS-6, and the hand's part of two sets of classification criteria.

A count stands only where every joint it needs was recorded, or where more entries could not change what depends on it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from letterkit.consistency.rule import Case
from letterkit.findings.facts import Fact
from letterkit.findings.sides import Side, each
from letterkit.findings.values import Grade, Quantity
from letterkit.measures import classification, cts6
from letterkit.measures.joint_counts import DIP, LISTS, MCP, Joint, joint_count
from letterkit.measures.result import NotComputable, Range
from letterkit.summary.statement import PlaceRef, Score
from letterkit.summary.working import NOWHERE, SIDES, ids, whether

_ENLARGED = ("bony_swelling", "heberdens_nodes", "bouchards_nodes")
_DEFORMED = ("deformity", "joint_dislocation")
# Deformities named by the digit, and the joints they bend.
_OF_DIGIT = {"swan_neck": ("pip", "dip"), "boutonniere": ("pip", "dip"), "mallet_deformity": ("dip",)}
_MEDIAN_PULPS = ("pulp_thumb", "pulp_index", "pulp_middle")
_POWER_AT_MOST = 4.0


@dataclass(frozen=True, slots=True)
class _Count:
    """The joints of a list at which something was found, those nothing was recorded of, and the facts."""

    found: tuple[PlaceRef, ...]
    unrecorded: tuple[PlaceRef, ...]
    facts: tuple[Fact, ...]

    def settled(self, least: int) -> int | None:
        """How many, where every joint was recorded or enough were found to reach `least`; else None."""
        return len(self.found) if not self.unrecorded or len(self.found) >= least else None


def _state(facts: Iterable[Fact]) -> bool | None:
    """Present if any says so, absent if all do; None for no entry or a doubtful one."""
    states = {fact.state for fact in facts}
    if "present" in states:
        return True
    return False if states == {"absent"} else None


def _count(case: Case, items: tuple[str, ...], joints: Iterable[str]) -> _Count:
    found: list[PlaceRef] = []
    unrecorded: list[PlaceRef] = []
    facts: list[Fact] = []
    for side in SIDES:
        for joint in joints:
            here = case.of(*items, side=side, site=joint)
            state = _state(here)
            facts += here
            if state is None:
                unrecorded.append(PlaceRef(joint, side))
            elif state:
                found.append(PlaceRef(joint, side))
    return _Count(tuple(found), tuple(unrecorded), tuple(facts))


def joint_counts(case: Case) -> Iterator[Score]:
    """Tender joints and joints with synovitis among the 22 hand joints of the 28."""
    joints = LISTS["hand_of_28"]
    for name, item in (("tender joints", "joint_tenderness"), ("joints with synovitis", "synovitis")):
        count = _count(case, (item,), joints)
        given = [Joint(place.site, place.side) for place in count.found if place.site and place.side]
        outcome = replace(joint_count(given, "hand_of_28"), instrument=f"{name}, hand joints of the 28")
        if count.unrecorded:
            possible = Range(len(count.found), len(count.found) + len(count.unrecorded))
            missing = NotComputable(outcome.instrument, (), outcome.source, possible=possible)
            yield Score("joint_counts", NOWHERE, missing, ids(count.facts), count.found, count.unrecorded)
        else:
            yield Score("joint_counts", NOWHERE, outcome, ids(count.facts), count.found)


def _told(case: Case, name: str, side: Side | None) -> bool | None:
    """Whether the patient tells of a symptom, on one side or at all; None where it was not recorded or disagrees."""
    history = case.encounter.history
    symptoms = [each_ for each_ in history.symptoms if each_.name == name] if history is not None else []
    said = {(one, symptom.present) for symptom in symptoms for one in each(symptom.side)}
    if side is not None:
        answers = {present for one, present in said if one == side}
        return answers.pop() if len(answers) == 1 else None
    if any(present for _, present in said):
        return True
    return False if {one for one, _ in said} == set(SIDES) else None


def _thenar(case: Case, side: Side) -> tuple[bool | None, tuple[Fact, ...]]:
    """Bulk lost or power of abductor pollicis brevis 4 or less; not so only where both were recorded."""
    wasting, power = case.of("thenar_wasting", side=side), case.of("apb_power", side=side)
    bulk = whether(wasting, "present", "absent")
    ranks = [fact.value.rank for fact in power if isinstance(fact.value, Grade)]
    weak = None if not ranks else any(rank <= _POWER_AT_MOST for rank in ranks)
    facts = (*wasting, *power)
    if bulk or weak:
        return True, facts
    return (False, facts) if bulk is False and weak is False else (None, facts)


def _lost(fact: Fact) -> bool | None:
    value = fact.value
    if not isinstance(value, Quantity):
        return None
    if value.comparator in {"", ">"} and cts6.two_point_lost(value.number):
        return True
    if value.comparator == ">" and value.number == cts6.TWO_POINT_GAP_MM:
        return True
    return False if value.comparator in {"", "<", "<="} and value.number <= cts6.TWO_POINT_GAP_MM else None


def _two_point_lost(case: Case, side: Side) -> tuple[bool | None, tuple[Fact, ...]]:
    """Two points not told apart at 5 mm at a median fingertip; told apart only where thumb, index and middle were."""
    by_site = {site: case.of("static_two_point_discrimination", side=side, site=site) for site in _MEDIAN_PULPS}
    facts = tuple(fact for found in by_site.values() for fact in found)
    lost = [_lost(fact) for fact in facts]
    if any(lost):
        return True, facts
    return (False, facts) if all(by_site.values()) and None not in lost else (None, facts)


def carpal_tunnel_six(case: Case) -> Iterator[Score]:
    """CTS-6 of each hand with any entry it weighs; of neither hand, what is missing."""
    told = False
    for side in SIDES:
        thenar, first = _thenar(case, side)
        lost, second = _two_point_lost(case, side)
        phalen, tinel = case.of("phalen_test", side=side), case.of("tinel_carpal_tunnel", side=side)
        facts = (*first, *second, *phalen, *tinel)
        symptoms = [_told(case, name, side) for name in ("median_numbness", "night_numbness")]
        if not facts and symptoms == [None, None]:
            continue
        told = True
        outcome = cts6.cts6(
            median_numbness=symptoms[0],
            night_numbness=symptoms[1],
            thenar_weak_or_wasted=thenar,
            phalen=whether(phalen, "positive", "negative"),
            two_point_lost=lost,
            tinel=whether(tinel, "positive", "negative"),
        )
        yield Score("cts6", PlaceRef(None, side), outcome, ids(facts))
    if not told:
        none = cts6.cts6(
            median_numbness=None, night_numbness=None, thenar_weak_or_wasted=None, phalen=None, two_point_lost=None,
            tinel=None,
        )  # fmt: skip
        yield Score("cts6", NOWHERE, none)


def _deformed(case: Case) -> _Count:
    """Deformity at the ten selected joints, named at the joint or by the pattern of its digit."""
    plain = _count(case, _DEFORMED, LISTS["oa_selected"])
    found, facts = dict.fromkeys(plain.found), list(plain.facts)
    for item, rows in _OF_DIGIT.items():
        for fact in case.of(item):
            places = [PlaceRef(f"{row}_{fact.site}", fact.side) for row in rows]
            selected = [place for place in places if place.site in LISTS["oa_selected"]]
            if selected and fact.state == "present":
                found[selected[0]] = None
                facts.append(fact)
    unrecorded = tuple(place for place in plain.unrecorded if place not in found)
    return _Count(tuple(found), unrecorded, tuple(facts))


def hand_osteoarthritis(case: Case) -> Iterator[Score]:
    """The list items of the ACR 1990 criteria over both hands."""
    enlarged = _count(case, _ENLARGED, LISTS["oa_selected"])
    distal = _count(case, _ENLARGED, DIP)
    swollen = _count(case, ("synovitis",), MCP)
    deformed = _deformed(case)
    outcome = classification.hand_oa_1990(
        pain=_told(case, "hand_pain", None),
        enlarged_selected=enlarged.settled(2),
        enlarged_dip=distal.settled(2),
        swollen_mcp=swollen.settled(3),
        deformed_selected=deformed.settled(1),
    )
    counts = (enlarged, distal, swollen, deformed)
    counted = tuple(dict.fromkeys(place for count in counts for place in count.found))
    facts = ids(fact for count in counts for fact in count.facts)
    yield Score("hand_osteoarthritis", NOWHERE, outcome, facts, counted)


def rheumatoid_joints(case: Case) -> Iterator[Score]:
    """The joint domain of the 2010 criteria; an examination of the hands leaves the other joints open."""
    hand = tuple(joint for joint in LISTS["ra_small"] if not joint.startswith("mtp"))
    count = _count(case, ("synovitis", "joint_tenderness"), hand)
    # Neither toes nor large joints but the elbow belong to this examination, so their counts are never complete.
    outcome = classification.ra_2010_joint_points(None, None)
    least = classification.ra_2010_joint_points(len(count.found), 0) if count.found else None
    if isinstance(outcome, NotComputable) and least is not None and not isinstance(least, NotComputable):
        outcome = replace(outcome, possible=Range(least.value, 5))
    if isinstance(outcome, NotComputable):
        missing = (*(("hand_joints",) if count.unrecorded else ()), "toes", "large")
        outcome = replace(
            outcome, missing=missing, inputs=(("small_found", len(count.found) if count.facts else None),)
        )
    yield Score("rheumatoid_joints", NOWHERE, outcome, ids(count.facts), count.found)
