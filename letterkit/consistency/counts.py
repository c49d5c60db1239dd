"""Rules about counts, grades and times: numbers their own instrument cannot give, or that their parts do not make."""

from __future__ import annotations

from collections.abc import Iterator

from letterkit.catalogue.model import Polarity
from letterkit.consistency.lookups import entries, entry, number, on_digit, opening, rank
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.findings.facts import Fact
from letterkit.findings.values import Grade, Quantity

_WHOLE = ("kapandji_score", "kanavel_signs", "grip_release_count")
_KANAVEL = ("fusiform_swelling", "kanavel_flexed_posture", "flexor_sheath_tenderness",
            "kanavel_passive_extension_pain")  # fmt: skip
# Tendon as working or not -> the muscle that pulls it.
_MUSCLE = {
    "flexor_digitorum_profundus": ("fdp_radial_power", "fdp_ulnar_power"),
    "flexor_digitorum_superficialis": ("fds_power",),
    "flexor_pollicis_longus": ("fpl_power",),
    "extensor_digitorum_communis": ("edc_power",),
    "extensor_indicis_proprius": ("extensor_indicis_power",),
    "extensor_digiti_minimi": ("extensor_digiti_minimi_power",),
    "extensor_pollicis_longus": ("epl_power",),
    "extensor_pollicis_brevis": ("epb_power",),
    "abductor_pollicis_longus": ("apl_power",),
    "fcr_tendon_continuity": ("fcr_power",),
    "fcu_tendon_continuity": ("fcu_power",),
    "ecrl_tendon_continuity": ("ecrl_power",),
    "ecrb_tendon_continuity": ("ecrb_power",),
    "ecu_tendon_continuity": ("ecu_power",),
    "thumb_retropulsion": ("epl_power",),
    "finger_abduction": ("dorsal_interossei_power", "interossei_power"),
    "finger_adduction": ("palmar_interossei_power", "interossei_power"),
    "full_finger_extension": ("finger_extension_power",),
}
_AGAINST_GRAVITY = 3
_NOT_PERFUSED_S = 15


def _muscles(case: Case, moved: Fact) -> tuple[Fact, ...]:
    """The graded muscles behind a tendon or movement, of the same side and, where both name one, the same digit."""
    digit = case.digit(moved)
    found = case.of(*_MUSCLE[moved.item], side=moved.side)
    return tuple(fact for fact in found if digit is None or case.digit(fact) in {None, digit})


@rule(
    "power-and-absent-movement",
    QueryClass.CONTRADICTORY,
    asks="{power} is recorded beside {moved}. From grade 3 a muscle moves its part. Which one holds?",
    settle="Correct the grade or the entry about the movement.",
    source="MRC Memorandum 45, 1976 (confirmed)",
)
def power_and_absent_movement(case: Case) -> Iterator[Hit]:
    """A muscle of grade 3 or more moves its part against gravity, so the movement is not absent."""
    for moved in case.of(*_MUSCLE):
        if moved.state == "absent":
            for power in _muscles(case, moved):
                if (rank(power) or 0) >= _AGAINST_GRAVITY:
                    yield Hit((power, moved), words={"power": opening(entry(power, case)), "moved": entry(moved, case)})


@rule(
    "no-contraction-and-movement",
    QueryClass.CONTRADICTORY,
    asks="{power} is recorded, which is no contraction, beside {moved}. Which one holds?",
    settle="Correct the grade or the entry about the movement.",
    source="MRC Memorandum 45, 1976 (confirmed)",
)
def no_contraction_and_movement(case: Case) -> Iterator[Hit]:
    """Grade 0 is no contraction, and a muscle that does not contract moves nothing."""
    for moved in case.normal(*_MUSCLE):
        for power in _muscles(case, moved):
            if isinstance(power.value, Grade) and power.value.text == "0":
                yield Hit((power, moved), words={"power": opening(entry(power, case)), "moved": entry(moved, case)})


@rule(
    "fraction-of-a-whole-score",
    QueryClass.IMPOSSIBLE,
    asks="{score} is recorded. This is counted in whole steps; is the figure right?",
    settle="Correct the figure.",
    source="common practice, no source",
)
def fraction_of_a_whole_score(case: Case) -> Iterator[Hit]:
    """A score of landmarks reached, or a count of signs, has no halves. A mean of several trials may."""
    for fact in case.of(*_WHOLE):
        value = fact.value
        if isinstance(value, Quantity) and not value.trials and value.number % 1:
            yield Hit((fact,), words={"score": opening(entry(fact, case))})


def _signs(case: Case, count: Fact) -> tuple[Fact, ...]:
    return on_digit(case, case.of(*_KANAVEL, side=count.side), case.digit(count))


def _present(signs: tuple[Fact, ...]) -> set[str]:
    return {fact.item for fact in signs if fact.polarity is Polarity.ABNORMAL}


@rule(
    "count-and-signs-differ",
    QueryClass.CONTRADICTORY,
    asks="{count} does not agree with the signs recorded one by one: {signs}. Which is right?",
    settle="Correct the number or the single signs.",
    source="common practice, no source",
)
def count_and_signs_differ(case: Case) -> Iterator[Hit]:
    """A count is the number of signs present: not fewer than are recorded, not more than are left open."""
    for count in case.of("kanavel_signs"):
        signs = _signs(case, count)
        present, recorded = _present(signs), {fact.item for fact in signs}
        most = len(present) + len(_KANAVEL) - len(recorded)
        told = number(count)
        if signs and told is not None and not len(present) <= told <= most:
            yield Hit((count, *signs), words={"count": opening(entry(count, case)), "signs": entries(signs, case)})


@rule(
    "count-without-its-signs",
    QueryClass.INCOMPLETE,
    asks="{count} is recorded without saying which of the four. Which were they?",
    settle="Record the single signs.",
    source="common practice, no source",
)
def count_without_its_signs(case: Case) -> Iterator[Hit]:
    """A reader cannot tell from one, two or three which of the four signs were there."""
    for count in case.of("kanavel_signs"):
        signs = _signs(case, count)
        told = number(count)
        recorded = {fact.item for fact in signs}
        if told in {1, 2, 3} and len(_present(signs)) < told and len(recorded) < len(_KANAVEL):
            yield Hit((count,), words={"count": opening(entry(count, case))})


@rule(
    "refill-in-no-time",
    QueryClass.CONTRADICTORY,
    asks="{refill} is recorded, which cannot be timed. Was another figure meant, or was it not timed?",
    settle="Correct the time, or record refill in words.",
    source="common practice, no source",
)
def refill_in_no_time(case: Case) -> Iterator[Hit]:
    """The quickest refill takes a moment, and nought is what an empty field looks like."""
    for fact in case.of("capillary_refill_time"):
        if number(fact) == 0:
            yield Hit((fact,), words={"refill": opening(entry(fact, case))})


@rule(
    "very-slow-refill-and-normal-perfusion",
    QueryClass.CONTRADICTORY,
    asks="{refill} is recorded beside {perfused}. Which one holds?",
    settle="Correct the time or the entry about perfusion.",
    source="common practice, no source",
)
def very_slow_refill_and_normal_perfusion(case: Case) -> Iterator[Hit]:
    """A part that takes over 15 seconds to fill is not well perfused."""
    for refill in case.of("capillary_refill_time"):
        if (number(refill) or 0) <= _NOT_PERFUSED_S:
            continue
        for perfused in case.normal("perfusion", side=refill.side):
            if case.digit(perfused) in {None, case.digit(refill)} or case.digit(refill) is None:
                words = {"refill": opening(entry(refill, case)), "perfused": entry(perfused, case)}
                yield Hit((refill, perfused), words=words)
