"""Disease activity by joint counts: DAS28 in its four forms, and CDAI.

Sources: DAS28 formulae and bands as published by its authors (confirmed); the use of 1 for an ESR of nought, and the
CDAI bands, are from memory. All 28 joints are needed, so an examination of the hands alone cannot give either. ESR in
mm/h, CRP in mg/L, patient's global health 0 to 100 mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from letterkit.measures.result import (
    Mark,
    NotComputable,
    Result,
    Source,
    checked,
    figure,
    given,
    missing_names,
    not_negative,
    rounded,
)

Activity = Literal["remission", "low", "moderate", "high"]
Form = Literal["ESR", "CRP"]

SOURCE = Source("DAS28 formulae and bands of its authors", Mark.CONFIRMED)
CDAI_SOURCE = Source("Clinical Disease Activity Index bands", Mark.FROM_MEMORY)
LIMITS = ("Needs all 28 joints", "ESR and CRP forms are not interchangeable")


@dataclass(frozen=True, slots=True)
class DiseaseActivity:
    """The score and its published band."""

    score: float
    activity: Activity


def das28_activity(score: float) -> Activity:
    """Band of a DAS28: remission under 2.6, low to 3.2, moderate to 5.1, high above."""
    if score < 2.6:  # noqa: PLR2004 - the limits stand in the docstring
        return "remission"
    if score <= 3.2:  # noqa: PLR2004 - the same
        return "low"
    return "moderate" if score <= 5.1 else "high"  # noqa: PLR2004 - the same


def das28(
    form: Form,
    *,
    tender: int | None,
    swollen: int | None,
    esr_mm_h: float | None = None,
    crp_mg_l: float | None = None,
    global_health_mm: float | None = None,
    variables: Literal[3, 4] = 4,
) -> Result[DiseaseActivity] | NotComputable:
    """DAS28 by ESR or CRP, with (4 variables) or without (3) the patient's global health.

    Not computable with an input of that form missing, or with an ESR of nought, which has no logarithm.
    """
    instrument = f"DAS28-{form} ({variables})"
    lab = esr_mm_h if form == "ESR" else crp_mg_l
    lab_name = "esr_mm_h" if form == "ESR" else "crp_mg_l"
    needed: dict[str, float | None] = {"tender": tender, "swollen": swollen, lab_name: lab}
    if variables == 4:  # noqa: PLR2004 - the form with global health
        needed["global_health_mm"] = global_health_mm
    inputs = given(**needed)
    if tender is None or swollen is None or lab is None or missing_names(**needed):
        return NotComputable(instrument, missing_names(**needed), SOURCE, inputs=inputs, limits=LIMITS)
    checked("das28.tender", tender, 0, 28, "joints")
    checked("das28.swollen", swollen, 0, 28, "joints")
    not_negative(f"das28.{lab_name}", lab, "mm/h" if form == "ESR" else "mg/L")
    health = global_health_mm or 0
    checked("das28.global_health_mm", health, 0, 100, "mm")
    if form == "ESR" and lab == 0:
        reason = "an ESR of 0 has no logarithm; some use 1 and say so"
        return NotComputable(instrument, ("esr_mm_h",), SOURCE, reason, inputs=inputs, limits=LIMITS)
    score, arithmetic = _score(form, tender, swollen, lab, health if variables == 4 else None)  # noqa: PLR2004 - as above
    value = DiseaseActivity(score, das28_activity(score))
    return Result(instrument, value, inputs, f"{arithmetic} = {rounded(score, 3)}", SOURCE, LIMITS)


def _score(form: Form, tender: int, swollen: int, lab: float, health_mm: float | None) -> tuple[float, str]:
    joints = 0.56 * math.sqrt(tender) + 0.28 * math.sqrt(swollen)
    if form == "ESR":
        blood, blood_text = 0.70 * math.log(lab), f"0.70 x ln {figure(lab)}"
        factor, constant, constant_4 = 1.08, 0.16, 0.0
    else:
        blood, blood_text = 0.36 * math.log(lab + 1), f"0.36 x ln({figure(lab)} + 1)"
        factor, constant, constant_4 = 1.10, 1.15, 0.96
    text = f"0.56 x sqrt {tender} + 0.28 x sqrt {swollen} + {blood_text}"
    if health_mm is None:
        return (joints + blood) * factor + constant, f"({text}) x {factor:.2f} + {constant}"
    text += f" + 0.014 x {figure(health_mm)}"
    return joints + blood + 0.014 * health_mm + constant_4, text + (f" + {constant_4}" if constant_4 else "")


def cdai(
    *, tender: int | None, swollen: int | None, patient_global: float | None, examiner_global: float | None
) -> Result[DiseaseActivity] | NotComputable:
    """CDAI, 0 to 76: tender and swollen joints of 28 and both global scores (0 to 10 each), added (from memory).

    Upper limits: remission 2.8, low 10, moderate 22. Not computable with any of the four missing.
    """
    needed = given(tender=tender, swollen=swollen, patient_global=patient_global, examiner_global=examiner_global)
    if tender is None or swollen is None or patient_global is None or examiner_global is None:
        return NotComputable("CDAI", missing_names(**dict(needed)), CDAI_SOURCE, inputs=needed, limits=LIMITS[:1])
    checked("cdai.tender", tender, 0, 28, "joints")
    checked("cdai.swollen", swollen, 0, 28, "joints")
    checked("cdai.patient_global", patient_global, 0, 10)
    checked("cdai.examiner_global", examiner_global, 0, 10)
    score = float(rounded(tender + swollen + patient_global + examiner_global, 6))
    bands: tuple[tuple[Activity, float], ...] = (("remission", 2.8), ("low", 10), ("moderate", 22))
    activity: Activity = next((name for name, up_to in bands if score <= up_to), "high")
    arithmetic = f"{tender} + {swollen} + {figure(patient_global)} + {figure(examiner_global)} = {figure(score)}"
    return Result("CDAI", DiseaseActivity(score, activity), needed, arithmetic, CDAI_SOURCE, LIMITS[:1])
