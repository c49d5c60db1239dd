"""The whole way: an encounter in, a checked and worded letter out. Knows no file and no command."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any, TypeAlias

from letterkit.catalogue import Catalogue, catalogue
from letterkit.catalogue.american import in_language
from letterkit.consistency.answers import open_queries
from letterkit.consistency.registry import check_record
from letterkit.consistency.rule import Query
from letterkit.errors import InvalidInput, LetterWithheld, Problem
from letterkit.findings.facts import Facts, expand, with_earlier_visit
from letterkit.findings.fhir_bundle import Notice
from letterkit.findings.models import Encounter
from letterkit.findings.previous import earlier_day
from letterkit.findings.read_input import parse_json, read_encounter
from letterkit.letter.compose import ApprovalWords, compose
from letterkit.letter.model import Letter, Paragraph, Picture
from letterkit.render.base import renderer
from letterkit.summary.scores import scores
from letterkit.summary.select import summarise
from letterkit.summary.statement import Summary

Given: TypeAlias = Encounter | Mapping[str, Any] | str | bytes


@dataclass(frozen=True, slots=True)
class Draft:
    """A draft letter with everything that was known on the way to it.

    `queries` are those still open, `settled` those that an answer settles. `notices` say what a FHIR Bundle carried
    that its encounter cannot hold, or that is to be settled.
    """

    encounter: Encounter
    facts: Facts
    summary: Summary
    letter: Letter
    queries: tuple[Query, ...]
    drawing: Picture | None = None
    notices: tuple[Notice, ...] = ()
    settled: tuple[Query, ...] = ()

    def render(self, format_name: str = "docx") -> bytes:
        """The letter as a file of that format: docx, html, pdf, text, or fhir with the DOCX inside."""
        if format_name == "fhir":
            from letterkit.render.fhir import document  # noqa: PLC0415 - only where it is asked for

            return document(self)
        return renderer(format_name).render(self.letter)

    def patient_copy(self, templates: Path | None = None, *, approval: ApprovalWords | None = None) -> Letter:
        """The letter to the patient, in plain English, from the same facts; `templates` as for `draft`.

        It is a draft, or final where the words of an approval are given. Raises `LetterWithheld` where its words
        contradict the facts it states.
        """
        from letterkit.letter.patient import compose_patient_copy  # noqa: PLC0415 - only where it is asked for
        from letterkit.reading.patient_copy import check_patient_copy  # noqa: PLC0415 - the reader is heavy

        copy = compose_patient_copy(
            self.encounter, self.facts, self.summary, in_language(catalogue(), self.encounter.options.language),
            drafted=self.letter.properties.created, folder=templates, approval=approval,
        )  # fmt: skip
        if faults := check_patient_copy(copy, self.facts):
            told = "\n".join(str(fault) for fault in faults)
            raise LetterWithheld(f"the patient's copy is withheld, for its words do not fit the record:\n{told}")
        return copy

    def sentences(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Every sentence that states findings of today, with the ids of the facts it states."""
        return tuple(
            (sentence.text, sentence.facts)
            for block in self.letter.blocks
            if isinstance(block, Paragraph)
            for sentence in block.sentences
            if sentence.facts and sentence.origin != "change"
        )


def receive(given: Given) -> tuple[Encounter, tuple[Notice, ...]]:
    """An encounter from a model, a mapping or JSON text, ours or a FHIR Bundle, with the notices about a Bundle.

    Raises `InvalidInput` with every fault found.
    """
    if isinstance(given, Encounter):
        return given, ()
    data = parse_json(given) if isinstance(given, (str, bytes)) else given
    if "resourceType" not in data:
        return read_encounter(data), ()
    from letterkit.findings.fhir import read_bundle  # noqa: PLC0415 - only where a Bundle is given

    read = read_bundle(data)
    return read.encounter, read.notices


def as_encounter(given: Given) -> Encounter:
    """As `receive`, without the notices. Raises `InvalidInput` with every fault found."""
    return receive(given)[0]


def _problem(encounter: Encounter, known: Catalogue) -> str | None:
    """The slug of the presenting problem. Raises `InvalidInput` for one the catalogue does not know."""
    if encounter.reason is None or encounter.reason.problem is None:
        return None
    slug = known.problem_terms.get(encounter.reason.problem.casefold())
    if slug is None:
        allowed = "; ".join(problem.name for problem in known.problems.values())
        raise InvalidInput((Problem("reason.problem", f"{encounter.reason.problem!r} is not known; known: {allowed}"),))
    return slug


def _facts(encounter: Encounter, previous: Given | None, known: Catalogue) -> Facts:
    """The facts of an encounter, with those of an earlier one as earlier values where it is given."""
    facts = expand(encounter, known)
    if previous is None:
        return facts
    before = as_encounter(previous)
    return with_earlier_visit(facts, expand(before, known), earlier_day(encounter, before))


def draft(
    given: Given,
    *,
    drafted: date | None = None,
    templates: Path | None = None,
    previous: Given | None = None,
) -> Draft:
    """A draft letter from an encounter.

    `drafted` is the date of drafting where the encounter does not give it; without either it is today. `templates` is
    a folder whose templates come before those that ship. `previous` is the encounter of an earlier visit of the same
    patient, whose findings become earlier values. Raises `InvalidInput` for a record that cannot be read, or is not of
    the same patient, `LetterheadError` for a template that cannot be used, and `LetterWithheld` for a letter that does
    not give back the facts it was made from when it is read.
    """
    encounter, notices = receive(given)
    before, older = receive(previous) if previous is not None else (None, ())
    known = catalogue()
    problem = _problem(encounter, known)
    facts = _facts(encounter, before, known)
    queries, settled = _asked(encounter, facts, known)
    words = in_language(known, encounter.options.language)
    summary = replace(summarise(facts, problem, words), scores=scores(encounter, facts, words))
    day = encounter.drafted or drafted or datetime.now().astimezone().date()
    drawing = _drawing(facts, words) if encounter.options.drawing else None
    letter = compose(encounter, summary, words, drafted=day, folder=templates, drawing=drawing, queries=queries)
    _read_back(letter, facts)
    return Draft(encounter, facts, summary, letter, queries, drawing, (*notices, *older), settled)


def _read_back(letter: Letter, facts: Facts) -> None:
    """Reads the finished letter again; there is no way around it, and a letter that says something else stays here."""
    from letterkit.reading.letter import read_letter_back  # noqa: PLC0415 - the reader is heavy, and `check` has no need

    if mismatches := read_letter_back(letter, facts):
        told = "\n".join(str(mismatch) for mismatch in mismatches)
        raise LetterWithheld(f"the letter is withheld, for its words do not give back the recorded findings:\n{told}")


def _asked(encounter: Encounter, facts: Facts, known: Catalogue) -> tuple[tuple[Query, ...], tuple[Query, ...]]:
    """The queries that are open, and those that an answer settles."""
    every = check_record(encounter, facts, known)
    still = open_queries(every, encounter)
    return still, tuple(query for query in every if query not in still)


def _drawing(facts: Facts, words: Catalogue) -> Picture | None:
    from letterkit.render.hands import draw_hands  # noqa: PLC0415 - only where a drawing is asked for

    return draw_hands(facts, words)


def check(given: Given, *, previous: Given | None = None) -> tuple[Query, ...]:
    """The unanswered queries about an encounter, urgent ones first; `previous` as for `draft`.

    Raises `InvalidInput` for a record that cannot be read.
    """
    return check_whole(given, previous=previous)[0]


def check_whole(given: Given, *, previous: Given | None = None) -> tuple[tuple[Query, ...], tuple[Query, ...]]:
    """As `check`, with the queries that an answer settles beside those that are open."""
    encounter = as_encounter(given)
    known = catalogue()
    _problem(encounter, known)
    return _asked(encounter, _facts(encounter, previous, known), known)
