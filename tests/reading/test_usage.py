"""Ways in which clinicians say a finding that a letter never uses: invented lines with their facts and no others."""

from __future__ import annotations

import pytest

from letterkit.reading.read import read

PER_PLACE = [
    ("Pillar pain was possible on the right and absent on the left.", ["pillar_pain right equivocal ?", "pillar_pain left absent"]),
    ("Pillar pain was present on the left, possible on the right.", ["pillar_pain left present", "pillar_pain right equivocal ?"]),
    ("Thenar wasting: mild on the right and severe on the left.", ["thenar_wasting right present severity=mild", "thenar_wasting left present severity=severe"]),
    ("Severe thenar wasting on the right, mild on the left.", ["thenar_wasting right present severity=severe", "thenar_wasting left present severity=mild"]),
    ("Mild swelling of the right wrist, present on the left.", ["swelling right wrist present severity=mild", "swelling left wrist present"]),
    ("Negative Tinel's at the right wrist, positive at the right elbow.", ["tinel_carpal_tunnel right negative", "tinel_elbow right positive"]),
    ("No bruising in the right forearm or elbow, but the left wrist is tender.", ["bruising right elbow+forearm absent", "joint_tenderness left wrist present"]),
    ("Eichhoff's + R, - L.", ["eichhoff_test right positive", "eichhoff_test left negative"]),
    ("Eichhoff's R +, L -.", ["eichhoff_test right positive", "eichhoff_test left negative"]),
    ("Eichhoff's R - L +.", ["eichhoff_test right negative", "eichhoff_test left positive"]),
    ("L hand: +Phalen's, -Durkan's.", ["phalen_test left positive", "carpal_compression_test left negative"]),
    ("Grip is 32 kg on the right; 18 kg on the left.", ["grip_strength right 32", "grip_strength left 18"]),
    ("Durkan's is positive on the right. Negative on the left.", ["carpal_compression_test right positive", "carpal_compression_test left negative ?"]),
    ("Weakness of the right interossei was noted (4/5).", ["interossei_power right 4"]),
    ("Swelling over the fingers and the dorsum of the left hand.", ["swelling left dorsum+index+middle+ring+little present"]),
]  # fmt: skip
JOINED = [
    ("There was catching of all five digits of the right hand and of all four fingers of the left hand.", ["catching right thumb+index+middle+ring+little present", "catching left index+middle+ring+little present"]),
    ("The colour of the pulp of the index finger was blue on the right and red on the left.", ["fingertip_colour right pulp_index blue", "fingertip_colour left pulp_index red"]),
    ("Skin colour of the palm was cyanosed on the right and cyanosed on the left.", ["skin_colour right palm blue", "skin_colour left palm blue"]),
    ("Temperature sensation in the ulnar nerve area was reduced on the left.", ["temperature_sensation left ulnar_area reduced"]),
]  # fmt: skip
PAIN = [
    ("Extension of the left wrist is painful.", ["pain_on_movement left wrist present note=on extension"]),
    ("Wrist extension is painful on the right.", ["pain_on_movement right wrist present note=on wrist extension"]),
    ("Wrist flexion is not painful on the right.", ["pain_on_movement right wrist absent note=on wrist flexion"]),
    ("Full movement of the right elbow without pain.", ["range_of_movement right elbow full", "pain_on_movement right elbow absent"]),
    ("Pain on gripping with the left hand.", ["pain_on_movement left present note=on gripping ?"]),
    ("Phalen's test reproduced tingling in the index finger on the left.", ["phalen_test left positive"]),
    ("Tinel's at the right elbow did not reproduce any tingling.", ["tinel_elbow right negative"]),
    ("Watson's test on the left produces a painful clunk.", ["watson_test left positive"]),
]  # fmt: skip
POWER = [
    ("Elbow extension is limited on the left.", ["range_of_movement left elbow reduced"]),
    ("Wrist flexion is weak on the left.", ["wrist_flexor_power left reduced ?"]),
    ("Wrist flexion is restricted on the left.", ["wrist_flexion_range left reduced"]),
    ("Elbow flexion of the right arm is 10-120.", ["elbow_movement right elbow 10-120"]),
    ("Power is 4/5 in the right hand grip and 5/5 in the left.", ["grip_power right 4", "grip_power left 5"]),
    ("Power 5/5 in both arms including deltoids and triceps.", ["upper_limb_power both 5", "deltoid_power both 5", "triceps_power both 5"]),
    ("Muscle power was grade 3/5 in the right wrist extensors.", ["wrist_extensor_power right 3"]),
    ("Motor: 5/5 in all muscle groups except right grip, which is 4/5.", ["upper_limb_power both 5", "grip_power right 4"]),
    ("Reflexes are 2+ at the biceps, triceps and trapezius bilaterally.", ["biceps_reflex both normal note=grade 2+", "triceps_reflex both normal note=grade 2+"]),
    ("Sensory examination reveals decreased pinprick over the right thumb.", ["pinprick_sensation right thumb reduced"]),
    ("Radial and dorsalis pedis pulses are present bilaterally.", ["radial_pulse both present"]),
]  # fmt: skip
PLACES = [
    ("Range of movement of the left PIP joint is 0-95 in the ring finger.", ["pip_movement left pip_ring 0-95"]),
    ("Unable to flex the IP joint of the left thumb.", ["range_of_movement left ip_thumb absent"]),
    ("Tender over the neck of the fifth metacarpal on the right.", ["tenderness_elsewhere right metacarpal_little present"]),
    ("Tender over the radial aspect of the left wrist.", ["wrist_region_tenderness left radial_wrist present"]),
    ("Tender over the left scaphoid.", ["snuffbox_tenderness left snuffbox present ?"]),
    ("A small little rash on the left thumb.", ["rash left thumb present severity=mild"]),
    ("Redness over the dorsum of the feet.", []),
    ("Reduced light touch over the ulnar half of the left ring finger.", ["digital_nerve_sensation left ulnar_side_ring reduced"]),
    ("The neurovascular status of the left hand was intact.", ["neurological_status left normal", "vascular_status left normal"]),
    ("The left hand has a normal neurovascular status.", ["normal neurovascular left"]),
]  # fmt: skip
NUMBERS = [
    ("Forearm girth 26 cm on the right and 25 cm on the left.", ["forearm_girth right 26", "forearm_girth left 25"]),
    ("Circumference of the right upper arm 30 cm, forearm 26 cm.", ["upper_arm_girth right 30", "forearm_girth right 26"]),
    ("Two-point discrimination is greater than 10 mm over the left thumb.", ["static_two_point_discrimination left pulp_thumb >10"]),
    ("Capillary refill of the left thumb 2-3 seconds.", ["capillary_refill_time left thumb note=2 to 3 s ?"]),
    ("IP joint of the left thumb: flexion 60 degrees.", ["thumb_ip_movement left ip_thumb note=flexion 60 degrees ?"]),
    ("Left triceps reflex 2/2.", ["triceps_reflex left normal note=grade 2"]),
]  # fmt: skip
TWICE = [
    ("A mass over the left palm. It measures 2 x 3 cm and is firm.", ["palpable_lump left palm present sizeMm=30 ?"]),
    ("Nodule of the right ring finger. The nodule is 5 mm wide.", ["nodule right ring present sizeMm=5"]),
    ("A 30-year-old man with swelling of the left wrist for 3 days.", ["swelling left wrist present"]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "expected"), [*PER_PLACE, *JOINED, *PAIN, *POWER, *PLACES, *NUMBERS, *TWICE])
def test_a_line_gives_just_its_facts(facts, text, expected):
    assert expected == facts(text)


def test_a_stock_line_takes_no_side_from_the_history(facts):
    note = "HPI: pain in the right wrist.\n\nExtremities: No clubbing, cyanosis, or oedema."

    assert [fact.split()[1] for fact in facts(note)] == ["-", "-", "-"]


def test_an_exception_to_a_normal_result_is_asked_about(facts):
    assert facts("Light touch is intact in the left hand except for the thumb.") == [
        "light_touch left hand normal ?", "light_touch left thumb reduced ?",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "figures"),
    [
        ("A 2 cm x 1.5 cm swelling of the right palm.", "2 cm x 1.5 cm"),
        ("Grip strength is 45 lb on the left.", "45 lb"),
        ("Triceps of the right arm 4+/5.", "4+/5"),
        ("Swelling of the right palm.", ""),
    ],
)
def test_figures_are_those_of_the_note(text, figures):
    reading = read(text)

    assert [reading.figures(finding) for finding in reading.findings] == [figures]


@pytest.mark.parametrize(
    "text",
    [
        "Movement of the PIP of the thumb 0 to 50",
        "nodes the and of both There of middle distal at were index fingers the interphalangeal joints hands.",
        "of mild was the of and fingers. the distal index right joints tenderness middle interphalangeal There",
    ],
)
def test_a_joint_that_a_digit_lacks_is_read_or_left_but_never_fails(text):
    assert "".join(read(text).quote(span) for span in read(text).spans) == text


@pytest.mark.parametrize(
    "text",
    [
        "X-ray of the left wrist: no fracture, soft tissue swelling.",
        "Preoperatively the left thumb was tender.",
        "The pain radiates to the left elbow with weakness of grip.",
        "Will inject the right thumb for triggering.",
    ],
)
def test_what_is_not_of_today_is_no_finding(facts, text):
    assert facts(text) == []


def test_what_could_not_be_assessed_is_not_absent(facts):
    assert facts("Could not assess light touch in the left thumb.") == ["unexamined light_touch left thumb"]


def test_a_well_healed_scar_is_a_scar(facts):
    assert facts("A well-healed scar over the right palm.") == ["scar right palm present"]
