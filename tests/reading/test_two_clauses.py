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


FOUND = (
    "Swelling of the left wrist",
    "The left wrist is tender",
    "No tenderness of the left wrist",
    "The left wrist was painful on movement",
    "There is a burn on the left wrist",
)
THE_ELBOW = (
    ", the elbow ", " and the elbow ", ", and the elbow ", "; the elbow ", " but the elbow ", ", whereas the elbow ",
    ", her elbow ",
)  # fmt: skip
DOES = (
    "clicks", "catches", "gives way", "bends to 90 degrees", "will not straighten", "was held in flexion",
    "clicked on rotation", "locks", "could be straightened", "was not examined", "had been operated on", "looked odd",
    "showed an effusion", "has a good range", "had a full range", "got stuck", "crunches", "was in plaster",
    "would not bend", "opened on valgus stress", "came out to 10 degrees", "felt boggy", "drooped", "lay in flexion",
    "jumped", "moves", "appeared larger", "stayed put", "carries a scar", "bears a bruise", "reached 120 degrees",
    "lacks 20 degrees of extension", "moves well",
)  # fmt: skip


THE_RIGHT = (
    ", the right ", " and the right ", ", and on the right it ", "; the right ", " but the right ", ", whereas the right ",
    ", the right wrist ", " and the right wrist ", ", right wrist ",
)  # fmt: skip


@pytest.mark.parametrize("first", FOUND)
def test_a_part_that_does_something_is_no_further_place_of_the_first(first, read_note):
    keeps_its_place(first, (*product(THE_ELBOW, DOES),), read_note)


@pytest.mark.parametrize("first", FOUND)
def test_another_side_that_does_something_is_no_further_side_of_the_first(first, read_note):
    said_of_both = {"was not examined"}  # the right was not examined for what was found on the left
    keeps_its_place(first, [pair for pair in product(THE_RIGHT, DOES) if pair[1] not in said_of_both], read_note)


def keeps_its_place(first, clauses, read_note):
    def told(text):
        findings = read_note(text, language="en-GB").findings
        return {(each.item, each.side, each.sites, each.state) for each in findings}

    own = told(f"{first}.")
    items = {item for item, *_ in own}
    assert len(own) == 1
    for joined, does in clauses:
        text = f"{first}{joined}{does}."
        assert {each for each in told(text) if each[0] in items} == own, text
