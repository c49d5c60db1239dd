"""A note that says two things of one place: both are kept for a look, and the check of the record asks about the pair."""

from __future__ import annotations

import pytest
from made_records import record

from letterkit.pipeline import as_encounter, check_whole
from letterkit.reading.read import read
from letterkit.reading.result import TOLD_IN_TWO_WAYS

_ACTIVE_OR_PASSIVE = "this is told in two ways, once without saying whether the movement is active or passive"


@pytest.mark.parametrize(
    "note",
    [
        "Phalen's positive on the right. Tinel's negative on the right. Phalen's negative on the right.",
        "Swelling of the right wrist. The left wrist is normal. No swelling of the right wrist.",
        "APB 5/5 on the right. APB 4/5 on the right.",
        "Right index PIP joint: extension reduced, full flexion.",
        "Active movement of the right wrist was full. Active movement of the right wrist was reduced.",
    ],
)
def test_both_are_kept_and_the_check_asks_about_the_pair(note):
    reading = read(note)
    opposed = [at for at, finding in enumerate(reading.findings) if TOLD_IN_TWO_WAYS in finding.reasons]
    assert len(opposed) == 2
    assert {reading.findings[at].sure for at in opposed} == {"needs_a_look"}
    assert all(reading.findings[at].is_clear for at in opposed)
    queries, *_ = check_whole(as_encounter(record(**reading.encounter)))
    [asked] = [query for query in queries if query.rule == "opposite-entries"]
    assert asked.paths == tuple(f"examination.findings[{at}]" for at in opposed)


def test_a_movement_that_is_not_said_to_be_active_or_passive_may_contradict_one_that_is():
    reading = read("Movement of the right wrist was full. Active movement of the right wrist was reduced.")
    assert [finding.reasons for finding in reading.findings] == [(_ACTIVE_OR_PASSIVE,), (_ACTIVE_OR_PASSIVE,)]
    assert not any(finding.is_clear for finding in reading.findings)


def test_an_active_movement_may_differ_from_the_passive_one():
    reading = read("Passive movement of the right wrist was full. Active movement of the right wrist was reduced.")
    assert [finding.sure for finding in reading.findings] == ["certain", "certain"]
