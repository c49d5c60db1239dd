"""Code of a user of the package, which the type checker must accept as it stands."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from letterkit import check, draft
from letterkit.consistency.rule import Query
from letterkit.letter.model import Letter
from letterkit.pipeline import Draft


def letter_of(record: dict[str, Any]) -> bytes:
    """A letter as a Word document, from a record held as a dictionary."""
    return draft(record).render("docx")


def letter_from_text(text: str, templates: Path) -> str:
    """A letter as plain text, from JSON, with a clinic's own templates and a day of drafting."""
    made: Draft = draft(text, drafted=date(2026, 11, 20), templates=templates)
    return made.render("text").decode("utf-8")


def questions(record: bytes) -> list[tuple[str, str]]:
    """The rule and the words of every open query."""
    queries: tuple[Query, ...] = check(record)
    return [(query.rule, query.message) for query in queries]


def sentences(record: dict[str, Any]) -> list[str]:
    """The sentences that state findings, each traceable to its facts."""
    made = draft(record)
    stated: list[str] = []
    for text, facts in made.sentences():
        first: str = facts[0]
        stated.append(f"{first} {text}")
    return stated


def for_the_patient(record: dict[str, Any]) -> Letter:
    """The patient's copy of the same letter."""
    return draft(record).patient_copy()
