"""Rules about joints: swelling, tenderness and warmth of one joint, squeeze tests, and deformities beside movement."""

from __future__ import annotations

from collections.abc import Iterator

from letterkit.catalogue.model import Qualifier
from letterkit.consistency.lookups import (
    SIDES,
    STRAIGHT_DEG,
    abnormals,
    arc,
    by_side,
    entries,
    entry,
    joint,
    normals,
    on_digit,
    opening,
    passive,
    recorded,
)
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.consistency.terms import HISTORY
from letterkit.findings.facts import Fact
from letterkit.findings.sides import Side

SWELLINGS = ("swelling", "synovitis", "bony_swelling", "effusion", "fusiform_swelling")
SQUEEZE = "van den Bosch 2015, Ann Rheum Dis 74:1886 (confirmed)"
_SEVERAL_JOINTS = 3
_KNUCKLES_RECORDED = 2
_JOINT_WORDS = {
    "mcp": {"mcp", "mcpj", "mcps", "metacarpophalangeal", "knuckle", "knuckles"},
    "pip": {"pip", "pipj", "pips", "proximal"},
    "wrist": {"wrist"},
}
_STRAIGHT_MOVEMENT = {"mallet_deformity": ("dip_movement", "thumb_ip_movement"), "boutonniere": ("pip_movement",)}


def same_site(case: Case, fact: Fact, *items: str) -> tuple[Fact, ...]:
    """Facts of these items at the side and site of `fact`."""
    return case.of(*items, side=fact.side, site=fact.site) if fact.site else ()


def knuckles(case: Case, *items: str, side: Side | None = None) -> tuple[Fact, ...]:
    """Facts of these items at the metacarpophalangeal joints."""
    return tuple(fact for fact in case.of(*items, side=side) if joint(case, fact) == "mcp")


@rule(
    "synovitis-without-visible-swelling",
    QueryClass.UNUSUAL,
    asks="{felt}, and visible swelling at the same place as absent. This is often right; is it?",
    settle="Confirm both, or correct one of them.",
    source="common practice, no source",
)
def synovitis_without_visible_swelling(case: Case) -> Iterator[Hit]:
    """Soft swelling is felt rather than seen, so the pair can stand; it can also be a slip of the joint."""
    for side_facts in by_side(case.abnormal("synovitis")).values():
        felt = [fact for fact in side_facts if normals(same_site(case, fact, "swelling"))]
        seen = [one for fact in felt for one in normals(same_site(case, fact, "swelling"))]
        if felt:
            yield Hit((*felt, *seen), words={"felt": recorded(felt, case)})


@rule(
    "soft-and-hard-swelling-of-one-joint",
    QueryClass.UNUSUAL,
    asks="{soft} beside hard swelling at the same place. One joint can have both; is that as intended?",
    settle="Confirm both, or remove the one that does not apply.",
    source="from memory",
)
def soft_and_hard_swelling_of_one_joint(case: Case) -> Iterator[Hit]:
    """Soft and hard swelling of one joint occur together, and are also easily ticked for each other."""
    for side_facts in by_side(case.abnormal("synovitis")).values():
        soft = [fact for fact in side_facts if abnormals(same_site(case, fact, "bony_swelling"))]
        hard = [one for fact in soft for one in abnormals(same_site(case, fact, "bony_swelling"))]
        if soft:
            yield Hit((*soft, *hard), words={"soft": recorded(soft, case)})


@rule(
    "swollen-neither-tender-nor-warm",
    QueryClass.UNUSUAL,
    asks="{swelling}, and the place as neither tender nor warm. This is often right; is it?",
    settle="Confirm the entries, or correct the joint, the tenderness or the temperature.",
    source="common practice, no source",
)
def swollen_neither_tender_nor_warm(case: Case) -> Iterator[Hit]:
    """A quiet swollen joint is common after treatment, and is also what a wrong joint looks like."""
    for side_facts in by_side(case.abnormal("swelling", "synovitis")).values():
        quiet: dict[Fact, tuple[Fact, ...]] = {}
        for fact in side_facts:
            calm = normals(same_site(case, fact, "joint_tenderness"))
            cool = normals(same_site(case, fact, "skin_temperature"))
            if calm and cool:
                quiet[fact] = (*calm, *cool)
        if quiet:
            facts = (*quiet, *(one for found in quiet.values() for one in found))
            yield Hit(facts, words={"swelling": recorded(tuple(quiet), case)})


@rule(
    "several-tender-joints-none-swollen",
    QueryClass.UNUSUAL,
    asks="Tenderness of {count} joints on the {side} is recorded, and each of them as not swollen. "
    "This is often right; is it?",
    settle="Confirm the entries, or correct the joints.",
    source="common practice, no source",
)
def several_tender_joints_none_swollen(case: Case) -> Iterator[Hit]:
    """Three or more tender joints without any swelling is a pattern of its own, and worth one look."""
    for side in SIDES:
        tender = case.abnormal("joint_tenderness", side=side)
        if len(tender) < _SEVERAL_JOINTS or case.abnormal(*SWELLINGS, side=side):
            continue
        flat = [normals(same_site(case, fact, "swelling", "synovitis")) for fact in tender]
        if all(flat):
            facts = (*tender, *(fact for found in flat for fact in found))
            yield Hit(facts, words={"count": str(len(tender)), "side": side})


@rule(
    "squeeze-negative-beside-swollen-knuckle",
    QueryClass.UNUSUAL,
    asks="{squeeze} is recorded beside {swollen}. The squeeze misses about half of swollen knuckles; are both right?",
    settle="Confirm both, or correct one of them.",
    source=SQUEEZE,
)
def squeeze_negative_beside_swollen_knuckle(case: Case) -> Iterator[Hit]:
    """A negative squeeze does not rule out a swollen knuckle: its sensitivity is 53 %."""
    for squeeze in case.normal("mcp_squeeze_test"):
        swollen = abnormals(knuckles(case, "swelling", "synovitis", "effusion", side=squeeze.side))
        if swollen:
            words = {"squeeze": opening(entry(squeeze, case)), "swollen": entries(swollen, case)}
            yield Hit((squeeze, *swollen), words=words)


@rule(
    "squeeze-positive-beside-quiet-knuckles",
    QueryClass.UNUSUAL,
    asks="{squeeze} is recorded, and no knuckle of that hand as tender or swollen. This can be right; is it?",
    settle="Confirm the squeeze test, or record the joint that hurt.",
    source=SQUEEZE,
)
def squeeze_positive_beside_quiet_knuckles(case: Case) -> Iterator[Hit]:
    """With a specificity of 82 % some squeezes hurt for other reasons; the single joints are recorded as quiet."""
    for squeeze in case.abnormal("mcp_squeeze_test"):
        tender = knuckles(case, "joint_tenderness", side=squeeze.side)
        swollen = knuckles(case, "swelling", "synovitis", side=squeeze.side)
        quiet = (*tender, *swollen)
        if tender and swollen and len(normals(quiet)) == len(quiet):
            yield Hit((squeeze, *quiet), words={"squeeze": opening(entry(squeeze, case))})


@rule(
    "fixed-drift-beside-normal-knuckles",
    QueryClass.UNUSUAL,
    asks="Fixed {drift} is recorded beside {normal}. This can be right; is it?",
    settle="Confirm both, or correct the drift or the joint.",
    source="from memory",
)
def fixed_drift_beside_normal_knuckles(case: Case) -> Iterator[Hit]:
    """Fixed drift of a finger usually comes with a changed knuckle."""
    for drift in case.abnormal("ulnar_drift"):
        if drift.qualifier(Qualifier.CORRECTABILITY) != "fixed":
            continue
        around = same_site(case, drift, "synovitis", "swelling", "mcp_subluxation", "finger_mcp_movement")
        if len(around) > 1 and len(normals(around)) == len(around):
            yield Hit((drift, *around), words={"drift": entry(drift, case), "normal": entries(around, case)})


@rule(
    "filled-valleys-beside-flat-knuckles",
    QueryClass.CONTRADICTORY,
    asks="{filled} is recorded beside {flat}. Can both be right?",
    settle="Correct the valleys or the swelling of the joints.",
    source="common practice, no source",
)
def filled_valleys_beside_flat_knuckles(case: Case) -> Iterator[Hit]:
    """What fills the valleys between the knuckles is swelling of the knuckles."""
    for filled in case.abnormal("filled_knuckle_valleys"):
        swelling = knuckles(case, *SWELLINGS, side=filled.side)
        flat = normals(knuckles(case, "swelling", "synovitis", side=filled.side))
        if len({fact.site for fact in flat}) >= _KNUCKLES_RECORDED and not abnormals(swelling):
            yield Hit((filled, *flat), words={"filled": opening(entry(filled, case)), "flat": entries(flat, case)})


@rule(
    "even-knuckles-beside-dropped-knuckle",
    QueryClass.CONTRADICTORY,
    asks="{even} is recorded beside {dropped}. Which one holds?",
    settle="Correct the knuckle contour or the dropped knuckle.",
    source="common practice, no source",
)
def even_knuckles_beside_dropped_knuckle(case: Case) -> Iterator[Hit]:
    """A row of knuckles with one dropped is not even."""
    for even in case.normal("knuckle_contour"):
        for dropped in case.abnormal("dropped_knuckle", side=even.side):
            yield Hit((even, dropped), words={"even": opening(entry(even, case)), "dropped": entry(dropped, case)})


@rule(
    "deformity-beside-full-active-extension",
    QueryClass.CONTRADICTORY,
    asks="{deformity} is recorded beside {movement}. Can both be right?",
    settle="Correct the deformity or the movement, or say that the deformity can be corrected actively.",
    source="from memory",
)
def deformity_beside_full_active_extension(case: Case) -> Iterator[Hit]:
    """A mallet or boutonnière posture is the loss of active extension of the very joint recorded as straight."""
    for item, movements in _STRAIGHT_MOVEMENT.items():
        for deformity in case.abnormal(item):
            if item == "boutonniere" and deformity.qualifier(Qualifier.CORRECTABILITY) == "correctable":
                continue
            for movement in on_digit(case, case.of(*movements, side=deformity.side), case.digit(deformity)):
                angles = arc(movement)
                if angles is not None and angles.from_deg <= STRAIGHT_DEG and not passive(movement):
                    yield Hit(
                        (deformity, movement),
                        words={"deformity": opening(entry(deformity, case)), "movement": entry(movement, case)},
                    )


@rule(
    "elson-words-beside-result",
    QueryClass.CONTRADICTORY,
    asks="{elson} is recorded, and the note tells of {words}, which goes with the other result. Which one holds?",
    settle="Correct the result of the test or the note.",
    source="Elson's test after Rubin 1996 (confirmed)",
)
def elson_words_beside_result(case: Case) -> Iterator[Hit]:
    """The test is positive with a weak middle joint and a stiff end joint, and negative with a floppy end joint."""
    for elson in case.of("elson_test"):
        note = (elson.note or "").casefold()
        floppy = next((word for word in ("floppy", "strong extension", "strong pip extension") if word in note), None)
        stiff = next((word for word in ("rigid", "stiff dip", "weak extension", "weak pip ext") if word in note), None)
        wrong = floppy if elson.state == "positive" else stiff if elson.state == "negative" else None
        if wrong and not (floppy and stiff):
            yield Hit((elson,), words={"elson": opening(entry(elson, case)), "words": f"“{wrong}”"})


@rule(
    "two-kinds-of-nodule-at-one-place",
    QueryClass.CONTRADICTORY,
    asks="{first} and {second} are recorded at one place. Are these two lumps, or is one of the names not meant?",
    settle="Keep the one that applies, or say that there are two lumps.",
    source="common practice, no source",
)
def two_kinds_of_nodule_at_one_place(case: Case) -> Iterator[Hit]:
    """A tophus and a rheumatoid nodule are different lesions; one lump is not both."""
    for first in case.abnormal("tophi"):
        for second in abnormals(same_site(case, first, "rheumatoid_nodules")):
            yield Hit((first, second), words={"first": opening(entry(first, case)), "second": entry(second, case)})


@rule(
    "swelling-at-replaced-joint",
    QueryClass.URGENT,
    asks="{swelling} at a joint that was replaced. Does the plan cover the two together, under local policy?",
    settle="Confirm both, and read the plan again with both in mind.",
    source="BSR guideline on the hot swollen joint, Rheumatology 2006;45:1039 (confirmed)",
)
def swelling_at_replaced_joint(case: Case) -> Iterator[Hit]:
    """New swelling of a replaced joint is read differently from swelling of any other joint.

    After a recent operation swelling is expected, so at a post-operative review heat or redness is needed as well.
    """
    for replaced, told in _replaced(case):
        swelling = abnormals(same_site(case, replaced, "swelling", "synovitis", "effusion"))
        hot = [f for f in same_site(case, replaced, "skin_temperature") if f.state in {"warm", "hot"}]
        hot += abnormals(same_site(case, replaced, "redness"))
        if swelling and (case.problem != "postoperative_review" or hot):
            found = (*swelling, *hot)
            facts = tuple(dict.fromkeys((replaced, *found)))
            yield Hit(facts, told, {"swelling": recorded(found, case)})


def _replaced(case: Case) -> Iterator[tuple[Fact, tuple[str, ...]]]:
    """Facts at joints with the scar of a replacement, or at those whose replacement the history tells of."""
    for scar in case.abnormal("joint_replacement_scar"):
        yield scar, ()
    for mention in case.named("joint_replacement", among=HISTORY):
        tokens = set(mention.passage.tokens)
        kinds = {kind for kind, words in _JOINT_WORDS.items() if words & tokens}
        for swelling in case.abnormal("swelling", "synovitis"):
            digit = case.digit(swelling)
            if (
                swelling.side in mention.sides
                and (joint(case, swelling) or swelling.site) in kinds
                and (digit is None or digit in mention.digits)
            ):
                yield swelling, (mention.path,)
