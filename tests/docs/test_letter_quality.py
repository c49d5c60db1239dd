"""The page on the quality of the letters: every item of the rubric is scored once, and a stale judgement shows."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

DOCS = Path(__file__).parents[2] / "docs"


@pytest.fixture(scope="module")
def report() -> ModuleType:
    specification = importlib.util.spec_from_file_location("letter_quality_report", DOCS / "letter_quality_report.py")
    assert specification is not None
    assert specification.loader is not None
    module = importlib.util.module_from_spec(specification)
    sys.modules["letter_quality_report"] = module
    specification.loader.exec_module(module)
    return module


def test_each_of_the_twenty_items_is_scored_once(report):
    numbers = [number for number, *_ in report.PROGRAM] + [item["number"] for item in report.JUDGED["item"]]

    assert sorted(numbers) == list(range(1, 21))


def test_each_letter_and_attribute_has_its_rating(report):
    assert set(report.JUDGED["global"]) == set(report.CASES)
    assert all(1 <= rating <= 10 for rating, _ in report.JUDGED["global"].values())
    assert len(report.JUDGED["pdqi"]) == 9
    assert all(1 <= score <= 5 for score, _ in report.JUDGED["pdqi"].values())


def test_a_judgement_names_letters_that_exist_and_what_decided_it(report):
    for item in report.JUDGED["item"]:
        named = [case for answer in ("yes", "no", "none") for case in item.get(answer, ())]
        assert set(named) <= set(report.CASES)
        assert len(named) == len(set(named)), item["number"]
        assert item["because"]
        for each in item["because"]:
            answer = report._answer(item, each["letter"])
            assert {"yes": True, "no": False}[each["says"]] is answer, (item["number"], each["letter"])


def test_a_judgement_whose_sentence_is_gone_is_marked(report, monkeypatch):
    read = report.Read("thumb_base", report.draft(report.CASES["thumb_base"].read_bytes()))
    item = {"number": 5, "asks": "it fits", "mark": "confirmed", "rest": "yes",
            "because": [{"letter": "thumb_base", "says": "yes", "sentence": "No such sentence.", "why": "none"}]}  # fmt: skip
    monkeypatch.setitem(report.JUDGED, "item", [item])

    assert "judge again" in "\n".join(report._judged([read]))


def test_the_program_scores_a_lost_word_of_the_plan(report):
    drafted = report.draft(report.CASES["thumb_base"].read_bytes())
    read = report.Read("thumb_base", drafted)
    assert report._plan(read)
    emptied = report.replace(drafted, letter=report.replace(drafted.letter, blocks=drafted.letter.blocks[:3]))
    assert not report._plan(report.Read("thumb_base", emptied))
