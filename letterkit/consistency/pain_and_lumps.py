"""Rules about pain out of proportion, tight dressings, injection injury, nail bands and lumps."""

from __future__ import annotations

from collections.abc import Iterator

from letterkit.catalogue.model import Qualifier
from letterkit.consistency.claims import named_sides, quoted
from letterkit.consistency.infection import PLAN_QUESTION
from letterkit.consistency.lookups import LOSS, SIDES, entries, entry, listed, opening, recorded
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.consistency.terms import HISTORY, OPINION, tokens_of
from letterkit.findings.facts import Fact
from letterkit.findings.sides import Side

# The four groups of signs of the Budapest criteria, with the items that stand for each.
_GROUPS = {
    "sensory": ("allodynia", "hyperalgesia"),
    "colour or temperature": ("skin_colour", "skin_temperature", "livedo", "fingertip_colour"),
    "sweating or swelling": ("sweating", "oedema", "diffuse_hand_swelling"),
    "movement or skin, hair and nail": (
        "range_of_movement", "composite_fist", "hand_power", "finger_flexor_power", "grip_on_squeezing", "rest_tremor",
        "postural_tremor", "dystonic_posture", "finger_mcp_movement", "pip_movement", "wrist_flexion",
        "wrist_extension", "trophic_skin_change", "shiny_skin", "hair_growth", "hair_loss", "nail_ridging",
        "nail_dystrophy",
    ),
}  # fmt: skip
_GROUPS_NEEDED = 2
_BAND_MM = 3.0
_LUMP_MM = 50.0
_SWOLLEN = ("diffuse_hand_swelling", "oedema", "swelling")
_REGIONS = frozenset({"hand", "dorsum", "palm", "forearm", "thenar_eminence", "hypothenar_eminence", "wrist"})
_DRESSINGS = frozenset({"plaster", "cast", "backslab", "dressing", "dressings", "bandage", "splint", "slab"})
_TIGHT = frozenset({"tight", "constricting", "constrictive"})
_DENIED = frozenset({"not", "no", "never", "without"})
_REACH = 3
_DUSKY = frozenset({"blue", "congested", "pale", "mottled", "dusky", "purple", "white"})


@rule(
    "pain-syndrome-named-on-few-signs",
    QueryClass.INCOMPLETE,
    asks="{named}, and signs are recorded in {groups} of the four groups of the Budapest criteria. Is more to be told?",
    settle="Record the signs of the other groups, present or absent.",
    source="Budapest criteria, PMC5511749 (confirmed)",
)
def pain_syndrome_named_on_few_signs(case: Case) -> Iterator[Hit]:
    """The criteria ask for signs in at least two of four groups on the day of the examination."""
    for mention, side in named_sides(case, "crps"):
        found = {name: case.abnormal(*items, side=side) for name, items in _GROUPS.items()}
        present = [name for name, facts in found.items() if facts]
        if len(present) < _GROUPS_NEEDED:
            facts = tuple(fact for name in present for fact in found[name])
            count = f"one ({present[0]})" if present else "none"
            yield Hit(facts, (mention.path,), {"named": quoted(mention), "groups": count})


def _recent_harm(case: Case) -> bool:
    return case.problem in {"hand_injury", "postoperative_review", "tendon_cut"}


@rule(
    "disproportionate-pain-without-compartments",
    QueryClass.URGENT,
    asks="{pain} with {swelling}, and nothing of the tension of the compartments. " + PLAN_QUESTION,
    settle="Record the compartments, and read the plan again with the pain in mind.",
    source="BOAST compartment syndrome of the limbs, 2014 (confirmed)",
)
def disproportionate_pain_without_compartments(case: Case) -> Iterator[Hit]:
    """In a swollen hand after injury or surgery, the sign that belongs beside such pain is the compartments."""
    if not _recent_harm(case) or case.mentioned("compartment", among=(*OPINION, "plan")):
        return
    for side in SIDES:
        pain = case.abnormal("pain_out_of_proportion", side=side)
        swelling = tuple(fact for fact in case.abnormal(*_SWOLLEN, side=side) if fact.site in _REGIONS)
        if pain and swelling and not case.of("compartment_tension", side=side):
            words = {"pain": recorded(pain, case), "swelling": entries(swelling, case)}
            yield Hit((*pain, *swelling), words=words)


def _too_tight(text: str) -> bool:
    """Whether words about a dressing call it tight, and do not deny it."""
    tokens = tokens_of(text)
    if not _DRESSINGS & set(tokens):
        return False
    return any(
        token in _TIGHT and not _DENIED & set(tokens[max(0, at - _REACH) : at]) for at, token in enumerate(tokens)
    )


def _starved(case: Case, side: Side | None) -> tuple[Fact, ...]:
    """Pain, lost feeling or changed colour of a side, as a dressing that is too tight would make them."""
    pain = case.abnormal("pain_out_of_proportion", "passive_stretch_pain", side=side)
    numb = tuple(
        fact
        for fact in case.of("light_touch", "digital_nerve_sensation", "median_sensation", "ulnar_sensation",
                            "radial_sensation", side=side)
        if fact.state in LOSS
    )  # fmt: skip
    dusky = tuple(f for f in case.of("fingertip_colour", "skin_colour", side=side) if f.state in _DUSKY)
    slow = case.abnormal("perfusion", "capillary_refill", "capillary_refill_time", side=side)
    return (*pain, *numb, *dusky, *slow)


@rule(
    "tight-dressing-beside-starved-digits",
    QueryClass.URGENT,
    asks="A tight dressing or plaster is recorded on the {side} beside {found}. " + PLAN_QUESTION,
    settle="Confirm the dressing and the findings, and read the plan again with both in mind.",
    source="BOAST compartment syndrome of the limbs, 2014 (confirmed)",
)
def tight_dressing_beside_starved_digits(case: Case) -> Iterator[Hit]:
    """What is tight may be the cause of the pain, the tingling or the colour beyond it."""
    for dressing in case.of("aids_and_dressings"):
        if isinstance(dressing.value, str) and _too_tight(dressing.value):
            found = _starved(case, dressing.side)
            if found:
                words = {"side": dressing.side or "hand", "found": entries(found, case)}
                yield Hit((dressing, *found), words=words)


@rule(
    "pressure-injection-told-of",
    QueryClass.URGENT,
    asks="The history or the opinion tells of an injection under high pressure, where the skin can look almost whole. "
    + PLAN_QUESTION,
    settle="Confirm how the injury came about, and read the plan again with it in mind.",
    source="RCEM Learning, high pressure injection injury (confirmed)",
)
def pressure_injection_told_of(case: Case) -> Iterator[Hit]:
    """A tiny wound of this kind is never as small as it looks."""
    told = case.named("high_pressure_injection", among=(*HISTORY, *OPINION))
    if told:
        yield Hit(case.abnormal("puncture_wound", "wound"), (told[0].path,))


@rule(
    "nail-band-without-plan",
    QueryClass.URGENT,
    asks="{band} is recorded{size}, and the plan says nothing of the nail. " + PLAN_QUESTION,
    settle="Confirm the band and its width, and read the plan again with it in mind.",
    source="ABCDEF of the nail after Levit (confirmed)",
)
def nail_band_without_plan(case: Case) -> Iterator[Hit]:
    """A pigmented band wider than 3 mm, or pigment on the fold, does not pass without a word in the plan."""
    if case.mentioned("nail", "skin_specialist", "lump_workup", among=("plan",)):
        return
    for band in case.abnormal("pigmented_nail_band", "hutchinsons_nail_sign"):
        width = band.qualifier(Qualifier.SIZE)
        wide = isinstance(width, (int, float)) and width > _BAND_MM
        if wide or band.item == "hutchinsons_nail_sign":
            size = f", {width:g} mm wide" if isinstance(width, (int, float)) else ""
            yield Hit((band,), words={"band": opening(entry(band, case)), "size": size})


@rule(
    "notable-lump-without-plan",
    QueryClass.URGENT,
    asks="A lump is recorded that is {traits}, and the plan names neither imaging nor what else follows. "
    + PLAN_QUESTION,
    settle="Confirm the lump's size, depth and course, and read the plan again with them in mind.",
    source="NICE NG12, soft tissue lump (confirmed)",
)
def notable_lump_without_plan(case: Case) -> Iterator[Hit]:
    """A lump that grows, lies deep, is over 5 cm or has come back does not pass without a word in the plan."""
    lumps = case.abnormal("lump", "palpable_lump")
    if not lumps or case.mentioned("imaging", "lump_workup", among=("plan",)):
        return
    large = [fact for fact in lumps if float(fact.qualifier(Qualifier.SIZE) or 0) > _LUMP_MM]
    deep = [fact for fact in case.abnormal("lump_plane") if any(fact.side == lump.side for lump in lumps)]
    growing = case.named("lump_growing", among=HISTORY)
    traits = [
        *(["over 5 cm"] if large else []),
        *(["deep"] if deep else []),
        *(["told of as growing or having come back"] if growing else []),
    ]
    if traits:
        paths = tuple(one.path for one in growing[:1])
        yield Hit(tuple(dict.fromkeys((*(large or lumps), *deep))), paths, {"traits": listed(traits)})


@rule(
    "lump-clear-and-pulsatile",
    QueryClass.CONTRADICTORY,
    asks="{clear} and {beat} are recorded for one lump. A clear cyst does not beat; which one holds?",
    settle="Correct one of the two entries, or say that there are two lumps.",
    source="common practice, no source",
)
def lump_clear_and_pulsatile(case: Case) -> Iterator[Hit]:
    """Light passes through a cyst and not through a vessel."""
    for clear in case.abnormal("transillumination"):
        for beat in case.abnormal("lump_pulsation", side=clear.side):
            if clear.site == beat.site or (case.digit(clear) is not None and case.digit(clear) == case.digit(beat)):
                yield Hit((clear, beat), words={"clear": opening(entry(clear, case)), "beat": entry(beat, case)})
