"""Rules about nerves that need the clinician's words: duration, symptoms, and what is named or called intact."""

from __future__ import annotations

from collections.abc import Iterator

from letterkit.consistency.claims import named_sides, quoted
from letterkit.consistency.durations import duration_days
from letterkit.consistency.lookups import accounted_for, entries, entry, graded, losses, opening, recorded
from letterkit.consistency.power import BULK, VERY_WEAK
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.consistency.sensation import AREA_SENSATION, HAND_MUSCLES, MEDIAN_PROVOCATION, SMALL_MUSCLE_WASTING
from letterkit.consistency.terms import HISTORY, OPINION

_WASTES_BY_DAYS = 90
_NEARLY_FULL = 4.0
_CIRCULATION = ("radial_pulse", "ulnar_pulse", "perfusion", "capillary_refill", "capillary_refill_time")
_MEDIAN_FEELING = (
    "median_sensation", "light_touch", "pinprick_sensation", "index_hypalgesia", "static_two_point_discrimination",
    "monofilament", "moving_two_point_discrimination", "digital_nerve_sensation",
)  # fmt: skip


@rule(
    "very-weak-muscle-without-wasting",
    QueryClass.UNUSUAL,
    asks="{power} is recorded without wasting, and the history tells of three months or more. This can be so; is it?",
    settle="Confirm the grade and the bulk, or note what limits the power.",
    source="common practice, no source",
)
def very_weak_muscle_without_wasting(case: Case) -> Iterator[Hit]:
    """A muscle without its nerve has usually wasted by three months; pain or a central cause spares the bulk."""
    for wasting, muscle in BULK:
        for power in graded(case, muscle, high=VERY_WEAK):
            bulk = case.normal(wasting, side=power.side)
            if bulk and (duration_days(case) or 0) >= _WASTES_BY_DAYS:
                yield Hit((power, *bulk), words={"power": opening(entry(power, case))})


@rule(
    "provocation-positive-symptoms-denied",
    QueryClass.UNUSUAL,
    asks="{tests}, and the history says that there is no tingling or numbness. This is often right; is it?",
    settle="Confirm the result and the history, or correct one of them.",
    source="Dabbagh 2023, Phys Ther 103 (confirmed)",
)
def provocation_positive_symptoms_denied(case: Case) -> Iterator[Hit]:
    """The tests are positive in some people without any complaint."""
    tests = case.abnormal(*MEDIAN_PROVOCATION)
    if not tests:
        return
    told = case.wording.mentions("tingling", among=HISTORY)
    denied = [one for one in told if one.said == "negated"] + list(case.named("asymptomatic", among=HISTORY))
    if denied and all(one.said == "negated" for one in told):
        yield Hit(tests, (denied[0].path,), {"tests": recorded(tests, case)})


@rule(
    "carpal-tunnel-without-power-and-feeling",
    QueryClass.INCOMPLETE,
    asks="{named}, and neither power of thumb abduction nor sensation of the median nerve is recorded on the {side}.",
    settle="Record both, or say that they were not examined.",
    source="D'Arcy and McGee, JAMA 2000;283:3110-7 (confirmed)",
)
def carpal_tunnel_without_power_and_feeling(case: Case) -> Iterator[Hit]:
    """These two findings weigh most for a reader of that name."""
    for mention, side in named_sides(case, "carpal_tunnel"):
        if not accounted_for(case, "apb_power", *_MEDIAN_FEELING, side=side):
            yield Hit((), (mention.path,), {"named": quoted(mention), "side": side})


@rule(
    "hand-wasting-with-eyelid-signs",
    QueryClass.URGENT,
    asks="{found}, and the text tells of a drooping lid or a small pupil. Does the plan cover the two "
    "together, under local policy?",
    settle="Confirm both, and read the plan again with both in mind.",
    source="Wheeless, C8 level (confirmed)",
)
def hand_wasting_with_eyelid_signs(case: Case) -> Iterator[Hit]:
    """Wasting of the hand or loss along the medial forearm with these signs of the eye is read as one picture."""
    told = case.named("horner", among=(*HISTORY, *OPINION))
    if not told:
        return
    found = (
        *case.abnormal(*SMALL_MUSCLE_WASTING),
        *losses(case.of("medial_forearm_sensation")),
        *losses(case.of("dermatome_sensation", site="t1_dermatome")),
    )
    if found:
        yield Hit(found, (told[0].path,), {"found": recorded(found, case)})


@rule(
    "called-intact-beside-deficit",
    QueryClass.CONTRADICTORY,
    asks="{named}. Beside it stands {deficit}. Which one holds, or is only the circulation meant?",
    settle="Correct the finding, or say what is intact.",
    source="common practice, no source",
)
def called_intact_beside_deficit(case: Case) -> Iterator[Hit]:
    """A word for nerves and vessels as a whole does not go with a numb area, a weak muscle or a slow refill."""
    for mention in case.named("neurovascularly_intact"):
        sides = mention.sides
        deficit = tuple(
            fact
            for fact in (
                *losses(case.of(*AREA_SENSATION)),
                *graded(case, *HAND_MUSCLES, high=_NEARLY_FULL),
                *case.abnormal(*_CIRCULATION),
            )
            if not sides or fact.side in sides
        )
        if deficit:
            yield Hit(deficit, (mention.path,), {"named": quoted(mention), "deficit": entries(deficit, case)})
            return
