"""Whatever is put in whatever place of a Bundle, it is read, refused in words, or reported: nothing else happens."""

from __future__ import annotations

import copy
import json
from collections import Counter

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from test_fhir import GOOD, LEFT_SITE, OTHER_PATIENT, STRUCTURE, TO_STRUCTURE, bundle, observation, quantity
from test_fhir_round_trip import FULL

from letterkit.catalogue import catalogue
from letterkit.errors import InvalidInput
from letterkit.findings.facts import expand
from letterkit.findings.fhir import read_bundle
from letterkit.findings.fhir_out import encounter_bundle
from letterkit.findings.read_input import read_encounter

EXAMINATION = {
    "findings": [
        {"item": "triggering", "side": "left", "site": "thumb", "value": "present", "grade": "II", "grading": "Green", "note": "sore"},
        {"item": "grip_strength", "side": "both", "value": [20, 22, 24]},
        {"item": "pip_movement", "side": "right", "site": "pip_index", "value": {"from": 10, "to": 80}, "mode": "active"},
        {"item": "median_sensation", "side": "left", "value": "reduced"},
    ],
    "normal": [{"stage": "inspection"}],
    "notExamined": [{"item": "phalen_test", "side": "left", "reason": "in plaster"}],
}  # fmt: skip
WHOLE = encounter_bundle(read_encounter({**FULL, "examination": EXAMINATION}))
SMALL = bundle(GOOD, STRUCTURE, observation("swelling", "o2", **TO_STRUCTURE, valueBoolean=True))
JUNK = [None, True, 0, -1.5, 1e308, float("inf"), "", "left", "x" * 5000, [], [[]], [None], [{}], {}, {"a": {}}, ["left"],
        {"reference": []}, {"coding": {}}, {"coding": [{"code": []}]}, {"coding": [{"system": {}}]}, "\u0000", "\ud800"]  # fmt: skip


def paths(value, path=()):
    """The path of every value inside a JSON value."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, each in inner:
        yield (*path, key)
        yield from paths(each, (*path, key))


def put(value, path, junk):
    changed = copy.deepcopy(value)
    inner = changed
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = junk
    return changed


ALL_PATHS = [(name, path) for name in ("whole", "small") for path in paths({"whole": WHOLE, "small": SMALL}[name])]


@settings(max_examples=600, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(ALL_PATHS), st.sampled_from(JUNK))
def test_junk_anywhere_is_read_or_refused(where, junk):
    name, path = where
    changed = put({"whole": WHOLE, "small": SMALL}[name], path, junk)
    try:
        read = read_bundle(changed)
        expand(read.encounter, catalogue())
    except InvalidInput as error:
        assert str(error).strip()  # noqa: PT017 - the one error that may leave


def keys(value, path=()):
    """The path of every field of an object inside a JSON value."""
    return [path for path in paths(value) if isinstance(path[-1], str)]


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(keys(SMALL) + keys(WHOLE)), st.data())
def test_a_field_nobody_knows_is_reported_wherever_it_stands(path, data):
    """An unknown field beside any other is refused or named in a notice, so that it is never dropped."""
    source = SMALL if path in keys(SMALL) and data.draw(st.booleans()) else WHOLE
    path = path if path in keys(source) else data.draw(st.sampled_from(keys(source)))
    changed = put(source, (*path[:-1], "unknownField"), {"valueString": "kept"})
    before = Counter(read_bundle(copy.deepcopy(source)).notices)
    try:
        after = Counter(read_bundle(changed).notices)
    except InvalidInput:
        return

    assert after - before, path


def test_a_fact_of_another_patient_is_never_read():
    for name in ("subject",):
        with pytest.raises(InvalidInput, match="patient"):
            read_bundle(bundle({**GOOD, name: {"reference": "Patient/p2"}}, OTHER_PATIENT))


@pytest.mark.parametrize("key", ["valueBoolean", "valueQuantity", "valueString", "component", "interpretation"])
def test_no_value_turns_a_cancelled_observation_into_a_finding(key):
    value = {
        "valueBoolean": True,
        "valueQuantity": quantity(3, "kg"),
        "valueString": "positive",
        "component": [],
        "interpretation": [],
    }[key]
    given = observation("phalen_test", status="entered-in-error", **LEFT_SITE, **{key: value})

    assert read_bundle(bundle(given)).encounter.examination.findings == ()


def test_reading_changes_nothing_of_what_was_given():
    before = json.dumps(WHOLE, sort_keys=True)
    read_bundle(WHOLE)

    assert json.dumps(WHOLE, sort_keys=True) == before
