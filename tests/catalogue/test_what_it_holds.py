"""What the catalogue holds: golden lists of its names, and wording for both readers of every item."""

from __future__ import annotations

from pathlib import Path

import pytest

from letterkit.catalogue import catalogue
from letterkit.catalogue.model import Qualifier, Stage, ValueKind

GOLDEN = Path(__file__).parent / "golden"
KNOWN = catalogue()
ITEMS = list(KNOWN.items.values())

LISTS = {
    "items": lambda: [f"{item.stage.value}  {item.slug}  {item.value.value}" for item in ITEMS],
    "sites": lambda: list(KNOWN.sites),
    "problems": lambda: list(KNOWN.problems),
    "cautions": lambda: [f"{each.slug}  {'urgent' if each.urgent else 'other'}" for each in KNOWN.cautions.values()],
}


@pytest.mark.parametrize("name", LISTS)
def test_the_names_are_those_agreed(name, regen):
    golden = GOLDEN / f"{name}.txt"
    text = "\n".join(LISTS[name]()) + "\n"
    if regen:
        golden.write_text(text, encoding="utf-8")

    assert text == golden.read_text(encoding="utf-8")


def test_every_stage_of_the_examination_holds_items():
    assert {item.stage for item in ITEMS} == set(Stage)


@pytest.mark.parametrize("register", ["doctor", "patient"])
def test_every_item_is_worded_for(register):
    bare = [item.slug for item in ITEMS if not (getattr(item, register).noun or getattr(item, register).subject)]
    assert bare == []


def test_no_noun_brings_its_own_article():
    words = [(item.slug, item.doctor.noun) for item in ITEMS if item.doctor.noun]
    assert [each for each in words if each[1].split()[0] in {"a", "an", "the", "no", "some"}] == []


def test_an_item_that_can_be_counted_has_a_plural():
    """'a nodule, two nodules': the article says that a thing can be counted, so both numbers are needed."""
    assert [item.slug for item in ITEMS if item.doctor.plural is None and Qualifier.COUNT in item.qualifiers
            and item.doctor.article] == []  # fmt: skip


def test_a_patient_is_never_told_that_a_test_was_positive():
    told = {item.slug: (item.patient.positive, item.patient.negative) for item in ITEMS if item.value is ValueKind.TEST}
    assert told
    assert [
        slug for slug, words in told.items() if any("positive" in each or "negative" in each for each in words)
    ] == []


def test_no_wording_names_a_side():
    """The side comes from the record alone."""
    sided = []
    for item in ITEMS:
        for wording in (item.doctor, item.patient):
            words = " ".join(filter(None, [wording.noun, wording.plural, wording.subject, wording.positive,
                                           wording.negative, wording.equivocal, *wording.states.values()]))  # fmt: skip
            if {"left", "right"} & set(words.split()):
                sided.append(item.slug)
    assert sided == []


def test_every_expected_range_names_its_source_and_lies_within_what_is_possible():
    wrong = []
    for item in ITEMS:
        for expected in (item.expected, item.expected_from):
            if expected is None:
                continue
            bounds = [bound for bound in (expected.low, expected.high) if bound is not None]
            inside = all(item.minimum <= bound <= item.maximum for bound in bounds)
            if not bounds or not inside or not expected.source or bounds != sorted(bounds):
                wrong.append(item.slug)
    assert wrong == []


def test_every_likelihood_ratio_of_a_negative_argues_against_or_tells_nothing():
    ratios = {(problem.slug, negative.items): negative.lr for problem in KNOWN.problems.values()
              for negative in problem.negatives if negative.lr is not None}  # fmt: skip
    assert ratios
    assert {key: ratio for key, ratio in ratios.items() if not 0 < ratio <= 1} == {}


@pytest.mark.parametrize("caution", KNOWN.cautions.values(), ids=lambda caution: caution.slug)
def test_a_caution_asks_for_states_that_can_be_recorded(caution):
    for condition in (*caution.all, *caution.any):
        item = KNOWN.items[condition.item]
        match item.value:
            case ValueKind.PRESENCE:
                possible = {"present", "absent", "equivocal"}
            case ValueKind.TEST:
                possible = {"positive", "negative", "equivocal"}
            case ValueKind.STATE:
                possible = {state.slug for state in KNOWN.scales[item.scale].states}
            case _:
                possible = set()
        assert set(condition.states) <= possible, condition
        if condition.above is not None or condition.below is not None:
            assert item.value in {ValueKind.QUANTITY, ValueKind.ARC, ValueKind.MRC}, condition


@pytest.mark.parametrize("caution", KNOWN.cautions.values(), ids=lambda caution: caution.slug)
def test_a_caution_names_no_urgency_and_no_treatment(caution):
    """It says what was recorded; what follows is for the responsible clinician under local policy."""
    banned = (
        "urgent",
        "emergency",
        "refer",
        "should",
        "must",
        "treat",
        "antibiotic",
        "surgery",
        "hour",
        "today",
        "immediately",
    )
    for text in (caution.doctor, caution.patient):
        assert [word for word in banned if word in text.casefold().replace("hourglass", "")] == []
