"""The demo cases are sound records: valid by the published schema, free of faults, and of nobody alive."""

from __future__ import annotations

import json

import pytest
from jsonschema import Draft202012Validator

from letterkit.consistency.rule import QueryClass
from letterkit.findings.identifiers import nhs_number_fault
from letterkit.findings.schema import encounter_schema
from letterkit.pipeline import check, draft
from tests.conftest import DEMO_CASES

URGENT = {"hot_swollen_digit", "ischaemic_digit"}


@pytest.fixture(scope="module")
def validator():
    return Draft202012Validator(encounter_schema())


def test_there_is_a_case_for_every_kind_of_letter():
    assert len(DEMO_CASES) == 19


def test_a_case_is_valid_by_the_published_schema(demo_case, validator):
    faults = [
        f"{fault.json_path}: {fault.message}" for fault in validator.iter_errors(json.loads(demo_case.read_text()))
    ]
    assert faults == []


def test_no_case_is_impossible_or_contradictory(demo_case):
    wrong = {QueryClass.IMPOSSIBLE, QueryClass.CONTRADICTORY}
    assert [query.message for query in check(demo_case.read_text()) if query.query_class in wrong] == []


def test_only_the_urgent_cases_carry_an_urgent_caution(demo_case):
    cautions = draft(demo_case.read_text()).summary.cautions
    assert any(chosen.caution.urgent for chosen in cautions) is (demo_case.stem in URGENT)


def test_every_identifier_is_invented(demo_case):
    record = json.loads(demo_case.read_text())
    for identifier in record["patient"].get("identifier", []):
        assert identifier["value"].startswith("999 ")
        assert nhs_number_fault(identifier["value"]) is None


def test_every_case_gives_the_date_of_drafting(demo_case):
    assert "drafted" in json.loads(demo_case.read_text())
