"""Joint lists and counts: the 28 joints, the hand joints of the 1990 and 2010 classifications.

Sources: 28 joint list (confirmed); ten joints of Altman 1990 (confirmed); 2010 ACR/EULAR criteria: small joints
from memory, exclusion of distal interphalangeal and first metatarsophalangeal joints confirmed and of the thumb base
from memory, large joints confirmed but for the ankles (from memory). The inventory of 18 sites a side is common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from letterkit.errors import InvalidValue
from letterkit.measures.result import Mark, Result, Source, given

FINGERS = ("index", "middle", "ring", "little")
MCP = ("mcp_thumb", *(f"mcp_{finger}" for finger in FINGERS))
PIP = tuple(f"pip_{finger}" for finger in FINGERS)
DIP = tuple(f"dip_{finger}" for finger in FINGERS)
MTP_2_TO_5 = ("mtp_2", "mtp_3", "mtp_4", "mtp_5")

ListName = Literal["joints_28", "hand_of_28", "hand_and_wrist", "oa_selected", "ra_small", "ra_large", "ra_excluded"]
LISTS: dict[ListName, tuple[str, ...]] = {
    "joints_28": ("shoulder", "elbow", "wrist", *MCP, "ip_thumb", *PIP, "knee"),
    "hand_of_28": ("wrist", *MCP, "ip_thumb", *PIP),
    "hand_and_wrist": ("wrist", "druj", "cmc_thumb", "stt", *MCP, "ip_thumb", *PIP, *DIP),
    "oa_selected": ("dip_index", "dip_middle", "pip_index", "pip_middle", "cmc_thumb"),
    "ra_small": ("wrist", *MCP, "ip_thumb", *PIP, *MTP_2_TO_5),
    "ra_large": ("shoulder", "elbow", "hip", "knee", "ankle"),
    "ra_excluded": (*DIP, "cmc_thumb", "mtp_1"),
}
"""Joints of one side; each list counts right and left."""

SOURCES: dict[ListName, Source] = {
    "joints_28": Source("28 joint list of the DAS28", Mark.CONFIRMED),
    "hand_of_28": Source("28 joint list of the DAS28", Mark.CONFIRMED),
    "hand_and_wrist": Source("inventory of the hand and wrist", Mark.COMMON_PRACTICE),
    "oa_selected": Source("Altman 1990", Mark.CONFIRMED),
    "ra_small": Source("2010 ACR/EULAR criteria", Mark.FROM_MEMORY),
    "ra_large": Source("2010 ACR/EULAR criteria, ankles from memory", Mark.CONFIRMED),
    "ra_excluded": Source("2010 ACR/EULAR criteria, thumb base from memory", Mark.CONFIRMED),
}


@dataclass(frozen=True, slots=True, order=True)
class Joint:
    """One joint of one side, by the slug of its site."""

    name: str
    side: Literal["right", "left"]


def joint_count(joints: Iterable[Joint], among: ListName) -> Result[int]:
    """How many of the joints given are on a list; a joint given twice counts once, one outside the list not at all.

    Raises InvalidValue for a side other than right or left, or a joint that no list names.
    """
    known = {name for names in LISTS.values() for name in names}
    given_joints = sorted(set(joints))
    for joint in given_joints:
        if joint.name not in known or joint.side not in {"right", "left"}:
            raise InvalidValue(f"joints: {joint.side} {joint.name} was given. Allowed: {', '.join(sorted(known))}")
    counted = [f"{joint.side} {joint.name}" for joint in given_joints if joint.name in LISTS[among]]
    arithmetic = f"{', '.join(counted) or 'none'}: {len(counted)} of {2 * len(LISTS[among])}"
    inputs = given(joints=", ".join(f"{joint.side} {joint.name}" for joint in given_joints), among=among)
    return Result(f"joint count, {among}", len(counted), inputs, arithmetic, SOURCES[among])
