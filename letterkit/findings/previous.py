"""Whether an earlier encounter is of the same patient and of an earlier day."""

from __future__ import annotations

from datetime import date

from letterkit.errors import InvalidInput, Problem
from letterkit.findings.models import Encounter, Patient


def _nhs_numbers(patient: Patient) -> frozenset[str]:
    return frozenset(each.value.replace(" ", "") for each in patient.identifier if each.is_nhs_number)


def _family(patient: Patient) -> str:
    return (patient.name.family or patient.name.text or "").casefold()


def _another_patient(now: Patient, then: Patient) -> str | None:
    """What says that the two records are of two people, by field; None where nothing does."""
    mine, theirs = _nhs_numbers(now), _nhs_numbers(then)
    if mine and theirs:
        # The number decides: names change by marriage, and dates of birth are corrected.
        return "patient.identifier" if mine.isdisjoint(theirs) else None
    if now.birth_date and then.birth_date and now.birth_date != then.birth_date:
        return "patient.birthDate"
    if now.name.family and then.name.family and _family(now) != _family(then):
        return "patient.name"
    return None


def earlier_day(encounter: Encounter, previous: Encounter) -> date:
    """The day of an earlier encounter of the same patient.

    Raises `InvalidInput` where it has no day, where the day is not before that of the encounter, or where identifier,
    date of birth or family name say that it is of another patient. No identity is repeated in the message.
    """
    if field := _another_patient(encounter.patient, previous.patient):
        raise InvalidInput((
            Problem(f"previous.{field}", "differs from the encounter; give an earlier visit of the same patient"),
        ))  # fmt: skip
    if previous.visit is None:
        raise InvalidInput((
            Problem("previous.visit.date", "missing; an earlier visit needs its date to be compared with"),
        ))  # fmt: skip
    day = previous.visit.date
    if encounter.visit is not None and day >= encounter.visit.date:
        raise InvalidInput((
            Problem("previous.visit.date", f"{day} is not before the visit of the encounter, {encounter.visit.date}; "
                    "were the two files exchanged?"),
        ))  # fmt: skip
    return day
