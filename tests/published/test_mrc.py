"""Medical Research Council grades: Memorandum 45, 1976 (confirmed); order and spellings are common practice, no source."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures.mrc import MEANINGS, ORDER, SIGN_MEANINGS, mrc, parse_mrc, parse_named_mrc


@pytest.mark.parametrize(
    ("grade", "words"),
    [
        pytest.param(0, "no contraction", id="MRC 1976 (confirmed) 0"),
        pytest.param(1, "flicker", id="MRC 1976 (confirmed) 1"),
        pytest.param(2, "gravity eliminated", id="MRC 1976 (confirmed) 2"),
        pytest.param(3, "against gravity", id="MRC 1976 (confirmed) 3"),
        pytest.param(4, "resistance", id="MRC 1976 (confirmed) 4"),
        pytest.param(5, "normal power", id="MRC 1976 (confirmed) 5"),
    ],
)
def test_meaning(grade, words):
    assert words in MEANINGS[grade]
    assert MEANINGS[grade] == mrc(grade).meaning


def test_subdivision_from_memory():
    assert [SIGN_MEANINGS[g].split()[2] for g in ("4-", "4", "4+")] == ["slight", "moderate", "strong"]


@pytest.mark.parametrize(
    ("text", "grade"),
    [
        ("5/5", "5"),
        ("4/5", "4"),
        ("4+/5", "4+"),
        ("4-/5", "4-"),
        ("M4", "4"),
        ("m4-", "4-"),
        ("MRC 4", "4"),
        ("MRC4+", "4+"),
        ("grade 4", "4"),
        ("power 4", "4"),
        ("4 out of 5", "4"),
        ("full power", "5"),
        ("Flicker", "1"),
        ("no power", "0"),
        ("nil", "0"),
        ("power 0/5", "0"),
        ("  4 / 5 ", "4"),
        ("4\u2212", "4-"),
        ("4\u2013/5", "4-"),
        ("5-", "5-"),
        ("3+", "3+"),
        ("2-", "2-"),
    ],
)
def test_spelling(text, grade):
    assert grade == str(parse_mrc(text))


@pytest.mark.parametrize(
    "text",
    [
        "6",
        "5+",
        "0+",
        "1-",
        "1+",
        "4-5",
        "3/4",
        "4/10",
        "4.5",
        "",
        "weak",
        "+4",
        "4+/5+",
        "44",
        "-1",
        "M",
        "4 5",
        "not 5/5",
    ],
)
def test_refused(text):
    with pytest.raises(InvalidValue, match="Allowed"):
        parse_mrc(text)


def test_worked_apb():
    """`APB M4-` is grade 4-, below 5."""
    muscle, grade = parse_named_mrc("APB M4-")

    assert (muscle, str(grade), grade.below_normal) == ("APB", "4-", True)


@pytest.mark.parametrize(
    ("text", "muscle", "grade"), [("FDI 4+/5", "FDI", "4+"), ("thumb abduction nil", "thumb abduction", "0")]
)
def test_named(text, muscle, grade):
    named, found = parse_named_mrc(text)

    assert (named, str(found)) == (muscle, grade)


def test_named_without_muscle_is_refused():
    with pytest.raises(InvalidValue, match="a muscle"):
        parse_named_mrc("4/5")


def test_nought_is_a_grade_and_not_missing():
    assert (parse_mrc("power 0/5").grade, parse_mrc("power 0/5").below_normal) == (0, True)


def test_order():
    grades = [parse_mrc(text) for text in ("0", "1", "2-", "2", "2+", "3-", "3", "3+", "4-", "4", "4+", "5-", "5")]

    assert grades == sorted(grades)
    assert len(set(grades)) == len(ORDER) == 13
    assert parse_mrc("4-") < parse_mrc("4") < parse_mrc("4+") < parse_mrc("5-") < parse_mrc("5")


@pytest.mark.parametrize(("text", "below"), [("5", False), ("5-", True), ("4+", True), ("0", True)])
def test_below_normal(text, below):
    assert below is parse_mrc(text).below_normal
