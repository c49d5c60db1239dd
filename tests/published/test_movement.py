"""Range of movement: reference values, limits for checking input, active against passive."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable, rounded
from letterkit.measures.arc import Arc
from letterkit.measures.movement import (
    active_against_passive,
    against_reference,
    limits,
    plausibility,
    reference_values,
    references,
)
from letterkit.measures.result import required

C, M = "confirmed", "from memory"

# Movement, then low and high end in degrees with the mark: American Academy of Orthopaedic Surgeons, Electronic
# Textbook of Hand Surgery, American Medical Association.
SINGLE = [
    ("elbow_flexion", (150, C), (145, C), (140, C)),
    ("elbow_extension", (0, C), (0, C), (0, C)),
    ("forearm_pronation", (80, C), (70, C), (80, C)),
    ("forearm_supination", (80, C), (85, C), (80, C)),
    ("wrist_flexion", (80, C), (75, C), (60, C)),
    ("wrist_extension", (70, C), (70, C), (60, M)),
    ("wrist_radial_deviation", (20, C), (20, C), (20, C)),
    ("wrist_ulnar_deviation", (30, C), (35, C), (30, C)),
    ("finger_mcp_flexion", (90, C), (90, C), (90, M)),
    ("finger_pip_flexion", (100, C), (100, C), (100, M)),
    ("finger_pip_extension", (0, C), (0, C), (0, C)),
    ("finger_dip_flexion", (90, C), (80, C), (70, M)),
    ("finger_dip_extension", (0, C), (0, C), (0, C)),
    ("thumb_palmar_abduction", (70, C), (45, C), None),
    ("thumb_cmc_flexion", (15, C), None, None),
    ("thumb_mcp_flexion", (50, C), (55, C), (60, M)),
    ("thumb_mcp_hyperextension", (0, C), (10, C), None),
    ("thumb_ip_flexion", (80, C), (80, C), (80, M)),
    ("thumb_ip_hyperextension", (20, C), (15, C), None),
]


@pytest.mark.parametrize(
    ("movement", "column", "cell"),
    [
        pytest.param(movement, column, cell, id=f"{column} ({cell[1] if cell else 'no value'}) {movement}")
        for movement, *cells in SINGLE
        for column, cell in zip(("aaos", "textbook", "ama"), cells, strict=True)
    ],
)
def test_reference(movement, column, cell):
    found = [(row.deg.low, row.deg.high, str(row.source.mark)) for row in reference_values(movement, column)]

    assert found == ([] if cell is None else [(cell[0], cell[0], cell[1])])


@pytest.mark.parametrize(
    ("movement", "by", "low", "high"),
    [
        pytest.param(*row, id=f"{row[1]} (from memory) {row[0]}")
        for row in (
            ("elbow_flexion", "Morrey 1981", 30, 130),
            ("wrist_flexion", "Palmer 1985", 5, 5),
            ("wrist_flexion", "Ryu 1991", 40, 40),
            ("wrist_extension", "Palmer 1985", 30, 30),
            ("wrist_extension", "Ryu 1991", 40, 40),
            ("wrist_ulnar_deviation", "Palmer 1985", 15, 15),
            ("wrist_ulnar_deviation", "Ryu 1991", 30, 30),
            ("wrist_radial_deviation", "published functional range, study not named", 10, 10),
            ("forearm_pronation", "published functional range, study not named", 50, 50),
            ("forearm_supination", "published functional range, study not named", 50, 50),
            ("finger_mcp_flexion", "Hume 1990", 61, 61),
            ("finger_pip_flexion", "Hume 1990", 60, 60),
            ("finger_dip_flexion", "Hume 1990", 39, 39),
            ("thumb_mcp_flexion", "Hume 1990", 21, 21),
            ("thumb_ip_flexion", "Hume 1990", 18, 18),
        )
    ],
)
def test_functional(movement, by, low, high):
    found = {row.source.citation: row for row in reference_values(movement, "functional")}[by]

    assert (found.deg.low, found.deg.high, str(found.source.mark)) == (low, high, M)


def test_hyperextension_of_the_finger_mcp():
    found = {row.column: (row.deg.low, row.deg.high) for row in reference_values("finger_mcp_hyperextension")}

    assert found == {"aaos": (45, 45), "textbook": (0, 45), "ama": (20, 20)}


@pytest.mark.parametrize(
    ("movement", "angles"),
    [
        ("finger_mcp_abduction", [(20, 20), (45, 45)]),
        ("thumb_radial_abduction", [(20, 20), (20, 80), (60, 60), (50, 50), (35, 35)]),
    ],
)
def test_sources_that_disagree_are_not_compared_with(movement, angles):
    rows = reference_values(movement)

    assert [(row.deg.low, row.deg.high) for row in rows] == angles
    assert not any(row.comparable for row in rows)
    assert isinstance(against_reference(movement, 20, "aaos"), NotComputable)


def test_everything_else_may_be_compared_with():
    assert {row.movement for row in references() if not row.comparable} == {
        "finger_mcp_abduction",
        "thumb_radial_abduction",
    }


def test_shortfall():
    result = required(against_reference("wrist_flexion", 45, "textbook"))

    assert (result.value.lacking_deg, result.value.percent) == (30, 60)
    assert result.arithmetic == "75 - 45 = 30 degrees; 45 / 75 = 60 %"


def test_more_than_the_reference_lacks_nothing():
    assert required(against_reference("wrist_flexion", 80, "ama")).value.lacking_deg == 0


@pytest.mark.parametrize(
    ("movement", "column"),
    [
        ("elbow_extension", "aaos"),
        ("wrist_flexion", "functional"),
        ("finger_mcp_hyperextension", "textbook"),
        ("thumb_cmc_flexion", "ama"),
    ],
)
def test_no_single_angle(movement, column):
    assert isinstance(against_reference(movement, 20, column), NotComputable)


LIMITS = [
    ("elbow_flexion", 155, 170),
    ("elbow_hyperextension", 15, 40),
    ("forearm_pronation", 95, 120),
    ("forearm_supination", 100, 120),
    ("wrist_flexion", 100, 130),
    ("wrist_extension", 95, 130),
    ("wrist_radial_deviation", 35, 60),
    ("wrist_ulnar_deviation", 50, 80),
    ("finger_mcp_flexion", 105, 130),
    ("finger_mcp_hyperextension", 60, 110),
    ("finger_pip_flexion", 120, 140),
    ("finger_pip_hyperextension", 20, 80),
    ("finger_dip_flexion", 95, 120),
    ("finger_dip_hyperextension", 25, 60),
    ("thumb_palmar_abduction", 75, 110),
    ("thumb_radial_abduction", 75, 110),
    ("thumb_mcp_flexion", 80, 110),
    ("thumb_mcp_hyperextension", 40, 100),
    ("thumb_ip_flexion", 95, 120),
    ("thumb_ip_hyperextension", 45, 100),
]


@pytest.mark.parametrize(
    ("movement", "query", "refuse"), [pytest.param(*row, id=f"common practice {row[0]}") for row in LIMITS]
)
def test_limits_are_strict(movement, query, refuse):
    levels = [plausibility(movement, deg).value for deg in (0, query, query + 0.5, refuse, refuse + 0.5)]

    assert levels == ["usual", "usual", "surprising", "surprising", "impossible"]


def test_all_limits_are_checked():
    assert {row[0] for row in LIMITS} == set(limits())


def test_hyperextension_carries_its_caution():
    assert plausibility("thumb_ip_hyperextension", 50).limits
    assert not plausibility("thumb_ip_flexion", 50).limits


@pytest.mark.parametrize(
    ("movement", "deg"), [("wrist_flexion", -5), ("wrist_flexion", float("nan")), ("knee_flexion", 5)]
)
def test_refused(movement, deg):
    with pytest.raises(InvalidValue, match="Allowed"):
        plausibility(movement, deg)


def test_unknown_reference_is_refused():
    with pytest.raises(InvalidValue, match="Allowed: elbow_flexion"):
        reference_values("knee_flexion")


@pytest.mark.parametrize(
    ("active", "passive", "fixed", "lag", "active_arc", "passive_arc", "beyond"),
    [
        pytest.param((20, 85), (0, 95), 0, 20, 65, 95, 0, id="worked: lag 20, no fixed deficit"),
        pytest.param((35, 85), (35, 90), 35, 0, 50, 55, 0, id="worked: fixed 35"),
        pytest.param((0, 95), (0, 80), 0, 0, 95, 80, 15, id="worked: active 95 beyond passive 80"),
        pytest.param((30, 85), (10, 90), 10, 20, 55, 80, 0, id="both fixed and lag"),
        pytest.param((5, 80), (20, 90), 20, 0, 75, 70, 15, id="active extends further than passive"),
        pytest.param((-10, 80), (-25, 90), 0, 0, 90, 115, 0, id="hyperextension is no lag"),
    ],
)
def test_active_against_passive(active, passive, fixed, lag, active_arc, passive_arc, beyond):
    value = active_against_passive(Arc(*active), Arc(*passive)).value

    assert (value.fixed_deficit_deg, value.lag_deg) == (fixed, lag)
    assert (value.active_arc_deg, value.passive_arc_deg) == (active_arc, passive_arc)
    assert value.active_beyond_passive_deg == beyond


def test_arithmetic_can_be_redone():
    text = active_against_passive(Arc(20, 85), Arc(0, 95)).arithmetic

    assert text == "active 85 - 20 = 65; passive 95 - 0 = 95; lag 20 - 0 = 20"


def test_percent_rounds_once():
    assert str(rounded(required(against_reference("elbow_flexion", 131, "textbook")).value.percent)) == "90"
