"""Total passive extension deficit and Tubiana stage, Tubiana 1968."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable
from letterkit.measures.dupuytren import total_extension_deficit, tubiana_stage
from letterkit.measures.result import required


@pytest.mark.parametrize(
    ("joints", "total", "stage", "arithmetic"),
    [
        pytest.param((40, 35, 0), 75, "2", "40 + 35 + 0 = 75 degrees", id="worked: ring"),
        pytest.param((50, 45, -20), 95, "3", "50 + 45 + 0 = 95 degrees", id="worked: little, hyperextended DIP"),
        pytest.param((70, 60, 10), 140, "4", "70 + 60 + 10 = 140 degrees", id="over 135"),
    ],
)
def test_worked(joints, total, stage, arithmetic):
    deficit = required(total_extension_deficit(*joints))

    assert (deficit.value, deficit.arithmetic) == (total, arithmetic)
    assert required(tubiana_stage(deficit.value)).value == stage


@pytest.mark.parametrize(
    ("total", "stage"),
    [
        pytest.param(*row, id=f"Tubiana 1968 (confirmed) {row[0]}")
        for row in (
            (1, "1"),
            (45, "1"),
            (45.5, "2"),
            (46, "2"),
            (90, "2"),
            (91, "3"),
            (135, "3"),
            (136, "4"),
            (270, "4"),
        )
    ],
)
def test_stage(total, stage):
    assert required(tubiana_stage(total, lesion="nodule_or_cord")).value == stage


@pytest.mark.parametrize(
    ("lesion", "stage", "mark"),
    [
        pytest.param("nodule_or_cord", "N", "confirmed", id="Tubiana 1968 (confirmed) N"),
        pytest.param("none", "0", "from memory", id="Tubiana 1968 (from memory) 0"),
    ],
)
def test_no_deficit(lesion, stage, mark):
    result = required(tubiana_stage(0, lesion=lesion))

    assert (result.value, result.source.mark) == (stage, mark)


def test_worked_nodule_with_flat_hand():
    assert required(tubiana_stage(None, lesion="nodule_or_cord", table_top_negative=True)).value == "N"


@pytest.mark.parametrize(
    ("total", "kwargs", "missing"),
    [
        (None, {}, "total_deficit_deg"),
        (None, {"lesion": "nodule_or_cord"}, "total_deficit_deg"),
        (None, {"lesion": "nodule_or_cord", "table_top_negative": False}, "total_deficit_deg"),
        (0, {}, "lesion"),
        (None, {"table_top_negative": True}, "lesion"),
    ],
)
def test_not_computable(total, kwargs, missing):
    outcome = tubiana_stage(total, **kwargs)

    assert isinstance(outcome, NotComputable)
    assert outcome.missing == (missing,)


def test_missing_joint():
    outcome = total_extension_deficit(40, None, None)

    assert isinstance(outcome, NotComputable)
    assert outcome.missing == ("pip_deficit_deg", "dip_deficit_deg")


def test_deficit_without_lesion_is_refused():
    with pytest.raises(InvalidValue, match="nodule_or_cord"):
        tubiana_stage(30, lesion="none")


@pytest.mark.parametrize("total", [-1, 541, float("nan")])
def test_refused(total):
    with pytest.raises(InvalidValue, match="Allowed"):
        tubiana_stage(total)
