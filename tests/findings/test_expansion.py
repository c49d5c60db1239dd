"""What was recorded becomes facts of one item, one side, one site and one value."""

from __future__ import annotations

import pytest
from made_records import drafted, facts_of, found, record

from letterkit import check
from letterkit.catalogue.model import Qualifier, Stage


def places(facts):
    return [(fact.id, fact.item, fact.side, fact.site) for fact in facts.facts]


def test_one_finding_at_one_place_is_one_fact():
    assert places(facts_of(found("thenar_wasting"))) == [("f0", "thenar_wasting", "right", None)]


def test_both_sides_become_a_fact_each_right_before_left():
    assert places(facts_of(found("thenar_wasting", side="both"))) == [
        ("f0.0", "thenar_wasting", "right", None), ("f0.1", "thenar_wasting", "left", None),
    ]  # fmt: skip


def test_a_range_on_both_sides_becomes_a_fact_for_every_joint():
    told = facts_of(found("swelling", side="both", site="index to ring PIP"))
    assert {(fact.side, fact.site) for fact in told.facts} == {
        (side, f"pip_{digit}") for side in ("right", "left") for digit in ("index", "middle", "ring")
    }
    assert sorted(fact.id for fact in told.facts) == [f"f0.{part}" for part in range(6)]


def test_an_id_stays_with_its_finding_whatever_the_order_of_the_letter():
    told = facts_of(found("phalen_test", "positive"), found("thenar_wasting"))
    assert [(fact.id, fact.item) for fact in told.facts] == [("f1", "thenar_wasting"), ("f0", "phalen_test")]


def test_facts_stand_in_the_order_of_the_examination():
    names = ["spurling_test", "apb_power", "grip_strength", "wrist_flexion", "synovitis", "swelling"]
    values = {"spurling_test": "negative", "apb_power": 5, "grip_strength": 20, "wrist_flexion": 70}
    sites = {"synovitis": "wrist", "swelling": "wrist"}
    told = facts_of(*[found(name, values.get(name, "present"), site=sites.get(name)) for name in names])
    stages = [fact.stage for fact in told.facts]
    assert stages == sorted(stages, key=list(Stage).index)
    assert len(set(stages)) == len(Stage)


def test_exact_duplicates_become_one_fact_that_remembers_both():
    told = facts_of(found("thenar_wasting"), found("swelling", site="wrist"), found("thenar_wasting", "yes", "R"))
    assert [(fact.item, fact.findings) for fact in told.facts] == [("thenar_wasting", (0, 2)), ("swelling", (1,))]


def test_a_duplicate_inside_a_wider_finding_is_merged_only_where_it_repeats():
    told = facts_of(found("swelling", site="index PIP"), found("swelling", site="index to middle PIP"))
    assert [(fact.site, fact.findings) for fact in told.facts] == [("pip_index", (0, 1)), ("pip_middle", (1,))]


DIFFERENT = {
    "side": found("thenar_wasting", side="left"),
    "value": found("thenar_wasting", "equivocal"),
    "qualifier": found("thenar_wasting", severity="mild"),
    "note": found("thenar_wasting", note="new"),
}


@pytest.mark.parametrize("other", DIFFERENT.values(), ids=DIFFERENT)
def test_findings_that_differ_are_kept_apart_by(other):
    assert len(facts_of(found("thenar_wasting"), other).facts) == 2


OPPOSITE = {
    "presence": (found("thenar_wasting"), found("thenar_wasting", "absent")),
    "test": (found("phalen_test", "positive"), found("phalen_test", "negative")),
    "state": (found("median_sensation", "reduced"), found("median_sensation", "normal")),
    "power": (found("apb_power", 3), found("apb_power", 5)),
    "a range and one of its joints": (
        found("swelling", site="index to ring PIP"), found("swelling", "absent", site="middle PIP"),
    ),
    "both sides and one of them": (found("thenar_wasting", "absent", "both"), found("thenar_wasting", "present", "left")),
}  # fmt: skip


@pytest.mark.parametrize("findings", OPPOSITE.values(), ids=OPPOSITE)
def test_opposite_findings_are_both_kept_told_and_asked_about(findings):
    draft = drafted(*findings)
    pairs = draft.facts.opposed()
    assert len(pairs) == 1
    stated = {fact for _, facts in draft.sentences() for fact in facts}
    assert {fact.id for fact in pairs[0]} <= stated
    asked = [query for query in check(record(*findings)) if query.query_class.value == "contradictory"]
    assert any({"examination.findings[0]", "examination.findings[1]"} <= set(query.paths) for query in asked)


def test_active_and_passive_movement_of_one_joint_do_not_oppose_each_other():
    told = facts_of(found("pip_movement", "20-80", site="ring", mode="active"),
                    found("pip_movement", "0-95", site="ring", mode="passive"))  # fmt: skip
    assert told.opposed() == ()


def test_a_finding_on_an_absent_digit_is_asked_about():
    asked = check(record(found("absent_digit", site="ring"), found("triggering", site="ring")))
    assert any("examination.findings[1]" in query.paths for query in asked)
    other_hand = check(record(found("absent_digit", side="left", site="ring"), found("triggering", site="ring")))
    assert not any({"examination.findings[0]", "examination.findings[1]"} <= set(query.paths) for query in other_hand)


def test_a_stage_normal_by_exception_is_a_fact_of_its_own_and_names_no_item():
    told = facts_of(examination={"normal": [{"stage": "inspection"}, {"stage": "function", "side": "L"}]})
    assert [(fact.id, fact.stage, fact.side) for fact in told.normal] == [
        ("n0", Stage.INSPECTION, None), ("n1", Stage.FUNCTION, "left"),
    ]  # fmt: skip
    assert told.facts == ()


def test_what_was_not_examined_keeps_its_places_and_reason():
    told = facts_of(examination={"notExamined": [
        {"stage": "special_tests", "side": "both", "reason": "pain"},
        {"item": "synovitis", "side": "right", "site": "index to middle PIP"},
        {"item": "Phalen's test", "declined": True},
    ]})  # fmt: skip
    assert [(fact.id, fact.stage, fact.item, fact.side, fact.sites, fact.reason, fact.declined) for fact in told.unexamined] == [
        ("u0", Stage.SPECIAL_TESTS, None, "both", (), "pain", False),
        ("u1", Stage.PALPATION, "synovitis", "right", ("pip_index", "pip_middle"), None, False),
        ("u2", Stage.SPECIAL_TESTS, "phalen_test", None, (), None, True),
    ]  # fmt: skip


def test_an_earlier_value_belongs_to_the_place_it_was_measured_at():
    told = facts_of(
        found("grip_strength", 24),
        earlier=[{"date": "2026-05-01", "item": "grip strength", "side": "both", "value": 20},
                 {"date": "2026-05-01", "item": "pip_movement", "side": "right", "site": "ring", "value": "20-80", "mode": "active"}],
    )  # fmt: skip
    assert [(fact.date, *fact.place) for fact in told.earlier] == [
        ("2026-05-01", "grip_strength", "right", None, ""),
        ("2026-05-01", "grip_strength", "left", None, ""),
        ("2026-05-01", "pip_movement", "right", "pip_ring", "active"),
    ]
    assert told.facts[0].place == told.earlier[0].place


@pytest.mark.parametrize(
    ("field", "value", "name"),
    [("severity", "mild", Qualifier.SEVERITY), ("description", "soft", Qualifier.DESCRIPTION)],
)
def test_a_qualifier_is_carried(field, value, name):
    assert facts_of(found("thenar_wasting", **{field: value})).facts[0].qualifier(name) == value
    assert facts_of(found("thenar_wasting")).facts[0].qualifier(name) is None


def test_a_grade_is_carried_with_the_name_of_its_scale():
    (fact,) = facts_of(found("triggering", site="ring", grade="II", grading="Green")).facts
    assert fact.qualifier(Qualifier.GRADE) == "Green II"


@pytest.mark.parametrize("term", ["phalen_test", "Phalen's test", "PHALEN'S SIGN", "  phalen's   sign "])
def test_an_item_is_known_by_slug_name_and_synonym(term):
    assert [fact.item for fact in facts_of(found(term, "positive")).facts] == ["phalen_test"]
