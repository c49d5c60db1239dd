"""Trigger digit: Green (confirmed), Quinnell 1980 (from memory)."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable
from letterkit.measures.result import required
from letterkit.measures.trigger import GRADES, SOURCES, green_grade, quinnell_grade, trigger_grade


@pytest.mark.parametrize(
    ("scale", "grade", "words"),
    [
        pytest.param(scale, grade, words, id=f"{scale} ({SOURCES[scale].mark.value}) {grade}")
        for scale, grade, words in (
            ("Green", "I", "by history only"),
            ("Green", "II", "demonstrable catching"),
            ("Green", "IIIA", "passive extension"),
            ("Green", "IIIB", "cannot flex"),
            ("Green", "IV", "fixed flexion contracture"),
            ("Quinnell", "0", "normal"),
            ("Quinnell", "I", "uneven"),
            ("Quinnell", "II", "actively correctable"),
            ("Quinnell", "III", "passively correctable"),
            ("Quinnell", "IV", "fixed deformity"),
        )
    ],
)
def test_meaning(scale, grade, words):
    found = trigger_grade(scale, grade)

    assert words in found.meaning
    assert (found.scale, found.grade) == (scale, grade)


def test_number_of_grades():
    assert {scale: len(grades) for scale, grades in GRADES.items()} == {"Green": 5, "Quinnell": 5}


@pytest.mark.parametrize(
    ("release", "green", "quinnell"),
    [
        pytest.param("passive", "IIIA", "III", id="worked: opened with the other hand"),
        pytest.param("active", "II", "II", id="opens actively"),
        pytest.param("fixed_contracture", "IV", "IV", id="fixed"),
    ],
)
def test_same_digit_on_both_scales(release, green, quinnell):
    assert required(green_grade(release)).value.grade == green
    assert required(quinnell_grade(release)).value.grade == quinnell


def test_worked_tender_nodule_without_catching():
    """Green I; no Quinnell grade above 0 or I."""
    assert required(green_grade("none_seen", a1_tender=True)).value.grade == "I"
    assert [required(quinnell_grade("none_seen", uneven=uneven)).value.grade for uneven in (False, True)] == ["0", "I"]


def test_cannot_flex_is_on_one_scale_only():
    assert required(green_grade("cannot_flex")).value.grade == "IIIB"
    assert isinstance(quinnell_grade("cannot_flex"), NotComputable)


@pytest.mark.parametrize(
    ("outcome", "missing"),
    [
        (green_grade(None), ("release",)),
        (green_grade("none_seen"), ("a1_tender",)),
        (green_grade("none_seen", a1_tender=False), ()),
        (quinnell_grade(None), ("release",)),
        (quinnell_grade("none_seen"), ("uneven",)),
    ],
)
def test_not_computable(outcome, missing):
    assert isinstance(outcome, NotComputable)
    assert outcome.missing == missing


@pytest.mark.parametrize(
    ("scale", "grade"), [("Green", "III"), ("Green", "0"), ("Quinnell", "IIIA"), ("Froimson", "I")]
)
def test_grade_of_another_scale_is_refused(scale, grade):
    with pytest.raises(InvalidValue, match="Allowed"):
        trigger_grade(scale, grade)


def test_unknown_release_is_refused():
    with pytest.raises(InvalidValue, match="Allowed: none_seen"):
        green_grade("sometimes")
