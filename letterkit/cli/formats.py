"""The formats a command can write: those made from a letter alone, and FHIR, which needs the record behind it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import click

from letterkit.findings.fhir_bundle import Notice
from letterkit.letter.approval import ApprovedLetter
from letterkit.letter.model import Letter
from letterkit.pipeline import Draft
from letterkit.render.base import FORMATS, Renderer, renderer

FORMAT_NAMES = sorted([*FORMATS, "fhir"])
_SHOWN_NOTICES = 100


@dataclass(frozen=True, slots=True)
class Writer:
    """Makes the file of a letter in the chosen format; `suffix` is how its name ends."""

    media_type: str
    suffix: str
    renderer: Renderer | None
    letterhead: Path | None

    def write(self, drafted: Draft, letter: Letter, approved: ApprovedLetter | None = None) -> bytes:
        """The file of a draft, of its patient's copy or, with its approval, of the final letter."""
        if self.renderer is not None:
            return self.renderer.render(letter)
        from letterkit.render.fhir import document

        return document(drafted, approved=approved, letter=letter, letterhead=self.letterhead)


def writer(format_name: str, letterhead: Path | None) -> Writer:
    """The writer of a format. Raises `LetterkitError` for a letterhead that cannot be used."""
    if format_name != "fhir":
        chosen = renderer(format_name, letterhead=letterhead)
        return Writer(chosen.media_type, chosen.suffix, chosen, letterhead)
    from letterkit.render.fhir import MEDIA_TYPE, SUFFIX

    renderer("docx", letterhead=letterhead)  # a letterhead that cannot be used is told before anything is drafted
    return Writer(MEDIA_TYPE, SUFFIX, None, letterhead)


def tell_notices(name: str, notices: tuple[Notice, ...]) -> None:
    """Prints on standard error what a Bundle carried that its encounter cannot hold, or that is to be settled."""
    shown = "standard input" if name == "-" else name
    for notice in notices[:_SHOWN_NOTICES]:
        click.echo(f"{shown}: {notice}", err=True)
    if len(notices) > _SHOWN_NOTICES:
        click.echo(f"{shown}: and {len(notices) - _SHOWN_NOTICES} more", err=True)
