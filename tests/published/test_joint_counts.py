"""Joint lists of the DAS28, Altman 1990 and the 2010 ACR/EULAR criteria."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures.joint_counts import LISTS, Joint, joint_count


@pytest.mark.parametrize(
    ("name", "both_sides"),
    [
        pytest.param("joints_28", 28, id="DAS28 (confirmed)"),
        pytest.param("hand_of_28", 22, id="hand part of the 28, arithmetic"),
        pytest.param("hand_and_wrist", 36, id="inventory, 18 a side (common practice, no source)"),
        pytest.param("oa_selected", 10, id="Altman 1990 (confirmed)"),
        pytest.param("ra_small", 30, id="2010 ACR/EULAR (from memory)"),
        pytest.param("ra_large", 10, id="2010 ACR/EULAR (confirmed but for ankles)"),
    ],
)
def test_size(name, both_sides):
    every = [Joint(joint, side) for joint in LISTS[name] for side in ("right", "left")]

    assert joint_count(every, name).value == both_sides
    assert len(set(LISTS[name])) == len(LISTS[name])


@pytest.mark.parametrize("joint", ["dip_index", "dip_little", "cmc_thumb", "ankle", "hip", "mtp_1", "mtp_2"])
def test_not_among_the_28(joint):
    assert joint_count([Joint(joint, "right")], "joints_28").value == 0


def test_selected_joints_of_1990():
    assert set(LISTS["oa_selected"]) == {"dip_index", "dip_middle", "pip_index", "pip_middle", "cmc_thumb"}


def test_excluded_in_2010():
    assert set(LISTS["ra_excluded"]) == {"dip_index", "dip_middle", "dip_ring", "dip_little", "cmc_thumb", "mtp_1"}
    assert not set(LISTS["ra_excluded"]) & {*LISTS["ra_small"], *LISTS["ra_large"]}


def test_both_sides_count_and_repeats_do_not():
    joints = [Joint("wrist", "right"), Joint("wrist", "left"), Joint("wrist", "right"), Joint("dip_index", "left")]
    result = joint_count(joints, "joints_28")

    assert result.value == 2
    assert result.arithmetic == "left wrist, right wrist: 2 of 28"


def test_none():
    assert joint_count([], "ra_small").arithmetic == "none: 0 of 30"


@pytest.mark.parametrize("joint", [Joint("mcp_6", "right"), Joint("wrist", "both")])
def test_unknown_joint_is_refused(joint):
    with pytest.raises(InvalidValue, match="Allowed"):
        joint_count([joint], "joints_28")
