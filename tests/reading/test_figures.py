"""A number that no finding tells is shown as unread: nothing vanishes."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize(
    ("note", "figure"),
    [
        ("Phalen's R at 15 sec, L neg", "15 sec"),
        ("Right wrist flexion 60, extension 50 and 40.", "40"),
        ("Dupuytren's cord to the left ring finger, MCP 30 degrees.", "30 degrees"),
        ("Tinel's 4 cm distal to the right elbow positive.", "4 cm"),
    ],
)
def test_a_figure_that_no_finding_tells_is_unread(read_note, note, figure):
    reading = read_note(note, language="en-GB")
    assert figure in [reading.quote(span) for span in reading.unread]


@pytest.mark.parametrize(
    "note",
    [
        "Wound of the right palm 3 x 1 cm.",
        "Right grip 66 lb.",
        "Phalen's positive after 20 seconds on the right.",
        "Right PIP index 0/90.",
        "12 scars on the right palm.",
        "2+ radial pulses bilaterally.",
        "APB 4+/5 right.",
    ],
)
def test_a_figure_that_a_finding_tells_is_read(read_note, note):
    assert read_note(note, language="en-GB").unread == ()
