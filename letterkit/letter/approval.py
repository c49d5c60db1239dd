"""Approval: a named clinician makes a final letter of a draft.

The final letter has the draft's findings and words, no draft mark, and a sentence that says who checked and approved it
and when. It is never made while a query about something impossible or contradictory is open. A correction is a new
letter that replaces the whole of an earlier one and names it.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import Protocol, assert_never

from pydantic import AwareDatetime, ValidationError, field_validator

from letterkit.catalogue import catalogue
from letterkit.catalogue.american import in_language
from letterkit.consistency.answers import blocks_approval
from letterkit.consistency.rule import Query
from letterkit.errors import InvalidInput, LetterheadError, Problem
from letterkit.findings.facts import Facts
from letterkit.findings.models import Encounter, Line, Record
from letterkit.letter.compose import ApprovalWords, compose
from letterkit.letter.display import short_date
from letterkit.letter.model import Block, BulletList, Heading, Letter, Lines, Paragraph, Picture, Sentence, Table, Title
from letterkit.prose.words import long_date
from letterkit.summary.statement import Summary

_DIGEST = re.compile(r"[0-9a-f]{64}")
_LIKE_A_DIGEST = re.compile(r"[0-9A-Fa-f]{32,}")
_SHOWN_OF_DIGEST = 16  # digits of it that a letter prints


class Completion(StrEnum):
    """How far a document has come: the codes of HL7 table 0271, completion status (confirmed)."""

    DICTATED = "DI"
    DOCUMENTED = "DO"
    IN_PROGRESS = "IP"
    INCOMPLETE = "IN"
    PRE_AUTHENTICATED = "PA"
    AUTHENTICATED = "AU"
    LEGALLY_AUTHENTICATED = "LA"


class Approval(Record):
    """Who approved a letter, in what role and when, and which earlier letter it replaces.

    `identifier` is that of the professional's register; it goes with the letter as data and is not printed. `at` has
    its offset from UTC. `replaces` is the content digest of the earlier letter, or a reference the clinic knows it by.
    """

    by: Line
    role: Line | None = None
    identifier: Line | None = None
    at: AwareDatetime
    replaces: Line | None = None

    @field_validator("replaces")
    @classmethod
    def _whole_digest(cls, value: str | None) -> str | None:
        if value and _LIKE_A_DIGEST.fullmatch(value) and not _DIGEST.fullmatch(value.lower()):
            raise ValueError(f"{len(value)} hexadecimal digits are no content digest; give all 64, or a reference")
        return value.lower() if value and _LIKE_A_DIGEST.fullmatch(value) else value

    def words(self, *, plain: bool = False) -> ApprovalWords:
        """The sentences of the letter that say this; `plain` for a patient, with the date in its long form."""
        who = f"{self.by}, {self.role}," if self.role else self.by
        day = long_date(self.at.date()) if plain else short_date(self.at.date())
        statement = f"Checked and approved by {who} on {day} at {self.at:%H:%M}."
        if self.replaces is None:
            return ApprovalWords(Sentence(statement))
        named = (
            f"content digest {self.replaces[:_SHOWN_OF_DIGEST]}"
            if _DIGEST.fullmatch(self.replaces)
            else f"reference {self.replaces}"
        )
        correction = f"This letter is a correction. It replaces the whole of an earlier letter ({named})."
        return ApprovalWords(Sentence(statement), Sentence(correction))


@dataclass(frozen=True, slots=True)
class ApprovedLetter:
    """A final letter with its approval; `digest` is the SHA-256 of its words, in hexadecimal digits.

    `patient` is the copy for the patient approved with it, None where only the letter was asked for.
    """

    letter: Letter
    approval: Approval
    digest: str
    completion: Completion = Completion.AUTHENTICATED
    patient: Letter | None = None

    @property
    def replaces(self) -> str | None:
        """The content digest or reference of the letter that this one replaces as a whole."""
        return self.approval.replaces


class Approvable(Protocol):
    """A draft letter with what was known on the way to it."""

    @property
    def encounter(self) -> Encounter:
        """The record."""

    @property
    def facts(self) -> Facts:
        """What the examination asserts."""

    @property
    def summary(self) -> Summary:
        """What of it is told, in order."""

    @property
    def letter(self) -> Letter:
        """The draft letter."""

    @property
    def queries(self) -> tuple[Query, ...]:
        """The unanswered queries about the record."""

    def patient_copy(self, templates: Path | None = None, *, approval: ApprovalWords | None = None) -> Letter:
        """The letter to the patient from the same facts, final where the words of an approval are given."""

    @property
    def drawing(self) -> Picture | None:
        """The drawing of the findings, where the letter has one."""


def unanswered(draft: Approvable) -> tuple[Query, ...]:
    """The queries that stand between a draft and its approval: impossible or contradictory, and not answered."""
    return tuple(query for query in draft.queries if blocks_approval(query))


def completion_of_draft(draft: Approvable) -> Completion:
    """How far a draft has come: ready for the clinician to approve or, with such a query, incomplete."""
    return Completion.INCOMPLETE if unanswered(draft) else Completion.PRE_AUTHENTICATED


def _texts(block: Block) -> Iterator[str]:
    match block:
        case Title() | Heading():
            yield block.text
        case Paragraph():
            yield " ".join(sentence.text for sentence in block.sentences)
        case Lines():
            yield from block.lines
        case BulletList():
            for entry in block.entries:
                yield " ".join(sentence.text for sentence in entry)
        case Table():
            yield from (block.caption, *block.header)
            for row in block.rows:
                yield from (cell.text for cell in row)
        case Picture():
            yield block.alt
        case _ as never:
            assert_never(never)


def content_digest(letter: Letter) -> str:
    """The SHA-256 of a letter's words with the patient's identity, in 64 hexadecimal digits.

    Spaces and line breaks do not count, since formats differ in them; the place of an empty cell does.
    """
    texts = [letter.continuation, *(text for block in letter.blocks for text in _texts(block))]
    return hashlib.sha256("\n".join(" ".join(text.split()) for text in texts).encode()).hexdigest()


def _sentences(letter: Letter) -> Iterator[Sentence]:
    for block in letter.blocks:
        if isinstance(block, Paragraph):
            yield from block.sentences
        elif isinstance(block, BulletList):
            yield from (sentence for entry in block.entries for sentence in entry)


def _stated(letter: Letter) -> tuple[object, ...]:
    """What a letter says of the patient: every sentence that is not the template's own, every table and picture."""
    tables = tuple(block for block in letter.blocks if isinstance(block, Table | Picture))
    return (*(sentence for sentence in _sentences(letter) if sentence.origin != "template"), *tables)


def _check_final(draft: Letter, final: Letter, words: ApprovalWords) -> None:
    """Raise LetterheadError where a clinic's template makes something else of a final letter than was approved."""
    found = list(_sentences(final))
    for sentence, field in ((words.statement, "statement"), (words.correction, "correction")):
        if sentence is not None and sentence not in found:
            raise LetterheadError(
                f"template: the final letter leaves out the {field} of its approval; print {{{{ approval.{field} }}}}"
            )
    if _stated(draft) != _stated(final):
        raise LetterheadError(
            "template: the final letter does not state what the approved draft states; findings, the clinician's words "
            "and cautions may not depend on is_draft or approval"
        )


def _approval(
    draft: Approvable, by: str, role: str | None, identifier: str | None, at: datetime, replaces: str | None
) -> Approval:
    author = draft.encounter.author
    if author is not None and author.name.casefold() == " ".join(by.split()).casefold():
        role = role or author.role
        identifier = identifier or (author.identifier.value if author.identifier else None)
    try:
        return Approval(by=" ".join(by.split()), role=role, identifier=identifier, at=at, replaces=replaces)
    except ValidationError as error:
        faults = error.errors(include_url=False, include_input=False, include_context=False)
        problems = tuple(
            Problem(".".join(map(str, fault["loc"])), fault["msg"].removeprefix("Value error, ")) for fault in faults
        )
        raise InvalidInput(problems) from None


def approve(
    draft: Approvable,
    *,
    by: str,
    role: str | None = None,
    identifier: str | None = None,
    at: datetime,
    replaces: str | None = None,
    templates: Path | None = None,
) -> ApprovedLetter:
    """The final letter of a draft that a named clinician has checked.

    Role and identifier are those of the record where the approver is its author and they are not given. `templates` is
    the folder the draft was made with. Raises `InvalidInput` naming each unanswered query that stands in the way, or
    the value that cannot be used, and `LetterheadError` for a template that makes another letter of it.
    """
    problems = tuple(
        Problem(
            ", ".join(query.paths) or query.rule,
            f"{query.message} Before approval ({query.rule}): {query.settle} Or keep it, and record why in answers.",
        )
        for query in unanswered(draft)
    )
    if problems:
        raise InvalidInput(problems)
    approval = _approval(draft, by, role, identifier, at, replaces)
    drafted = draft.letter.properties.created
    if approval.at.date() < drafted:
        raise InvalidInput((
            Problem("at", f"{short_date(approval.at.date())} is before the letter was drafted, {short_date(drafted)}"),
        ))  # fmt: skip
    known = in_language(catalogue(), draft.encounter.options.language)
    drawing = draft.drawing
    checked = compose(
        draft.encounter, draft.summary, known, drafted=drafted, folder=templates, drawing=drawing, queries=draft.queries
    )
    if checked != draft.letter:
        raise InvalidInput((
            Problem("templates", "they do not give the letter that was checked; name the folder it was drafted with"),
        ))  # fmt: skip
    words = approval.words()
    letter = compose(
        draft.encounter, draft.summary, known, drafted=drafted, folder=templates, approval=words, drawing=drawing
    )
    _check_final(draft.letter, letter, words)
    patient = draft.patient_copy(templates, approval=approval.words(plain=True))
    return ApprovedLetter(letter, approval, content_digest(letter), patient=patient)
