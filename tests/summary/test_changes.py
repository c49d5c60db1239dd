"""Change since an earlier visit: what is new, resolved or moved, by how much, and against which published size."""

from __future__ import annotations

import re

import pytest

from letterkit import draft as public_draft
from letterkit.catalogue import catalogue
from letterkit.errors import InvalidInput
from letterkit.letter.model import Paragraph, Table
from letterkit.pipeline import check, draft
from letterkit.summary.change import ChangeKind, changes, latest_earlier

EARLY, LATE = "2026-03-02", "2026-09-30"


def _record(*findings, day="2026-11-25", earlier=(), **patient):
    return {"patient": {"name": {"family": "Marlow"}} | patient, "visit": {"date": day, "kind": "follow-up"},
            "drafted": day, "examination": {"findings": list(findings)}, "earlier": list(earlier)}  # fmt: skip


def _kinds(drafted):
    return [(each.kind, (each.fact or each.before).item) for each in drafted.summary.changes]


def _told(drafted):
    return " ".join(
        sentence.text
        for block in drafted.letter.blocks
        if isinstance(block, Paragraph)
        for sentence in block.sentences
        if sentence.origin == "change"
    ).replace("\u00a0", " ")


PHALEN = {"item": "phalen_test", "side": "right"}
GRIP = {"item": "grip_strength", "side": "left"}


@pytest.mark.parametrize(
    ("then", "now", "kind"),
    [
        ("negative", "positive", ChangeKind.NEW),
        ("positive", "negative", ChangeKind.RESOLVED),
        ("positive", "positive", ChangeKind.UNCHANGED),
        ("equivocal", "positive", ChangeKind.CHANGED),
    ],
)
def test_a_finding_is_compared_with_the_same_place(then, now, kind):
    drafted = draft(_record(PHALEN | {"value": now}, earlier=[PHALEN | {"value": then, "date": LATE}]))

    assert _kinds(drafted) == [(kind, "phalen_test")]


def test_two_normal_findings_are_no_change():
    drafted = draft(_record(PHALEN | {"value": "negative"}, earlier=[PHALEN | {"value": "negative", "date": LATE}]))

    assert drafted.summary.changes == ()
    assert "No earlier findings" in drafted.render("text").decode()


@pytest.mark.parametrize(
    ("other", "why"),
    [
        ({"side": "left"}, "the other side"),
        ({"side": "right", "mode": "passive"}, "the other mode"),
        ({"side": "right", "site": "middle"}, "another digit"),
    ],
)
def test_another_place_is_never_compared(other, why):
    item = {"item": "pip_movement", "site": "ring", "mode": "active", "value": "10-80"}
    drafted = draft(_record({**item, "side": "right"}, earlier=[{**item, **other, "value": "0-100", "date": LATE}]))

    assert drafted.summary.changes == (), why


def test_new_and_resolved_findings_are_named_with_side_and_date():
    told = _told(draft(_record(
        {"item": "thenar_wasting", "side": "right", "value": "present", "severity": "mild"},
        {"item": "swelling", "side": "left", "site": "wrist", "value": "absent"},
        PHALEN | {"value": "negative"},
        earlier=[
            {"item": "thenar_wasting", "side": "right", "value": "absent", "date": LATE},
            {"item": "swelling", "side": "left", "site": "wrist", "value": "present", "date": LATE},
            PHALEN | {"value": "positive", "date": LATE},
        ],
    )))  # fmt: skip

    assert "Since 30 September 2026, this is new: mild thenar wasting on the right." in told
    assert ("Since 30 September 2026, these have resolved: swelling of the left wrist and Phalen's test on the right "
            "(from positive to negative).") in told  # fmt: skip


def test_a_severity_and_a_grade_are_told_from_what_to_what():
    told = _told(draft(_record(
        {"item": "swelling", "side": "left", "site": "wrist", "value": "present", "severity": "mild"},
        {"item": "apb_power", "side": "left", "value": "4+"},
        earlier=[
            {"item": "swelling", "side": "left", "site": "wrist", "value": "moderate", "date": LATE},
            {"item": "apb_power", "side": "left", "value": "3", "date": LATE},
        ],
    )))  # fmt: skip

    assert "swelling of the left wrist (from moderate to mild)" in told
    assert "power of abductor pollicis brevis on the left (from grade 3 out of 5 to grade 4 plus out of 5)" in told


@pytest.mark.parametrize(
    ("then", "now", "words", "beyond"),
    [
        # Five degrees as the usual error of a goniometer (from memory): exceeded by more, not by as much.
        (
            30,
            36,
            "rose by 6 degrees (from 30 to 36 degrees), more than the usual error of a goniometer of 5 degrees",
            True,
        ),
        (
            30,
            35,
            "rose by 5 degrees (from 30 to 35 degrees), within the usual error of a goniometer of 5 degrees",
            False,
        ),
        (62, 30, "fell by 32 degrees (from 62 to 30 degrees), more than", True),
        (30, 30, "was 30 degrees as before", False),
    ],
)
def test_an_angle_is_held_against_the_usual_error(then, now, words, beyond):
    wrist = {"item": "wrist_flexion", "side": "left"}
    drafted = draft(_record(wrist | {"value": now}, earlier=[wrist | {"value": then, "date": LATE}]))

    assert f"Since 30 September 2026, wrist flexion on the left {words}" in _told(drafted)
    assert drafted.summary.changes[0].beyond is beyond


@pytest.mark.parametrize(
    ("item", "then", "now", "words"),
    [
        # Minimal important differences: DASH 10, QuickDASH 14 points (confirmed); reached by as much.
        ("dash_score", 40, 30, "fell by 10 (from 40 to 30), which reaches the published minimal important difference of 10 points"),
        ("dash_score", 40, 31, "which is less than the published minimal important difference of 10 points"),
        ("quickdash_score", 40, 27, "fell by 13 (from 40 to 27), which is less than the published minimal important difference of 14 points"),
    ],
)  # fmt: skip
def test_a_score_is_held_against_the_published_difference(item, then, now, words):
    told = _told(draft(_record({"item": item, "value": now}, earlier=[{"item": item, "value": then, "date": LATE}])))

    assert words in told
    assert re.search(r"held against: (?:Quick)?DASH minimal important difference, 1[04] points", told)


def test_a_figure_without_a_published_error_is_told_without_a_verdict():
    drafted = draft(_record(GRIP | {"value": 27}, earlier=[GRIP | {"value": 18, "date": LATE}]))

    assert _told(drafted) == "Since 30 September 2026, grip strength on the left rose by 9 kg (from 18 to 27 kg)."
    assert drafted.summary.changes[0].threshold is None


def test_a_bound_is_no_number_to_subtract():
    grip = GRIP | {"value": "<5"}
    assert draft(_record(grip, earlier=[GRIP | {"value": 18, "date": LATE}])).summary.changes == ()


def test_both_ends_of_an_arc_are_told():
    joint = {"item": "pip_movement", "side": "right", "site": "ring", "mode": "active"}
    drafted = draft(_record(joint | {"value": "10-90"}, earlier=[joint | {"value": "25-70", "date": LATE}]))

    assert (
        "was from 25 to 70 degrees and is from 10 to 90 degrees (15 degrees straighter and 20 degrees more flexion)"
        in _told(drafted)
    )
    (change,) = drafted.summary.changes
    assert (change.amount, change.amount_from) == (20, -15)


def test_the_latest_earlier_value_counts():
    drafted = draft(_record(GRIP | {"value": 27}, earlier=[
        GRIP | {"value": 18, "date": LATE}, GRIP | {"value": 9, "date": EARLY},
    ]))  # fmt: skip

    assert drafted.summary.changes[0].amount == 9


def test_entries_that_disagree_are_not_compared():
    twice = [GRIP | {"value": 18, "date": LATE}, GRIP | {"value": 21, "date": LATE}]
    assert draft(_record(GRIP | {"value": 27}, earlier=twice)).summary.changes == ()
    now = [PHALEN | {"value": "positive"}, PHALEN | {"value": "negative"}]
    assert draft(_record(*now, earlier=[PHALEN | {"value": "positive", "date": LATE}])).summary.changes == ()


def test_the_table_has_a_column_of_change():
    drafted = draft(_record(
        GRIP | {"value": 27}, {"item": "wrist_flexion", "side": "left", "value": 62},
        earlier=[GRIP | {"value": 18, "date": LATE}, {"item": "wrist_flexion", "side": "left", "value": 60, "date": LATE}],
    ))  # fmt: skip
    (table,) = [block for block in drafted.letter.blocks if isinstance(block, Table)]

    assert table.header[-1] == "Change"
    assert {row[0].text: row[-1].text for row in table.rows} == {
        "Wrist flexion (degrees)": "left 2 more (within 5)", "Grip strength (kg)": "left 9 more",
    }  # fmt: skip


# With the whole record of the earlier visit


def _previous(*findings, day=LATE, **patient):
    return _record(*findings, day=day, **patient)


def test_a_previous_encounter_gives_earlier_values():
    drafted = draft(_record(GRIP | {"value": 27}, PHALEN | {"value": "positive"}),
                    previous=_previous(GRIP | {"value": 18}, PHALEN | {"value": "negative"}))  # fmt: skip

    assert _kinds(drafted) == [(ChangeKind.NEW, "phalen_test"), (ChangeKind.MEASURED, "grip_strength")]


def test_what_one_visit_only_has_is_told_as_that_and_not_as_new_or_resolved():
    told = _told(draft(_record(PHALEN | {"value": "positive"}),
                       previous=_previous({"item": "thenar_wasting", "side": "right", "value": "present"})))  # fmt: skip

    assert "Recorded now and not on 30 September 2026: Phalen's test on the right (positive)." in told
    assert "Recorded on 30 September 2026 and not now: thenar wasting on the right." in told
    assert "new" not in told
    assert "resolved" not in told


def test_single_earlier_values_do_not_make_the_rest_new():
    drafted = draft(
        _record(PHALEN | {"value": "positive"}, GRIP | {"value": 27}, earlier=[GRIP | {"value": 18, "date": LATE}])
    )

    assert _kinds(drafted) == [(ChangeKind.MEASURED, "grip_strength")]


NUMBER = "https://fhir.nhs.uk/Id/nhs-number"


@pytest.mark.parametrize(
    ("now", "then", "field"),
    [
        ({"identifier": [{"system": NUMBER, "value": "999 000 0018"}]}, {"identifier": [{"system": NUMBER, "value": "999 000 0123"}]}, "identifier"),
        ({"birthDate": "1971-03-14"}, {"birthDate": "1971-03-15"}, "birthDate"),
        ({}, {"name": {"family": "Ashdown"}}, "name"),
    ],
)  # fmt: skip
def test_another_patient_is_refused_without_repeating_who(now, then, field):
    with pytest.raises(InvalidInput, match=rf"previous\.patient\.{field}: differs") as refused:
        draft(_record(GRIP | {"value": 27}, **now), previous=_previous(GRIP | {"value": 18}, **then))
    assert not any(word in str(refused.value) for word in ("999", "1971", "Ashdown", "Marlow"))


def test_a_changed_name_with_the_same_number_is_the_same_patient():
    same = {"identifier": [{"system": NUMBER, "value": "999 000 0018"}]}
    drafted = draft(_record(GRIP | {"value": 27}, **same),
                    previous=_previous(GRIP | {"value": 18}, **same, name={"family": "Ashdown"}))  # fmt: skip
    assert drafted.summary.changes


def test_a_later_visit_is_no_earlier_one():
    with pytest.raises(InvalidInput, match=r"previous\.visit\.date: .* is not before"):
        draft(_record(GRIP | {"value": 27}), previous=_previous(GRIP | {"value": 18}, day="2027-01-01"))


def test_an_earlier_visit_needs_its_date():
    before = _previous(GRIP | {"value": 18})
    del before["visit"]
    with pytest.raises(InvalidInput, match=r"previous\.visit\.date: missing"):
        draft(_record(GRIP | {"value": 27}), previous=before)


def test_a_side_that_differs_from_the_earlier_visit_is_queried():
    slugs = [query.rule for query in check(_record(PHALEN | {"value": "positive", "side": "left"}),
                                           previous=_previous(PHALEN | {"value": "positive"}))]  # fmt: skip
    assert "side-differs-from-earlier" in slugs


def test_changes_leave_the_sentences_of_today_as_they_were():
    findings = [PHALEN | {"value": "positive"}, {"item": "thenar_wasting", "side": "right", "value": "present"}]
    alone = public_draft(_record(*findings)).sentences()
    compared = draft(_record(*findings), previous=_previous(PHALEN | {"value": "negative"})).sentences()
    assert compared == alone


def test_a_change_names_the_facts_of_today():
    drafted = draft(_record(PHALEN | {"value": "positive"}, earlier=[PHALEN | {"value": "negative", "date": LATE}]))
    facts = [sentence.facts for block in drafted.letter.blocks if isinstance(block, Paragraph)
             for sentence in block.sentences if sentence.origin == "change"]  # fmt: skip
    assert facts == [("f0",)]


def test_each_change_is_of_one_place_at_most_once():
    drafted = draft(_record(
        {"item": "swelling", "side": "both", "site": "wrist", "value": "present"},
        {"item": "swelling", "side": "right", "site": "wrist", "value": "present"},
        earlier=[{"item": "swelling", "side": "both", "site": "wrist", "value": "absent", "date": LATE}],
    ))  # fmt: skip
    places = [(each.fact.item, each.fact.side) for each in changes(drafted.facts, catalogue())]
    assert places == [("swelling", "right"), ("swelling", "left")]
    assert "this is new: swelling of both wrists" in _told(drafted)
    assert len(latest_earlier(drafted.facts.earlier)) == 2
