"""Lines of invented notes with the facts they state and no others; a line without facts states none of today."""

from __future__ import annotations

import pytest

CASES = [
    (
        "No swelling, bruising or deformity of the left wrist.",
        ["swelling left wrist absent", "bruising left wrist absent", "deformity left wrist absent"],
    ),
    (
        "No bruising but tenderness over the right radial styloid.",
        ["bruising right wrist absent ?", "radial_styloid_tenderness right radial_styloid present"],
    ),
    (
        "No bruising of the right wrist, tender over the ulnar styloid.",
        ["bruising right wrist absent", "ulnar_styloid_tenderness right ulnar_styloid present"],
    ),
    (
        "No bruising of the right wrist; tenderness over the radial styloid.",
        ["bruising right wrist absent", "radial_styloid_tenderness right radial_styloid present"],
    ),
    (
        "No tenderness apart from the left lunate.",
        ["joint_tenderness left absent ?", "lunate_tenderness left lunate present"],
    ),
    (
        "Phalen's negative on the left, positive on the right.",
        ["phalen_test left negative", "phalen_test right positive"],
    ),
    ("Tinel's sign at the elbow was negative on the right.", ["tinel_elbow right negative"]),
    ("Tinel's sign at the wrist: negative on both sides.", ["tinel_carpal_tunnel both negative"]),
    ("Eichhoff's -ve bilaterally.", ["eichhoff_test both negative"]),
    ("Light touch intact in the right thumb.", ["light_touch right thumb normal"]),
    (
        "No numbness of the right thumb and tingling of the left thumb.",
        ["light_touch right thumb normal", "light_touch left thumb altered ?"],
    ),
    ("There is no loss of sensation in the right little finger.", ["light_touch right little normal"]),
    ("Not able to make a full fist on the left.", ["composite_fist left reduced"]),
    ("Unable to oppose the right thumb.", ["thumb_opposition right absent"]),
    ("Without difficulty making a fist on the right.", ["composite_fist right full"]),
    ("Locking absent in all digits of the right hand.", ["locking right thumb+index+middle+ring+little absent"]),
    ("Wasting of the left thenar eminence is not seen.", ["thenar_wasting left absent"]),
    ("Deformity of the left wrist: nil.", ["deformity left wrist absent"]),
    ("Redness of the left hand - none.", ["redness left hand absent"]),
    ("No change in the swelling of the right index finger.", ["swelling right index present ?"]),
    ("To rule out scaphoid fracture. Scaphoid fracture cannot be excluded.", []),
    ("Watson's test on the right was not tested.", ["unexamined watson_test right"]),
    ("Elson's test not performed on the right ring finger.", ["unexamined elson_test right ring"]),
    ("Denies tingling, has pain at night.", []),
    ("The right hand is free of swelling.", ["swelling right hand absent"]),
    (
        "Pain free range of movement of the right wrist.",
        ["pain_on_movement right wrist absent", "range_of_movement right wrist full ?"],
    ),
    ("No longer has locking of the left middle finger.", ["locking left middle absent ?"]),
    (
        "Neither redness nor swelling of the left hand was present.",
        ["redness left hand absent", "swelling left hand absent"],
    ),
    (
        "Non-tender over the left pisiform. Nontender over the right lunate.",
        ["pisiform_tenderness left pisiform absent", "lunate_tenderness right lunate absent"],
    ),
    ("Froment's sign is unlikely to be positive on the right.", ["froment_sign right equivocal ?"]),
    ("If tingling returns in the right hand she will come back.", []),
    ("Her mother had swelling of both hands.", []),
    ("MRI of the right wrist shows synovitis.", []),
    ("At follow-up there was swelling of the right wrist.", []),
    (
        "Phalen's +ve R at 25s, -ve L. Durkan's R +ve.",
        ["phalen_test right positive onsetS=25", "phalen_test left negative", "carpal_compression_test right positive"],
    ),
    (
        "APL 5/5 R, EPB 4+/5 L. ADM 4-/5 B/L.",
        ["apl_power right 5", "epb_power left 4+", "abductor_digiti_minimi_power both 4-"],
    ),
    (
        "No hypothenar or thenar wasting on either side, FDI wasted on R.",
        [
            "hypothenar_wasting both absent",
            "thenar_wasting both absent",
            "first_dorsal_interosseous_wasting right present",
        ],
    ),
    (
        "2PD 4mm R IF, 7 R MF.",
        ["static_two_point_discrimination right pulp_index 4", "static_two_point_discrimination right pulp_middle 7 ?"],
    ),
    ("Ulnar pulse present B/L, cap refill brisk.", ["ulnar_pulse both present", "capillary_refill both brisk ?"]),
    (
        "FDP intact R IF, FDS absent.",
        ["flexor_digitorum_profundus right index intact", "flexor_digitorum_superficialis right index absent"],
    ),
    (
        "PIPJ R MF 15-90 active, 0-100 passive.",
        ["pip_movement right pip_middle 15-90 mode=active", "pip_movement right pip_middle 0-100 mode=passive"],
    ),
    (
        "Boggy MCPs 2 and 3 on the left, no warmth.",
        ["synovitis left mcp_index+mcp_middle present", "skin_temperature left mcp_index+mcp_middle normal"],
    ),
    (
        "Cord L LF, MCPJ 30 FFD, PIPJ 60 FFD.",
        [
            "dupuytren_cord left little present ?",
            "fixed_flexion_deformity left mcp_little present angleDeg=30",
            "fixed_flexion_deformity left pip_little present angleDeg=60",
        ],
    ),
    (
        "R MF numb, LF normal, Tinels +ve.",
        ["light_touch right middle reduced", "light_touch right little normal", "tinel_carpal_tunnel right positive"],
    ),
    ("Grip L 22/24/23 R 31 kg.", ["grip_strength left 22/24/23 ?", "grip_strength right 31"]),
    (
        "R wrist F 55 E 45, pron/sup full.",
        [
            "wrist_flexion right 55",
            "wrist_extension right 45",
            "pronation_range right full",
            "supination_range right full",
        ],
    ),
    ("Squeeze +ve.", []),
    ("Allen's -ve.", []),
    ("R hand NAD.", ["regional_examination right hand normal"]),
    ("Feel: NAD on the left.", ["normal palpation left"]),
    ("Move: deferred.", ["unexamined movement -"]),
    (
        "Left index finger: MCPJ swollen; PIPJ tender.",
        ["swelling left mcp_index present", "joint_tenderness left pip_index present"],
    ),
    ("Sweling of the right wrist.", ["swelling right wrist present ?"]),
    ("Finklestein's positive on the left.", ["finkelstein_test left positive ?"]),
    ("Swelling of the right 2nd to 4th MCPJs.", ["swelling right mcp_index+mcp_middle+mcp_ring present"]),
    (
        "Tenderness of the MCP joints of the right index, middle and ring fingers.",
        ["joint_tenderness right mcp_index+mcp_middle+mcp_ring present"],
    ),
    (
        "Sensation reduced in the right median nerve area, normal on the left.",
        ["median_sensation right median_area reduced", "median_sensation left median_area normal"],
    ),
    ("Contralateral wrist: no swelling.", ["swelling - wrist absent ?"]),
    ("Triggering R>L ring finger.", ["triggering both ring present"]),
    (
        "O/E: Left hand - hypothenar wasting, no thenar wasting. Phalen's -ve. FDI 4/5.",
        [
            "hypothenar_wasting left present",
            "thenar_wasting left absent",
            "phalen_test left negative",
            "first_dorsal_interosseous_power left 4",
        ],
    ),
    (
        "L wrist: swollen, warm, tender over snuffbox. No redness.",
        [
            "swelling left wrist present",
            "skin_temperature left wrist warm",
            "snuffbox_tenderness left snuffbox present",
            "redness left wrist absent",
        ],
    ),
    (
        "Wrist: flexion 55 R, 70 L; extension 45 R, 65 L.",
        ["wrist_flexion right 55", "wrist_flexion left 70", "wrist_extension right 45", "wrist_extension left 65"],
    ),
    ("Froment's equivocal on the left.", ["froment_sign left equivocal"]),
    (
        "Bilateral Bouchard's nodes at the PIPJs of the index and ring fingers.",
        ["bouchards_nodes both pip_index+pip_ring present"],
    ),
    (
        "Laceration 3 cm over the right thumb. EPL and APL intact.",
        [
            "laceration right thumb present lengthCm=3",
            "extensor_pollicis_longus right thumb intact",
            "abductor_pollicis_longus right thumb intact",
        ],
    ),
    ("Handgrip is about 4/5 on the right, left side is 5/5.", ["grip_power right 4", "grip_power left 5"]),
    (
        "Tenderness over the left A1 pulley of the ring finger but not over the right.",
        ["a1_pulley_tenderness left a1_ring present", "a1_pulley_tenderness right a1_ring absent"],
    ),
    (
        "Tinel's positive over the cubital tunnel on the right, negative on the left.",
        ["tinel_elbow right positive", "tinel_elbow left negative"],
    ),
    ("There is a 6 mm ganglion on the dorsum of the right wrist.", ["dorsal_wrist_ganglion right present sizeMm=6"]),
    ("NVI distally in the left hand.", ["normal neurovascular left"]),
    (
        "SILT in the right hand. WWP.",
        ["light_touch right hand normal", "perfusion right hand normal", "skin_temperature right hand normal"],
    ),
    ("Neck: FROM, Spurling's negative.", ["neck_movement - full", "spurling_test - negative ?"]),
    (
        "Sensation normal in the right thumb, reduced in the right index finger.",
        ["light_touch right thumb normal", "light_touch right index reduced"],
    ),
    ("Look: no scars. Feel: NAD. NV: NAD.", ["scar - absent ?", "normal palpation -", "normal neurovascular -"]),
    ("c/o tingling in the left hand. O/E Phalen's positive on the left.", ["phalen_test left positive"]),
    (
        "Right thumb: CMC1 tender, grind +ve. Kapandji 7. Key pinch 3 kg R, 6 kg L.",
        [
            "thumb_base_tenderness right cmc_thumb present",
            "thumb_base_grind_test right positive",
            "kapandji_score right 7",
            "key_pinch right 3",
            "key_pinch left 6",
        ],
    ),
    ("Swelling of the right wrist compared with the left.", ["swelling right wrist present"]),
    ("Swelling of the right wrist consistent with synovitis.", ["swelling right wrist present"]),
    ("The dorsum of both hands was red.", ["redness both dorsum present"]),
    ("Capillary refill in the right index finger was less than two seconds.", ["capillary_refill_time right index <2"]),
    ("Active flexion of the left wrist was 40 degrees.", ["wrist_flexion left 40 mode=active"]),
    ("No pain on axial loading of the right thumb.", ["pain_on_movement right thumb absent note=on loading"]),
    (
        "Ganglion dorsal wrist L, 1.5 cm, transilluminates.",
        ["dorsal_wrist_ganglion left present sizeMm=15", "transillumination left dorsal_wrist positive"],
    ),
    ("Rt little finger: PIPJ ROM 10-70.", ["pip_movement right pip_little 10-70"]),
    (
        "Both Jeanne's and Froment's signs were negative on the left.",
        ["jeanne_sign left negative", "froment_sign left negative"],
    ),
    (
        "No wasting of the hypothenar eminence and first dorsal interosseous on the left.",
        ["hypothenar_wasting left absent", "first_dorsal_interosseous_wasting left absent"],
    ),
    ("Right knee swollen. No effusion.", []),
    ("Tenderness over the left elbow and the right knee.", ["joint_tenderness left elbow present"]),
    ("Swelling of the left wrist, possibly.", ["swelling left wrist equivocal ?"]),
    (
        "Right wrist: no swelling, mild tenderness, full ROM.",
        [
            "swelling right wrist absent",
            "joint_tenderness right wrist present severity=mild",
            "range_of_movement right wrist full",
        ],
    ),
    ("Elbow: no effusion, full ROM.", ["effusion - elbow absent ?", "range_of_movement - elbow full ?"]),
    (
        "Right triceps reflex absent, biceps 2+.",
        ["triceps_reflex right absent", "biceps_reflex right normal note=grade 2+"],
    ),
    ("Grip strength R/L: 32/30 kg", ["grip_strength right 32", "grip_strength left 30"]),
    (
        "Wrist flexion was 60 degrees and extension 45 degrees on the left.",
        ["wrist_flexion left 60 ?", "wrist_extension left 45"],
    ),
    ("The right elbow is stable.", ["joint_instability right elbow absent"]),
    (
        "Median and ulnar nerves intact on the right.",
        ["median_nerve_function right normal", "ulnar_nerve_function right normal"],
    ),
    ("Numb over the first three digits on the right.", ["light_touch right thumb+index+middle reduced ?"]),
    ("Grip strength 40 lb on the right.", ["grip_strength right note=40 lb ?"]),
    ("APB grade 6 out of 5 on the right.", []),
    ("FNF/RAM normal bilaterally.", ["finger_nose_test both normal", "rapid_alternating_movements both normal"]),
    ("There is no pain or swelling of the right hand.", ["pain right hand absent", "swelling right hand absent"]),
    (
        "Full range of movement of the left elbow without pain.",
        ["range_of_movement left elbow full", "pain_on_movement left elbow absent"],
    ),
    ("Left wrist normal.", ["regional_examination left wrist normal"]),
    (
        "Both hands warm. Amputation of the left ring finger.",
        ["skin_temperature both hand warm", "established_amputation left ring present ?"],
    ),
]
AMERICAN = [
    ("Edema of the right hand.", ["oedema right hand present"]),
    ("2PD 6 mm R LF.", ["static_two_point_discrimination right pulp_middle 6 ?"]),
    ("Tenderness of the PIP joint of the left long finger.", ["joint_tenderness left pip_middle present"]),
]
TABLE = """Test            Right      Left
Grip            24 kg      30 kg
Phalen's        +ve        -ve
APB             4/5        5/5
"""
UNREAD = [
    ("Allen's +ve.", "Allen's +ve"),
    ("Squeeze +ve.", "Squeeze"),
    ("Right snuffbox NT.", "NT"),
    ("Tinel's right wrist.", "Tinel's"),
    ("Yergason's test negative.", "Yergason's"),
]
APART = [
    ("Denies numbness in the right hand.", "history"),
    ("If numbness returns in the right hand, she will call.", "plan or advice"),
    ("MRI of the right wrist shows an effusion.", "an investigation"),
    ("Her father has a Dupuytren's contracture of the left ring finger.", "another person"),
    ("HPI: swelling of the right hand for a week.\n\nExam: no swelling of the right hand.", "history"),
    ("Plan: decompression if the right thenar wasting progresses.", "plan or advice"),
]


@pytest.mark.parametrize(("text", "expected"), CASES)
def test_a_line_gives_just_its_facts(facts, text, expected):
    assert expected == facts(text)


@pytest.mark.parametrize(("text", "expected"), AMERICAN)
def test_american_usage_is_settled_by_the_language(facts, text, expected):
    assert expected == facts(text, "en-US")


def test_a_table_with_a_column_for_each_side_is_read_cell_by_cell(facts):
    assert facts(TABLE) == [
        "grip_strength right 24", "grip_strength left 30", "phalen_test right positive", "phalen_test left negative",
        "apb_power right 4", "apb_power left 5",
    ]  # fmt: skip


@pytest.mark.parametrize(("text", "words"), UNREAD)
def test_what_has_no_safe_reading_is_handed_back_as_unread(read_note, text, words):
    reading = read_note(text)

    assert reading.findings == ()
    assert words in [reading.quote(span) for span in reading.unread]


@pytest.mark.parametrize(("text", "why"), APART)
def test_what_is_not_of_today_is_kept_apart_with_its_reason(read_note, text, why):
    assert why in [span.why for span in read_note(text).not_current]


def test_history_is_never_reported_as_found(read_note):
    reading = read_note(APART[4][0])

    assert [finding.state for finding in reading.findings] == ["absent"]


@pytest.mark.parametrize("text", [text for text, _ in CASES])
def test_spans_of_a_line_are_the_line(read_note, text):
    reading = read_note(text)

    assert text == "".join(reading.quote(span) for span in reading.spans)


def test_a_side_that_only_the_history_tells_is_offered_and_never_certain(read_note):
    reading = read_note("She complains of pain in the right wrist.\nExamination: swelling of the wrist.")

    assert [(finding.side, finding.sure) for finding in reading.findings] == [("right", "needs_a_look")]
