"""Which answers settle a query, which queries stand before an approval, and what becomes of an answer without a query."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from letterkit.catalogue import catalogue
from letterkit.consistency.answers import ANSWER_WITHOUT_QUERY, blocks_approval, open_queries
from letterkit.consistency.registry import check_record
from letterkit.consistency.rule import Query, QueryClass
from letterkit.findings.facts import expand
from letterkit.findings.models import Answer, Encounter

FINDINGS = [
    {"item": "swan_neck", "side": "right", "site": "ring", "value": "present"},
    {"item": "boutonniere", "side": "right", "site": "ring", "value": "present"},
    {"item": "swan_neck", "side": "left", "site": "index", "value": "present"},
    {"item": "boutonniere", "side": "left", "site": "index", "value": "present"},
]
RULE = "swan-neck-and-boutonniere"


def _open(*answers):
    encounter = Encounter.model_validate(
        {"patient": {"name": {"family": "Marlow"}}, "examination": {"findings": FINDINGS}, "answers": answers}
    )
    known = catalogue()
    return open_queries(check_record(encounter, expand(encounter, known), known), encounter)


def _of(queries, rule=RULE):
    return [query.paths for query in queries if query.rule == rule]


def test_without_answers_every_query_is_open():
    assert len(_of(_open())) == 2


def test_kept_with_a_reason_settles_all_queries_of_the_rule():
    queries = _open({"rule": RULE, "answer": "kept", "reason": "seen by both of us", "by": "Dr Marlow"})

    assert _of(queries) == []
    assert _of(queries, ANSWER_WITHOUT_QUERY) == []


def test_kept_for_some_findings_settles_only_the_query_about_them():
    queries = _open({"rule": RULE, "findings": [3, 2], "answer": "kept", "reason": "it changes with the knuckle"})

    assert _of(queries) == [("examination.findings[0]", "examination.findings[1]")]


def test_kept_for_other_findings_settles_nothing_and_is_asked_about():
    queries = _open({"rule": RULE, "findings": [0, 3], "answer": "kept", "reason": "it changes with the knuckle"})

    assert len(_of(queries)) == 2
    assert _of(queries, ANSWER_WITHOUT_QUERY) == [("answers[0].rule",)]


def test_corrected_does_not_settle_a_query_that_the_record_still_raises():
    queries = _open({"rule": RULE, "answer": "corrected"})

    assert len(_of(queries)) == 2
    assert _of(queries, ANSWER_WITHOUT_QUERY) == []


def test_corrected_is_not_asked_about_once_the_query_is_gone():
    queries = _open({"rule": "passive-less-than-active", "answer": "corrected"})

    assert _of(queries, ANSWER_WITHOUT_QUERY) == []


def test_an_answer_to_a_query_that_was_not_raised_is_asked_about():
    queries = _open({"rule": "passive-less-than-active", "answer": "kept", "reason": "pain"})

    assert [query.query_class for query in queries if query.rule == ANSWER_WITHOUT_QUERY] == [QueryClass.UNUSUAL]


@pytest.mark.parametrize("answer", ["kept", "corrected"])
def test_an_answer_naming_an_unknown_rule_is_asked_about(answer):
    queries = _open({"rule": "no-such-rule", "answer": answer, "reason": "pain"})

    assert _of(queries, ANSWER_WITHOUT_QUERY) == [("answers[0].rule",)]


def test_an_answer_cannot_settle_the_question_about_itself():
    queries = _open({"rule": ANSWER_WITHOUT_QUERY, "answer": "kept", "reason": "pain"})

    assert len(_of(queries, ANSWER_WITHOUT_QUERY)) == 1


def test_kept_needs_a_reason():
    with pytest.raises(ValidationError, match="reason"):
        Answer(rule=RULE, answer="kept")


@pytest.mark.parametrize(
    ("query_class", "blocks"),
    [
        (QueryClass.URGENT, False),
        (QueryClass.IMPOSSIBLE, True),
        (QueryClass.CONTRADICTORY, True),
        (QueryClass.UNUSUAL, False),
        (QueryClass.INCOMPLETE, False),
    ],
)
def test_what_cannot_be_true_and_what_contradicts_itself_holds_up_approval(query_class, blocks):
    assert blocks_approval(Query("any", query_class, "Is it?", (), (), "Confirm.", "from memory")) is blocks
