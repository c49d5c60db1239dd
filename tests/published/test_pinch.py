"""Pinch strength against Mathiowetz 1985."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable, rounded
from letterkit.measures.norms import find_norm
from letterkit.measures.pinch import PINCHES, pinch_against_norm, pinch_norms
from letterkit.measures.result import KG_PER_LB, required

# First year of the band; mean and SD in pounds: men right, men left, women right, women left.
# Mathiowetz 1985: tip confirmed but for the left hands at 75 and over (from memory), key and palmar from memory.
TIP = (
    (20, (18.0, 3.0), (17.0, 2.3), (11.1, 2.1), (10.5, 1.7)),
    (25, (18.3, 4.4), (17.5, 5.2), (11.9, 1.8), (11.3, 1.8)),
    (30, (17.4, 6.7), (17.6, 4.8), (12.6, 3.0), (11.7, 2.8)),
    (35, (18.0, 3.6), (17.7, 3.8), (11.6, 2.5), (11.9, 2.4)),
    (40, (17.8, 4.0), (17.7, 3.5), (11.5, 2.7), (11.1, 3.0)),
    (45, (18.7, 4.9), (17.6, 4.1), (13.2, 3.0), (12.1, 2.7)),
    (50, (18.3, 4.0), (17.8, 3.9), (12.5, 2.2), (11.4, 2.4)),
    (55, (16.6, 3.3), (15.0, 3.7), (11.7, 1.7), (10.4, 1.4)),
    (60, (15.8, 3.9), (15.3, 3.7), (10.1, 2.1), (9.9, 2.0)),
    (65, (17.0, 4.2), (15.4, 2.9), (10.6, 2.0), (10.5, 2.4)),
    (70, (13.8, 2.6), (13.3, 2.6), (10.1, 2.6), (9.8, 2.3)),
    (75, (14.0, 3.4), (13.9, 3.7), (9.6, 2.8), (9.3, 2.4)),
)
KEY = (
    (20, (26.0, 3.5), (24.8, 3.4), (17.6, 2.0), (16.2, 2.1)),
    (25, (26.7, 4.9), (25.0, 4.4), (17.7, 2.1), (16.6, 2.1)),
    (30, (26.4, 4.8), (26.2, 5.1), (18.7, 3.0), (17.8, 3.6)),
    (35, (26.1, 3.2), (25.6, 3.9), (16.6, 2.0), (16.0, 2.7)),
    (40, (25.6, 2.6), (25.1, 4.0), (16.7, 3.1), (15.8, 3.1)),
    (45, (25.8, 3.9), (24.8, 4.4), (17.6, 3.2), (16.6, 2.9)),
    (50, (26.7, 4.4), (26.1, 4.2), (16.7, 2.5), (16.1, 2.7)),
    (55, (24.2, 4.2), (23.0, 4.7), (15.7, 2.5), (14.7, 2.2)),
    (60, (23.2, 5.4), (22.2, 4.1), (15.5, 2.7), (14.1, 2.5)),
    (65, (23.4, 3.9), (22.0, 3.6), (15.0, 2.6), (14.3, 2.8)),
    (70, (19.3, 2.4), (19.2, 3.0), (14.5, 2.9), (13.8, 3.0)),
    (75, (20.5, 4.6), (19.1, 3.0), (12.6, 2.3), (11.4, 2.6)),
)
PALMAR = (
    (20, (26.6, 5.3), (25.7, 5.8), (17.2, 2.3), (16.3, 2.8)),
    (25, (26.0, 4.3), (25.1, 4.2), (17.7, 3.2), (17.0, 3.0)),
    (30, (24.7, 4.7), (25.4, 5.7), (19.3, 5.0), (18.1, 4.8)),
    (35, (26.2, 4.1), (25.9, 5.4), (17.5, 4.2), (17.1, 3.4)),
    (40, (24.5, 4.3), (24.8, 4.9), (17.0, 3.1), (16.6, 3.5)),
    (45, (24.0, 3.3), (23.7, 3.8), (17.9, 3.0), (17.5, 2.8)),
    (50, (23.8, 5.4), (24.0, 5.8), (17.3, 3.1), (16.6, 2.9)),
    (55, (23.7, 4.8), (21.3, 4.5), (16.0, 3.1), (15.4, 3.0)),
    (60, (21.8, 3.3), (21.2, 3.2), (14.8, 3.1), (14.3, 2.7)),
    (65, (21.4, 3.0), (21.2, 4.1), (14.2, 3.1), (13.7, 3.4)),
    (70, (18.1, 3.4), (18.8, 3.3), (14.4, 2.6), (14.0, 1.9)),
    (75, (18.7, 4.2), (18.3, 3.8), (12.0, 2.6), (11.5, 2.6)),
)
COLUMNS = (("male", "right"), ("male", "left"), ("female", "right"), ("female", "left"))


def mark_of(kind, age, side):
    return "confirmed" if kind == "tip" and not (age == 75 and side == "left") else "from memory"


CELLS = [
    pytest.param(kind, age, sex, side, lb, id=f"Mathiowetz 1985 ({mark_of(kind, age, side)}) {kind} {sex} {side} {age}")
    for kind, rows in (("tip", TIP), ("key", KEY), ("palmar", PALMAR))
    for age, *pounds in rows
    for (sex, side), lb in zip(COLUMNS, pounds, strict=True)
]


@pytest.mark.parametrize(("kind", "age", "sex", "side", "lb"), CELLS)
def test_norm(kind, age, sex, side, lb):
    norm = find_norm(pinch_norms(kind), age, sex, side)

    assert lb == (norm.mean_lb, norm.sd_lb)
    assert mark_of(kind, age, side) == norm.source.mark


def test_whole_tables_are_checked():
    assert len(CELLS) == sum(len(pinch_norms(kind)) for kind in PINCHES) == 144


@pytest.mark.parametrize(
    ("sex", "decades"),
    [("male", ("26.3", "25.5", "24.3", "23.8", "21.6")), ("female", ("17.5", "18.4", "17.5", "16.7", "14.5"))],
)
def test_palmar_agrees_with_means_by_decade(sex, decades):
    """A second text quotes right-hand palmar means by decade from 20 to 69 (confirmed)."""
    means = [norm.mean_lb for norm in pinch_norms("palmar") if (norm.sex, norm.side) == (sex, "right")][:10]

    # The second text cuts, rather than rounds, 25.45 and 17.45: half a unit of the last place is allowed for.
    for quoted, first, second in zip(decades, means[::2], means[1::2], strict=True):
        assert (first + second) / 2 == pytest.approx(float(quoted), abs=0.0501)


@pytest.mark.parametrize(("newtons", "kind"), [(117.4, "key"), (109.9, "palmar")])
def test_men_of_30_to_34_agree_with_a_second_text_in_newtons(newtons, kind):
    norm = find_norm(pinch_norms(kind), 30, "male", "right")

    assert newtons / 9.80665 / float(KG_PER_LB) == pytest.approx(norm.mean_lb, abs=0.05)


def test_worked():
    """Woman of 47, right tip pinch 8 lb: low end, not below the range."""
    result = required(pinch_against_norm("tip", float(8 * KG_PER_LB), age_years=47, sex="female", side="right"))

    assert str(rounded(result.value.z, 2)) == "-1.73"
    assert result.value.standing == "low_end"


def test_cell_that_contradicts_itself_is_excluded():
    outcome = pinch_against_norm("tip", 6, age_years=33, sex="male", side="right")

    assert isinstance(outcome, NotComputable)
    assert "6.7" in outcome.reason


@pytest.mark.parametrize(
    ("kind", "age", "sex", "side"),
    [
        ("tip", 33, "male", "left"),
        ("tip", 35, "male", "right"),
        ("tip", 29, "male", "right"),
        ("key", 33, "male", "right"),
    ],
)
def test_only_that_cell_is_excluded(kind, age, sex, side):
    assert required(pinch_against_norm(kind, 6, age_years=age, sex=sex, side=side)).value.norm.unusable is None


def test_one_cell_in_all_is_excluded():
    assert [f"{n.sex} {n.side} {n.age_from}" for kind in PINCHES for n in pinch_norms(kind) if n.unusable] == [
        "male right 30"
    ]


def test_unknown_pinch_is_refused():
    with pytest.raises(InvalidValue, match="Allowed: tip, key, palmar"):
        pinch_against_norm("hook", 6, age_years=33, sex="male", side="left")
