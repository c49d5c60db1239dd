"""The doctor's sentences, word for word, for every form a finding can take."""

from __future__ import annotations

import re

import pytest
from hypothesis import HealthCheck, given, settings
from made_records import drafted, facts_of, found, sentences
from strategies import encounters

from letterkit import draft
from letterkit.catalogue import catalogue
from letterkit.letter.model import Paragraph
from letterkit.prose.clinical import variants
from letterkit.summary.select import summarise

PIP = "proximal interphalangeal joint"


def left(item, value="present", site=None, **more):
    return found(item, value, "left", site, **more)


def both(item, value="present", site=None, **more):
    return found(item, value, "both", site, **more)


def bare(item, value="present", **more):
    return found(item, value, None, **more)


PRESENCE = {
    "present": ([found("thenar_wasting")], "There was thenar wasting on the right."),
    "present on both sides": ([both("thenar_wasting")], "There was thenar wasting on both sides."),
    "absent": ([found("thenar_wasting", "absent")], "There was no thenar wasting on the right."),
    "absent on both sides takes either": ([both("thenar_wasting", "absent")], "There was no thenar wasting on either side."),
    "equivocal": ([found("thenar_wasting", "?")], "There was possible thenar wasting on the right."),
    "equivocal with its article": ([found("scar", "?", site="palm")], "There was a possible scar on the right palm."),
    "without a side": ([bare("jaundice")], "There was jaundice."),
    "with a severity": ([found("thenar_wasting", "mild")], "There was mild thenar wasting on the right."),
    "with a description and a note": (
        [found("thenar_wasting", description="flat", note="seen by the trainee")],
        "There was thenar wasting on the right (flat; seen by the trainee).",
    ),
    "a": ([found("scar", site="palm")], "There was a scar on the right palm."),
    "an": ([found("effusion", site="wrist")], "There was an effusion in the right wrist."),
    "a before the adjective, not the noun": ([found("effusion", "mild", site="wrist")], "There was a mild effusion in the right wrist."),
    "plural on both sides": ([both("scar", site="palm")], "There were scars on both palms."),
    "plural after no": ([found("scar", "absent", site="palm")], "There were no scars on the right palm."),
    "one": ([found("scar", site="palm", count=1)], "There was one scar on the right palm."),
    "one of what is told in the plural": ([found("vesicles", site="palm", count=1)], "There was one vesicle on the right palm."),
    "two": ([found("scar", site="palm", count=2)], "There were two scars on the right palm."),
    "above ten in figures": ([found("scar", site="palm", count=12)], "There were 12 scars on the right palm."),
    "a length": ([found("scar", site="palm", lengthCm=3)], "There was a 3 cm scar on the right palm."),
    "a length that sounds with a vowel": ([found("scar", site="palm", lengthCm=8)], "There was an 8 cm scar on the right palm."),
    "another that does": ([found("scar", site="palm", lengthCm=11)], "There was an 11 cm scar on the right palm."),
    "a nought before the point": ([found("scar", site="palm", lengthCm=0.5)], "There was a 0.5 cm scar on the right palm."),
    "no trailing nought": ([found("scar", site="palm", lengthCm=2.0)], "There was a 2 cm scar on the right palm."),
    "the size of a substance": ([found("calcinosis", site="index", sizeMm=8)], "There was calcinosis in the right index finger (8 mm)."),
    "an angle": (
        [found("dupuytren_contracture", site="little", angleDeg=40)],
        "There was a Dupuytren's contracture of 40 degrees of the right little finger.",
    ),
    "correctability": (
        [found("swan_neck", site="ring", correctability="correctable")], "There was a correctable swan-neck deformity in the right ring finger.",
    ),
    "a grade with its scale": (
        [found("triggering", site="ring", grade="II", grading="Green")], "There was triggering (Green grade II) of the right ring finger.",
    ),
    "several items in one sentence": (
        [found("swelling", site="wrist"), found("redness", site="wrist"), found("bruising", site="wrist")],
        "There was bruising, swelling and redness of the right wrist.",
    ),
    "several absent items": (
        [found("swelling", "absent", site="wrist"), found("redness", "absent", site="wrist"), found("bruising", "absent", site="wrist")],
        "There was no bruising, swelling or redness of the right wrist.",
    ),
    "an article for each of several": (
        [found("dupuytren_nodule", site="palm"), found("dupuytren_cord", site="palm")],
        "There was a Dupuytren's nodule and a Dupuytren's cord in the right palm.",
    ),
    "equivocal on both sides": ([both("scar", "?", site="palm")], "There were possible scars on both palms."),
    "a count and a length": ([found("scar", site="palm", count=12, lengthCm=2)], "There were 12 scars on the right palm (2 cm)."),
    "a count on both sides is of each": (
        [both("scar", site="palm", count=3)], "There were scars on both palms (three each).",
    ),
    "one on both sides": ([both("scar", site="palm", count=1)], "There were scars on both palms (one each)."),
    "a count at several joints is of each": (
        [found("gottrons_papules", site="index and middle PIP", count=2)],
        f"There were Gottron's papules over the {PIP}s of the right index and middle fingers (two each).",
    ),
    "a size follows the place where that is what it is of": (
        [found("swelling", "moderate", site="wrist", sizeMm=30)], "There was moderate swelling of the right wrist (30 mm).",
    ),
    "possible on one side only is never 'present'": (
        [found("thenar_wasting", "?"), left("thenar_wasting", "absent")],
        "There was possible thenar wasting on the right and none on the left.",
    ),
    "a tophus is on the part": ([found("tophi", site="elbow", count=1)], "There was one tophus on the right elbow."),
    "an absent digit": ([found("absent_digit", site="ring")], "There was complete absence of the right ring finger."),
}  # fmt: skip

PLACES = {
    "one joint": ([found("swelling", site="index PIP")], f"There was swelling of the {PIP} of the right index finger."),
    "two joints": ([found("swelling", site="index and middle PIP")], f"There was swelling of the {PIP}s of the right index and middle fingers."),
    "two joints with a gap": ([found("swelling", site="index and ring PIP")], f"There was swelling of the {PIP}s of the right index and ring fingers."),
    "three neighbours as a range": ([found("swelling", site="index to ring PIP")], f"There was swelling of the {PIP}s of the right index to ring fingers."),
    "a complete row": ([found("swelling", site="all PIP")], f"There was swelling of all four {PIP}s of the right hand."),
    "a complete row of both hands": ([both("swelling", site="all PIP")], f"There was swelling of all {PIP}s of both hands."),
    "a complete row of one hand and one joint of the other": (
        [found("swelling", site="all PIP"), left("swelling", site="ring PIP")],
        f"There was swelling of the {PIP} of the left ring finger and of all four {PIP}s of the right hand.",
    ),
    "no joint of a complete row": ([found("swelling", "absent", site="all PIP")], f"There was no swelling of any {PIP} of the right hand."),
    "no joint of either hand": ([both("swelling", "absent", site="all PIP")], f"There was no swelling of any {PIP} of either hand."),
    "two rows of one digit": (
        [found("swelling", site=["index PIP", "index MCP"])],
        "There was swelling of the metacarpophalangeal and proximal interphalangeal joints of the right index finger.",
    ),
    "two rows of two digits": (
        [found("swelling", site=["index PIP", "middle DIP"])],
        f"There was swelling of the {PIP} of the right index finger and of the distal interphalangeal joint of the right middle finger.",
    ),
    "different joints of the two hands": (
        [found("swelling", site="index PIP"), left("swelling", site="ring PIP")],
        f"There was swelling of the {PIP}s of the right index finger and of the left ring finger.",
    ),
    "thumb and finger": ([found("swelling", site="thumb and index")], "There was swelling of the right thumb and index finger."),
    "thumb and a range": ([found("swelling", site="thumb to ring")], "There was swelling of the right thumb and index to ring fingers."),
    "all fingers": ([found("swelling", site="fingers")], "There was swelling of all four fingers of the right hand."),
    "all digits": ([found("swelling", site="all digits")], "There was swelling of all five digits of the right hand."),
    "all fingers of both hands": ([both("swelling", site="fingers")], "There was swelling of all fingers of both hands."),
    "one finger of both hands": ([both("swelling", site="index")], "There was swelling of both index fingers."),
    "two fingers of both hands": ([both("swelling", site="index and middle")], "There was swelling of the index and middle fingers of both hands."),
    "or after no": ([found("swelling", "absent", site="index and middle")], "There was no swelling of the right index or middle finger."),
    "any after no": ([found("swelling", "absent", site="fingers")], "There was no swelling of any finger of the right hand."),
    "either after no": (
        [both("heberdens_nodes", "absent", site="index DIP")],
        "There were no Heberden's nodes at the distal interphalangeal joint of either index finger.",
    ),
    "no digit of either hand": ([both("swelling", "absent", site="all digits")], "There was no swelling of any digit of either hand."),
    "no finger of either hand": ([both("swelling", "absent", site="fingers")], "There was no swelling of any finger of either hand."),
    "a range of neither hand": (
        [both("swelling", "absent", site="thumb to ring")], "There was no swelling of the thumb or index to ring fingers of either hand.",
    ),
    "both wrists": ([both("swelling", site="wrist")], "There was swelling of both wrists."),
    "neither wrist": ([both("swelling", "absent", site="wrist")], "There was no swelling of either wrist."),
    "a part of a hand": ([found("swelling", site="dorsum")], "There was swelling of the dorsum of the right hand."),
    "the part of both hands": ([both("swelling", site="dorsum")], "There was swelling of the dorsum of both hands."),
    "the part of either hand": ([both("swelling", "absent", site="dorsum")], "There was no swelling of the dorsum of either hand."),
    "the sides of one part are told together": (
        [found("swelling", side="both", site=["dorsal_wrist", "radial_wrist"]), found("swelling", side="right", site="ulnar_wrist")],
        "There was swelling of the dorsal and radial sides of both wrists and of the ulnar side of the right wrist.",
    ),
    "two plain sites share the side": ([found("swelling", site=["wrist", "palm"])], "There was swelling of the right wrist and palm."),
    "a plain site and a joint": (
        [found("swelling", site=["wrist", "index PIP"])], f"There was swelling of the right wrist and of the {PIP} of the right index finger.",
    ),
}  # fmt: skip

TESTS = {
    "positive": ([found("phalen_test", "positive")], "Phalen's test was positive on the right."),
    "negative on both sides": ([both("phalen_test", "negative")], "Phalen's test was negative on both sides."),
    "equivocal": ([found("phalen_test", "equivocal")], "Phalen's test was equivocal on the right."),
    "after one second": ([found("phalen_test", "positive", onsetS=1)], "Phalen's test was positive on the right after 1 second."),
    "after seconds, felt somewhere": (
        [found("phalen_test", "positive", onsetS=20, distribution="the thumb")],
        "Phalen's test was positive on the right after 20 seconds (felt in the thumb).",
    ),
    "words of its own": ([found("resisted_supination", "positive")], "Resisted supination was painful on the right."),
    "without a side": ([bare("prayer_sign", "positive")], "The prayer sign was positive."),
    "at a site": ([found("elson_test", "positive", site="ring")], "Elson's test was positive in the right ring finger."),
    "several negative": (
        [found(name, "negative") for name in ("tinel_carpal_tunnel", "phalen_test", "carpal_compression_test")],
        "Tinel's sign at the carpal tunnel, Phalen's test and the carpal compression test were negative on the right.",
    ),
}  # fmt: skip

STATES = {
    "reduced": ([found("median_sensation", "reduced")], "Sensation in the right median nerve area was reduced."),
    "of two areas": (
        [found("median_sensation", "reduced"), found("ulnar_sensation", "reduced")],
        "Sensation in the right median and ulnar nerve areas was reduced.",
    ),
    "of three areas of both hands": (
        [both("median_sensation", "normal"), both("ulnar_sensation", "normal"), both("radial_sensation", "normal")],
        "Sensation in the median, ulnar and superficial radial nerve areas of both hands was normal.",
    ),
    "able": ([found("coin_pick_up", "unable")], "Picking up a coin was not possible on the right."),
    "of a tendon": (
        [found("flexor_digitorum_profundus", "absent", site="ring")],
        "Flexor digitorum profundus to the right ring finger was not acting.",
    ),
    "of both sides of a finger": (
        [found("digital_nerve_sensation", "absent", site=["radial_side_index", "ulnar_side_index"])],
        "Sensation on the radial and ulnar sides of the right index finger was absent.",
    ),
    "with an angle": (
        [found("thumb_ucl", "lax", angleDeg=35)], "The ulnar collateral ligament of the thumb was lax on the right (35 degrees).",
    ),
    "of a lump, one after another": (
        [found(f"lump_{name}", value, site="dorsal_wrist")
         for name, value in (("consistency", "firm"), ("plane", "superficial"), ("mobility", "mobile"))],
        "The lump on the dorsal side of the right wrist was firm, superficial and freely mobile.",
    ),
}  # fmt: skip

POWER = {
    "grade 4": ([found("apb_power", 4)], "Power of abductor pollicis brevis was grade 4 out of 5 on the right."),
    "grade 4 minus": ([found("apb_power", "4-")], "Power of abductor pollicis brevis was grade 4 minus out of 5 on the right."),
    "of a finger": ([found("fds_power", 3, site="ring")], "Power of flexor digitorum superficialis was grade 3 out of 5 in the right ring finger."),
    "the two sides": (
        [found("apb_power", "4+"), left("apb_power", 5)],
        "Power of abductor pollicis brevis was grade 4 plus out of 5 on the right and grade 5 out of 5 on the left.",
    ),
    "two muscles alike": (
        [both("apb_power", 5), both("fpl_power", 5)],
        "Power of abductor pollicis brevis and flexor pollicis longus was grade 5 out of 5 on both sides.",
    ),
}  # fmt: skip

NUMBERS = {
    "kilograms": ([found("grip_strength", 22)], "Grip strength was 22 kg on the right."),
    "a decimal": ([found("grip_strength", 22.5)], "Grip strength was 22.5 kg on the right."),
    "rounded half away from nought": ([found("grip_strength", 22.25)], "Grip strength was 22.3 kg on the right."),
    "rounded without a trailing nought": ([found("grip_strength", 22.04)], "Grip strength was 22 kg on the right."),
    "less than": ([found("grip_strength", "< 5")], "Grip strength was less than 5 kg on the right."),
    "at least": ([found("grip_strength", ">= 60")], "Grip strength was at least 60 kg on the right."),
    "a mean of trials": ([found("grip_strength", [20, 22, 24])], "Grip strength was 22 kg (mean of three trials: 20, 22 and 24) on the right."),
    "the same on both sides": ([both("grip_strength", 22)], "Grip strength was 22 kg on both sides."),
    "degrees": ([found("wrist_flexion", 40)], "Wrist flexion was 40 degrees on the right."),
    "one degree": ([found("wrist_flexion", 1)], "Wrist flexion was 1 degree on the right."),
    "below nought": ([found("wrist_flexion", -5)], "Wrist flexion was minus 5 degrees on the right."),
    "active": ([found("wrist_flexion", 40, mode="active")], "Active wrist flexion was 40 degrees on the right."),
    "a score has no unit": ([bare("quickdash_score", 43.2)], "The QuickDASH score was 43.2."),
    "per cent without a space": ([found("digital_oxygen_saturation", 95, site="index")], "Oxygen saturation in the right index finger was 95%."),
    "millimetres at a site": (
        [found("static_two_point_discrimination", 6, site="index pulp")],
        "Static two-point discrimination at the pulp of the right index finger was 6 mm.",
    ),
    "a note": ([found("grip_strength", 22, note="with pain")], "Grip strength was 22 kg on the right (with pain)."),
    "an arc": ([found("pip_movement", "15-90", site="ring")], f"Movement at the {PIP} of the right ring finger was from 15 to 90 degrees."),
    "an arc with hyperextension": (
        [found("pip_movement", {"from": -10, "to": 60}, site="ring")],
        f"Movement at the {PIP} of the right ring finger was from 10 degrees of hyperextension to 60 degrees of flexion.",
    ),
    "a passive arc": (
        [found("pip_movement", "15-90", site="ring", mode="passive")],
        f"Passive movement at the {PIP} of the right ring finger was from 15 to 90 degrees.",
    ),
    "words": ([found("aids_and_dressings", "a wool glove", site="hand")], "Aids and dressings on the right hand were recorded as: a wool glove."),
    "words that say normal": ([found("aids_and_dressings", "NAD", site="hand")], "Aids and dressings on the right hand were normal."),
}  # fmt: skip

CONTRASTS = {
    "present and absent": (
        [found("thenar_wasting"), left("thenar_wasting", "absent")], "There was thenar wasting on the right and none on the left.",
    ),
    "absent and present": (
        [found("thenar_wasting", "absent"), left("thenar_wasting")], "There was thenar wasting on the left and none on the right.",
    ),
    "equivocal and present": (
        [found("effusion", "?", site="wrist"), left("effusion", site="wrist")],
        "There was a possible effusion in the wrist on the right and an effusion in the wrist on the left.",
    ),
    "two severities": (
        [found("thenar_wasting", "mild"), left("thenar_wasting", "severe")],
        "There was thenar wasting, mild on the right and severe on the left.",
    ),
    "a joint": (
        [found("swelling", site="index PIP"), left("swelling", "absent", "index PIP")],
        f"There was swelling of the {PIP} of the index finger on the right and none on the left.",
    ),
    "two counts": (
        [found("scar", site="palm", count=1), left("scar", site="palm", count=2)],
        "There was one scar on the palm on the right and two scars on the left.",
    ),
    "a note on each side": (
        [found("thenar_wasting", note="new"), left("thenar_wasting", "absent", note="as before")],
        "There was thenar wasting on the right (new) and none on the left (as before).",
    ),
    "a test": ([found("phalen_test", "positive"), left("phalen_test", "negative")], "Phalen's test was positive on the right and negative on the left."),
    "a test with two onsets": (
        [found("phalen_test", "positive", onsetS=10), left("phalen_test", "positive", onsetS=30)],
        "Phalen's test was positive on the right after 10 seconds and positive on the left after 30 seconds.",
    ),
    "a test with words of its own": (
        [found("resisted_supination", "positive"), left("resisted_supination", "negative")],
        "Resisted supination was painful on the right and painless on the left.",
    ),
    "a state": (
        [found("median_sensation", "reduced"), left("median_sensation", "normal")],
        "Sensation in the median nerve area was reduced on the right and normal on the left.",
    ),
    "a number": ([found("grip_strength", 22), left("grip_strength", 30)], "Grip strength was 22 kg on the right and 30 kg on the left."),
    "an arc": (
        [found("pip_movement", "15-90", site="ring"), left("pip_movement", "0-100", "ring")],
        f"Movement at the {PIP} of the ring finger was from 15 to 90 degrees on the right and from 0 to 100 degrees on the left.",
    ),
}  # fmt: skip

TABLES = {
    f"{name}: {key}": row
    for name, table in (("presence", PRESENCE), ("places", PLACES), ("tests", TESTS), ("states", STATES), ("power", POWER),
                        ("numbers", NUMBERS), ("contrasts", CONTRASTS))
    for key, row in table.items()
}  # fmt: skip


@pytest.mark.parametrize(("findings", "sentence"), TABLES.values(), ids=TABLES)
def test_it_reads(findings, sentence):
    assert sentences(*findings) == [sentence]


WHOLE = {
    "a stage normal by exception": (
        {"normal": [{"stage": "inspection"}]}, ["Inspection was recorded as normal."],
    ),
    "two stages": (
        {"normal": [{"stage": "inspection"}, {"stage": "palpation"}]}, ["Inspection and palpation were recorded as normal."],
    ),
    "a stage of one side": (
        {"normal": [{"stage": "special_tests", "side": "left"}]}, ["On the left, special tests were recorded as normal."],
    ),
    "a stage of which something was told": (
        {"findings": [found("thenar_wasting")], "normal": [{"stage": "inspection"}, {"stage": "palpation"}]},
        ["There was thenar wasting on the right.", "Inspection was otherwise normal.", "Palpation was recorded as normal."],
    ),
    "a stage not examined": ({"notExamined": [{"stage": "function"}]}, ["Hand function was not examined."]),
    "not examined for a reason": (
        {"notExamined": [{"stage": "special_tests", "side": "left", "reason": "pain"}]},
        ["Special tests on the left were not examined (pain)."],
    ),
    "a test not done": ({"notExamined": [{"item": "phalen_test", "side": "right"}]}, ["Phalen's test on the right was not done."]),
    "a number not measured": (
        {"notExamined": [{"item": "grip_strength", "side": "both"}]}, ["Grip strength on both sides was not measured."],
    ),
    "a joint not examined": (
        {"notExamined": [{"item": "synovitis", "side": "left", "site": "index to ring PIP"}]},
        [f"Synovitis at the {PIP}s of the left index to ring fingers was not examined."],
    ),
    "declined": ({"notExamined": [{"item": "jaundice", "declined": True}]}, ["Examination for jaundice was declined."]),
    "a power not examined": (
        {"notExamined": [{"item": "apb_power", "side": "right"}]}, ["Power of abductor pollicis brevis on the right was not examined."],
    ),
    "two things for one reason": (
        {"notExamined": [{"item": "synovitis", "side": "left", "site": "wrist", "reason": "pain"}, {"stage": "function", "reason": "pain"}]},
        ["Synovitis at the left wrist and hand function were not examined (pain)."],
    ),
}  # fmt: skip


@pytest.mark.parametrize(("examination", "told"), WHOLE.values(), ids=WHOLE)
def test_what_was_normal_or_not_examined_reads(examination, told):
    assert sentences(examination=examination) == told


# Typography


def test_a_number_never_parts_from_its_unit_at_the_end_of_a_line():
    findings = [found("grip_strength", 22), found("wrist_flexion", 40), found("scar", site="palm", lengthCm=3),
                found("phalen_test", "positive", onsetS=20), found("dupuytren_contracture", site="little", angleDeg=40)]  # fmt: skip
    text = " ".join(text for text, _ in drafted(*findings).sentences())
    for unit in ("22\u00a0kg", "40\u00a0degrees", "3\u00a0cm", "20\u00a0seconds"):
        assert unit in text
    assert not re.search(r"\d (?:kg|cm|mm|degrees?|seconds?)\b", text)


# Long sentences and sameness


def joints(*sides):
    return [
        found("joint_tenderness", site=list(catalogue().items["joint_tenderness"].sites)[::2], side=side)
        for side in sides
    ]


def _every_shape(*findings):
    (statement,) = summarise(facts_of(*findings), None, catalogue()).statements
    return [each.text for each in variants(statement, catalogue())]


@pytest.mark.parametrize(
    ("finding", "words"),
    [
        (left("laceration", site="thumb", count=3), "lacerations to the left thumb"),
        (found("wound_discharge", site="palm"), "discharge from the right palm"),
        (
            found("acute_amputation", site="proximal_phalanx_ring"),
            "amputation through the proximal phalanx of the right ring finger",
        ),
    ],
    ids=["to", "from", "through"],
)
def test_a_finding_stays_beside_the_place_it_is_bound_to(finding, words):
    told = _every_shape(finding)
    assert len(told) > 1
    assert all(words in text.casefold() for text in told)


def test_an_absence_is_never_present():
    assert not any("present" in text for text in _every_shape(found("absent_digit", site="ring")))


@pytest.mark.parametrize(("then", "now"), [("present", "mild"), ("severe", "present")])
def test_a_degree_that_only_one_visit_recorded_is_no_change(then, now):
    swelling = {"item": "swelling", "side": "right", "site": "wrist"}

    compared = drafted(
        swelling | {"value": now},
        visit={"date": "2026-11-20"},
        earlier=[swelling | {"value": then, "date": "2026-06-01"}],
    )

    assert compared.summary.changes == ()


def test_what_is_only_possible_is_never_present():
    assert not any(
        "present" in text for text in _every_shape(found("thenar_wasting", "?"), left("thenar_wasting", "absent"))
    )


def test_a_long_list_of_joints_is_told_hand_by_hand():
    first, second = sentences(*joints("both"))
    assert "left" not in first
    assert "right" not in second
    assert max(len(first.split()), len(second.split())) <= 35
    assert first.replace("right", "left") == second


def test_a_long_list_of_items_is_told_in_parts_that_lose_none():
    slugs = [item.slug for item in catalogue().items.values() if item.value.value == "mrc" and not item.sites][:16]
    drafted_letter = drafted(*[both(slug, "4") for slug in slugs])
    told = drafted_letter.sentences()
    assert len(told) > 1
    assert max(len(text.split()) for text, _ in told) <= 35
    assert sorted(fact for _, facts in told for fact in facts) == sorted(fact.id for fact in drafted_letter.facts.facts)
    for text, facts in told:
        for fact in drafted_letter.facts.facts:
            muscle = catalogue().items[fact.item].doctor.subject.removeprefix("the ")
            assert fact.id not in facts or muscle in text


def test_no_three_sentences_in_a_row_have_one_shape():
    wounds = [found(item, site=site) for item, site in (("bruising", "wrist"), ("swelling", "palm"), ("redness", "dorsum"),
              ("scar", "forearm"), ("dry_skin", "index"))]  # fmt: skip
    starts = [text.startswith("There ") for text in sentences(*wounds)]
    assert len(starts) == 5
    assert [True] * 3 not in [starts[at : at + 3] for at in range(3)]


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(encounters(most=30))
def test_a_paragraph_is_short_enough_to_scan(encounter):
    for block in draft(encounter).letter.blocks:
        if isinstance(block, Paragraph) and any(sentence.facts for sentence in block.sentences):
            assert len(block.sentences) <= 8
