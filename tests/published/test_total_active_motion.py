"""Total active motion: ASSH (confirmed), Strickland original (confirmed) and adjusted (from memory)."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable, rounded
from letterkit.measures.result import required
from letterkit.measures.total_active_motion import (
    ASSH_NORMAL_DEG,
    ASSH_PARTS_DEG,
    JointMotion,
    assh_class,
    strickland,
    total_active_motion,
)

MCP, PIP, DIP = JointMotion(85, 0), JointMotion(90, 15), JointMotion(50, 5)


def test_worked_assh():
    result = required(total_active_motion(MCP, PIP, DIP))

    assert (result.value.total_deg, result.value.motion_class) == (205, "good")
    assert str(rounded(result.value.percent, 1)) == "78.8"
    assert result.arithmetic == "(85 + 90 + 50) - (0 + 15 + 5) = 205 degrees; 205 / 260 = 78.8 %"


@pytest.mark.parametrize(
    ("version", "mark", "expected"),
    [
        pytest.param("original", "confirmed", "fair", id="Strickland 1980 (confirmed)"),
        pytest.param("adjusted", "from memory", "good", id="Strickland 1985 (from memory)"),
    ],
)
def test_worked_strickland(version, mark, expected):
    result = required(strickland(PIP, DIP, version=version))

    assert (result.value.total_deg, result.value.motion_class) == (120, expected)
    assert str(rounded(result.value.percent, 1)) == "68.6"
    assert result.arithmetic == "(90 + 50) - (15 + 5) = 120 degrees; 120 / 175 = 68.6 %"
    assert result.source.mark == mark


def test_parts_make_the_whole():
    assert sum(ASSH_PARTS_DEG.values()) == ASSH_NORMAL_DEG == 260


@pytest.mark.parametrize(
    ("percent", "expected"),
    [
        pytest.param(*row, id=f"ASSH (confirmed) {row[0]}")
        for row in (
            (104, "excellent"),
            (100, "excellent"),
            (99.9, "good"),
            (75.1, "good"),
            (75, "fair"),
            (50.1, "fair"),
            (50, "fair"),
            (49.9, "poor"),
            (0, "poor"),
        )
    ],
)
def test_assh_class(percent, expected):
    assert assh_class(percent) == expected


@pytest.mark.parametrize(
    ("version", "total", "expected"),
    [
        ("original", 175, "excellent"),
        ("original", 149, "excellent"),
        ("original", 148, "good"),
        ("original", 123, "good"),
        ("original", 122, "fair"),
        ("original", 88, "fair"),
        ("original", 87, "poor"),
        ("adjusted", 132, "excellent"),
        ("adjusted", 131, "good"),
        ("adjusted", 88, "good"),
        ("adjusted", 87, "fair"),
        ("adjusted", 44, "fair"),
        ("adjusted", 43, "poor"),
    ],
)
def test_strickland_is_classified_by_percent(version, total, expected):
    pip = JointMotion(min(total, 100), 0)
    dip = JointMotion(total - min(total, 100), 0)

    assert required(strickland(pip, dip, version=version)).value.motion_class == expected


def test_hyperextension_adds_nothing():
    straight = required(total_active_motion(MCP, PIP, JointMotion(50, 0)))
    beyond = required(total_active_motion(MCP, PIP, JointMotion(50, -20)))

    assert straight.value.total_deg == beyond.value.total_deg == 210


def test_other_hand_is_the_norm_when_measured():
    result = required(total_active_motion(MCP, PIP, DIP, other_hand_total_deg=205))

    assert (result.value.percent, result.value.motion_class) == (100, "excellent")


@pytest.mark.parametrize(
    ("joints", "missing"),
    [
        ((None, PIP, DIP), ("mcp flexion", "mcp extension deficit")),
        ((MCP, JointMotion(None, 15), DIP), ("pip flexion",)),
        ((MCP, PIP, JointMotion(50, None)), ("dip extension deficit",)),
    ],
)
def test_one_joint_not_measured(joints, missing):
    outcome = total_active_motion(*joints)

    assert isinstance(outcome, NotComputable)
    assert outcome.missing == missing


def test_strickland_needs_both_joints():
    outcome = strickland(PIP, None)

    assert isinstance(outcome, NotComputable)
    assert outcome.missing == ("dip flexion", "dip extension deficit")


@pytest.mark.parametrize("joint", [JointMotion(-5, 0), JointMotion(181, 0), JointMotion(90, 200)])
def test_refused(joint):
    with pytest.raises(InvalidValue, match="Allowed"):
        strickland(joint, DIP)


def test_other_hand_of_nought_is_refused():
    with pytest.raises(InvalidValue, match="other_hand_total_deg"):
        total_active_motion(MCP, PIP, DIP, other_hand_total_deg=0)
