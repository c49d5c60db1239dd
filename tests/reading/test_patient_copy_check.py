"""A patient's copy whose words do not fit the record is withheld: every planted fault in every demo copy is noticed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from strategies import encounters

from letterkit import draft
from letterkit.errors import LetterWithheld
from letterkit.letter.model import BulletList, Letter, Paragraph, Sentence
from letterkit.reading.patient_copy import check_patient_copy

SWAPPED = {"right": "left", "left": "right"}
NEXT = {"thumb": "ring finger", "index": "ring", "middle": "little", "ring": "index", "little": "middle"}
OWN = ("Our notes say", "You felt this in", "Here 0 degrees")


def faulty(text: str) -> Iterator[tuple[str, str]]:
    """The text with one fault planted, and what it is."""
    sides = set(re.findall(r"\b(?:right|left)\b", text))
    if len(sides) == 1:
        yield "side", re.sub(r"\b(right|left)\b", lambda match: SWAPPED[match[1]], text)
        yield "both sides", re.sub(r"\byour (?:right|left) (hand|palm|wrist|forearm|elbow)\b", r"both your \1s", text)
    elif len(sides) == 2 and re.search(r"\d", text):
        yield "sides", re.sub(r"\b(right|left)\b", lambda match: SWAPPED[match[1]], text)
    match = re.search(r"(?<!towards the )\b(index|middle|ring|little)(?= fingers?\b(?! side)| and |, )", text)
    if match:
        yield "digit", text[: match.start()] + NEXT[match[1]] + text[match.end() :]
    if " no " in text:
        yield "denial", text.replace(" no ", " ", 1)
    if " not " in text:
        yield "denial", text.replace(" not ", " ", 1)
    if re.match(r"We (?:saw|found) (?!no)", text):
        yield "denial", re.sub(r"^We (saw|found) (?:an? )?", r"We \1 no ", text)
    if match := re.search(r"\d+(?=\D*$)", text):
        yield "number", text[: match.start()] + str(int(match[0]) + 3) + text[match.end() :]


def with_sentence(letter: Letter, old: Sentence, new: Sentence) -> Letter:
    def put(sentences: tuple[Sentence, ...]) -> tuple[Sentence, ...]:
        return tuple(new if each is old else each for each in sentences)

    blocks = tuple(
        replace(block, sentences=put(block.sentences))
        if isinstance(block, Paragraph)
        else replace(block, entries=tuple(put(entry) for entry in block.entries))
        if isinstance(block, BulletList)
        else block
        for block in letter.blocks
    )
    return replace(letter, blocks=blocks)


def test_every_planted_fault_is_noticed(demo_case):
    drafted = draft(demo_case.read_bytes())
    copy = drafted.patient_copy()
    assert check_patient_copy(copy, drafted.facts) == ()
    known = {fact.id for fact in drafted.facts.facts}
    found = [
        sentence
        for block in copy.blocks
        for sentence in (
            block.sentences
            if isinstance(block, Paragraph)
            else [each for entry in block.entries for each in entry]
            if isinstance(block, BulletList)
            else ()
        )
        if sentence.origin == "finding" and known.intersection(sentence.facts) and not sentence.text.startswith(OWN)
    ]
    planted, missed = 0, []
    for sentence in found:
        for what, text in faulty(sentence.text):
            if text != sentence.text:
                planted += 1
                broken = with_sentence(copy, sentence, replace(sentence, text=text))
                if not check_patient_copy(broken, drafted.facts):
                    missed.append((what, text))
    assert missed == []
    assert planted > len(found) / 2


def test_a_withheld_copy_says_which_sentence(monkeypatch):
    record = {
        "patient": {"name": {"text": "Avery Testwell"}},
        "examination": {"findings": [{"item": "thenar_wasting", "side": "right", "value": "present"}]},
    }
    drafted = draft(record)
    from letterkit.letter import patient  # noqa: PLC0415

    whole = patient.compose_patient_copy

    def wrong(*given, **more):
        letter = whole(*given, **more)
        sentence = next(
            each
            for block in letter.blocks
            if isinstance(block, BulletList)
            for entry in block.entries
            for each in entry
            if each.facts
        )
        return with_sentence(letter, sentence, replace(sentence, text=sentence.text.replace("right", "left")))

    monkeypatch.setattr(patient, "compose_patient_copy", wrong)
    with pytest.raises(LetterWithheld, match=r"left thumb.*names the left side"):
        drafted.patient_copy()


@settings(max_examples=150, suppress_health_check=list(HealthCheck))
@given(encounter=encounters(most=30))
def test_the_copy_of_any_encounter_fits_its_record(encounter):
    draft(encounter).patient_copy()
