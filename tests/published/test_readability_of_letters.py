"""How easily the patients' copies read, by the published Flesch formulas over our own sentences.

Targets: the NHS content style guide asks for sentences of at most 20 words and a reading age of 9 to 11 (confirmed);
grade 6 on the mean and never above 8 follows guidance of the American Academy of Family Physicians 2015 and the
National Institutes of Health as quoted there (confirmed). Letters to patients written by hand reached a median grade of
8 to 12 (Plast Surg Nurs 2021;41:27, confirmed).
"""

from __future__ import annotations

from datetime import date
from statistics import mean

import pytest
from paths import DEMO_CASES
from reading_ease import Counts, count, masked, ours, split, syllables

from letterkit.catalogue.glossary import glossary
from letterkit.pipeline import draft

MEAN_GRADE, HIGHEST_GRADE, LEAST_EASE = 6, 8, 70
MEAN_SENTENCE, LONGEST_SENTENCE = 14, 20


@pytest.fixture(scope="module")
def letters() -> dict[str, list[str]]:
    made = {}
    for case in DEMO_CASES:
        drafted = draft(case.read_bytes(), drafted=date(2026, 11, 25))
        made[case.stem] = ours(drafted.patient_copy(), drafted.encounter)
    return made


@pytest.fixture(scope="module")
def counted(letters) -> dict[str, Counts]:
    return {name: count(texts) for name, texts in letters.items()}


@pytest.fixture(scope="module")
def counted_masked(letters) -> dict[str, Counts]:
    return {name: count(masked(text) for text in texts) for name, texts in letters.items()}


def _printed(which: str, counts: dict[str, Counts]) -> list[float]:
    grades = [each.score().grade for each in counts.values()]
    eases = [each.score().ease for each in counts.values()]
    print(  # noqa: T201 - shown with -s, and when it fails
        f"{which}: {len(counts)} letters, grade {mean(grades):.1f} (highest {max(grades):.1f}), ease {mean(eases):.0f} "
        f"(lowest {min(eases):.0f})"
    )
    return grades


def test_grade_as_printed(counted):
    grades = _printed("as printed", counted)
    assert mean(grades) <= MEAN_GRADE
    assert max(grades) <= HIGHEST_GRADE


def test_grade_with_explained_terms_masked(counted_masked, counted):
    grades = _printed("explained terms masked", counted_masked)
    assert mean(grades) <= MEAN_GRADE
    assert mean(grades) <= mean(each.score().grade for each in counted.values())


def test_reading_ease(counted):
    assert all(each.score().ease >= LEAST_EASE for each in counted.values())


def test_sentences(letters, counted):
    assert (
        sum(each.words for each in counted.values()) / sum(each.sentences for each in counted.values()) <= MEAN_SENTENCE
    )
    assert all(each.mean_length <= MEAN_SENTENCE for each in counted.values())
    long = [
        part
        for texts in letters.values()
        for text in texts
        for part in split(text)
        if len(part.split()) > LONGEST_SENTENCE
    ]
    assert long == []


def test_syllables_are_known_not_estimated(counted):
    unknown = [word for each in counted.values() for word in each.unknown]
    assert len(unknown) <= 0.005 * sum(each.words for each in counted.values()), sorted(set(unknown))


def test_explanations_read_easily():
    texts = [entry.explanation for entry in glossary().entries.values()]
    assert count(masked(text) for text in texts).score().grade <= MEAN_GRADE


@pytest.mark.parametrize(
    ("text", "words", "sentences", "number"),
    [
        # Worked by hand.
        (("Your left hand feels numb at night. The test at your wrist made the tingling worse. "
         "We will send you for a nerve test."), 24, 3, 25),
        ("It was 1.5 seconds. MRI helps.", 6, 2, 7),
        ("Dr-like well-known area.", 4 - 1, 1, 2 + 2 + 3),
    ],
)  # fmt: skip
def test_counting_follows_the_published_rules(text, words, sentences, number):
    counts = count([text])
    assert (counts.words, counts.sentences) == (words, sentences)
    assert counts.syllables == number


@pytest.mark.parametrize(("word", "number"), [("area", 3), ("synovitis", 4), ("MRI", 1), ("27", 1), ("colour", 2)])
def test_syllables_of_a_word(word, number):
    assert syllables(word) == (number, True)
