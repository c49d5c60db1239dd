"""Queries that an answer settles: told apart from the open ones, wherever the letter is made."""

from __future__ import annotations

import json
from datetime import date

from service_fixtures import DEMO

from letterkit.bulk.work import make
from letterkit.pipeline import check_whole, draft
from letterkit.service.making import content_of


def demo():
    return json.loads((DEMO / "early_nerve_compression.json").read_text(encoding="utf-8"))


def _kept(query):
    return {"rule": query.rule, "answer": "kept", "reason": "Measured twice"}


def test_a_draft_knows_its_settled_queries_apart_from_the_open_ones():
    record = demo()
    record["examination"]["findings"].append({"item": "phalen_test", "side": "right", "value": "negative"})
    before = draft(record)
    assert before.queries
    assert before.settled == ()
    after = draft(record | {"answers": [_kept(before.queries[0])]})

    assert {query.rule for query in after.settled} == {before.queries[0].rule}
    assert {*after.queries, *after.settled} == set(before.queries)
    assert check_whole(record | {"answers": [_kept(before.queries[0])]}) == (after.queries, after.settled)


def test_a_query_about_an_earlier_visit_is_settled_like_another():
    """It is asked only where that visit is given, and so a second check without it would lose the answer."""
    record = {
        "patient": {"name": {"family": "Marlow"}, "birthDate": "1970-01-02"}, "visit": {"date": "2026-11-20"},
        "examination": {"findings": [{"item": "thenar_wasting", "side": "right", "value": "present"}]},
    }  # fmt: skip
    older = record | {
        "visit": {"date": "2025-11-20"},
        "examination": {"findings": [{"item": "thenar_wasting", "side": "left", "value": "present"}]},
    }
    alone = {query.rule for query in draft(record).queries}
    query = next(query for query in draft(record, previous=older).queries if query.rule not in alone)
    after = draft(record | {"answers": [_kept(query)]}, previous=older)

    assert query in after.settled
    assert query.rule in {each["rule"] for each in content_of(after).queries if not each["open"]}


def test_a_row_with_a_kept_answer_is_asked_nothing_new():
    record = demo()
    record["examination"]["findings"].append({"item": "phalen_test", "side": "right", "value": "negative"})
    record["answers"] = [_kept(draft(record).queries[0])]
    settings = {"columns": {}, "templates": None, "letterhead": None, "formats": [], "readers": []}
    made = make({"e": record, "o": [], "n": None, "i": []}, "x", 1, date(2026, 11, 25), settings)

    assert made.state == "drafted"
    assert not [issue for issue in made.issues if "left over" in issue.message]


def test_what_is_kept_with_a_letter_says_which_queries_are_open():
    record = demo()
    record["examination"]["findings"].append({"item": "phalen_test", "side": "right", "value": "negative"})
    first = draft(record).queries[0]
    kept = content_of(draft(record | {"answers": [_kept(first)]})).queries

    assert [each["open"] for each in kept] == sorted((each["open"] for each in kept), reverse=True)
    assert [each["rule"] for each in kept if not each["open"]] == [first.rule]
