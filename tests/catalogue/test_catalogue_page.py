"""The catalogue for a reader: every item on the page of documentation, and the search of the command."""

from __future__ import annotations

import re

import pytest

from letterkit.catalogue import catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.catalogue.page import allowed, item_lines, matching, page

KNOWN = catalogue()
ROWS = page(KNOWN).splitlines()


def test_every_item_has_one_row():
    for slug in KNOWN.items:
        assert sum(f"| `{slug}` |" in row for row in ROWS) >= 1, slug
    assert f"{len(KNOWN.items)} items, {len(KNOWN.sites)} sites, {len(KNOWN.problems)} presenting problems." in ROWS


def test_every_problem_lists_its_negatives_in_order():
    for problem in KNOWN.problems.values():
        start = ROWS.index(f"### {problem.name}")
        told = [row.split(" | ")[1] for row in ROWS[start + 4 : start + 4 + len(problem.negatives)]]
        assert told == [negative.argues_against for negative in problem.negatives]


def test_every_row_of_a_table_has_the_columns_of_its_head():
    columns = 0
    for row, following in zip(ROWS, [*ROWS[1:], ""], strict=True):
        if not row.startswith("|"):
            columns = 0
            continue
        cells = len(re.findall(r"(?<!\\)\|", row))
        if following.startswith("|---"):
            columns = cells
        assert cells == columns, row


def test_the_page_is_the_same_each_time():
    assert page(KNOWN) == page(KNOWN)


WORDS = {
    "a slug": ("phalen_test", "phalen_test"),
    "a name in another case": ("GRIP STRENGTH", "grip_strength"),
    "a synonym": ("Phalen's sign", "phalen_test"),
    "an ambiguous short form": ("UCL", "thumb_ucl"),
}


@pytest.mark.parametrize(("words", "slug"), WORDS.values(), ids=WORDS)
def test_an_item_is_found_by(words, slug):
    assert slug in [item.slug for item in matching(KNOWN, words)]


def test_no_words_match_every_item_and_nonsense_matches_none():
    assert len(matching(KNOWN, "")) == len(KNOWN.items)
    assert matching(KNOWN, "xylophone") == []


VALUES = {
    "thenar_wasting": "present, absent or equivocal",
    "phalen_test": "positive, negative or equivocal",
    "median_sensation": "normal, reduced, absent, altered, heightened",
    "apb_power": "power grade 0 to 5, with plus or minus",
    "grip_strength": "0 to 150 kg",
    "pip_movement": "from and to, within -80 to 140 degrees",
    "aids_and_dressings": "words, or normal",
}


@pytest.mark.parametrize("slug", VALUES)
def test_what_may_be_recorded_is_said_in_words(slug):
    assert allowed(KNOWN.items[slug], KNOWN) == VALUES[slug]


def test_every_kind_of_value_is_in_the_table_above():
    assert {KNOWN.items[slug].value for slug in VALUES} == set(ValueKind)


def test_the_lines_of_an_item_name_its_sites_qualifiers_and_synonyms():
    text = "\n".join(item_lines(KNOWN.items["triggering"], KNOWN))
    for part in ("triggering: ", "  value: ", "  sites: digit", "  also: ", "  known as: "):
        assert part in text
