"""The result of a reading: its shape, its errors, and what is loaded when."""

from __future__ import annotations

import subprocess
import sys

import pytest

from letterkit.catalogue import catalogue
from letterkit.errors import InvalidInput
from letterkit.findings.facts import expand
from letterkit.findings.read_input import read_encounter
from letterkit.reading.pipeline import MARKS, SEGMENTS, TERMS, pipeline

NOTE = """O/E: Right hand.
Look: thenar wasting, no hypothenar wasting.
Feel: tender over the A1 pulley of the ring finger.
Move: PIPJ RF 10-90.
Neurovascular: APB 4/5. Radial pulse present.
Phalen's positive at 20s. Watson's test not done.
"""


def test_a_reading_is_part_of_an_encounter(read_note):
    encounter = {"patient": {"name": {"text": "An Example"}}} | read_note(NOTE).encounter
    facts = expand(read_encounter(encounter), catalogue())

    assert sorted(
        (fact.item for fact in facts.facts),
        key=["thenar_wasting", "hypothenar_wasting", "a1_pulley_tenderness", "pip_movement", "radial_pulse", "apb_power", "phalen_test"].index,
    ) == ["thenar_wasting", "hypothenar_wasting", "a1_pulley_tenderness", "pip_movement", "radial_pulse", "apb_power", "phalen_test"]  # fmt: skip
    assert {"right"} == {fact.side for fact in facts.facts}
    assert [each.item for each in facts.unexamined] == ["watson_test"]


def test_the_same_text_gives_the_same_reading(read_note):
    assert read_note(NOTE) == read_note(NOTE)


def test_an_empty_text_gives_an_empty_reading(read_note):
    assert (read_note("").findings, read_note("").spans) == ((), ())


def test_an_unknown_language_is_refused(read_note):
    with pytest.raises(InvalidInput, match="allowed: en-GB, en-US"):
        read_note("No swelling.", language="de")


def test_the_pipeline_is_blank_and_has_our_components_only():
    assert pipeline("en-GB").pipe_names == [SEGMENTS, TERMS, MARKS]


def test_importing_the_reader_does_not_load_spacy():
    code = "import sys, letterkit.reading.read, letterkit.reading.readback; print('spacy' in sys.modules)"
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert result.stdout.strip() == "False"


@pytest.mark.parametrize("form", ["APB", "APL", "EPB", "EPL"])
def test_look_alikes_are_never_corrected_into_each_other(read_note, form):
    (finding,) = read_note(f"{form} 4/5 on the right.").findings

    assert f"{form.casefold()}_power" == finding.item


def test_no_word_of_a_note_stays_in_the_vocabulary(read_note):
    before = len(pipeline("en-GB").vocab.strings)
    read_note("Quillfeatherstone was seen with swelling of the right wrist.")

    assert before == len(pipeline("en-GB").vocab.strings)
