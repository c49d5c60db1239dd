"""DAS28 in four forms (confirmed) and CDAI (from memory)."""

from __future__ import annotations

import pytest

from letterkit.errors import InvalidValue
from letterkit.measures import NotComputable, rounded
from letterkit.measures.das28 import cdai, das28, das28_activity
from letterkit.measures.result import required

INPUT = {"tender": 6, "swollen": 4, "esr_mm_h": 28, "crp_mg_l": 12, "global_health_mm": 45}


@pytest.mark.parametrize(
    ("form", "variables", "score"),
    [
        pytest.param("ESR", 4, "4.894", id="worked DAS28-ESR(4)"),
        pytest.param("ESR", 3, "4.765", id="worked DAS28-ESR(3)"),
        pytest.param("CRP", 4, "4.445", id="worked DAS28-CRP(4)"),
        pytest.param("CRP", 3, "4.291", id="worked DAS28-CRP(3)"),
    ],
)
def test_worked(form, variables, score):
    result = required(das28(form, **INPUT, variables=variables))

    assert str(rounded(result.value.score, 3)) == score
    assert result.arithmetic.endswith(f"= {score}")
    assert result.value.activity == "moderate"


def test_least_crp_4():
    """Published minimum (confirmed)."""
    assert required(das28("CRP", tender=0, swollen=0, crp_mg_l=0, global_health_mm=0)).value.score == 0.96


@pytest.mark.parametrize(
    ("score", "activity"),
    [(2.59, "remission"), (2.6, "low"), (3.2, "low"), (3.21, "moderate"), (5.1, "moderate"), (5.11, "high")],
)
def test_band(score, activity):
    assert das28_activity(score) == activity


@pytest.mark.parametrize(
    ("form", "variables", "lacking", "missing"),
    [
        ("ESR", 4, "esr_mm_h", ("esr_mm_h",)),
        ("CRP", 4, "crp_mg_l", ("crp_mg_l",)),
        ("CRP", 4, "global_health_mm", ("global_health_mm",)),
        ("ESR", 3, "tender", ("tender",)),
        ("ESR", 3, "swollen", ("swollen",)),
    ],
)
def test_missing(form, variables, lacking, missing):
    outcome = das28(form, **{**INPUT, lacking: None}, variables=variables)

    assert isinstance(outcome, NotComputable)
    assert outcome.missing == missing


def test_global_health_is_not_needed_by_the_form_without_it():
    assert required(das28("ESR", **{**INPUT, "global_health_mm": None}, variables=3)).value.score > 4


def test_esr_of_nought_has_no_logarithm():
    assert isinstance(das28("ESR", **{**INPUT, "esr_mm_h": 0}), NotComputable)
    assert required(das28("ESR", **{**INPUT, "esr_mm_h": 1})).value.score > 0


@pytest.mark.parametrize("wrong", [{"tender": 29}, {"swollen": -1}, {"crp_mg_l": -1}, {"global_health_mm": 101}])
def test_refused(wrong):
    with pytest.raises(InvalidValue, match="Allowed"):
        das28("CRP", **(INPUT | wrong))


@pytest.mark.parametrize(
    ("patient", "examiner", "joints", "score", "activity"),
    [
        pytest.param(1.4, 1.4, 0, 2.8, "remission", id="CDAI (from memory) 2.8"),
        pytest.param(1.5, 1.4, 0, 2.9, "low", id="CDAI (from memory) 2.9"),
        pytest.param(4, 4, 1, 10, "low", id="CDAI (from memory) 10"),
        pytest.param(4, 4.1, 1, 10.1, "moderate", id="CDAI (from memory) 10.1"),
        pytest.param(1, 1, 10, 22, "moderate", id="CDAI (from memory) 22"),
        pytest.param(1, 1.1, 10, 22.1, "high", id="CDAI (from memory) 22.1"),
    ],
)
def test_cdai(patient, examiner, joints, score, activity):
    value = required(cdai(tender=joints, swollen=joints, patient_global=patient, examiner_global=examiner)).value

    assert (value.score, value.activity) == (score, activity)


def test_cdai_missing():
    outcome = cdai(tender=1, swollen=None, patient_global=2, examiner_global=None)

    assert outcome.missing == ("swollen", "examiner_global")
