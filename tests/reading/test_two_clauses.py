"""Two clauses in one sentence: what the second says is nothing of what the first found.

Common practice, no source: a wrist that was swollen is swollen whatever else was absent.
"""

from itertools import product

import pytest

FIRST = (
    "The right wrist was swollen",
    "The right wrist was moderately swollen",
    "The right wrist has swelling",
    "The right wrist shows some swelling",
    "There is swelling of the right wrist",
    "He has a swollen right wrist",
    "On the right there is swelling of the wrist",
)
JOINED = (" and ", " and the ", ", and ", ", and the ", ", ", "; ", " but ", " while ", ", whereas the ")
SECOND = (
    "sensation was lost",
    "reflexes are absent",
    "Phalen's test was negative",
    "grip was weak",
    "pulses were absent",
    "capillary refill is absent",
    "thumb was missing",
    "light touch was normal",
    "thenar muscles were not wasted",
    "sensation lost",
    "glurb was absent",  # a word that is not known
)


@pytest.mark.parametrize("first", FIRST)
def test_a_second_clause_takes_nothing_from_the_first(first, read_note):
    for joined, second in product(JOINED, SECOND):
        text = f"{first}{joined}{second}."
        swelling = [
            (each.side, each.value) for each in read_note(text, language="en-GB").findings if each.item == "swelling"
        ]
        assert swelling == [("right", "present")], text
