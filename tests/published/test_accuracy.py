"""Published accuracy of tests, likelihood ratios computed from it, post-test arithmetic."""

from __future__ import annotations

from collections import Counter

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable, Range, rounded
from letterkit.measures.accuracy import accuracies, accuracy_of, combinations, likelihood_ratio, post_test
from letterkit.measures.result import required

# Finding, condition, publication, mark, figures: one figure, or lowest and highest.
PUBLISHED = [
    (
        "median_hypalgesia",
        "carpal tunnel syndrome",
        "D'Arcy and McGee 2000",
        "confirmed",
        {
            "sensitivity": (0.15, 0.51),
            "specificity": (0.85, 0.93),
            "lr_positive": 3.1,
            "lr_positive_ci": (2.0, 5.1),
            "lr_negative": 0.7,
        },
    ),
    (
        "katz_diagram_classic",
        "carpal tunnel syndrome",
        "D'Arcy and McGee 2000",
        "confirmed",
        {
            "sensitivity": 0.64,
            "specificity": 0.73,
            "lr_positive": 2.4,
            "lr_positive_ci": (1.6, 3.5),
            "lr_negative": 0.5,
        },
    ),
    (
        "katz_diagram_unlikely",
        "carpal tunnel syndrome",
        "D'Arcy and McGee 2000",
        "confirmed",
        {"lr_positive": 0.2, "lr_positive_ci": (0.0, 0.7)},
    ),
    (
        "thumb_abduction_weak",
        "carpal tunnel syndrome",
        "D'Arcy and McGee 2000",
        "confirmed",
        {"lr_positive": 1.8, "lr_positive_ci": (1.4, 2.3), "lr_negative": 0.5, "lr_negative_ci": (0.4, 0.7)},
    ),
    (
        "thenar_atrophy",
        "carpal tunnel syndrome",
        "D'Arcy and McGee 2000",
        "confirmed",
        {"lr_positive": 1.6, "lr_positive_ci": (0.9, 2.8), "lr_negative": 1.0},
    ),
    (
        "thenar_atrophy",
        "carpal tunnel syndrome",
        "BMC Musculoskelet Disord 2021, systematic review",
        "confirmed",
        {"specificity": (0.96, 1.0)},
    ),
    (
        "tinel_wrist",
        "carpal tunnel syndrome",
        "D'Arcy and McGee 2000",
        "confirmed",
        {"lr_positive": 1.4, "lr_positive_ci": (1.0, 1.9), "lr_negative": 0.8},
    ),
    ("tinel_wrist", "carpal tunnel syndrome", "Dabbagh 2023", "confirmed", {"sensitivity": 0.45, "specificity": 0.78}),
    ("tinel_wrist", "carpal tunnel syndrome", "Szabo 1999", "confirmed", {"specificity": 0.71}),
    ("tinel_wrist", "carpal tunnel syndrome", "Ahn 2001", "confirmed", {"sensitivity": 0.675, "specificity": 0.9}),
    ("tinel_wrist", "carpal tunnel syndrome", "Nunez de Arenas-Arroyo 2022", "confirmed", {"odds_ratio": 5.3}),
    (
        "tinel_wrist",
        "carpal tunnel syndrome",
        "MacDermid and Wessel 2004",
        "from memory",
        {"sensitivity": 0.5, "specificity": 0.77},
    ),
    (
        "phalen",
        "carpal tunnel syndrome",
        "D'Arcy and McGee 2000",
        "confirmed",
        {"lr_positive": 1.3, "lr_positive_ci": (1.1, 1.6), "lr_negative": 0.7},
    ),
    ("phalen", "carpal tunnel syndrome", "Dabbagh 2023", "confirmed", {"sensitivity": 0.57, "specificity": 0.67}),
    ("phalen", "carpal tunnel syndrome", "Ahn 2001", "confirmed", {"sensitivity": 0.675, "specificity": 0.91}),
    ("phalen", "carpal tunnel syndrome", "Nunez de Arenas-Arroyo 2022", "confirmed", {"odds_ratio": 7.2}),
    (
        "phalen",
        "carpal tunnel syndrome",
        "MacDermid and Wessel 2004",
        "from memory",
        {"sensitivity": 0.68, "specificity": 0.73},
    ),
    (
        "carpal_compression",
        "carpal tunnel syndrome",
        "D'Arcy and McGee 2000, as tabled",
        "confirmed",
        {"lr_positive": 1.0, "lr_negative": 1.0},
    ),
    (
        "carpal_compression",
        "carpal tunnel syndrome",
        "Durkan 1991",
        "from memory",
        {"sensitivity": 0.87, "specificity": 0.9},
    ),
    ("carpal_compression", "carpal tunnel syndrome", "Szabo 1999", "confirmed", {"sensitivity": 0.89}),
    (
        "carpal_compression",
        "carpal tunnel syndrome",
        "Ma and Kim 2012",
        "confirmed",
        {"sensitivity": 0.844, "specificity": 0.822},
    ),
    ("carpal_compression", "carpal tunnel syndrome", "Nunez de Arenas-Arroyo 2022", "confirmed", {"odds_ratio": 15.8}),
    (
        "carpal_compression",
        "carpal tunnel syndrome",
        "MacDermid and Wessel 2004",
        "from memory",
        {"sensitivity": 0.64, "specificity": 0.83},
    ),
    (
        "night_paraesthesia",
        "carpal tunnel syndrome",
        "D'Arcy and McGee 2000",
        "confirmed",
        {"lr_positive": 1.2, "lr_positive_ci": (1.0, 1.4), "lr_negative": 0.7},
    ),
    ("night_pain", "carpal tunnel syndrome", "Szabo 1999", "confirmed", {"sensitivity": 0.96}),
    ("hand_diagram", "carpal tunnel syndrome", "Szabo 1999", "confirmed", {"specificity": 0.76}),
    (
        "two_point_abnormal",
        "carpal tunnel syndrome",
        "D'Arcy and McGee 2000",
        "confirmed",
        {"lr_positive": 1.3, "lr_positive_ci": (0.6, 2.7), "lr_negative": 1.0},
    ),
    (
        "two_point_abnormal",
        "carpal tunnel syndrome",
        "BMC Musculoskelet Disord 2021, systematic review",
        "confirmed",
        {"specificity": (0.81, 0.98)},
    ),
    (
        "monofilament_abnormal",
        "carpal tunnel syndrome",
        "D'Arcy and McGee 2000",
        "confirmed",
        {"lr_positive": 1.5, "lr_positive_ci": (1.1, 2.0), "lr_negative": 0.7},
    ),
    (
        "monofilament_abnormal",
        "carpal tunnel syndrome",
        "BMC Musculoskelet Disord 2021, systematic review",
        "confirmed",
        {"sensitivity": (0.49, 0.96)},
    ),
    (
        "square_wrist",
        "carpal tunnel syndrome",
        "D'Arcy and McGee 2000, as tabled",
        "confirmed",
        {"lr_positive": 2.7, "lr_negative": 0.5},
    ),
    (
        "closed_fist",
        "carpal tunnel syndrome",
        "D'Arcy and McGee 2000, as tabled",
        "confirmed",
        {"lr_positive": 7.3, "lr_negative": 0.4},
    ),
    (
        "flick_sign",
        "carpal tunnel syndrome",
        "D'Arcy and McGee 2000, as tabled",
        "confirmed",
        {"lr_positive": 21.4, "lr_negative": 0.1},
    ),
    (
        "age_over_40",
        "carpal tunnel syndrome",
        "D'Arcy and McGee 2000, as tabled",
        "confirmed",
        {"lr_positive": 1.3, "lr_negative": 0.5},
    ),
    (
        "bilateral_symptoms",
        "carpal tunnel syndrome",
        "D'Arcy and McGee 2000, as tabled",
        "confirmed",
        {"lr_positive": 1.4, "lr_negative": 0.7},
    ),
    ("hand_elevation", "carpal tunnel syndrome", "Ahn 2001", "confirmed", {"sensitivity": 0.755, "specificity": 0.985}),
    (
        "hand_elevation",
        "carpal tunnel syndrome",
        "Ma and Kim 2012",
        "confirmed",
        {"sensitivity": 0.867, "specificity": 0.889},
    ),
    ("hand_elevation", "carpal tunnel syndrome", "Nunez de Arenas-Arroyo 2022", "confirmed", {"odds_ratio": 128.6}),
    (
        "upper_limb_neural_test_1",
        "carpal tunnel syndrome",
        "Nunez de Arenas-Arroyo 2022",
        "confirmed",
        {"odds_ratio": 1.8},
    ),
    (
        "scratch_collapse_wrist",
        "carpal tunnel syndrome",
        "first report of the scratch collapse test",
        "from memory",
        {"sensitivity": 0.64, "specificity": 0.99},
    ),
    (
        "eichhoff",
        "de Quervain's tenosynovitis",
        "Goubau 2014, as quoted",
        "confirmed",
        {"sensitivity": 0.89, "specificity": 0.14},
    ),
    (
        "eichhoff",
        "de Quervain's tenosynovitis",
        "radial synergy test study",
        "confirmed",
        {"sensitivity": 0.97, "specificity": 0.74},
    ),
    (
        "what_test",
        "de Quervain's tenosynovitis",
        "Goubau 2014",
        "confirmed",
        {"sensitivity": 0.99, "specificity": 0.29, "ppv": 0.95, "npv": 0.67},
    ),
    (
        "radial_synergy",
        "de Quervain's tenosynovitis",
        "radial synergy test study",
        "confirmed",
        {"sensitivity": 0.91, "specificity": 0.99},
    ),
    (
        "snuffbox_tenderness",
        "scaphoid fracture",
        "Mallee 2014",
        "confirmed",
        {"sensitivity": (0.87, 1.0), "specificity": (0.03, 0.98)},
    ),
    (
        "thumb_axial_compression",
        "scaphoid fracture",
        "Mallee 2014",
        "confirmed",
        {"sensitivity": (0.48, 1.0), "specificity": (0.22, 0.97)},
    ),
    (
        "scaphoid_tubercle_tenderness",
        "scaphoid fracture",
        "Mallee 2014",
        "confirmed",
        {"sensitivity": (0.82, 1.0), "specificity": (0.17, 0.57)},
    ),
    (
        "painful_ulnar_deviation",
        "scaphoid fracture",
        "Mallee 2014",
        "confirmed",
        {"sensitivity": (0.67, 1.0), "specificity": (0.17, 0.6)},
    ),
    (
        "snuffbox_tenderness",
        "scaphoid fracture",
        "Parvizi 1998",
        "confirmed",
        {"sensitivity": 1.0, "specificity": 0.09},
    ),
    (
        "scaphoid_tubercle_tenderness",
        "scaphoid fracture",
        "Parvizi 1998",
        "confirmed",
        {"sensitivity": 1.0, "specificity": 0.3},
    ),
    (
        "thumb_axial_compression",
        "scaphoid fracture",
        "Parvizi 1998",
        "confirmed",
        {"sensitivity": 1.0, "specificity": 0.48},
    ),
    (
        "scaphoid_three_signs",
        "scaphoid fracture",
        "Parvizi 1998",
        "confirmed",
        {"sensitivity": 1.0, "specificity": 0.74},
    ),
    (
        "resisted_supination_pain",
        "scaphoid fracture after a normal radiograph",
        "EMJ 2022;39:A984, systematic review",
        "confirmed",
        {"lr_positive": 45.0, "lr_positive_ci": (6.5, 312.5)},
    ),
    (
        "supination_strength",
        "scaphoid fracture after a normal radiograph",
        "EMJ 2022;39:A984, systematic review",
        "confirmed",
        {"lr_positive": 3.7},
    ),
    (
        "painful_ulnar_deviation",
        "scaphoid fracture after a normal radiograph",
        "EMJ 2022;39:A984, systematic review",
        "confirmed",
        {"lr_positive": 2.3},
    ),
    (
        "snuffbox_tenderness",
        "scaphoid fracture after a normal radiograph",
        "EMJ 2022;39:A984, systematic review",
        "confirmed",
        {"sensitivity": 0.921, "specificity": 0.484},
    ),
    (
        "allen_over_6_s",
        "inadequate ulnar collateral circulation",
        "Ann Thorac Surg 2000;70:1362-5",
        "confirmed",
        {"sensitivity": 0.545, "specificity": 0.917},
    ),
    (
        "allen_over_5_s",
        "inadequate ulnar collateral circulation",
        "Ann Thorac Surg 2000;70:1362-5",
        "confirmed",
        {"sensitivity": 0.758, "specificity": 0.817},
    ),
    (
        "allen_over_3_s",
        "inadequate ulnar collateral circulation",
        "Ann Thorac Surg 2000;70:1362-5",
        "confirmed",
        {"sensitivity": 1.0, "specificity": 0.27},
    ),
    (
        "allen_modified",
        "inadequate ulnar collateral circulation",
        "CMAJ 2018;190:E380",
        "confirmed",
        {"sensitivity": 0.25, "specificity": 0.828, "lr_positive": 1.5, "lr_negative": 0.9},
    ),
    (
        "scaphoid_shift",
        "scapholunate ligament injury",
        "LaStayo and Howell 1995",
        "confirmed",
        {"sensitivity": 0.69, "specificity": 0.66},
    ),
    (
        "scaphoid_shift",
        "scapholunate ligament injury",
        "Prosser 2011",
        "confirmed",
        {"lr_positive": 2.88, "lr_negative": 0.28},
    ),
    (
        "scaphoid_shift",
        "scapholunate ligament injury",
        "Easterling and Wolfe 1994",
        "confirmed",
        {"healthy_positive": 0.32},
    ),
    ("scaphoid_shift", "scapholunate ligament injury", "Wolfe 1997", "confirmed", {"healthy_positive": 0.36}),
    (
        "lunotriquetral_ballottement",
        "lunotriquetral ligament injury",
        "LaStayo and Howell 1995",
        "confirmed",
        {"sensitivity": 0.64, "specificity": 0.44},
    ),
    (
        "ulnomeniscotriquetral_glide",
        "triangular fibrocartilage injury",
        "LaStayo and Howell 1995",
        "confirmed",
        {"sensitivity": 0.66, "specificity": 0.64},
    ),
    (
        "ulnar_fovea_sign",
        "foveal disruption or ulnotriquetral ligament injury",
        "Tay and Berger 2007",
        "confirmed",
        {"sensitivity": 0.952, "specificity": 0.865},
    ),
    (
        "ulnocarpal_stress",
        "ulnar-sided tears",
        "Arch Hand Microsurg 2020;25:259-66",
        "confirmed",
        {"sensitivity": 0.54, "specificity": 0.95, "lr_positive": 10.34, "lr_negative": 0.48},
    ),
    (
        "druj_ballottement",
        "instability of the distal radioulnar joint",
        "Pickering 2022",
        "confirmed",
        {"sensitivity": 0.24, "specificity": 0.94, "ppv": 0.81, "npv": 0.55},
    ),
    (
        "druj_ballottement",
        "instability of the distal radioulnar joint",
        "Prosser 2011",
        "confirmed",
        {"lr_negative": 0.3},
    ),
    (
        "thumb_grind",
        "osteoarthritis of the base of the thumb",
        "Choa 2014",
        "confirmed",
        {"sensitivity": 0.3, "specificity": 0.967},
    ),
    (
        "thumb_grind",
        "osteoarthritis of the base of the thumb",
        "Sela 2019",
        "confirmed",
        {"sensitivity": 0.64, "specificity": 1.0},
    ),
    (
        "thumb_grind",
        "osteoarthritis of the base of the thumb",
        "Merritt 2010",
        "confirmed",
        {"sensitivity": (0.42, 0.53), "specificity": (0.8, 0.93)},
    ),
    (
        "thumb_grind",
        "osteoarthritis of the base of the thumb",
        "Arnold 2020",
        "confirmed",
        {"sensitivity": (0.13, 0.17), "specificity": (0.91, 0.98)},
    ),
    (
        "traction_shift",
        "osteoarthritis of the base of the thumb",
        "Choa 2014",
        "confirmed",
        {"sensitivity": 0.667, "specificity": 1.0},
    ),
    (
        "pressure_shear",
        "osteoarthritis of the base of the thumb",
        "Sela 2019",
        "confirmed",
        {"sensitivity": 0.99, "specificity": 0.95},
    ),
    ("tinel_elbow", "cubital tunnel syndrome", "Novak 1994", "confirmed", {"sensitivity": 0.7, "specificity": 0.98}),
    ("tinel_elbow", "cubital tunnel syndrome", "Beekman 2009", "confirmed", {"sensitivity": 0.62, "specificity": 0.53}),
    (
        "tinel_elbow",
        "cubital tunnel syndrome",
        "study of 100 healthy students",
        "confirmed",
        {"healthy_positive": 0.36},
    ),
    ("elbow_flexion_30_s", "cubital tunnel syndrome", "Novak 1994", "confirmed", {"sensitivity": 0.32}),
    ("elbow_pressure_30_s", "cubital tunnel syndrome", "Novak 1994", "confirmed", {"sensitivity": 0.55}),
    ("elbow_flexion_pressure_30_s", "cubital tunnel syndrome", "Novak 1994", "confirmed", {"sensitivity": 0.91}),
    (
        "elbow_flexion_60_s",
        "cubital tunnel syndrome",
        "Novak 1994",
        "from memory",
        {"sensitivity": 0.75, "specificity": (0.95, 0.99)},
    ),
    (
        "elbow_pressure_60_s",
        "cubital tunnel syndrome",
        "Novak 1994",
        "from memory",
        {"sensitivity": 0.89, "specificity": (0.95, 0.99)},
    ),
    (
        "elbow_flexion_pressure_60_s",
        "cubital tunnel syndrome",
        "Novak 1994",
        "from memory",
        {"sensitivity": 0.98, "specificity": (0.95, 0.99)},
    ),
    (
        "elbow_flexion",
        "cubital tunnel syndrome",
        "study of 100 healthy students",
        "confirmed",
        {"healthy_positive": 0.2},
    ),
    (
        "scratch_collapse_elbow",
        "cubital tunnel syndrome",
        "scratch collapse figures quoted beside Novak 1994",
        "confirmed",
        {"sensitivity": 0.69, "specificity": 0.99},
    ),
    ("spurling", "cervical radiculopathy", "Tong 2002", "confirmed", {"sensitivity": 0.3, "specificity": 0.93}),
    (
        "neck_distraction",
        "cervical radiculopathy",
        "neck test figures quoted beside Tong 2002",
        "confirmed",
        {"sensitivity": 0.44, "specificity": 0.9},
    ),
    (
        "upper_limb_tension",
        "cervical radiculopathy",
        "neck test figures quoted beside Tong 2002",
        "confirmed",
        {"sensitivity": 0.97, "specificity": 0.22},
    ),
    ("radiculopathy_4_of_4", "cervical radiculopathy", "Wainner 2003", "confirmed", {"lr_positive": 30.3}),
    (
        "radiculopathy_3_of_4",
        "cervical radiculopathy",
        "Wainner 2003",
        "confirmed",
        {"sensitivity": 0.39, "specificity": 0.94},
    ),
    ("radiculopathy_3_of_4", "cervical radiculopathy", "Wainner 2003", "from memory", {"lr_positive": 6.1}),
    (
        "mcp_squeeze",
        "swollen metacarpophalangeal joint",
        "van den Bosch 2015",
        "confirmed",
        {"sensitivity": 0.53, "specificity": 0.82, "lr_positive": 3.0, "lr_negative": 0.6},
    ),
    (
        "mcp_squeeze",
        "synovitis on magnetic resonance imaging",
        "van den Bosch 2015",
        "confirmed",
        {"sensitivity": 0.39, "specificity": 0.86},
    ),
    (
        "kanavel_signs",
        "pyogenic flexor tenosynovitis",
        "Kennedy 2017",
        "confirmed",
        {"sensitivity": (0.914, 0.971), "specificity": (0.513, 0.692)},
    ),
    ("kanavel_fusiform_swelling", "pyogenic flexor tenosynovitis", "Pang 2007", "confirmed", {"sensitivity": 0.97}),
    ("kanavel_passive_extension", "pyogenic flexor tenosynovitis", "Pang 2007", "confirmed", {"sensitivity": 0.72}),
    ("kanavel_flexed_posture", "pyogenic flexor tenosynovitis", "Pang 2007", "confirmed", {"sensitivity": 0.69}),
    ("kanavel_sheath_tenderness", "pyogenic flexor tenosynovitis", "Pang 2007", "confirmed", {"sensitivity": 0.65}),
    (
        "micrographia",
        "Parkinson disease",
        "Rao 2003",
        "confirmed",
        {"lr_positive": (2.8, 5.9), "lr_negative": (0.3, 0.44)},
    ),
    (
        "rest_tremor",
        "Parkinson disease",
        "Rao 2003",
        "confirmed",
        {"lr_positive": (1.3, 1.5), "lr_negative": (0.47, 0.61)},
    ),
    ("trouble_opening_jars", "Parkinson disease", "Rao 2003", "confirmed", {"lr_positive": 6.1, "lr_negative": 0.26}),
    ("fever", "septic arthritis", "Margaretten 2007, as quoted", "confirmed", {"sensitivity": 0.5}),
    ("hand_oa_1990", "hand osteoarthritis", "Altman 1990", "confirmed", {"sensitivity": 0.94, "specificity": 0.87}),
]


def figures(row):
    """The figures of a row as they are written above."""
    found = {}
    for key in ("sensitivity", "specificity", "lr_positive", "lr_positive_ci", "lr_negative", "lr_negative_ci"):
        if (ends := getattr(row, key)) is not None:
            found[key] = ends.low if ends.low == ends.high else (ends.low, ends.high)
    for key in ("ppv", "npv", "odds_ratio", "healthy_positive"):
        if (value := getattr(row, key)) is not None:
            found[key] = value
    return found


@pytest.mark.parametrize(
    ("slug", "target", "citation", "mark", "expected"),
    [pytest.param(*row, id=f"{row[2]} ({row[3]}) {row[0]}") for row in PUBLISHED],
)
def test_published(slug, target, citation, mark, expected):
    rows = [
        row
        for row in accuracy_of(slug)
        if (row.target, row.source.citation, row.source.mark) == (target, citation, mark)
    ]

    assert expected in [figures(row) for row in rows]


def test_whole_table_is_checked():
    assert len(PUBLISHED) == len(accuracies())


def test_a_publication_stands_once_for_a_finding():
    counts = Counter((row.slug, row.target, row.source) for row in accuracies())

    assert [key for key, count in counts.items() if count > 1] == []


def test_fractions_are_fractions_and_ranges_are_in_order():
    for row in accuracies():
        for ends in (row.sensitivity, row.specificity):
            assert ends is None or 0 <= ends.low <= ends.high <= 1
        for ends in (row.lr_positive, row.lr_positive_ci, row.lr_negative, row.lr_negative_ci):
            assert ends is None or 0 <= ends.low <= ends.high
        for ratio, interval in ((row.lr_positive, row.lr_positive_ci), (row.lr_negative, row.lr_negative_ci)):
            assert ratio is None or interval is None or interval.low <= ratio.low <= ratio.high <= interval.high


@pytest.mark.parametrize(
    ("slug", "citation", "sign", "ratio", "places"),
    [
        pytest.param(*row, id=f"computed from {row[1]}: {row[0]} {row[2]}")
        for row in (
            ("tinel_wrist", "Dabbagh 2023", "positive", "2.05", 2),
            ("tinel_wrist", "Dabbagh 2023", "negative", "0.71", 2),
            ("phalen", "Dabbagh 2023", "positive", "1.73", 2),
            ("phalen", "Dabbagh 2023", "negative", "0.64", 2),
            ("ulnar_fovea_sign", "Tay and Berger 2007", "positive", "7.1", 1),
            ("ulnar_fovea_sign", "Tay and Berger 2007", "negative", "0.06", 2),
            ("spurling", "Tong 2002", "positive", "4.3", 1),
            ("spurling", "Tong 2002", "negative", "0.75", 2),
            ("snuffbox_tenderness", "EMJ 2022;39:A984, systematic review", "negative", "0.16", 2),
        )
    ],
)
def test_computed_ratio(slug, citation, sign, ratio, places):
    (row,) = [row for row in accuracy_of(slug) if row.source.citation == citation]

    assert str(rounded(required(likelihood_ratio(row, sign)).value, places)) == ratio


def test_published_ratio_wins_over_a_computed_one():
    row = next(row for row in accuracy_of("mcp_squeeze") if row.lr_positive is not None)
    result = required(likelihood_ratio(row, "positive"))

    assert (result.value, result.arithmetic) == (3.0, "3 as published")


@pytest.mark.parametrize(
    ("slug", "citation", "sign"),
    [
        ("kanavel_signs", "Kennedy 2017", "positive"),
        ("fever", "Margaretten 2007, as quoted", "negative"),
        ("traction_shift", "Choa 2014", "positive"),
        ("radiculopathy_4_of_4", "Wainner 2003", "negative"),
    ],
)
def test_no_ratio(slug, citation, sign):
    (row,) = [row for row in accuracy_of(slug) if row.source.citation == citation]

    assert isinstance(likelihood_ratio(row, sign), NotComputable)


def test_published_range_is_given_as_possible():
    outcome = likelihood_ratio(accuracy_of("micrographia")[0], "positive")

    assert isinstance(outcome, NotComputable)
    assert outcome.possible == Range(2.8, 5.9)


@pytest.mark.parametrize(
    ("pre_test", "ratio", "percent"),
    [
        pytest.param(0.30, 3.0, "56", id="worked: positive"),
        pytest.param(0.30, 0.6, "20", id="worked: negative"),
        (0.5, 1, "50"),
        (0, 20, "0"),
        (0.3, 0, "0"),
    ],
)
def test_post_test(pre_test, ratio, percent):
    result = required(post_test(pre_test, ratio))

    assert str(rounded(100 * result.value.probability)) == percent
    assert result.arithmetic.endswith(f"= {percent} %")


@pytest.mark.parametrize(("pre_test", "ratio"), [(1, 3), (-0.1, 3), (30, 3), (0.3, -1), (0.3, float("inf"))])
def test_refused(pre_test, ratio):
    with pytest.raises(InvalidValue, match="Allowed"):
        post_test(pre_test, ratio)


def test_unknown_finding_is_refused():
    with pytest.raises(InvalidValue, match="Allowed: median_hypalgesia"):
        accuracy_of("reflex")


def test_combinations_szabo_1999_confirmed():
    found = {row.slug: (row.probability, str(row.source)) for row in combinations()}

    assert found == {
        "szabo_all_four_abnormal": (0.86, "Szabo 1999 (confirmed)"),
        "szabo_all_four_normal": (0.0068, "Szabo 1999 (confirmed)"),
    }
