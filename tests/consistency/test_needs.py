"""A rule that is passed over because nothing it looks at was recorded would have had no query."""

from __future__ import annotations

from hypothesis import given
from strategies import encounters

from letterkit.catalogue import catalogue
from letterkit.catalogue.model import Polarity
from letterkit.consistency.needs import needs
from letterkit.consistency.registry import check_record, rules
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.findings.facts import expand
from letterkit.findings.read_input import read_encounter


@given(encounter=encounters(most=12))
def test_no_rule_that_is_passed_over_has_a_query(encounter):
    record = read_encounter(encounter)
    facts = expand(record, catalogue())
    case = Case(record, facts, catalogue())
    every = [query for each in rules() for query in each.queries(case)]

    assert sorted(check_record(record, facts, catalogue()), key=repr) == sorted(every, key=repr)


def _made(check):
    return needs(rule("a-rule", QueryClass.UNUSUAL, asks="?", settle=".", source="common practice, no source")(check))


def test_a_rule_about_items_needs_one_of_them():
    def check(case):
        """A reason."""
        for fact in case.abnormal("joint_swelling"):
            yield Hit((fact, *case.normal("synovitis", side=fact.side)))
        if case.recorded("erythema") and case.of("warmth", site="wrist"):
            yield Hit()

    assert _made(check) == {"joint_swelling", "erythema"}


def test_a_rule_about_what_is_missing_is_always_asked():
    def check(case):
        """A reason."""
        if not case.recorded("erythema"):
            yield Hit()

    assert _made(check) is None


def test_a_rule_about_words_or_whole_facts_is_always_asked():
    def words(case):
        """A reason."""
        if case.of("erythema") or case.mentioned("carpal_tunnel"):
            yield Hit()

    def whole(case):
        """A reason."""
        yield from (Hit((fact,)) for fact in case.facts.facts if fact.polarity is Polarity.ABNORMAL)

    assert _made(words) is None
    assert _made(whole) is None


def test_many_rules_are_passed_over():
    assert sum(needs(each) is not None for each in rules()) > len(rules()) // 2
