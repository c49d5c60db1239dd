"""Sides, sites and values as people write them."""

from __future__ import annotations

import pytest
from made_records import facts_of, found

from letterkit.catalogue.model import Polarity
from letterkit.errors import InvalidInput
from letterkit.findings.values import Arc, Grade, Quantity

SIDES = {
    "right": ["right", "Right", " RIGHT ", "R", "r", "rt", "Rt.", "R.", "(R)", "RHS"],
    "left": ["left", "L", "l.", "Lt", "(L)", "lhs"],
    "both": ["both", "bilateral", "Bilat.", "B/L", "L&R", "r+l"],
}


@pytest.mark.parametrize(("side", "written"), [(side, each) for side, spellings in SIDES.items() for each in spellings])
def test_a_side_is_read(side, written):
    sides = [fact.side for fact in facts_of(found("thenar_wasting", side=written)).facts]
    assert sides == (["right", "left"] if side == "both" else [side])


@pytest.mark.parametrize("written", ["lef", "rigth", "LR", "L/R", "either", "ulnar", "", "none", 1, True, ["left"]])
def test_a_side_is_never_guessed(written):
    with pytest.raises(InvalidInput, match="'left', 'right' or 'both'"):
        facts_of(found("thenar_wasting", side=written))


FINGERS = ["index", "middle", "ring", "little"]
DIGITS = ["thumb", *FINGERS]

# item, as written, the sites meant
SITES = {
    "a slug": ("swelling", "pip_ring", ["pip_ring"]),
    "a name": ("swelling", "proximal interphalangeal joint of the ring finger", ["pip_ring"]),
    "a name in another case": ("swelling", "Wrist", ["wrist"]),
    "IF MCPJ": ("joint_tenderness", "IF MCPJ", ["mcp_index"]),
    "joint before digit": ("joint_tenderness", "PIPJ of the MF", ["pip_middle"]),
    "digit by a slash": ("joint_tenderness", "R/F DIPJ", ["dip_ring"]),
    "index to little MCP joints": ("joint_tenderness", "index to little MCP joints", [f"mcp_{each}" for each in FINGERS]),
    "D2-D4 PIP": ("joint_tenderness", "D2-D4 PIP", ["pip_index", "pip_middle", "pip_ring"]),
    "a range with a dash": ("triggering", "index – ring", ["index", "middle", "ring"]),
    "a range from the little finger": ("joint_tenderness", "little to index PIP", [f"pip_{each}" for each in FINGERS]),
    "a range and one more": ("triggering", "ring to little and thumb", ["thumb", "ring", "little"]),
    "two digits": ("joint_tenderness", "index and ring DIP", ["dip_index", "dip_ring"]),
    "two digits by a slash": ("joint_tenderness", "MF/RF PIPJ", ["pip_middle", "pip_ring"]),
    "three digits by commas": ("triggering", "thumb, index, little", ["thumb", "index", "little"]),
    "an ampersand": ("joint_tenderness", "index & middle PIP", ["pip_index", "pip_middle"]),
    "all digits": ("triggering", "all digits", DIGITS),
    "fingers": ("triggering", "fingers", FINGERS),
    "all of a joint": ("joint_tenderness", "all MCP joints", [f"mcp_{each}" for each in DIGITS]),
    "all of a joint that the thumb lacks": ("joint_tenderness", "all PIP joints", [f"pip_{each}" for each in FINGERS]),
    "all digits of an item of one joint": ("ulnar_drift", "all fingers", [f"mcp_{each}" for each in FINGERS]),
    "radial three digits": ("triggering", "radial three digits", ["thumb", "index", "middle"]),
    "ulnar two digits": ("triggering", "ulnar two digits", ["ring", "little"]),
    "the knuckle row": ("joint_tenderness", "knuckle row", [f"mcp_{each}" for each in FINGERS]),
    "a list": ("swelling", ["wrist", "index PIP", "ring to little DIP"], ["wrist", "pip_index", "dip_ring", "dip_little"]),
    "a list that repeats": ("triggering", ["ring", "RF", "ring"], ["ring"]),
    "in the order of the trade": ("triggering", ["little", "thumb"], ["thumb", "little"]),
    "the thumb's only joint": ("swelling", "IPJ", ["ip_thumb"]),
    "the thumb base": ("swelling", "thumb base", ["cmc_thumb"]),
    "the joint that an item is about": ("dip_movement", "index", ["dip_index"]),
    "a nail by its digit": ("nail_pitting", "index nail", ["index"]),
    "the only site of an item": ("snuffbox_tenderness", None, ["snuffbox"]),
    "a small finger": ("triggering", "small finger", ["little"]),
    "an item without sites": ("thenar_wasting", None, [None]),
}  # fmt: skip


@pytest.mark.parametrize(("item", "written", "meant"), SITES.values(), ids=SITES)
def test_a_site_is_read(item, written, meant):
    value = {"from": 0, "to": 60} if item == "dip_movement" else "present"
    assert [fact.site for fact in facts_of(found(item, value, site=written)).facts] == meant


ABNORMAL, NORMAL, EQUIVOCAL, NOTED = Polarity.ABNORMAL, Polarity.NORMAL, Polarity.EQUIVOCAL, Polarity.NOTED


def kg(number, comparator="", trials=()):
    return Quantity(number, "kg", comparator, trials)


# item, as written, site, state, value, polarity
VALUES = [
    *[("thenar_wasting", each, None, "present", None, ABNORMAL)
      for each in ("present", "Yes", "+", "++", "+ve", "positive", True, "seen")],
    *[("thenar_wasting", each, None, "absent", None, NORMAL)
      for each in ("absent", "No", "-", "-ve", "nil", "none", "negative", False, "not present")],
    *[("thenar_wasting", each, None, "equivocal", None, EQUIVOCAL) for each in ("equivocal", "?", "+/-", "borderline")],
    *[("phalen_test", each, None, "positive", None, ABNORMAL) for each in ("positive", "+ve", "pos", True, "present")],
    *[("phalen_test", each, None, "negative", None, NORMAL) for each in ("negative", "neg", "-", False, "absent")],
    ("phalen_test", "Equivocal ", None, "equivocal", None, EQUIVOCAL),
    ("median_sensation", "Reduced", None, "reduced", None, ABNORMAL),
    ("median_sensation", "N", None, "normal", None, NORMAL),
    ("coin_pick_up", "with difficulty", None, "with_difficulty", None, ABNORMAL),
    ("palmaris_longus", "absent", None, "absent", None, NOTED),
    *[("apb_power", each, None, "graded", Grade("4"), ABNORMAL)
      for each in (4, "4", "M4", "MRC 4", "4/5", "grade 4", "4 out of 5")],
    *[("apb_power", each, None, "graded", Grade("4+"), ABNORMAL) for each in ("4+", "MRC 4+", "4+/5", "4/5+")],
    ("apb_power", "5-", None, "graded", Grade("5-"), ABNORMAL),
    ("apb_power", "5/5", None, "graded", Grade("5"), NORMAL),
    ("apb_power", 0, None, "graded", Grade("0"), ABNORMAL),
    *[("grip_strength", each, None, "measured", kg(22.0), NOTED)
      for each in (22, 22.0, "22", "22kg", "22 kg", "22 kgs", {"value": 22}, {"value": 22, "unit": "KG"}, {"value": "22"})],
    *[("grip_strength", each, None, "measured", kg(5.0, "<"), NOTED)
      for each in ("<5", "< 5 kg", "less than 5", "under 5 kg", {"value": 5, "comparator": "<"})],
    ("grip_strength", "more than 60", None, "measured", kg(60.0, ">"), NOTED),
    ("grip_strength", ">= 60", None, "measured", kg(60.0, ">="), NOTED),
    ("grip_strength", [20, 22, 24], None, "measured", kg(22.0, "", (20.0, 22.0, 24.0)), NOTED),
    ("grip_strength", ["20 kg", 22], None, "measured", kg(21.0, "", (20.0, 22.0)), NOTED),
    ("wrist_flexion", "70°", None, "measured", Quantity(70.0, "deg"), NORMAL),
    ("wrist_flexion", "40 degrees", None, "measured", Quantity(40.0, "deg"), ABNORMAL),
    ("capillary_refill_time", "2 secs", "index", "measured", Quantity(2.0, "s"), NORMAL),
    ("digital_oxygen_saturation", "95%", "index", "measured", Quantity(95.0, "%"), NOTED),
    *[("pip_movement", each, "ring", "measured", Arc(15.0, 90.0), ABNORMAL)
      for each in ({"from": 15, "to": 90}, "15-90", "15 – 90", "15/90", "15 to 90", [15, 90])],
    ("pip_movement", {"from": -10, "to": 100}, "ring", "measured", Arc(-10.0, 100.0), NORMAL),
    ("pip_movement", {"from": 0, "to": 60}, "ring", "measured", Arc(0.0, 60.0), ABNORMAL),
    ("aids_and_dressings", "  a wool   glove ", "hand", "described", "a wool glove", NOTED),
    *[("aids_and_dressings", each, "hand", "normal", None, NORMAL) for each in ("normal", "NAD", "unremarkable")],
]  # fmt: skip


@pytest.mark.parametrize(
    ("item", "written", "site", "state", "value", "polarity"), VALUES, ids=[f"{row[0]}: {row[1]}" for row in VALUES]
)
def test_a_value_is_read(item, written, site, state, value, polarity):
    (fact,) = facts_of(found(item, written, site=site)).facts
    assert (fact.state, fact.value, fact.polarity) == (state, value, polarity)


@pytest.mark.parametrize(
    ("written", "meant"),
    [("mild", "mild"), ("slight", "mild"), ("Moderate", "moderate"), ("marked", "severe"), ("gross", "severe")],
)
def test_a_severity_as_value_says_that_it_is_there(written, meant):
    (fact,) = facts_of(found("thenar_wasting", written)).facts
    assert (fact.state, fact.qualifiers) == ("present", (("severity", meant),))


ORDER = ["0", "1", "2-", "2", "2+", "3-", "3", "3+", "4-", "4", "4+", "5-", "5"]


def test_grades_of_power_are_ordered():
    ranks = [facts_of(found("apb_power", grade)).facts[0].value.rank for grade in ORDER]
    assert ranks == sorted(set(ranks))


# item, number, whether it departs from what is expected by more than the tolerance
EDGES = [
    ("wrist_flexion", 65, NORMAL), ("wrist_flexion", 64, ABNORMAL), ("wrist_flexion", 90, NORMAL),
    ("wrist_flexion", 120, ABNORMAL),
    ("static_two_point_discrimination", 5, NORMAL), ("static_two_point_discrimination", 6, ABNORMAL),
    ("static_two_point_discrimination", "< 6", NORMAL), ("static_two_point_discrimination", "> 6", ABNORMAL),
]  # fmt: skip


@pytest.mark.parametrize(("item", "number", "polarity"), EDGES)
def test_a_number_is_judged_against_what_is_expected(item, number, polarity):
    site = "index pulp" if item.startswith("static") else None
    assert facts_of(found(item, number, site=site)).facts[0].polarity is polarity
