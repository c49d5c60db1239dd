"""Whatever known words a note is made of, in whatever order, it is read, and all of its text is accounted for."""

from __future__ import annotations

import os

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from letterkit import read
from letterkit.catalogue import catalogue
from letterkit.catalogue.traps import traps
from letterkit.reading.vocabulary import vocabulary
from letterkit.reading.words import words

SOAK = bool(os.environ.get("LETTERKIT_SOAK"))
SHARES = range(20 if SOAK else 1)
PHRASES = sorted(vocabulary(catalogue(), traps(), words(), "en-GB").phrases)
SMALL = (
    "and", ",", ".", ";", "the", "on the right", "on the left", "of", "is", "are", "not", "no", "but", "with", "both",
    "left", "right", "in the", "(", ")", ":", "4/5", "20 degrees", "2", "3 cm", "to", "as", "than", "except", "neither",
    "nor", "or", "\n", "was", "bilaterally", "compared with", "all", "others", "the other", "respectively", "one",
)  # fmt: skip

any_words = st.lists(st.sampled_from(SMALL) | st.sampled_from(PHRASES), min_size=3, max_size=25).map(" ".join)


@pytest.mark.parametrize("share", SHARES)
@settings(max_examples=1000 if SOAK else 500, deadline=None)
@given(text=any_words)
def test_any_known_words_are_read(share, text):
    reading = read(text)

    assert "".join(reading.quote(span) for span in reading.spans) == text
