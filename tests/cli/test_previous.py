"""`letterkit draft --previous` and `letterkit check --previous`: an earlier encounter to compare with."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from letterkit.cli.main import cli


def _case(folder, name, day, **finding):
    record = {"patient": {"name": {"family": "Marlow"}}, "visit": {"date": day, "kind": "follow-up"}, "drafted": day,
              "examination": {"findings": [{"item": "phalen_test", "side": "right", "value": "positive"} | finding]}}  # fmt: skip
    path = folder / f"{name}.json"
    path.write_text(json.dumps(record))
    return str(path)


def _run(*arguments):
    return CliRunner().invoke(cli, list(arguments))


@pytest.fixture
def now(tmp_path):
    return _case(tmp_path, "now", "2026-11-25")


@pytest.fixture
def old(tmp_path):
    return _case(tmp_path, "old", "2026-09-30", value="negative")


def test_a_draft_tells_what_changed_since_the_previous_encounter(now, old):
    result = _run("draft", now, "--previous", old, "--format", "text")

    assert result.exit_code == 0, result.output
    assert "this is new: Phalen's test on the right" in " ".join(result.output.split())


def test_a_check_asks_about_a_side_that_differs(tmp_path, now):
    other = _case(tmp_path, "other", "2026-09-30", side="left")
    result = _run("check", now, "--previous", other, "--json")

    assert "side-differs-from-earlier" in [query["rule"] for query in json.loads(result.output)]


def test_the_files_the_wrong_way_round_are_refused(now, old):
    result = _run("draft", old, "--previous", now, "--format", "text")

    assert result.exit_code == 2
    assert "were the two files exchanged?" in result.output


def test_a_previous_encounter_belongs_to_one_case(now, old):
    result = _run("draft", now, old, "--previous", old)

    assert result.exit_code != 0
    assert "--previous belongs to one encounter" in result.output


def test_a_missing_file_is_named(now):
    assert "nowhere.json: cannot be read" in _run("draft", now, "--previous", "nowhere.json").output
