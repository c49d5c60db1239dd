"""The score on the labelled corpus, where present, does not fall; the corpus is no part of the project."""

from __future__ import annotations

import importlib.util
import json
import re
import tomllib
from pathlib import Path

import pytest

_REPORT = Path(__file__).resolve().parents[2] / "docs" / "reading_report.py"
_FLOORS = {"concept": 0.93, "concept + state": 0.93, "concept + state + side": 0.89}
_CERTAIN_WRONG = 0.005  # wrong polarity among certain findings


def _report():
    spec = importlib.util.spec_from_file_location("reading_report", _REPORT)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def scores(read_note):
    report = _report()
    folder = report.corpus_folder()
    if folder is None:
        pytest.skip("the labelled corpus is not present: it holds text under others' licences")
    concepts = tomllib.loads(report.CONCEPTS.read_text(encoding="utf-8"))
    made = {row["id"]: read_note(row["text"], language="en-US") for row in report.rows(folder)}
    return {
        certain: report.score(
            folder,
            [
                {"id": key, "findings": list(report.labelled(each, concepts, certain_only=certain))}
                for key, each in made.items()
            ],
        )
        for certain in (False, True)
    }


@pytest.mark.parametrize("level", _FLOORS)
def test_f1_stays_above_its_floor(scores, level):
    found = re.search(rf"^{re.escape(level)}\s+[\d.]+\s+[\d.]+\s+([\d.]+)$", scores[False], re.MULTILINE)

    assert float(found[1]) >= _FLOORS[level]


def test_what_is_certain_has_no_wrong_polarity_or_side(scores):
    flips, swaps = map(
        int, re.search(r"matched finding: (\d+);\s+left and right swapped: (\d+)", scores[True]).groups()
    )
    predicted = int(re.search(r"predicted findings (\d+)", scores[True])[1])

    assert flips <= _CERTAIN_WRONG * predicted
    assert swaps <= _CERTAIN_WRONG * predicted


def test_history_is_not_certain_to_be_of_today(scores):
    wrong, mentions = map(int, re.search(r"reported as current: (\d+) of (\d+)", scores[True]).groups())

    assert wrong <= 0.01 * mentions


def test_no_text_of_the_corpus_is_in_the_project():
    report = _report()
    folder = report.corpus_folder()
    if folder is None:
        pytest.skip("the labelled corpus is not present: it holds text under others' licences")
    here = Path(__file__).parent
    own = "\n".join(path.read_text(encoding="utf-8") for path in (*here.glob("*.py"), *here.glob("*.toml")))
    quotes = [
        finding["quote"] for row in report.rows(folder) for finding in row["findings"] if len(finding["quote"]) > 45
    ]

    assert [quote for quote in quotes if quote in own] == []
    assert json.dumps(quotes[:1]) != "[]"
