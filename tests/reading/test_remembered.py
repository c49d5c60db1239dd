"""Sentences known again give what reading them gives, and nothing of one sentence is taken for another."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from letterkit import draft
from letterkit.reading.letter import read_letter_back
from letterkit.reading.readback import FactKey, read_back, remembered
from letterkit.reading.remembered import Remembered

CASES = sorted((Path(__file__).resolve().parents[2] / "demo_cases").glob("*.json"))
TENDER = FactKey("joint_tenderness", "right", "cmc_thumb", "present")


@pytest.fixture(autouse=True)
def _nothing_known():
    remembered.clear()


@pytest.mark.parametrize("case", CASES, ids=lambda path: path.stem)
def test_a_letter_reads_back_alike_whether_its_sentences_are_known_or_not(case):
    made = draft(case.read_text(encoding="utf-8"))
    assert len(remembered) > 0
    assert read_letter_back(made.letter, made.facts) == ()
    remembered.clear()
    assert read_letter_back(made.letter, made.facts) == ()


def test_a_sentence_that_was_right_for_one_letter_is_wrong_for_another():
    sentence = "There was tenderness over the right thumb carpometacarpal joint."
    first = read_back([(sentence, (TENDER,))])
    again = read_back([(sentence, (TENDER._replace(side="left"),))])
    assert first == read_back([(sentence, (TENDER,))])
    assert again
    assert TENDER._replace(side="left") in again[0].missing


def test_one_changed_letter_of_a_known_sentence_is_read_anew():
    sentence = "Phalen's test was negative on the right."
    key = (FactKey("phalen_test", "right", None, "negative"),)
    assert read_back([(sentence, key)]) == ()
    assert read_back([(sentence.replace("right", "left"), key)])
    assert read_back([(sentence.replace("negative", "positive"), key)])


def test_sentences_with_words_of_no_finding_are_not_kept():
    assert read_back([("The Yergason test was positive on the right.", ())])
    assert len(remembered) == 0


def test_the_clinicians_own_words_are_not_kept():
    def known(value: str) -> int:
        remembered.clear()
        draft({
            "patient": {"name": {"text": "Avery Testwell"}},
            "examination": {"findings": [{"item": "aids_and_dressings", "side": "left", "site": "wrist", "value": value}]},
        })  # fmt: skip
        return len(remembered)

    assert known("keeps the hand in a mitten") == 0


def test_a_language_is_part_of_what_a_sentence_is_known_by():
    kept: Remembered[str] = Remembered()
    assert kept.key("LF was normal.", "en-GB") != kept.key("LF was normal.", "en-US")
    assert kept.key("LF was normal.", "en-GB") == kept.key("LF was normal.", "en-GB")


def test_no_more_sentences_are_kept_than_said_and_those_asked_for_last_stay():
    kept: Remembered[int] = Remembered(most=3)
    for number in range(3):
        kept.put(bytes([number]), number)
    assert kept.get(b"\x00") == 0
    kept.put(b"\x03", 3)
    assert len(kept) == 3
    assert kept.get(b"\x01") is None
    assert kept.get(b"\x00") == 0


def test_many_threads_at_once_read_the_same():
    made = [draft(case.read_text(encoding="utf-8")) for case in CASES]
    remembered.clear()
    with ThreadPoolExecutor(4) as pool:
        found = list(pool.map(lambda each: read_letter_back(each.letter, each.facts), made * 3))
    assert set(found) == {()}
