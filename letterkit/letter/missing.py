"""What the outpatient letter record standard makes mandatory and an encounter does not hold.

Cardinalities: NHS message profile "ITK3 Outpatient Letter" 2.9.0, which follows the PRSB outpatient letter standard
(confirmed). A letter says what is missing; it is never left out in silence.
"""

from __future__ import annotations

from collections.abc import Callable

from letterkit.findings.models import Encounter

_MANDATORY: tuple[tuple[str, Callable[[Encounter], object]], ...] = (
    ("date of birth", lambda e: e.patient.birth_date),
    ("patient's address", lambda e: e.patient.address),
    ("general practice", lambda e: e.gp_practice),
    ("date of contact", lambda e: e.visit),
    ("responsible professional", lambda e: (e.visit and e.visit.responsible) or e.author),
    ("clinical summary", lambda e: e.impression),
    ("allergies and adverse reactions", lambda e: e.allergies is not None),
    ("person completing the record", lambda e: e.author),
    ("role of the person completing the record", lambda e: e.author is None or e.author.role),
    ("professional identifier of the author", lambda e: e.author is None or e.author.identifier),
)


def missing_elements(encounter: Encounter) -> tuple[str, ...]:
    """The mandatory elements that were not supplied, in the order of the standard's headings."""
    return tuple(name for name, supplied in _MANDATORY if not supplied(encounter))
