"""Rules about movement: angles that no joint gives, and angles that cannot stand beside each other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache

from letterkit.catalogue.model import Qualifier
from letterkit.consistency.lookups import arc, entries, entry, number, opening, passive
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.findings.facts import Fact
from letterkit.measures.movement import limits

# Item -> movement of the table of limits, for the flexed (or only) end and for the extended end.
_LIMITS = {
    "finger_mcp_movement": ("finger_mcp_flexion", "finger_mcp_hyperextension"),
    "pip_movement": ("finger_pip_flexion", "finger_pip_hyperextension"),
    "dip_movement": ("finger_dip_flexion", "finger_dip_hyperextension"),
    "thumb_mcp_movement": ("thumb_mcp_flexion", "thumb_mcp_hyperextension"),
    "thumb_ip_movement": ("thumb_ip_flexion", "thumb_ip_hyperextension"),
    "elbow_movement": ("elbow_flexion", "elbow_hyperextension"),
    "thumb_palmar_abduction": ("thumb_palmar_abduction", ""),
    "thumb_radial_abduction": ("thumb_radial_abduction", ""),
    "wrist_flexion": ("wrist_flexion", ""),
    "wrist_extension": ("wrist_extension", ""),
    "radial_deviation": ("wrist_radial_deviation", ""),
    "ulnar_deviation": ("wrist_ulnar_deviation", ""),
    "pronation": ("forearm_pronation", ""),
    "supination": ("forearm_supination", ""),
}
ARCS = ("finger_mcp_movement", "pip_movement", "dip_movement", "thumb_mcp_movement", "thumb_ip_movement",
        "elbow_movement")  # fmt: skip
ANGLES = tuple(item for item in _LIMITS if item not in ARCS)
_ARC_AT = {"mcp": "finger_mcp_movement", "pip": "pip_movement", "dip": "dip_movement", "ip": "thumb_ip_movement",
           "elbow": "elbow_movement", "wrist": "wrist_flexion"}  # fmt: skip

FINGERS = ("index", "middle", "ring", "little")

# Up to this, a difference is a reading error of the goniometer (from memory).
READING_ERROR_DEG = 5.0
_PASSIVE_FARTHER_CM = 0.5


def _pairs(case: Case, items: Sequence[str]) -> Iterator[tuple[Fact, Fact]]:
    """Active and passive movement of the same item at the same place."""
    for moved in case.of(*items):
        if moved.qualifier(Qualifier.MODE) == "active":
            for other in case.of(moved.item, side=moved.side, site=moved.site):
                if other.site == moved.site and passive(other):
                    yield moved, other


@cache
def _limit(movement: str) -> tuple[float, float]:
    limit = limits()[movement]
    return limit.query_above_deg, limit.refuse_above_deg


@rule(
    "passive-less-than-active",
    QueryClass.IMPOSSIBLE,
    asks="{active} reaches farther than {passive}. Were the two exchanged, or is one of the figures wrong?",
    settle="Correct one of the two figures, or note pain or guarding on passive movement as a known exception.",
    source="five degrees of reading error from memory; common practice, no source",
)
def passive_less_than_active(case: Case) -> Iterator[Hit]:
    """A joint that muscles can bend so far can also be bent so far by hand, but for pain or exchanged columns."""
    for active, other in _pairs(case, (*ARCS, *ANGLES)):
        own, its = arc(active), arc(other)
        reached = own.to_deg if own else number(active)
        by_hand = its.to_deg if its else number(other)
        if reached is not None and by_hand is not None and reached - by_hand > READING_ERROR_DEG:
            yield Hit((active, other), words={"active": opening(entry(active, case)), "passive": entry(other, case)})
    for active, other in _pairs(case, ("pulp_to_palm_distance",)):
        near, far = number(active), number(other)
        if near is not None and far is not None and far - near > _PASSIVE_FARTHER_CM:
            yield Hit((active, other), words={"active": opening(entry(active, case)), "passive": entry(other, case)})


@rule(
    "passive-extension-less-than-active",
    QueryClass.IMPOSSIBLE,
    asks="{active} comes straighter than {passive}. Were the two exchanged, or is one of the figures wrong?",
    settle="Correct one of the two figures.",
    source="five degrees of reading error from memory; common practice, no source",
)
def passive_extension_less_than_active(case: Case) -> Iterator[Hit]:
    """A joint cannot be straightened less by hand than by its own muscles."""
    for active, other in _pairs(case, ARCS):
        own, its = arc(active), arc(other)
        if own and its and its.from_deg - own.from_deg > READING_ERROR_DEG:
            yield Hit((active, other), words={"active": opening(entry(active, case)), "passive": entry(other, case)})


@rule(
    "unusually-large-angle",
    QueryClass.UNUSUAL,
    asks="{what} lies beyond the usual range. This can be right in a lax or deformed joint; is it?",
    settle="Confirm the figure, or correct the angle or the joint.",
    source="common practice, no source",
)
def unusually_large_angle(case: Case) -> Iterator[Hit]:
    """A very large angle is laxity, deformity, the wrong joint, or a slip of the pen."""
    for fact in case.of(*_LIMITS):
        flexed, extended = _LIMITS[fact.item]
        own = arc(fact)
        reached = own.to_deg if own else number(fact)
        beyond = reached is not None and reached > _limit(flexed)[0]
        if own and extended and -own.from_deg > _limit(extended)[0]:
            beyond = True
        if beyond:
            yield Hit((fact,), words={"what": opening(entry(fact, case))})


@rule(
    "deformity-beyond-the-joint",
    QueryClass.IMPOSSIBLE,
    asks="{what} is more than that joint can bend. Is the angle or the joint right?",
    settle="Correct the angle or the joint.",
    source="common practice, no source",
)
def deformity_beyond_the_joint(case: Case) -> Iterator[Hit]:
    """A joint cannot be held, or lag, in more flexion than it can reach."""
    for fact in case.abnormal("fixed_flexion_deformity", "extension_lag"):
        angle = fact.qualifier(Qualifier.ANGLE)
        site = case.catalogue.sites[fact.site] if fact.site else None
        item = _ARC_AT.get(site.row or site.slug) if site else None
        if site and site.row == "mcp" and site.digit == "thumb":
            item = "thumb_mcp_movement"
        if item and isinstance(angle, (int, float)) and angle > _limit(_LIMITS[item][0])[1]:
            yield Hit((fact,), words={"what": opening(entry(fact, case))})


def _straightens(case: Case, fact: Fact) -> tuple[Fact, ...]:
    """Passive arcs that lack no extension at the place of a contracture; for a whole digit, all of its joints."""
    site = case.catalogue.sites[fact.site] if fact.site else None
    if site is None:
        return ()
    arcs = [each for each in case.of(*ARCS, side=fact.side) if passive(each)]
    if site.row == "digit":
        here = [each for each in arcs if case.digit(each) == site.digit]
        needed = 2  # both the knuckle and a joint beyond it
    else:
        here = [each for each in arcs if each.site == fact.site]
        needed = 1
    full = [each for each in here if (own := arc(each)) and own.from_deg <= 0]
    return tuple(full) if len(full) == len(here) >= needed else ()


@rule(
    "contracture-and-full-passive-extension",
    QueryClass.CONTRADICTORY,
    asks="{contracture} is recorded, and the joint as straightening fully by hand: {arcs}. Which one holds?",
    settle="Correct the angle, or record a lag or locking where the joint can be straightened by hand.",
    source="common practice, no source",
)
def contracture_and_full_passive_extension(case: Case) -> Iterator[Hit]:
    """A fixed deformity is what remains when the joint is straightened by hand."""
    for fact in case.abnormal("fixed_flexion_deformity", "dupuytren_contracture", "camptodactyly"):
        if full := _straightens(case, fact):
            words = {"contracture": opening(entry(fact, case)), "arcs": entries(full, case)}
            yield Hit((fact, *full), words=words)


@rule(
    "extension-lag-and-full-active-extension",
    QueryClass.CONTRADICTORY,
    asks="{lag} is recorded beside {full}. A lag is a lack of active extension. Which one holds?",
    settle="Correct one of the two entries.",
    source="common practice, no source",
)
def extension_lag_and_full_active_extension(case: Case) -> Iterator[Hit]:
    """A lag means that the joint does not straighten actively, although it can be straightened."""
    for lag in case.abnormal("extension_lag"):
        full = [
            each
            for each in case.of(*ARCS, side=lag.side, site=lag.site)
            if each.qualifier(Qualifier.MODE) == "active" and (own := arc(each)) and own.from_deg <= 0
        ]
        if case.digit(lag) in FINGERS:
            full += case.normal("full_finger_extension", side=lag.side)
        if full:
            yield Hit((lag, *full), words={"lag": opening(entry(lag, case)), "full": entries(full, case)})
