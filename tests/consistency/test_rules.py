"""Every rule fires where it should, is silent on the near miss, and speaks as a check of the record."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from letterkit.catalogue import catalogue
from letterkit.consistency.registry import check_record, rules
from letterkit.consistency.rule import Query
from letterkit.findings.facts import expand
from letterkit.findings.models import Encounter

CASES = Path(__file__).parent / "cases"
BANNED = re.compile(
    r"diagnos(is|e|es|ed|ing)\b|refer urgently|should (be )?(examine|refer|treat|test|order)|\bmust\b|\badvise\b|"
    r"\bsuggests?\b|\bindicates?\b|consistent with|suspicious|likely to (be|have)|\brule out\b|\bR\d{3}\b",
    re.IGNORECASE,
)


def _load() -> list[Any]:
    """One parameter a case; a case is a rule, `fires` or `silent`, findings and whatever else the encounter holds."""
    found = []
    seen: Counter[tuple[str, str]] = Counter()
    for file in sorted(CASES.glob("*.toml")):
        for case in tomllib.loads(file.read_text(encoding="utf-8"))["case"]:
            assert set(case) <= {"rule", "kind", "encounter", "findings", "why"}, (file.name, case)
            assert case["kind"] in {"fires", "silent"}, (file.name, case)
            seen[case["rule"], case["kind"]] += 1
            name = f"{case['rule']}-{case['kind']}-{seen[case['rule'], case['kind']]}"
            found.append(pytest.param(case, id=name))
    return found


CASE_LIST = _load()


def _queries(case: dict[str, Any]) -> tuple[Query, ...]:
    given = {"patient": {"name": {"family": "Marlow"}}, "examination": {}} | case.get("encounter", {})
    if "findings" in case:
        given["examination"] = {**given["examination"], "findings": case["findings"]}
    encounter = Encounter.model_validate(given)
    known = catalogue()
    return check_record(encounter, expand(encounter, known), known)


@pytest.mark.parametrize("case", CASE_LIST)
def test_a_rule_fires_where_it_should_and_is_silent_on_the_near_miss(case):
    slugs = [query.rule for query in _queries(case)]

    assert (case["rule"] in slugs) == (case["kind"] == "fires"), slugs


@pytest.mark.parametrize("each", rules(), ids=lambda each: each.slug)
def test_a_rule_has_cases_of_both_kinds(each):
    kinds = {param.values[0]["kind"] for param in CASE_LIST if param.values[0]["rule"] == each.slug}

    assert kinds == {"fires", "silent"}


def test_a_case_names_a_rule_that_exists():
    unknown = {param.values[0]["rule"] for param in CASE_LIST} - {each.slug for each in rules()}

    assert not unknown


@pytest.mark.parametrize("case", [param for param in CASE_LIST if param.values[0]["kind"] == "fires"])
def test_a_message_asks_and_points_without_naming_an_answer(case):
    for query in _queries(case):
        text = f"{query.message} {query.settle}"

        assert not BANNED.search(text), text
        assert "{" not in text
        assert query.message[0].isupper() or query.message[0] in "'\"0123456789", query.message
        assert query.message.rstrip("'\"").endswith(("?", ".")), query.message
        assert "  " not in query.message, query.message
        assert query.facts or query.paths, query.rule


@pytest.mark.parametrize("each", rules(), ids=lambda each: each.slug)
def test_a_rule_says_why_whence_and_what_settles_it(each):
    assert re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)*", each.slug)
    assert each.rationale.endswith(".")
    assert each.settle.endswith((".", "?"))
    assert not BANNED.search(f"{each.asks} {each.settle}")
    assert re.search(r"confirmed|from memory|common practice, no source", each.source), each.source
