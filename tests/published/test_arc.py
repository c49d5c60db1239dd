"""Written movement: all notation is common practice, no source."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures.arc import (
    ActiveThenPassive,
    AmbiguousArc,
    Arc,
    ExtensionLag,
    FixedDeficit,
    FullRange,
    PulpToPalm,
    parse_movement,
)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("0-90", Arc(0, 90)),
        ("0/90", Arc(0, 90)),
        ("0 to 90", Arc(0, 90)),
        ("0\u201390\u00b0", Arc(0, 90)),
        ("0 - 90 degrees", Arc(0, 90)),
        ("-0/90", Arc(0, 90)),
        ("15-90", Arc(15, 90)),
        ("30-30", Arc(30, 30)),
        ("12.5-90", Arc(12.5, 90)),
        ("+15/0/90", Arc(-15, 90)),
        ("15-0-90", Arc(-15, 90)),
        ("H15-90", Arc(-15, 90)),
        ("15H/80", Arc(-15, 80)),
        ("0-0-90", Arc(0, 90)),
        ("SFTR S 70-0-80", Arc(-70, 80)),
        ("S 70-0-80", Arc(-70, 80)),
        ("lag 20", ExtensionLag(20)),
        ("ext lag 20", ExtensionLag(20)),
        ("extension lag 20 deg", ExtensionLag(20)),
        ("FFD 20", FixedDeficit(20)),
        ("fixed 20", FixedDeficit(20)),
        ("FFC 20", FixedDeficit(20)),
        ("contracture 20\u00b0", FixedDeficit(20)),
        ("FROM", FullRange(active_only=False)),
        ("full ROM", FullRange(active_only=False)),
        ("full AROM", FullRange(active_only=True)),
        ("PPD 25mm", PulpToPalm(25, None)),
        ("TPD 25 mm", PulpToPalm(25, None)),
        ("tip to DPC 2cm", PulpToPalm(20, None)),
        ("pulp to palm 2 FB", PulpToPalm(None, 2)),
        ("AROM/PROM 60/80", ActiveThenPassive(60, 80)),
        ("a/p 60/80", ActiveThenPassive(60, 80)),
    ],
)
def test_meaning(text, expected):
    assert parse_movement(text) == expected


@pytest.mark.parametrize("text", ["-15/90", "-15 to 90", "-15-90", "\u221215/90", "\u201315 to 90\u00b0", "- 15/90"])
def test_minus_is_refused_as_ambiguous(text):
    with pytest.raises(AmbiguousArc, match=r"Write 15-90 or 15-0-90"):
        parse_movement(text)


@pytest.mark.parametrize(("convention", "expected"), [("deficit", Arc(15, 90)), ("hyperextension", Arc(-15, 90))])
def test_minus_follows_the_units_convention(convention, expected):
    assert parse_movement("-15/90", minus_means=convention) == expected


@pytest.mark.parametrize(
    "text",
    [
        "",
        "90",
        "90-0",
        "90-15",
        "0-15-90",
        "15-20-90",
        "+15/90",
        "full",
        "lag",
        "FFD",
        "PPD 25",
        "0-90-0",
        "F 20-0-30",
        "stiff",
        "0-90 painful",
    ],
)
def test_refused(text):
    with pytest.raises(InvalidValue) as caught:
        parse_movement(text)

    assert not isinstance(caught.value, AmbiguousArc)


@pytest.mark.parametrize(
    ("arc", "deficit", "hyperextension", "degrees"),
    [(Arc(20, 85), 20, 0, 65), (Arc(-15, 90), 0, 15, 105), (Arc(0, 95), 0, 0, 95)],
)
def test_parts_of_an_arc(arc, deficit, hyperextension, degrees):
    assert (arc.extension_deficit_deg, arc.hyperextension_deg, arc.arc_deg) == (deficit, hyperextension, degrees)
