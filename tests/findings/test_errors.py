"""A record that cannot be read is refused with the exact place, what was given and what would mend it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from faulty_records import FAULTS
from made_records import found, record

from letterkit import check, draft
from letterkit.errors import InvalidInput


@pytest.mark.parametrize(("encounter", "path", "told"), FAULTS.values(), ids=FAULTS)
def test_a_fault_is_told_with_its_place_and_remedy(encounter, path, told):
    with pytest.raises(InvalidInput) as caught:
        draft(encounter)

    messages = {problem.path: problem.message for problem in caught.value.problems}
    assert list(messages) == [path]
    assert [part for part in told if part not in messages[path]] == [], messages[path]
    assert "\n" not in messages[path]
    assert len(str(caught.value).splitlines()) == 1


TRIGGER = found("triggering", site="ring")

TEXTS = {
    "nothing": ("", ["not JSON", "line 1, column 1"]),
    "half an object": ('{"patient":', ["not JSON", "line 1, column 12"]),
    "a list": ("[]", ["an encounter is a JSON object"]),
    "a word": ('"patient"', ["an encounter is a JSON object"]),
    "one field twice": ('{"patient": {"name": {"family": "M", "family": "N"}}}', ["'family' stands twice"]),
    "NaN": ('{"value": NaN}', ["NaN is not a number of JSON"]),
    "Infinity": ('{"value": -Infinity}', ["-Infinity is not a number of JSON"]),
    "deep nesting": ("[" * 100_000, ["nested too deeply"]),
    "a number without end": ('{"value": ' + "9" * 5000 + "}", ["not JSON"]),
    "Latin-1": ('{"name": "Ødegård"}'.encode("latin-1"), ["not UTF-8"]),
    "a cut-off character": ('{"name": "Ø'.encode()[:-1], ["not UTF-8"]),
}  # fmt: skip


@pytest.mark.parametrize(("text", "told"), TEXTS.values(), ids=TEXTS)
def test_text_that_is_no_encounter_is_refused(text, told):
    with pytest.raises(InvalidInput) as caught:
        check(text)

    assert [part for part in told if part not in str(caught.value)] == [], str(caught.value)


def test_a_message_about_a_long_number_speaks_of_the_record_and_not_of_the_program():
    with pytest.raises(InvalidInput) as caught:
        check(TEXTS["a number without end"][0])

    assert "sys." not in str(caught.value)


def test_every_fault_is_told_at_once():
    with pytest.raises(InvalidInput) as caught:
        check(record(found("xylophone"), found("triggering", side=None, site="ring"), found("grip_strength", 300),
                     earlier=[{"date": "2026-01-05", "item": "apb_power", "side": "left", "value": "5+"}]))  # fmt: skip

    assert [problem.path for problem in caught.value.problems] == [
        "examination.findings[0].item", "examination.findings[1].side", "examination.findings[2].value", "earlier[0].value",
    ]  # fmt: skip


def test_a_byte_order_mark_is_no_fault():
    assert draft("\ufeff".encode() + json.dumps(record(TRIGGER)).encode()).facts.facts[0].site == "ring"


def test_letters_of_every_alphabet_are_no_fault():
    encounter = {"patient": {"name": {"family": "Nguyễn-Łukasz Œ"}}, "examination": {"findings": [TRIGGER]}}
    assert "Nguyễn-Łukasz" in draft(json.dumps(encounter)).encounter.patient.name.family


def test_a_message_never_holds_the_rest_of_the_record():
    """Nothing of the patient stands in a message about a finding."""
    encounter = json.loads((Path(__file__).parents[2] / "demo_cases" / "ganglion.json").read_text("utf-8"))
    encounter["examination"]["findings"][0]["value"] = "maybe so"
    with pytest.raises(InvalidInput) as caught:
        check(encounter)

    patient_words = [*encounter["patient"]["name"]["given"], encounter["patient"]["name"]["family"],
                     encounter["patient"]["birthDate"], encounter["patient"]["identifier"][0]["value"]]  # fmt: skip
    assert [word for word in patient_words if word in str(caught.value)] == []
