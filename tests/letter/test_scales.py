"""Published scales in a letter: off unless chosen, worked examples through the whole way, and never a guess."""

from __future__ import annotations

import json
from typing import Any, get_args

import pytest

from letterkit.catalogue import catalogue
from letterkit.findings.models import ScaleName
from letterkit.letter.model import BulletList, Heading, Letter
from letterkit.measures import (
    classification,
    cts6,
    dupuytren,
    grip,
    kapandji,
    monofilament,
    total_active_motion,
    trigger,
)
from letterkit.measures.result import NotComputable
from letterkit.pipeline import Draft, draft
from letterkit.prose.scores import INPUTS, MISSING, SAID_ELSEWHERE, missing_words, score_words
from letterkit.render import FORMATS
from letterkit.summary.scores import SCALES

ALL = get_args(ScaleName)
FINGERS = ("index", "middle", "ring", "little")


def _arc(joint: str, digit: str, start: float, end: float, mode: str | None, side: str = "right") -> dict[str, Any]:
    item = {"mcp": "finger_mcp_movement", "pip": "pip_movement", "dip": "dip_movement"}[joint]
    arc = {"item": item, "side": side, "site": f"{joint}_{digit}", "value": {"from": start, "to": end}}
    return {**arc, "mode": mode} if mode else arc


def _made(findings: list[dict[str, Any]], *scales: str, symptoms=(), **patient: Any) -> Draft:
    about = {"name": {"text": "Avery Testwell"}, "gender": "female", "birthDate": "1974-01-01", **patient}
    return draft({
        "patient": about,
        "visit": {"date": "2026-03-01"},
        "history": {"symptoms": list(symptoms)},
        "examination": {"findings": findings},
        "options": {"measures": list(scales)},
    })  # fmt: skip


def _entries(letter: Letter) -> list[str]:
    """The entries of the section on scales, each as one text."""
    blocks = letter.blocks
    at = next((i for i, b in enumerate(blocks) if b == Heading(1, "Assessment scales")), None)
    if at is None:
        return []
    listing = blocks[at + 1]
    assert isinstance(listing, BulletList)
    return [" ".join(sentence.text for sentence in entry) for entry in listing.entries]


def _told(findings: list[dict[str, Any]], *scales: str, **more: Any) -> list[str]:
    return _entries(_made(findings, *scales, **more).letter)


def _sources(made: Draft) -> str:
    blocks = made.letter.blocks
    at = next(i for i, b in enumerate(blocks) if b == Heading(1, "Assessment scales"))
    return " ".join(sentence.text for sentence in blocks[at + 2].sentences)


def _symptom(name: str, side: str, present: bool) -> dict[str, Any]:  # noqa: FBT001
    return {"name": name, "side": side, "present": present}


# The worked examples of the published scales, each redone by hand.
ACTIVE = [_arc("mcp", "index", 0, 85, "active"), _arc("pip", "index", 15, 90, "active"),
          _arc("dip", "index", 5, 50, "active")]  # fmt: skip
RING = [_arc("mcp", "ring", 40, 90, "passive"), _arc("pip", "ring", 35, 100, "passive"),
        _arc("dip", "ring", 0, 70, "passive")]  # fmt: skip
LITTLE = [_arc("mcp", "little", 50, 90, "passive"), _arc("pip", "little", 45, 100, "passive"),
          _arc("dip", "little", -20, 70, "passive")]  # fmt: skip


def test_no_scale_is_shown_unless_chosen():
    letter = _made([*ACTIVE, {"item": "grip_strength", "side": "both", "value": 30}]).letter
    assert _entries(letter) == []
    assert Heading(1, "Assessment scales") not in letter.blocks


def test_every_scale_that_may_be_chosen_is_worked_out_and_worded():
    assert set(SCALES) == set(ALL)
    for scale in ALL:
        (first, *_) = _told([], scale)
        assert "not enough recorded: " in first


def test_a_scale_changes_nothing_else_of_the_letter():
    findings = [*ACTIVE, *RING, {"item": "grip_strength", "side": "both", "value": 30}]
    without, with_all = _made(findings), _made(findings, *ALL)
    at = with_all.letter.blocks.index(Heading(1, "Assessment scales"))
    assert (*with_all.letter.blocks[:at], *with_all.letter.blocks[at + 3 :]) == without.letter.blocks
    assert with_all.queries == without.queries
    assert with_all.sentences() == without.sentences()


def test_total_active_motion_of_the_worked_example():
    (told,) = _told(ACTIVE, "total_active_motion")
    assert told.startswith(
        "Total active motion (ASSH), right index finger: 205 degrees, 78.8 % of 260 degrees (class good)."
    )
    assert "metacarpophalangeal flexion: 85 degrees" in told
    assert "Arithmetic: (85 + 90 + 50) - (0 + 15 + 5) = 205 degrees; 205 / 260 = 78.8 %." in told


def test_strickland_of_the_worked_example():
    (told,) = _told(ACTIVE, "strickland")
    assert "120 degrees, 68.6 % of 175 degrees (class fair)" in told
    assert "(90 + 50) - (15 + 5) = 120 degrees; 120 / 175 = 68.6 %" in told


def test_a_joint_not_measured_leaves_the_total_open():
    (told,) = _told(ACTIVE[:2], "total_active_motion")
    assert told.endswith(
        "not enough recorded: active flexion of the distal interphalangeal joint; active extension of the distal "
        "interphalangeal joint."
    )


@pytest.mark.parametrize(("mode", "lacking"), [(None, "whether the movement was active or passive"),
                                               ("passive", "active movement of the finger joints")])  # fmt: skip
def test_movement_is_not_taken_for_active_unless_recorded_so(mode, lacking):
    arcs = [{**arc, "mode": mode} if mode else {k: v for k, v in arc.items() if k != "mode"} for arc in ACTIVE]
    (told,) = _told(arcs, "total_active_motion")
    assert told == f"Total active motion (ASSH), right index finger: not enough recorded: {lacking}."


def test_two_arcs_that_differ_count_as_none():
    (told,) = _told([*ACTIVE, _arc("pip", "index", 0, 100, "active")], "total_active_motion")
    assert "not enough recorded: active flexion of the proximal interphalangeal joint" in told


def test_fingers_and_sides_are_not_mixed():
    other = [_arc("mcp", "index", 0, 80, "active", "left"), _arc("pip", "index", 0, 90, "active", "left"),
             _arc("dip", "index", 0, 60, "active", "left")]  # fmt: skip
    told = _told([*other, *ACTIVE], "total_active_motion")
    assert [each.partition(";")[0].partition(" (class")[0] for each in told] == [
        "Total active motion (ASSH), right index finger: 205 degrees, 78.8 % of 260 degrees",
        "Total active motion (ASSH), left index finger: 230 degrees, 88.5 % of 260 degrees",
    ]


@pytest.mark.parametrize(
    ("arcs", "total", "stage"), [(RING, "40 + 35 + 0 = 75", "2"), (LITTLE, "50 + 45 + 0 = 95", "3")]
)
def test_extension_deficit_and_stage_of_the_worked_examples(arcs, total, stage):
    first, second = _told(arcs, "extension_deficit")
    assert f"Arithmetic: {total} degrees." in first
    assert f": stage {stage}." in second


def test_a_nodule_in_a_hand_that_lies_flat_has_the_stage_of_no_deficit():
    findings = [{"item": "dupuytren_nodule", "side": "right", "site": "ray_ring", "value": "present"},
                {"item": "table_top_test", "side": "right", "value": "negative"}]  # fmt: skip
    first, second = _told(findings, "extension_deficit")
    assert first.endswith("not enough recorded: passive movement of the finger joints.")
    assert second.startswith("Tubiana stage, right ring finger: stage N.")
    alone = _told(findings[:1], "extension_deficit")
    assert len(alone) == 1


def test_fixed_deformities_in_degrees_stand_for_passive_deficits():
    fixed = [{"item": "fixed_flexion_deformity", "side": "left", "site": f"{joint}_ring", "value": "present",
              "angleDeg": angle} for joint, angle in (("mcp", 40), ("pip", 35))]  # fmt: skip
    fixed.append({"item": "fixed_flexion_deformity", "side": "left", "site": "dip_ring", "value": "absent"})
    first, second = _told(fixed, "extension_deficit")
    assert "left ring finger: 75 degrees" in first
    assert ": stage 2." in second


def test_grip_against_the_norm_of_the_worked_example():
    (told,) = _told([{"item": "grip_strength", "side": "right", "value": [11, 12, 13]}], "grip_norms")
    assert told.startswith(
        "Grip strength, right hand: 12 kg, 40 % of the mean of that age, sex and side, z score -3.39."
    )
    assert "age: 52 years; sex: female; readings: 3" in told
    assert "(26.5 - 65.8) / 11.6 = z -3.39" in told


def test_pinch_against_the_norm_of_the_worked_example():
    findings = [{"item": "tip_pinch", "side": "right", "value": 3.629}]
    (told,) = _told(findings, "pinch_norms", birthDate="1979-01-01")
    assert "(8.0 - 13.2) / 3.0 = z -1.73" in told
    assert "readings: number not stated" in told


@pytest.mark.parametrize(
    ("patient", "why"),
    [
        ({"gender": "unknown"}, "not enough recorded: sex"),
        ({"birthDate": None}, "not enough recorded: age"),
        ({"gender": "other"}, "not enough recorded: sex"),
        ({"birthDate": "2010-05-05"}, "not given, as there is no norm under 20 years"),
    ],
)
def test_without_age_or_sex_there_is_no_comparison(patient, why):
    (told,) = _told([{"item": "grip_strength", "side": "right", "value": 12}], "grip_norms", **patient)
    assert told.startswith(f"Grip strength, right hand: {why}.")
    assert "z score" not in told


def test_hands_compared_in_the_worked_example():
    findings = [
        {"item": "grip_strength", "side": "right", "value": 40},
        {"item": "grip_strength", "side": "left", "value": 34},
    ]
    (told,) = _told(findings, "hands_compared", handedness="right")
    assert "right stronger by 17.6 % of the weaker hand" in told
    assert "40 / 1.10 = 36.4 kg" in told
    (left_handed,) = _told(findings, "hands_compared", handedness="left")
    assert "1.10" not in left_handed


def test_kapandji_in_the_worked_example():
    (told,) = _told([{"item": "kapandji_score", "side": "left", "value": 6}], "kapandji")
    assert told == "Kapandji score, left hand: 6 of 10. The thumb tip reaches: tip of the little finger."


@pytest.mark.parametrize(("digit", "gap", "band"), [("thumb", 5, "normal"), ("index", 8, "fair"), ("middle", 12, "poor"),
                                                    ("little", 4, "normal")])  # fmt: skip
def test_two_point_bands_of_the_worked_example(digit, gap, band):
    finding = {"item": "static_two_point_discrimination", "side": "right", "site": f"pulp_{digit}", "value": gap}
    (told,) = _told([finding], "two_point")
    assert f": {band}. " in told
    assert f"{gap} mm" in told
    assert f"right {digit}" in told


def test_two_point_bands_hold_at_the_pulp_and_for_the_static_test_only():
    finding = {"item": "static_two_point_discrimination", "side": "right", "site": "radial_side_index", "value": 8}
    assert "not given, as the bands hold at a fingertip pulp only" in _told([finding], "two_point")[0]
    limit = {"item": "static_two_point_discrimination", "side": "right", "site": "pulp_index", "value": "> 8 mm"}
    assert "not enough recorded: least gap told apart." in _told([limit], "two_point")[0]


@pytest.mark.parametrize(("marking", "band", "force"), [("3.61", "diminished light touch", "0.4"),
                                                        ("4.31", "diminished protective sensation", "2"),
                                                        ("4.56", "loss of protective sensation", "4")])  # fmt: skip
def test_monofilament_bands_of_the_worked_examples(marking, band, force):
    finding = {
        "item": "monofilament",
        "side": "left",
        "site": "pulp_index",
        "value": f"marking_{marking.replace('.', '_')}",
    }
    (told,) = _told([finding], "monofilament")
    assert f"pulp of the left index finger: {band}." in told
    assert f"{marking} marks {force} g, felt." in told


@pytest.mark.parametrize(("grading", "grade", "meaning"), [
    ("Green", "IIIA", "grade IIIA of Green, locking that needs passive extension"),
    ("Quinnell", "III", "grade III of Quinnell, locking, passively correctable"),
])  # fmt: skip
def test_a_trigger_grade_is_told_with_its_scale_and_meaning(grading, grade, meaning):
    finding = {
        "item": "triggering",
        "side": "right",
        "site": "ring",
        "value": "present",
        "grading": grading,
        "grade": grade,
    }
    (told,) = _told([finding], "trigger_grade")
    assert meaning in told


def test_a_grade_of_an_unknown_scale_or_outside_its_scale_is_not_given():
    for grading, grade in (("Harrowmere", "II"), ("Green", "VII")):
        finding = {
            "item": "triggering",
            "side": "right",
            "site": "ring",
            "value": "present",
            "grading": grading,
            "grade": grade,
        }
        assert "not given" in _told([finding], "trigger_grade")[0]


def test_tender_pulley_without_catching_is_greens_first_grade():
    findings = [{"item": "catching", "side": "right", "site": "ring", "value": "absent"},
                {"item": "a1_pulley_tenderness", "side": "right", "site": "a1_ring", "value": "present"}]  # fmt: skip
    assert "grade I of Green" in _told(findings, "trigger_grade")[0]
    assert "not enough recorded: tenderness at the A1 pulley" in _told(findings[:1], "trigger_grade")[0]


HAND_22 = ["wrist", "mcp_thumb", *(f"mcp_{f}" for f in FINGERS), "ip_thumb", *(f"pip_{f}" for f in FINGERS)]


def _joints(item: str, present: dict[str, list[str]]) -> list[dict[str, Any]]:
    """Every hand joint of the 28 recorded, those given as present."""
    return [
        {"item": item, "side": side, "site": joint, "value": "present" if joint in present.get(side, []) else "absent"}
        for side in ("right", "left")
        for joint in HAND_22
    ]


def test_joint_counts_need_every_joint():
    whole = _joints("joint_tenderness", {"right": ["mcp_index", "mcp_middle"], "left": ["wrist"]})
    told, other = _told(whole, "joint_counts")
    assert told.startswith("Tender joints, hand joints of the 28: 3 of 22.")
    assert "right index and middle fingers" in told
    assert "left wrist" in told
    assert "Joints with synovitis, hand joints of the 28: not enough recorded: 22 of the 22 joints." in other
    told, _ = _told(whole[:-1], "joint_counts")
    assert "not enough recorded: proximal interphalangeal joint of the left little finger." in told
    assert "between 3 and 4" in told


def _cts(**states: str) -> list[dict[str, Any]]:
    return [{"item": item, "side": "right", "value": value} for item, value in states.items()]


PULPS = [{"item": "static_two_point_discrimination", "side": "right", "site": f"pulp_{d}", "value": 5}
         for d in ("thumb", "index", "middle")]  # fmt: skip


def test_cts6_of_the_worked_example():
    findings = [
        *_cts(phalen_test="positive", tinel_carpal_tunnel="negative", thenar_wasting="absent", apb_power="5"),
        *PULPS,
    ]
    symptoms = [_symptom("median_numbness", "right", True), _symptom("night_numbness", "right", True)]
    made = _made(findings, "cts6", symptoms=symptoms)
    (told,) = _entries(made.letter)
    assert told.startswith("CTS-6 (Graham), right hand: 12.5 of 26.")
    assert "Arithmetic: 3.5 + 4 + 5 = 12.5 of 26." in told
    for word in ("cut", "over", "probab", "likely"):
        assert word not in told.replace("overall", "")
    assert "probability" not in _sources(made)


def test_cts6_with_two_points_not_tested_gives_the_range_and_no_score():
    findings = _cts(phalen_test="positive", tinel_carpal_tunnel="negative", thenar_wasting="absent", apb_power="5")
    symptoms = [_symptom("median_numbness", "right", True), _symptom("night_numbness", "right", False)]
    (told,) = _told(findings, "cts6", symptoms=symptoms)
    assert "not enough recorded: two points 5 mm apart not told apart" in told
    assert "between 8.5 and 13." in told


@pytest.mark.parametrize(("power", "counts"), [("4", True), ("4+", False), ("5", False)])
def test_cts6_takes_thenar_power_of_four_or_less(power, counts):
    findings = [
        *_cts(phalen_test="negative", tinel_carpal_tunnel="negative", thenar_wasting="absent", apb_power=power),
        *PULPS,
    ]
    symptoms = [_symptom(name, "both", False) for name in ("median_numbness", "night_numbness")]
    told = _told(findings, "cts6", symptoms=symptoms)
    assert told[0].startswith(f"CTS-6 (Graham), right hand: {5 if counts else 0} of 26.")


def test_symptoms_are_told_in_the_history_whether_or_not_a_scale_is_chosen():
    symptoms = [_symptom("night_numbness", "left", True), _symptom("hand_pain", "both", False)]
    text = " ".join(_made([], symptoms=symptoms).render("text").decode().split())
    assert "Told of: waking at night with numbness (left)." in text
    assert "Denied: hand pain, aching or stiffness (both sides)." in text


MCPS = ["mcp_thumb", *(f"mcp_{finger}" for finger in FINGERS)]
TEN = ["dip_index", "dip_middle", "pip_index", "pip_middle", "cmc_thumb"]


def _oa(*, enlarged: list[str], swollen: int) -> list[dict[str, Any]]:
    """Every joint that the list items need, on both sides; the enlarged ones on the right."""
    found = []
    for side in ("right", "left"):
        dips = [f"dip_{finger}" for finger in FINGERS]
        for joint in dict.fromkeys([*TEN, *dips]):
            value = "present" if side == "right" and joint in enlarged else "absent"
            found.append({"item": "bony_swelling", "side": side, "site": joint, "value": value})
        found += [{"item": "deformity", "side": side, "site": joint, "value": "absent"} for joint in TEN]
        for number, joint in enumerate(MCPS):
            value = "present" if side == "right" and number < swollen else "absent"
            found.append({"item": "synovitis", "side": side, "site": joint, "value": value})
    return found


@pytest.mark.parametrize(("enlarged", "swollen", "items"), [(["dip_index", "dip_middle"], 0, 3), (["dip_index"], 4, 0)])
def test_hand_osteoarthritis_items_of_the_worked_examples(enlarged, swollen, items):
    symptoms = [_symptom("hand_pain", "right", True)]
    made = _made(_oa(enlarged=enlarged, swollen=swollen), "hand_osteoarthritis", symptoms=symptoms)
    (told,) = _entries(made.letter)
    assert f": {items} of the 4 items on the list." in told
    assert f"= {items} of 4, with pain, aching or stiffness." in told
    for word in ("needed", "meets", "definite"):
        assert word not in told


def test_hand_osteoarthritis_without_every_knuckle_is_open():
    findings = [f for f in _oa(enlarged=["dip_index", "dip_middle"], swollen=0) if f["item"] != "synovitis"]
    (told,) = _told(findings, "hand_osteoarthritis", symptoms=[_symptom("hand_pain", "right", True)])
    assert "not enough recorded: swollen metacarpophalangeal joints." in told
    assert "between 2 and 3." in told


def test_the_rheumatoid_joint_domain_is_never_complete_from_the_hands():
    findings = _joints("synovitis", {"right": ["mcp_index", "mcp_middle", "wrist"], "left": ["mcp_index", "wrist"]})
    made = _made(findings, "rheumatoid_joints")
    (told,) = _entries(made.letter)
    assert "not enough recorded: the joints of the toes; shoulders, elbows, hips, knees and ankles." in told
    assert "between 3 and 5." in told
    assert "tender or swollen joints of the hands: 5 joints" in told
    assert "A hand examination alone gives the joint domain only." in _sources(made)


def test_each_scale_names_its_source_once_and_how_far_it_was_checked():
    made = _made([{"item": "key_pinch", "side": "both", "value": 7}], "pinch_norms")
    assert _sources(made).count("Mathiowetz 1985 (figures not checked against the publication)") == 1


def test_entries_know_the_facts_they_come_from():
    made = _made(
        [*ACTIVE, {"item": "grip_strength", "side": "right", "value": 12}], "grip_norms", "total_active_motion"
    )
    blocks = made.letter.blocks
    listing = blocks[blocks.index(Heading(1, "Assessment scales")) + 1]
    assert [entry[0].facts for entry in listing.entries] == [("f3",), ("f0", "f1", "f2")]
    assert {sentence.origin for entry in listing.entries for sentence in entry} == {"score"}


def test_a_value_outside_an_instrument_never_stops_a_letter():
    told = _told([{"item": "kapandji_score", "side": "right", "value": 6.5}], "kapandji")
    assert "not enough recorded: the score." in told[0]


def test_a_scale_chosen_twice_is_shown_once():
    assert len(_told(ACTIVE, "strickland", "strickland")) == 1


@pytest.mark.parametrize("name", FORMATS)
def test_scales_stand_in_every_format(name):
    assert _made(ACTIVE, *ALL).render(name)


def test_every_missing_item_and_input_has_words():
    nothing = [
        total_active_motion.total_active_motion(None, None, None),
        dupuytren.total_extension_deficit(None, None, None),
        dupuytren.tubiana_stage(0),
        grip.grip_against_norm(None, age_years=None, sex=None, side="right"),
        grip.between_hands(None, None),
        kapandji.kapandji_score(None),
        monofilament.monofilament_band(None),
        trigger.green_grade(None),
        trigger.green_grade("none_seen"),
        cts6.cts6(median_numbness=None, night_numbness=None, thenar_weak_or_wasted=None, phalen=None, two_point_lost=None,
                  tinel=None),
        classification.hand_oa_1990(pain=None, enlarged_selected=None, enlarged_dip=None, swollen_mcp=None,
                                    deformed_selected=None),
    ]  # fmt: skip
    for outcome in nothing:
        assert isinstance(outcome, NotComputable)
        assert all(missing_words(name) for name in outcome.missing)
    assert not set(INPUTS) & (set(MISSING) | SAID_ELSEWHERE)


def test_words_of_scales_are_clean(demo_case):
    record = demo_case.read_text("utf-8")
    made = draft({**json.loads(record), "options": {"measures": list(ALL)}})
    for score in made.summary.scores:
        for text in score_words(score, catalogue()):
            assert "_" not in text
            assert text.endswith(".")
            assert "None" not in text
            assert "<" not in text
            assert ">" not in text
