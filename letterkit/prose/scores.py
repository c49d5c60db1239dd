"""Published scales in words: value, what it was worked out from, the arithmetic, and the source.

A scale is told so that it can be redone by hand. What its authors conclude from a cut is not told: no diagnosis, no
urgency, no advice. The wording of every input and of every missing item stands in one table.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from letterkit.catalogue import Catalogue
from letterkit.findings.models import ScaleName, Symptom
from letterkit.measures.classification import HandOa1990
from letterkit.measures.cts6 import Cts6
from letterkit.measures.grip import Hands
from letterkit.measures.kapandji import Landmark, kapandji_landmark
from letterkit.measures.norms import Strength
from letterkit.measures.result import Input, Mark, NotComputable, Result, Source, figure, rounded
from letterkit.measures.total_active_motion import Motion
from letterkit.measures.trigger import TriggerGrade
from letterkit.prose.places import site_phrases, where
from letterkit.prose.words import capital, listed
from letterkit.summary.statement import PlaceRef, Score

# What an input is called, and its unit. An input that the label or the value says already has no name.
INPUTS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "mcp_flexion_deg": ("metacarpophalangeal flexion", "degrees"),
        "mcp_extension_deficit_deg": ("metacarpophalangeal extension deficit", "degrees"),
        "pip_flexion_deg": ("proximal interphalangeal flexion", "degrees"),
        "pip_extension_deficit_deg": ("proximal interphalangeal extension deficit", "degrees"),
        "dip_flexion_deg": ("distal interphalangeal flexion", "degrees"),
        "dip_extension_deficit_deg": ("distal interphalangeal extension deficit", "degrees"),
        "mcp_deficit_deg": ("passive extension deficit of the metacarpophalangeal joint", "degrees"),
        "pip_deficit_deg": ("passive extension deficit of the proximal interphalangeal joint", "degrees"),
        "dip_deficit_deg": ("passive extension deficit of the distal interphalangeal joint", "degrees"),
        "total_deficit_deg": ("total passive extension deficit", "degrees"),
        "lesion": ("nodule or cord", ""),
        "table_top_negative": ("hand flat on the table", ""),
        "force_kg": ("force", "kg"),
        "readings": ("readings", ""),
        "age_years": ("age", "years"),
        "sex": ("sex", ""),
        "right_kg": ("force of the right hand", "kg"),
        "left_kg": ("force of the left hand", "kg"),
        "dominant": ("dominant hand", ""),
        "gap_mm": ("least gap told apart", "mm"),
        "finest_felt": ("finest filament felt", ""),
        "release": ("how the digit lets go", ""),
        "a1_tender": ("tenderness at the A1 pulley", ""),
        "median_numbness": ("numbness mainly in the thumb to ring finger", ""),
        "night_numbness": ("waking at night with numbness", ""),
        "thenar_weak_or_wasted": ("thenar bulk lost, or power 4 or less", ""),
        "phalen": ("Phalen's test positive", ""),
        "two_point_lost": ("two points 5 mm apart not told apart in the thumb, index or middle finger", ""),
        "tinel": ("Tinel's sign at the carpal tunnel positive", ""),
        "pain": ("hand pain, aching or stiffness", ""),
        "enlarged_selected": ("hard tissue enlargement among the ten selected joints", "joints"),
        "enlarged_dip": ("hard tissue enlargement among the distal interphalangeal joints", "joints"),
        "swollen_mcp": ("swollen metacarpophalangeal joints", "joints"),
        "deformed_selected": ("deformity among the ten selected joints", "joints"),
        "small_found": ("tender or swollen joints of the hands", "joints"),
    }
)
SAID_ELSEWHERE = frozenset({"side", "site", "method", "beyond", "points_perceived", "felt", "early_stages_possible",
                            "joints", "among", "uneven", "reached"})  # fmt: skip
MISSING: Mapping[str, str] = MappingProxyType(
    {
        "mcp flexion": "active flexion of the metacarpophalangeal joint",
        "mcp extension deficit": "active extension of the metacarpophalangeal joint",
        "pip flexion": "active flexion of the proximal interphalangeal joint",
        "pip extension deficit": "active extension of the proximal interphalangeal joint",
        "dip flexion": "active flexion of the distal interphalangeal joint",
        "dip extension deficit": "active extension of the distal interphalangeal joint",
        "active_movement": "active movement of the finger joints",
        "whether_active": "whether the movement was active or passive",
        "whether_passive": "whether the movement was active or passive",
        "reached": "the score",
        "passive_movement": "passive movement of the finger joints",
        "grade": "the grade with its scale",
        "hand_joints": "every joint of both hands",
        "toes": "the joints of the toes",
        "large": "shoulders, elbows, hips, knees and ankles",
        "small": "the small joints",
    }
)
LANDMARKS: Mapping[Landmark, str] = MappingProxyType(
    {
        "none": "none of the landmarks",
        "index_second_phalanx_radial_side": "radial side of the second phalanx of the index finger",
        "index_third_phalanx_radial_side": "radial side of the third phalanx of the index finger",
        "index_tip": "tip of the index finger",
        "middle_tip": "tip of the middle finger",
        "ring_tip": "tip of the ring finger",
        "little_tip": "tip of the little finger",
        "little_dip_crease": "distal interphalangeal crease of the little finger",
        "little_pip_crease": "proximal interphalangeal crease of the little finger",
        "little_proximal_crease": "proximal crease of the little finger",
        "distal_palmar_crease": "distal palmar crease",
    }
)
_CUT = re.compile(r"probability", re.IGNORECASE)  # a limit that goes on to what the authors conclude from a cut
_SYMPTOMS: Mapping[str, str] = MappingProxyType(
    {"median_numbness": "median_numbness", "night_numbness": "night_numbness", "hand_pain": "pain"}
)
# Here the measure's own arithmetic goes on to compare with a cut, which is not told.
_BEFORE_THE_CUT = frozenset({"cts6", "hand_osteoarthritis"})
_MOST_NAMED = 8


def _input(name: str, value: Input) -> str:
    words, unit = INPUTS[name]
    match value:
        case bool():
            return f"{words}: {'yes' if value else 'no'}"
        case str():
            return f"{words}: {value.replace('_', ' ')}"
        case None:
            return f"{words}: not recorded"
        case _:
            return f"{words}: {figure(value)}{f' {unit}' if unit else ''}"


def _inputs(inputs: Sequence[tuple[str, Input]]) -> str:
    # An optional item that was not recorded took no part.
    told = [_input(name, value) for name, value in inputs if name not in SAID_ELSEWHERE and value is not None]
    return f"Worked out from: {'; '.join(told)}." if told else ""


def missing_words(name: str) -> str:
    """What a missing item is called in a letter."""
    return MISSING[name] if name in MISSING else INPUTS[name][0]


def _source(source: Source) -> str:
    """The source as a letter names it; one that was not compared with its publication says so."""
    told = {
        Mark.CONFIRMED: "",
        Mark.FROM_MEMORY: " (figures not checked against the publication)",
        Mark.COMMON_PRACTICE: " (no published source)",
    }
    return f"{source.citation}{told[source.mark]}"


def _places(places: Sequence[PlaceRef], catalogue: Catalogue) -> str:
    return listed([phrase.removeprefix("the ") for phrase in site_phrases(where(places, catalogue), catalogue)])


def _name(score: Score) -> str:
    return capital(score.outcome.instrument)


def _label(score: Score, catalogue: Catalogue) -> str:
    name = _name(score)
    place = score.place
    if place.site is not None:
        return f"{name}, {_places([place], catalogue)}"
    return f"{name}, {place.side} hand" if place.side is not None else name


_WHOLE: Mapping[str, str] = MappingProxyType(
    {"kapandji": "{} of 10", "rheumatoid_joints": "{} of 5 points", "joint_counts": "{} of 22"}
)


def _value(scale: ScaleName, value: object) -> str:
    match value:
        case Motion():
            share = f"{rounded(value.percent, 1)} % of {figure(value.normal_deg)} degrees"
            return f"{figure(value.total_deg)} degrees, {share} (class {value.motion_class})"
        case Strength():
            share = f"{rounded(value.percent_of_mean)} % of the mean of that age, sex and side"
            return f"{figure(value.force_kg)} kg, {share}, z score {rounded(value.z, 2)}"
        case Hands(stronger="equal"):
            return "equal on both sides"
        case Hands():
            return f"{value.stronger} stronger by {rounded(value.difference_percent, 1)} % of the weaker hand"
        case TriggerGrade():
            return f"grade {value.grade} of {value.scale}, {value.meaning}"
        case Cts6():
            return f"{figure(value.score)} of 26"
        case HandOa1990():
            return f"{value.items} of the 4 items on the list"
        case bool():  # of the moving two-point test
            return f"{'within' if value else 'beyond'} the 2 to 3 mm of the source"
        case float():  # of the total passive extension deficit
            return f"{figure(value)} degrees"
        case _ if scale == "extension_deficit":
            return f"stage {value}"
        case _:
            return _WHOLE.get(scale, "{}").format(str(value).replace("_", " "))


def _arithmetic(score: Score, result: Result[object], catalogue: Catalogue) -> str:
    if score.scale == "joint_counts":
        return f"Counted: {_places(score.counted, catalogue) or 'none'}."
    if score.scale == "kapandji":
        assert isinstance(result.value, int)
        return f"The thumb tip reaches: {LANDMARKS[kapandji_landmark(result.value)]}."
    told = result.arithmetic
    if score.scale in _BEFORE_THE_CUT:
        told = told.partition(";")[0]
    if score.scale == "monofilament":
        told = told.replace(" = ", " marks ")
    return f"Arithmetic: {told.replace('_', ' ')}."


def _not_given(score: Score, missing: NotComputable, catalogue: Catalogue) -> list[str]:
    label = _label(score, catalogue)
    lacking = "; ".join([missing_words(name) for name in missing.missing])
    if score.unrecorded:
        named = score.unrecorded
        lacking = _places(named, catalogue) if len(named) <= _MOST_NAMED else f"{len(named)} of the 22 joints"
    why = f"not enough recorded: {lacking}" if lacking else f"not given, as {missing.reason}"
    told = [f"{label}: {why}."]
    recorded = score.facts or any(value is not None for _, value in missing.inputs)
    if missing.possible is not None and recorded:
        told.append(f"What is recorded leaves it between {missing.possible.low:g} and {missing.possible.high:g}.")
    return told


def symptom_words(symptoms: Sequence[Symptom]) -> tuple[str, ...]:
    """What the patient tells of the symptoms that scales ask for, those told of before those denied."""
    told = []
    for present, lead in ((True, "Told of"), (False, "Denied")):
        named = [
            f"{INPUTS[_SYMPTOMS[each.name]][0]} ({'both sides' if each.side == 'both' else each.side})"
            for each in symptoms
            if each.present is present
        ]
        if named:
            told.append(f"{lead}: {'; '.join(named)}.")
    return tuple(told)


def score_words(score: Score, catalogue: Catalogue) -> tuple[str, ...]:
    """The sentences of one scale at one place: its value with inputs and arithmetic, or what is missing."""
    outcome = score.outcome
    if isinstance(outcome, NotComputable):
        told = _not_given(score, outcome, catalogue)
        if outcome.missing and any(value is not None for name, value in outcome.inputs if name in INPUTS):
            told.append(_inputs(outcome.inputs).replace("Worked out from", "Recorded", 1))
        return tuple(told)
    value = _value(score.scale, outcome.value)
    told = [f"{_label(score, catalogue)}: {value}.", _inputs(outcome.inputs), _arithmetic(score, outcome, catalogue)]
    return tuple(sentence for sentence in told if sentence)


def scale_sources(scores: Sequence[Score]) -> tuple[str, ...]:
    """Each scale once with its sources and with what its value must not be used for."""
    told: list[str] = []
    said: set[str] = set()
    for name in dict.fromkeys(_name(score) for score in scores):
        outcomes = [score.outcome for score in scores if _name(score) == name]
        sources = dict.fromkeys(_source(outcome.source) for outcome in outcomes)
        limits = dict.fromkeys(limit for outcome in outcomes for limit in outcome.limits)
        told.append(f"{name}: {'; '.join(sources)}.")
        told += [f"{limit}." for limit in limits if limit not in said and not _CUT.search(limit)]
        said.update(limits)
    return tuple(told)
