"""Questionnaire scores and their rules for missing items."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable, rounded
from letterkit.measures.questionnaires import (
    boston_functional_status,
    boston_symptom_severity,
    dash,
    dash_module,
    prwhe,
    quick_dash,
)
from letterkit.measures.result import required


def answers(total, answered, items):
    """Answers of 1 to 5 that sum to `total`, the rest unanswered."""
    least, extra = divmod(total, answered)
    return [least + 1] * extra + [least] * (answered - extra) + [None] * (items - answered)


@pytest.mark.parametrize(
    ("function", "total", "answered", "items", "places", "score"),
    [
        pytest.param(quick_dash, 27, 10, 11, 1, "42.5", id="QuickDASH (confirmed) sum 27 of 10"),
        pytest.param(quick_dash, 32, 11, 11, 1, "47.7", id="QuickDASH (confirmed) sum 32 of 11"),
        pytest.param(quick_dash, 11, 11, 11, 1, "0.0", id="QuickDASH (confirmed) best"),
        pytest.param(quick_dash, 55, 11, 11, 1, "100.0", id="QuickDASH (confirmed) worst"),
        pytest.param(dash, 60, 30, 30, 1, "25.0", id="DASH (confirmed) all 2s"),
        pytest.param(dash, 54, 27, 30, 1, "25.0", id="DASH (confirmed) 27 answered"),
        pytest.param(dash_module, 10, 4, 4, 1, "37.5", id="DASH module (confirmed)"),
        pytest.param(boston_symptom_severity, 33, 11, 11, 2, "3.00", id="Boston severity (confirmed) 33 of 11"),
        pytest.param(boston_symptom_severity, 30, 10, 11, 2, "3.00", id="Boston severity (common practice) 10 items"),
        pytest.param(boston_symptom_severity, 20, 9, 11, 2, "2.22", id="Boston severity (common practice) 9 items"),
        pytest.param(boston_functional_status, 19, 8, 8, 3, "2.375", id="Boston function (confirmed) 19 of 8"),
        pytest.param(boston_functional_status, 19, 8, 8, 1, "2.4", id="Boston function (confirmed) shown as 2.4"),
        pytest.param(boston_functional_status, 12, 6, 8, 1, "2.0", id="Boston function (common practice) 6 items"),
    ],
)
def test_score(function, total, answered, items, places, score):
    value = required(function(answers(total, answered, items))).value

    assert str(rounded(value.score, places)) == score
    assert (value.answered, value.items) == (answered, items)


@pytest.mark.parametrize(
    ("function", "answered", "items"),
    [
        (quick_dash, 9, 11),
        (dash, 26, 30),
        (dash_module, 3, 4),
        (boston_symptom_severity, 8, 11),
        (boston_functional_status, 5, 8),
    ],
)
def test_too_few_answers(function, answered, items):
    outcome = function(answers(2 * answered, answered, items))

    assert isinstance(outcome, NotComputable)
    assert outcome.missing == tuple(f"item {number}" for number in range(answered + 1, items + 1))
    assert f"{answered} of {items}" in outcome.reason


def test_arithmetic_shows_how_many_were_answered():
    assert required(quick_dash(answers(27, 10, 11))).arithmetic == "(27 / 10 - 1) x 25 = 42.5 (10 of 11 items)"
    assert required(boston_functional_status(answers(19, 8, 8))).arithmetic == "19 / 8 = 2.375 (8 of 8 items)"


@pytest.mark.parametrize(
    ("function", "given"),
    [
        (quick_dash, [1] * 10),
        (quick_dash, [0] * 11),
        (quick_dash, [6] * 11),
        (quick_dash, [1.5] * 11),
        (dash, [1] * 31),
    ],
)
def test_refused(function, given):
    with pytest.raises(InvalidValue, match="Allowed"):
        function(given)


@pytest.mark.parametrize(
    ("pain", "function", "score"),
    [
        pytest.param([10] * 5, [10] * 10, 100, id="PRWHE (from memory) worst"),
        pytest.param([0] * 5, [0] * 10, 0, id="PRWHE (from memory) best"),
        pytest.param([5, 4, 3, 2, 1], [3] * 9 + [4], 30.5, id="PRWHE (from memory) 15 + 31 / 2"),
    ],
)
def test_prwhe(pain, function, score):
    result = required(prwhe(pain, function))

    assert result.value.score == score
    assert result.source.mark == "from memory"


def test_prwhe_needs_every_item():
    outcome = prwhe([5, None, 5, 5, 5], [None] + [3] * 9)

    assert isinstance(outcome, NotComputable)
    assert outcome.missing == ("item 2", "item 6")


def test_prwhe_answers_go_to_ten():
    with pytest.raises(InvalidValue, match="0 to 10"):
        prwhe([11] * 5, [0] * 10)
