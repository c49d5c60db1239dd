"""Hostile text costs time in proportion to its length, and gives itself back whole."""

from __future__ import annotations

import time
import tomllib
from pathlib import Path

import pytest

from letterkit.reading.read import read

TEXTS = {
    "brackets": "(",
    "nested brackets": "((())) ",
    "one line": "no swelling or tenderness of the right wrist ",
    "control characters": "\x00\x07\u200f\u202e",
    "emoji": "\U0001f469\u200d\u2695\ufe0f right ",
    "figures": "1",
    "fractions": "1/",
    "tabs": "a\tb",
    "line breaks": "no swelling\n",
    "plus signs": "+",
    "semicolons": "right;",
    "remarks": "swelling (",
    "unknown words": "palmistrys ",
}
_ROOM = 4.0  # times the double length may take the time of the single: linear is 2, quadratic 4 and more at this size


def _time(text: str) -> float:
    begun = time.process_time()
    reading = read(text)
    spent = time.process_time() - begun
    assert text == "".join(reading.quote(span) for span in reading.spans)
    return spent


@pytest.mark.parametrize("piece", TEXTS.values(), ids=TEXTS)
def test_time_grows_with_length(piece):
    size = 16_000
    short = piece * (size // len(piece))
    _time(short)
    single = min(_time(short) for _ in range(2))
    fourfold = min(_time(short * 4) for _ in range(2))

    assert fourfold < 0.05 or fourfold / single < 4 * _ROOM


def test_a_megabyte_on_one_line_is_read():
    text = "No swelling of the right wrist, tender over the snuffbox. " * 18_000

    assert read(text[:1_000_000]).text == text[:1_000_000]


def test_a_note_that_breaks_off_is_read():
    file = Path(__file__).parent / "clinic_lines.toml"
    lines = tomllib.loads(file.read_text(encoding="utf-8"))["line"]
    for line in lines[::3]:
        words = line["text"].split(" ")
        for end in (len(words) // 2, len(words) - 1):
            broken = " ".join(words[:end])
            assert read(broken).text == broken
