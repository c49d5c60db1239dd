"""Every item in every state gives a sentence that is well formed, names its side and tells all its qualifiers."""

from __future__ import annotations

import re

import pytest
from made_records import every_value, minimal, told

from letterkit.catalogue import catalogue
from letterkit.catalogue.model import Qualifier, Stage, ValueKind

KNOWN = catalogue()
ITEMS = list(KNOWN.items.values())

FAULTS = {
    "starts small": lambda text: not (text[0].isupper() or text[0].isdigit()),
    "ends without one full stop": lambda text: not re.search(r"[^.]\.$", text),
    "a double or a misplaced space": lambda text: re.search(r"\s\s|\s[,.;:)]|\(\s", text),
    "two articles": lambda text: re.search(r"\b(?:an?|the|no) (?:an?|the|no)\b", text),
    "a word twice": lambda text: re.search(r"\b(\w+) \1\b", text),
    "a before a vowel": lambda text: re.search(r"\ba (?:[aeio]|8\b|11\b|18\b)", text),
    "an before a consonant": lambda text: re.search(r"\ban (?![aeiouh]|[A-Z]|8|11\b|18\b)", text),
    "a slug or a nothing": lambda text: re.search(r"_|\bNone\b|\bnan\b", text),
    "an article or a unit out of number": lambda text: re.search(r"\b(?:were an?|was (?:two|three|four)|1 (?:degrees|seconds))\b", text),
    "a side by letter": lambda text: re.search(r"\b[LR]\b|\bLt\b|\bRt\b", text),
    "a mark that misreads": lambda text: re.search(r"[<>@&±°µ]", text),
    "a trailing nought": lambda text: re.search(r"\d\.\d*0\b|(?<!\d)\.\d", text),
}  # fmt: skip


# A monofilament goes by its marking, which is a name: "6.10".
NAMES_WITH_NOUGHTS = {"monofilament"}


def faults(text, item):
    """The faults of a sentence; nothing said is all of them."""
    return [
        name for name, wrong in FAULTS.items()
        if not text or (wrong(text) and not (name == "a trailing nought" and item.slug in NAMES_WITH_NOUGHTS))
    ]  # fmt: skip


@pytest.mark.parametrize("stage", Stage)
def test_a_sentence_is_well_formed(stage):
    wrong = []
    for item in ITEMS:
        if item.stage is not stage:
            continue
        for value in every_value(item):
            for side in ("right", "both") if item.paired else ("right",):
                text = told(minimal(item, value, side))
                if not text or faults(text, item):
                    wrong.append((item.slug, value, text, faults(text, item)))
    assert wrong == []


@pytest.mark.parametrize(("side", "words"), [("right", {"right"}), ("left", {"left"}), ("both", {"both", "either"})])
def test_a_sentence_names_its_side_and_no_other(side, words):
    wrong = []
    for item in ITEMS:
        if not item.paired:
            continue
        for value in every_value(item):
            text = told(minimal(item, value, side))
            named = set(re.findall(r"\b(?:right|left|both|either)\b", text))
            if not named or not named <= words:
                wrong.append(text)
    assert wrong == []


def test_an_item_without_a_side_names_none():
    texts = [told(minimal(item, value)) for item in ITEMS if not item.paired for value in every_value(item)]
    assert texts
    assert [text for text in texts if re.search(r"\b(?:right|left|both|either)\b", text)] == []


def test_two_states_of_one_item_never_read_alike():
    alike = []
    for item in ITEMS:
        texts = [told(minimal(item, value)) for value in every_value(item)]
        if len(set(texts)) < len(texts):
            alike.append((item.slug, texts))
    assert alike == []


def test_no_two_items_read_alike():
    """What the loader promises by words and sites holds for the whole sentences."""
    read: dict[str, set[str]] = {}
    for item in ITEMS:
        for value in every_value(item):
            read.setdefault(told(minimal(item, value)), set()).add(item.slug)
    assert {text: slugs for text, slugs in read.items() if len(slugs) > 1} == {}


# field, value, words that the sentence holds
TOLD = {
    Qualifier.SEVERITY: ({"severity": "mild"}, "mild"),
    Qualifier.ONSET: ({"onsetS": 17}, "17 seconds"),
    Qualifier.DISTRIBUTION: ({"distribution": "the web"}, "the web"),
    Qualifier.DESCRIPTION: ({"description": "like a pea"}, "like a pea"),
    Qualifier.COUNT: ({"count": 3}, "three"),
    Qualifier.SIZE: ({"sizeMm": 7}, "7 mm"),
    Qualifier.LENGTH: ({"lengthCm": 7}, "7 cm"),
    Qualifier.ANGLE: ({"angleDeg": 33}, "33 degrees"),
    Qualifier.CORRECTABILITY: ({"correctability": "fixed"}, "fixed"),
    Qualifier.GRADE: ({"grade": "II", "grading": "Green"}, "Green grade II"),
    Qualifier.MODE: ({"mode": "passive"}, "passive"),
}
NOTHING_THERE = {ValueKind.PRESENCE: "absent", ValueKind.TEST: "negative"}


@pytest.mark.parametrize("name", Qualifier)
def test_a_sentence_tells(name):
    fields, words = TOLD[name]
    carriers = [item for item in ITEMS if name in item.qualifiers]
    assert carriers
    lost = []
    for item in carriers:
        for value in every_value(item):
            if value == NOTHING_THERE.get(item.value):
                continue
            text = told(minimal(item, value) | fields)
            if words not in text.casefold().replace("green grade ii", "Green grade II"):
                lost.append((item.slug, value, text))
    assert lost == []


def test_a_sentence_carries_the_clinicians_note_once():
    lost = []
    for item in ITEMS:
        for value in every_value(item):
            text = told(minimal(item, value) | {"note": "with the Trainee"})
            if text.count("(with the Trainee)") != 1:
                lost.append((item.slug, value, text))
    assert lost == []
