"""The published JSON Schema: valid itself, agreed word for word, and of one mind with the code."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from faulty_records import FAULTS
from hypothesis import HealthCheck, given, settings
from jsonschema import Draft202012Validator
from made_records import every_value, found, minimal, record
from strategies import encounters

from letterkit import check
from letterkit.catalogue import catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.findings.schema import DIALECT, encounter_schema

GOLDEN = Path(__file__).parent / "golden" / "schema.json"
KNOWN = catalogue()

# What no schema of this dialect says in reason: the calendar, check digits, words and the catalogue's synonyms.
BEYOND_A_SCHEMA = frozenset({
    "a name without a name", "kept without a reason", "an empty note", "a problem nobody knows",
    "a date the other way round", "a day that does not exist", "a date as digits", "a date in words", "an earlier date in words",
    "an NHS number with a wrong digit", "an NHS number with hyphens", "a side missing", "a side too many",
    "a side missing of an earlier value", "a site missing", "a site too many", "a site nobody knows", "LF alone",
    "LF with a joint", "MP", "a finger by number", "a joint the digit has not", "a joint without a digit",
    "joints of two kinds", "a site the item has not", "a site of other items in short", "the side in the site", "half a range",
    "a range without a start", "one range after another", "a site of a stage", "an item misspelt", "an item nobody knows",
    "an item with two meanings", "an ambiguous ligament", "a little or middle finger's power", "an earlier item nobody knows",
    "an item and a stage not examined", "nothing not examined", "two severities", "a severity of what is absent",
    "a count of what is absent", "an arc backwards", "an arc of no number", "words that no document can carry",
    "words with a mark of the templates", "words without end", "an earlier grip of 300 kg", "a size of wasting",
    "a grade without its scale", "a scale without its grade", "a control character", "a mark of the templates",
})  # fmt: skip


@pytest.fixture(scope="module")
def validator():
    return Draft202012Validator(encounter_schema())


def test_the_schema_is_valid_by_its_own_dialect():
    schema = encounter_schema()
    assert schema["$schema"] == DIALECT
    Draft202012Validator.check_schema(schema)


def test_the_schema_is_the_one_agreed(regen):
    text = json.dumps(encounter_schema(), ensure_ascii=False, indent=1) + "\n"
    if regen:
        GOLDEN.write_text(text, encoding="utf-8")

    assert text == GOLDEN.read_text(encoding="utf-8")


def test_every_object_of_the_schema_is_closed():
    schema = encounter_schema()
    open_ones = [
        name for name, each in schema["$defs"].items() if each["type"] == "object" and each["additionalProperties"]
    ]
    assert open_ones == []
    assert schema["additionalProperties"] is False


@pytest.mark.parametrize("name", sorted(set(FAULTS) - BEYOND_A_SCHEMA))
def test_a_faulty_record_fails_in_the_schema_as_in_the_code(validator, name):
    assert not validator.is_valid(FAULTS[name][0])


def test_the_exceptions_are_named_after_faults():
    assert set(FAULTS) >= BEYOND_A_SCHEMA


def test_every_item_with_every_value_is_valid(validator):
    findings = [minimal(item, value) for item in KNOWN.items.values() for value in every_value(item)]
    refused = [finding for finding in findings if not validator.is_valid(record(finding))]
    assert refused == []


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(encounters(most=12))
def test_what_the_program_reads_in_its_plain_form_is_valid(encounter):
    assert Draft202012Validator(encounter_schema()).is_valid(encounter)


ALLOWED = {kind: [item for item in KNOWN.items.values() if item.value is kind][:3] for kind in ValueKind}
FOREIGN = {
    ValueKind.PRESENCE: ["positive", 3, ["present"], None],
    ValueKind.TEST: ["present", "mild", 1, {}],
    ValueKind.STATE: ["no such state", 1, True],
    ValueKind.MRC: [6, "5+", "1-", 4.5, True],
    ValueKind.QUANTITY: [1e6, -1e6, "strong", [], {"value": 1, "unit": "lb"}, {"unit": "kg"}],
    ValueKind.ARC: [90, {"from": 0}, {"from": 0, "to": 999}, {"from": 0, "to": 9, "too": 1}],
    ValueKind.TEXT: [3, "", []],
}


@pytest.mark.parametrize("kind", ValueKind)
def test_a_value_of_another_kind_is_refused_for(validator, kind):
    for item in ALLOWED[kind]:
        for value in FOREIGN[kind]:
            assert not validator.is_valid(record(minimal(item, value))), (item.slug, value)


def test_a_synonym_is_valid_with_any_value_since_only_the_catalogue_knows_it(validator):
    assert validator.is_valid(record(found("Phalen's sign", "positive")))
    assert check(record(found("Phalen's sign", "positive"))) is not None


def test_the_command_prints_this_schema(capsys):
    from letterkit.cli.documents import schema  # noqa: PLC0415 - only this test needs the command

    schema.main(args=[], standalone_mode=False)
    assert json.loads(capsys.readouterr().out) == encounter_schema()
