"""The kinds of letter, and the template of each."""

from __future__ import annotations

from pathlib import Path

from letterkit.findings.models import Encounter
from letterkit.letter.templates import has_template

DEFAULT_TEMPLATE = "letters/clinic.j2"
_LETTERS = {
    "new": "letters/new.j2", "follow-up": "letters/follow_up.j2", "discharge": "letters/discharge.j2",
    "urgent-referral": "letters/urgent_referral.j2",
}  # fmt: skip


def letter_template(encounter: Encounter, folder: Path | None = None) -> str:
    """The template of an encounter's letter: the kind that was chosen, else that of the visit, else the common one.

    A clinic whose folder holds only a common letter has that one for every kind.
    """
    kind = encounter.options.letter or (encounter.visit.kind if encounter.visit else None)
    name = _LETTERS.get(kind or "", DEFAULT_TEMPLATE)
    if folder is not None and not has_template(folder, name) and has_template(folder, DEFAULT_TEMPLATE):
        return DEFAULT_TEMPLATE
    return name
