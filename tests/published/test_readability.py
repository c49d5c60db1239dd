"""Flesch reading ease and Flesch-Kincaid grade (confirmed)."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable, rounded
from letterkit.measures.readability import readability
from letterkit.measures.result import required


@pytest.mark.parametrize(
    ("words", "sentences", "syllables", "ease", "grade"),
    [
        pytest.param(100, 5, 150, "59.635", "9.910", id="worked: 100 words"),
        pytest.param(24, 3, 25, "110.590", "-0.178", id="worked: 24 words, neither score clamped"),
    ],
)
def test_worked(words, sentences, syllables, ease, grade):
    value = required(readability(words, sentences, syllables)).value

    assert (str(rounded(value.ease, 3)), str(rounded(value.grade, 3))) == (ease, grade)


def test_shown_to_one_place():
    assert str(rounded(required(readability(100, 5, 150)).value.ease, 1)) == "59.6"


@pytest.mark.parametrize(
    ("syllables", "band"),
    [
        (100, "very_easy"),
        (130, "easy"),
        (140, "fairly_easy"),
        (155, "plain"),
        (170, "fairly_difficult"),
        (185, "difficult"),
        (200, "very_difficult"),
    ],
)
def test_band(syllables, band):
    assert required(readability(100, 10, syllables)).value.band == band


def test_empty_text():
    assert isinstance(readability(0, 0, 0), NotComputable)


@pytest.mark.parametrize("counts", [(10, 2, 9), (3, 4, 5), (-1, 0, 0)])
def test_impossible_counts_are_refused(counts):
    with pytest.raises(InvalidValue, match="Allowed"):
        readability(*counts)
