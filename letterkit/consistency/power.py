"""Rules about muscle power: bulk, signs and postures beside the grades of the muscles that make them."""

from __future__ import annotations

from collections.abc import Iterator

from letterkit.catalogue.model import Qualifier
from letterkit.consistency.lookups import FULL_POWER, by_side, entries, entry, graded, opening, rank, recorded
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.findings.facts import Fact

_ALMOST = 1 / 3  # a plus or minus is a third of a grade
STRONG = 4 - _ALMOST  # 4- and better
VERY_WEAK = 2 + _ALMOST  # 2+ and worse
WEAK = 3 + _ALMOST  # 3+ and worse

# Wasting of a muscle, and the muscle whose power goes with it.
BULK = (
    ("thenar_wasting", "apb_power"),
    ("first_dorsal_interosseous_wasting", "first_dorsal_interosseous_power"),
    ("hypothenar_wasting", "abductor_digiti_minimi_power"),
)
# A sign, and the muscles whose weakness makes it: of every group at least one grade, and all of them full.
_MAKERS: tuple[tuple[tuple[str, ...], tuple[tuple[tuple[str, str | None], ...], ...]], ...] = (
    (("ok_sign",), ((("fpl_power", None),), (("fdp_radial_power", "index"),))),
    (("froment_sign",), ((("first_dorsal_interosseous_power", None),), (("adductor_pollicis_power", None),))),
    (
        ("wartenberg_sign", "abducted_little_finger"),
        (
            (("abductor_digiti_minimi_power", None),),
            (
                ("interossei_power", None), ("palmar_interossei_power", None),
                ("third_palmar_interosseous_power", None),
            ),
        ),
    ),
)  # fmt: skip
# A sign recorded as normal, and the muscles of which none can be weaker than the grade given with it.
_NEEDS: tuple[tuple[str, tuple[tuple[str, str | None], ...], float], ...] = (
    ("ok_sign", (("fpl_power", None), ("fdp_radial_power", "index")), WEAK),
    ("froment_sign", (("first_dorsal_interosseous_power", None),), VERY_WEAK),
)
# A posture that hangs, and the muscles that would hold it up; True where both are recorded digit by digit.
_DROPS = (
    ("wrist_drop", ("wrist_extensor_power", "ecrl_power", "ecrb_power"), False),
    ("finger_drop", ("finger_extension_power",), False),
    ("finger_drop", ("edc_power",), True),
    ("thumb_drop", ("epl_power",), False),
)
ULNAR_MUSCLES = (
    "first_dorsal_interosseous_power", "interossei_power", "dorsal_interossei_power", "palmar_interossei_power",
    "abductor_digiti_minimi_power", "adductor_pollicis_power", "third_palmar_interosseous_power",
    "ulnar_lumbrical_power",
)  # fmt: skip
_CLAW_SITES = ("hand", "ring", "little")


@rule(
    "marked-wasting-beside-full-power",
    QueryClass.CONTRADICTORY,
    asks="{wasting} is recorded beside {power}. Are both as intended?",
    settle="Confirm or correct the severity of the wasting or the grade of the muscle.",
    source="common practice, no source",
)
def marked_wasting_beside_full_power(case: Case) -> Iterator[Hit]:
    """Bulk and power go together; a neighbour that helps out or a loss of bulk for another reason can part them."""
    for wasting, muscle in BULK:
        for fact in case.abnormal(wasting):
            if fact.qualifier(Qualifier.SEVERITY) != "severe":
                continue
            for power in graded(case, muscle, low=FULL_POWER, side=fact.side):
                yield Hit((fact, power), words=_two("wasting", fact, "power", power, case))


def _two(first: str, fact: Fact, second: str, other: Fact, case: Case) -> dict[str, str]:
    return {first: opening(entry(fact, case)), second: entry(other, case)}


@rule(
    "positive-sign-beside-full-power",
    QueryClass.CONTRADICTORY,
    asks="{sign} is recorded beside {power}. This can be right; are the sign and the grades as intended?",
    settle="Confirm or correct the sign or the grades, or note what else explains the posture.",
    source="from memory",
)
def positive_sign_beside_full_power(case: Case) -> Iterator[Hit]:
    """Signs of substitution or escape come from weak muscles; with every one of them full, one entry is in doubt."""
    for signs, groups in _MAKERS:
        for sign in case.abnormal(*signs):
            recorded = [
                [fact for item, site in group for fact in graded(case, item, side=sign.side, site=site)]
                for group in groups
            ]
            muscles = [fact for group in recorded for fact in group]
            if all(recorded) and all(rank(fact) == FULL_POWER for fact in muscles):
                words = {"sign": opening(entry(sign, case)), "power": entries(muscles, case)}
                yield Hit((sign, *muscles), words=words)


@rule(
    "normal-sign-beside-weak-muscle",
    QueryClass.CONTRADICTORY,
    asks="{sign} is recorded beside {power}. Can both be right?",
    settle="Confirm or correct the sign or the grade, or note what else holds the posture.",
    source="from memory",
)
def normal_sign_beside_weak_muscle(case: Case) -> Iterator[Hit]:
    """A sign that tests a muscle is not expected to be normal when that muscle hardly works."""
    for sign, muscles, worst in _NEEDS:
        for fact in case.normal(sign):
            weak = [
                power
                for item, site in muscles
                for power in graded(case, item, high=worst, side=fact.side, site=site)
            ]  # fmt: skip
            if weak:
                yield Hit((fact, *weak), words={"sign": opening(entry(fact, case)), "power": entries(weak, case)})


@rule(
    "drop-beside-strong-muscle",
    QueryClass.CONTRADICTORY,
    asks="{drop} is recorded beside {power}. Can both be right?",
    settle="Correct the posture or the grade, or note when each was seen.",
    source="common practice, no source",
)
def drop_beside_strong_muscle(case: Case) -> Iterator[Hit]:
    """A part that hangs down cannot be held up against resistance."""
    for posture, muscles, by_digit in _DROPS:
        for drop in case.abnormal(posture):
            for power in graded(case, *muscles, low=STRONG, side=drop.side):
                if not by_digit or case.digit(power) == case.digit(drop):
                    yield Hit((drop, power), words=_two("drop", drop, "power", power, case))


@rule(
    "clawing-beside-full-ulnar-power",
    QueryClass.UNUSUAL,
    asks="{claw} beside {power}. This can be right, as joints and skin can claw a finger too; is it?",
    settle="Confirm both, or correct the posture or the grades.",
    source="from memory",
)
def clawing_beside_full_ulnar_power(case: Case) -> Iterator[Hit]:
    """Clawing of ring and little finger with all small muscles full has another cause than their weakness."""
    clawed = [f for f in case.abnormal("clawing", "total_claw") if f.site is None or f.site in _CLAW_SITES]
    for side, claws in by_side(clawed).items():
        muscles = graded(case, *ULNAR_MUSCLES, side=side)
        if len(muscles) > 1 and all(rank(fact) == FULL_POWER for fact in muscles):
            yield Hit((*claws, *muscles), words={"claw": recorded(claws, case), "power": entries(muscles, case)})


@rule(
    "clawing-beside-weak-deep-flexors",
    QueryClass.UNUSUAL,
    asks="{claw} beside {power}. Weak deep flexors usually lessen clawing; are both as intended?",
    settle="Confirm both, or correct the posture or the grades.",
    source="from memory",
)
def clawing_beside_weak_deep_flexors(case: Case) -> Iterator[Hit]:
    """The deep flexors pull the claw in: a lesion high enough to weaken them claws less."""
    for side, claws in by_side(fact for fact in case.abnormal("clawing") if fact.site in _CLAW_SITES).items():
        weak = graded(case, "fdp_ulnar_power", high=VERY_WEAK, side=side)
        if {fact.site for fact in weak} >= {"ring", "little"}:
            yield Hit((*claws, *weak), words={"claw": recorded(claws, case), "power": entries(weak, case)})
