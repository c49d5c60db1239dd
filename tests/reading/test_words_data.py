"""The data of the reader's words: what stands twice would silently mean only one of the two."""

from __future__ import annotations

import tomllib
from collections import Counter
from pathlib import Path

import pytest

from letterkit.catalogue import catalogue
from letterkit.reading import words as module

RAW = module.with_choices_made(
    tomllib.loads((Path(module.__file__).parent / "data" / "words.toml").read_text(encoding="utf-8"))
)
MOST = 4000  # phrases of one pattern
KINDS = {"terms": ("sense", "loose", "family", "pain"), "places": ("place",)}


@pytest.mark.parametrize("kind", KINDS)
def test_a_phrase_has_one_meaning_as_a_term_or_a_place(kind):
    phrases = Counter(phrase for table in KINDS[kind] for entry in RAW[table] for phrase in entry["words"])

    assert [phrase for phrase, count in phrases.items() if count > 1] == []


@pytest.mark.parametrize("table", ["words", "states", "currency"])
def test_a_list_holds_each_phrase_once(table):
    repeated = {
        name: [phrase for phrase, count in Counter(phrases).items() if count > 1]
        for name, phrases in RAW[table].items()
    }

    assert {name: phrases for name, phrases in repeated.items() if phrases} == {}


def test_a_pattern_stands_for_each_of_its_phrases():
    assert list(module.expanded("{is|was} {|not }swollen")) == [
        "is swollen",
        "is not swollen",
        "was swollen",
        "was not swollen",
    ]


@pytest.mark.parametrize("name", RAW["carried"])
def test_what_is_said_to_be_carried_is_of_the_catalogue(name):
    assert set(RAW["carried"][name]) <= set(catalogue().items)


def test_no_pattern_stands_for_more_phrases_than_anybody_says():
    """Each phrase is matched in every note and costs time when the reader starts: a long pattern wants to be parted."""
    raw = tomllib.loads((Path(module.__file__).parent / "data" / "words.toml").read_text(encoding="utf-8"))

    assert {pattern: count for pattern, count in _patterns(raw) if count > MOST} == {}


def _patterns(data):
    if isinstance(data, dict | list):
        for each in data.values() if isinstance(data, dict) else data:
            yield from _patterns(each)
    elif isinstance(data, str) and "{" in data:
        yield data, sum(1 for _ in module.expanded(data))
