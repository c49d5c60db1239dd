"""Numbers of notes in their usual notations."""

from __future__ import annotations

import pytest

from letterkit.reading.values import amounts

CASES = [
    ("APB 4/5", [("grade", "4", ())]),
    ("4+/5", [("grade", "4+", ())]),
    ("4/5-", [("grade", "4-", ())]),
    ("grade 4 minus out of 5", [("grade", "4-", ())]),
    ("M3", [("signed", "3", (3.0,))]),
    ("15/5", [("arc", "", (15.0, 5.0))]),
    ("20-85", [("arc", "", (20.0, 85.0))]),
    ("from 5 degrees of hyperextension to 90 degrees of flexion", [("arc", "", (-5.0, 90.0))]),
    ("less than 2 s", [("amount", "", (2.0,))]),
    ("less than two seconds", [("amount", "", (2.0,))]),
    ("30/32/31 kg", [("trials", "", (30.0, 32.0, 31.0))]),
    ("30, 32 and 31", [("trials", "", (30.0, 32.0, 31.0))]),
    ("2 cm x 1.5 cm", [("size", "", (20.0, 15.0))]),
    ("4+/4-", [("pair", "4+", ())]),
    ("-10 degrees", [("amount", "", (-10.0,))]),
    ("no number", []),
    ("1234567", []),
]


@pytest.mark.parametrize(("text", "expected"), CASES)
def test_a_number_is_read_whole(text, expected):
    assert expected == [(each.kind, each.grade, each.numbers) for each in amounts(text, 0, len(text))]


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("40°", "deg"),
        ("40 degrees", "deg"),
        ("5mm", "mm"),
        ("3 cm", "cm"),
        ("20s", "s"),
        ("24 kg", "kg"),
        ("50 lbs", "lb"),
    ],
)
def test_a_unit_is_read_with_its_number(text, unit):
    assert [unit] == [each.unit for each in amounts(text, 0, len(text))]


def test_pounds_are_shown_and_never_taken_for_kilograms(facts, read_note):
    (finding,) = read_note("Grip 50 lb on the right.").findings

    assert (finding.value, finding.sure) == (None, "needs_a_look")
