"""An encounter as a Bundle and back: the same facts, the same record, and nothing that had to be reported."""

from __future__ import annotations

import json
from datetime import date
from typing import Any, get_args

import pytest
from fhir.resources.R4B.bundle import Bundle
from hypothesis import HealthCheck, given, settings
from pydantic import BaseModel
from strategies import encounters

from letterkit import draft
from letterkit.catalogue import catalogue
from letterkit.errors import InvalidInput
from letterkit.findings.facts import expand, with_earlier_visit
from letterkit.findings.fhir import read_bundle
from letterkit.findings.fhir_out import Maker, encounter_bundle, express, root_of
from letterkit.findings.models import Encounter
from letterkit.findings.read_input import parse_encounter, read_encounter

CATALOGUE = catalogue()


def through_json(encounter: Encounter) -> dict[str, Any]:
    return json.loads(json.dumps(encounter_bundle(encounter)))


def said(encounter: Encounter):
    """What an examination asserts, without ids: a finding of several places becomes an Observation for each."""
    facts = expand(encounter, CATALOGUE)
    return (
        [(f.item, f.side, f.site, f.state, f.value, f.polarity, f.qualifiers, f.note) for f in facts.facts],
        [(n.stage, n.side) for n in facts.normal],
        [(u.stage, u.item, u.side, s, u.reason, u.declined) for u in facts.unexamined for s in u.sites or (None,)],
        facts.earlier,
    )


def record(encounter: Encounter) -> dict[str, Any]:
    """All of an encounter but its examination, NHS numbers without their spaces."""
    told = encounter.model_dump(mode="json", exclude={"examination", "earlier"})
    for identifier in told["patient"]["identifier"]:
        identifier["value"] = identifier["value"].replace(" ", "")
    return told


def test_demo_case_comes_back_whole(demo_case):
    encounter = parse_encounter(demo_case.read_bytes())
    bundle = through_json(encounter)

    Bundle.model_validate(bundle)
    read = read_bundle(bundle)

    assert said(encounter) == said(read.encounter)
    assert record(encounter) == record(read.encounter)
    assert read.notices == ()


def test_demo_case_gives_the_letter_of_its_own_json(demo_case):
    encounter = parse_encounter(demo_case.read_bytes())
    day = date(2026, 11, 25)

    def words(drafted):
        return [(text, len(facts)) for text, facts in drafted.sentences()]

    assert words(draft(encounter, drafted=day)) == words(draft(through_json(encounter), drafted=day))


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(encounters(20))
def test_any_encounter_comes_back_with_the_same_facts(data):
    encounter = read_encounter(data)
    read = read_bundle(through_json(encounter))

    assert sorted(map(repr, said(encounter)[0])) == sorted(map(repr, said(read.encounter)[0]))
    assert said(encounter)[1:] == said(read.encounter)[1:]
    assert record(encounter) == record(read.encounter)
    assert read.notices == ()


@pytest.mark.parametrize("item", CATALOGUE.items.values(), ids=lambda item: item.slug)
def test_every_item_at_every_site_on_both_sides_comes_back(item):
    side = {"side": "both"} if item.paired else {}
    gaps = [{"item": item.slug, "site": site, **side} for site in item.sites or (None,)]
    encounter = read_encounter({
        "patient": {"name": {"family": "Testwell"}},
        "examination": {"notExamined": [{k: v for k, v in gap.items() if v} for gap in gaps]},
    })  # fmt: skip

    assert said(read_bundle(through_json(encounter)).encounter) == said(encounter)


FULL = {
    "reference": "HHC-9",
    "patient": {
        "name": {"family": "Ashdown", "given": ["Marjorie"], "prefix": ["Mrs"], "text": "Mrs Marjorie Ashdown"},
        "preferredName": "Marje",
        "birthDate": "1951-06-14",
        "gender": "female",
        "identifier": [{"system": "MRN", "value": "A1", "assigner": "Harrowmere"}],
        "address": {"line": ["1 Mill Lane"], "city": "Harrowmere", "district": "Fen", "postalCode": "HX9 9AA", "country": "England"},
        "handedness": "left",
        "occupation": "florist",
        "communicationNeeds": ["Large print"],
    },
    "recipient": {"name": "Dr P Quill", "salutation": "Pat", "role": "GP", "organization": "Larkfield", "address": {"city": "Harrowmere"}},
    "copies": [{"name": "Mrs Ashdown", "role": "Patient"}, {"name": "Ms V Tolley"}],
    "author": {"name": "Miss O Tarrant", "role": "Surgeon", "qualification": "FRCS", "identifier": {"system": "GMC", "value": "1"}, "telecom": "01632 960001"},
    "clinic": {"name": "Hand Clinic", "specialty": "Hand surgery", "organization": "Trust", "address": {"city": "Harrowmere"}, "telecom": "clinic@harrowmere.example"},
    "gpPractice": {"name": "Dr P Quill", "role": "GP", "organization": "Larkfield"},
    "visit": {"date": "2026-03-04", "kind": "follow-up", "method": "face to face", "responsible": "Mr B Hale", "accompaniedBy": "her son"},
    "drafted": "2026-03-05",
    "reason": {"text": "Numb fingers", "problem": "numb_hand", "side": "left", "question": "Is surgery needed?"},
    "history": {
        "presenting": "Tingling",
        "past": ["Asthma", "Fracture"],
        "sinceLastContact": "Better",
        "concerns": "Work",
        "symptoms": [{"name": "hand_pain", "side": "left", "present": False}],
    },
    "medication": ["Metformin"],
    "allergies": [{"agent": "Penicillin", "reaction": "rash"}, {"agent": "Latex"}],
    "examination": {"findings": [{"item": "phalen_test", "side": "left", "value": "positive"}]},
    "diagnoses": [{"text": "Carpal tunnel syndrome", "side": "left"}],
    "impression": [{"text": "Mild", "side": "left"}],
    "plan": [{"text": "Splint", "actor": "patient", "side": "left"}, {"text": "Review", "actor": "clinic"}],
    "informationGiven": ["A leaflet"],
    "options": {"language": "en-US", "largePrint": True, "measures": ["cts6"], "letter": "follow-up", "drawing": True},
}  # fmt: skip


def leaves(model: type[BaseModel], path: str = "") -> set[str]:
    """The paths of all fields of a model that hold no other model."""
    found = set()
    for name, field in model.model_fields.items():
        inner = [each for each in _types(field.annotation) if issubclass(each, BaseModel)]
        where = f"{path}.{field.alias or name}"
        found |= set().union(*(leaves(each, where) for each in inner)) if inner else {where}
    return found


def _types(annotation) -> list[type]:
    if isinstance(annotation, type) and not get_args(annotation):
        return [annotation]
    return [each for part in get_args(annotation) for each in _types(part)]


def given_paths(value: Any, path: str = "") -> set[str]:
    if isinstance(value, dict):
        return set().union(*(given_paths(inner, f"{path}.{name}") for name, inner in value.items()))
    if isinstance(value, list):
        return set().union(*(given_paths(each, path) for each in value)) if value else {path}
    return {path}


def test_every_field_of_an_encounter_comes_back():
    """A field added to the encounter must be given a place in the Bundle, or this fails."""
    elsewhere = (
        ".examination",
        ".earlier",
        ".answers",
        ".gpPractice",
        ".copies",
    )  # held by other tests, or as recipient
    every = {path for path in leaves(Encounter) if not path.startswith(elsewhere)}
    not_said = {
        ".author.identifier.assigner",
        *(p for p in every if p.startswith((".recipient.address", ".clinic.address"))),
    }

    assert every - given_paths(FULL) - not_said == set()
    encounter = read_encounter(FULL)
    read = read_bundle(through_json(encounter))
    assert record(encounter) == record(read.encounter)
    assert read.notices == ()


@pytest.mark.parametrize(("field", "value"), [("medication", []), ("allergies", "none known")])
def test_said_to_be_none_is_not_left_unsaid(field, value):
    encounter = read_encounter({**FULL, field: value})

    assert record(read_bundle(through_json(encounter)).encounter) == record(encounter)


def test_an_earlier_visit_comes_back_as_earlier_values():
    before = {"findings": [
        {"item": "swelling", "side": "left", "site": "index", "value": "present", "severity": "mild"},
        {"item": "pip_movement", "side": "left", "site": "pip_index", "value": {"from": 10, "to": 80}, "mode": "active"},
        {"item": "grip_strength", "side": "left", "value": [20, 22, 24]},
    ]}  # fmt: skip
    encounter = read_encounter(FULL)
    old = expand(read_encounter({**FULL, "examination": before}), CATALOGUE)
    facts = with_earlier_visit(expand(encounter, CATALOGUE), old, date(2026, 1, 2))
    maker = Maker(root_of(encounter))
    express(encounter, facts, CATALOGUE, maker)

    read = read_bundle({"resourceType": "Bundle", "type": "collection", "entry": maker.entries})

    assert expand(read.encounter, CATALOGUE).earlier == facts.earlier
    assert read.notices == ()


def test_the_same_encounter_gives_the_same_bundle():
    assert encounter_bundle(read_encounter(FULL)) == encounter_bundle(read_encounter(FULL))


def test_answers_to_queries_are_refused_not_dropped():
    answered = {**FULL, "answers": [{"rule": "some-rule", "answer": "corrected"}]}

    with pytest.raises(InvalidInput, match="answers"):
        encounter_bundle(read_encounter(answered))
