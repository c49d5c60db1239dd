"""Lines, bullets, labels, tables and wrapped sentences, found by their shape alone."""

from __future__ import annotations

import pytest

from letterkit.reading.segments import segments
from letterkit.reading.tokens import split

CASES = [
    ("one sentence.", ["one sentence."]),
    ("one. Two; three", ["one.", "Two;", "three"]),
    ("Refill approx. 2 s.", ["Refill approx. 2 s."]),
    ("- first\n* second\n• third\n1) fourth\n", ["first", "second", "third", "fourth"]),
    ("first\r\nsecond\rthird\u2028fourth", ["first", "second", "third", "fourth"]),
    (
        "no swelling or tenderness was found at the joints of the\nright hand.",
        ["no swelling or tenderness was found at the joints of the\nright hand."],
    ),
    ("no swelling\nno redness", ["no swelling", "no redness"]),
]


@pytest.mark.parametrize(("text", "expected"), CASES)
def test_a_text_falls_into_its_sentences(text, expected):
    assert expected == [text[segment.start : segment.end] for segment in segments(text)]


def test_a_label_ends_at_its_colon():
    text = "Tinel's sign: negative"
    (segment,) = segments(text)

    assert text[segment.start : segment.label] == "Tinel's sign:"


def test_a_line_that_ends_in_a_colon_heads_what_follows():
    first, second = segments("Right hand:\nno swelling")

    assert (first.heading, second.heading) == (True, False)


@pytest.mark.parametrize(
    "text",
    [
        "        Right    Left\nGrip    24       30",
        "\tR\tL\nGrip\t24\t30",
        "| | Right | Left |\n| Grip | 24 | 30 |",
    ],
)
def test_cells_carry_the_side_of_their_column(text):
    cells = [(text[each.start : each.end].strip(), each.side) for each in segments(text) if not each.heading]

    assert cells == [("24", "right"), ("30", "left")]


@pytest.mark.parametrize("text", ["4+/5", "MCPJ(IF", "0/90", "Tinel's+", "a  b\tc\n", "2nd-4th", "\u200f°½"])
def test_tokens_are_the_text(text):
    assert text == "".join(split(text))
