"""Flesch reading ease and Flesch-Kincaid grade from counted words, sentences and syllables.

Source: Flesch formulas, as published by the US Department of Veterans Affairs (confirmed); bands and counting rules of
the Flesch test (confirmed). Counting is the caller's: figures and abbreviations are one word of one syllable, a word
with two pronunciations takes the fewer syllables, titles and headings are left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from letterkit.errors import InvalidValue
from letterkit.measures.result import Mark, NotComputable, Result, Source, figure, given, rounded

EaseBand = Literal["very_easy", "easy", "fairly_easy", "plain", "fairly_difficult", "difficult", "very_difficult"]
SOURCE = Source("Flesch reading ease and Flesch-Kincaid grade", Mark.CONFIRMED)
_BANDS: tuple[tuple[EaseBand, int], ...] = (
    ("very_easy", 90),
    ("easy", 80),
    ("fairly_easy", 70),
    ("plain", 60),
    ("fairly_difficult", 50),
    ("difficult", 30),
)
_EASE = (Fraction("206.835"), Fraction("1.015"), Fraction("84.6"))
_GRADE = (Fraction("0.39"), Fraction("11.8"), Fraction("15.59"))


@dataclass(frozen=True, slots=True)
class Readability:
    """Reading ease (higher is easier) with its band, and school grade; neither is clamped, so short texts pass 100."""

    ease: float
    grade: float
    band: EaseBand


def readability(words: int, sentences: int, syllables: int) -> Result[Readability] | NotComputable:
    """Ease and grade of a counted text. Not computable for an empty one. Raises InvalidValue for impossible counts."""
    inputs = given(words=words, sentences=sentences, syllables=syllables)
    if min(words, sentences, syllables) < 0 or syllables < words or sentences > words:
        raise InvalidValue(
            f"readability: {words} words, {sentences} sentences, {syllables} syllables were given. "
            "Allowed: at least one syllable a word and one word a sentence"
        )
    if words == 0 or sentences == 0:
        return NotComputable("readability", (), SOURCE, "there is no text to count", inputs=inputs)
    length, weight = Fraction(words, sentences), Fraction(syllables, words)
    ease = _EASE[0] - _EASE[1] * length - _EASE[2] * weight
    grade = _GRADE[0] * length + _GRADE[1] * weight - _GRADE[2]
    band: EaseBand = next((name for name, least in _BANDS if ease >= least), "very_difficult")
    arithmetic = (
        f"{words} / {sentences} = {figure(length)} words a sentence; {syllables} / {words} = {figure(weight)} "
        f"syllables a word; ease {rounded(ease, 1)}, grade {rounded(grade, 1)}"
    )
    return Result("readability", Readability(float(ease), float(grade), band), inputs, arithmetic, SOURCE)
