"""The shapes of what goes in and out, beside the encounter itself."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field
from pydantic.alias_generators import to_camel

from letterkit.findings.models import Answer, Line

LETTER_ID = r"^[0-9a-f]{32}$"


class Out(BaseModel):
    """Base of what goes out: camel case, closed."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", alias_generator=to_camel, populate_by_name=True, serialize_by_alias=True
    )


class In(BaseModel):
    """Base of what comes in: strict, closed, quiet about values in its errors."""

    model_config = ConfigDict(
        frozen=True, strict=True, extra="forbid", hide_input_in_errors=True, alias_generator=to_camel,
        populate_by_name=True,
    )  # fmt: skip


class StatementOut(Out):
    """One sentence of the letter with the findings it states."""

    text: str
    facts: list[str]
    findings: Annotated[list[str], Field(description="Places of the encounter, such as examination.findings[3]")]


class QueryOut(Out):
    """A question to the clinician about the record."""

    rule: str
    query_class: Annotated[str, Field(alias="class")]
    message: str
    findings: Annotated[list[str], Field(description="Places of the encounter it is about")]
    settle: str
    source: str
    open: Annotated[bool, Field(description="Whether no answer settles it")]
    blocks_approval: bool


class MeasureOut(Out):
    """A published score: its value with inputs and source, or why it cannot be given."""

    instrument: str
    side: str | None
    site: str | None
    value: str | None
    inputs: dict[str, Any]
    arithmetic: str | None
    missing: list[str]
    source: str
    limits: list[str]
    facts: list[str]


class NoticeOut(Out):
    """What a FHIR Bundle carried that the encounter cannot hold, or that is to be settled."""

    path: str
    kind: str
    message: str


class ApprovalOut(Out):
    """Who approved a letter, and when."""

    by: str
    role: str | None = None
    identifier: str | None = None
    at: datetime
    replaces: str | None = None


class Links(Out):
    """Where the letter is to be had."""

    self_: Annotated[str, Field(alias="self")]
    docx: str
    pdf: str
    html: str
    text: str
    fhir: str
    patient_copy: str
    versions: str


class LetterOut(Out):
    """A letter: its text, its sentences with the findings they state, the queries and the measures."""

    id: str | None
    version: int | None
    state: Literal["draft", "final"]
    kind: str | None
    at: datetime | None
    drafted: date
    digest: Annotated[str, Field(description="SHA-256 of the letter's words")]
    text: str
    statements: list[StatementOut]
    queries: list[QueryOut]
    measures: list[MeasureOut]
    notices: list[NoticeOut]
    approval: ApprovalOut | None
    links: Links | None


class ListedOut(Out):
    """A letter in a list: nothing of the patient."""

    id: str
    version: int
    state: Literal["draft", "final"]
    at: datetime
    digest: str


class LettersOut(Out):
    """A page of letters, newest first, and where the next page is."""

    letters: list[ListedOut]
    next: str | None


class VersionOut(Out):
    """One version of a letter."""

    version: int
    at: datetime
    kind: str
    by: str
    digest: str
    link: str


class VersionsOut(Out):
    """All versions of a letter, the first one first."""

    id: str
    state: Literal["draft", "final", "erased"]
    versions: list[VersionOut]


class ChecksOut(Out):
    """The queries about an encounter."""

    queries: list[QueryOut]
    notices: list[NoticeOut]


class SpanOut(Out):
    """A stretch of the note and what became of it."""

    start: int
    end: int
    kind: Literal["read", "not_current", "unread", "plain"]
    why: str


class ReadFindingOut(Out):
    """A finding that was read, where it stands in the note, and how sure the reading is."""

    finding: dict[str, Any]
    start: int
    end: int
    sure: Literal["certain", "needs_a_look"]
    reasons: list[str]


class ReadingOut(Out):
    """A note as it was read. `examination` goes into an encounter; `spans` cover the note from end to end."""

    examination: dict[str, Any]
    findings: list[ReadFindingOut]
    spans: list[SpanOut]
    unread: int


class AnswersIn(In):
    """Answers to queries; they stand in for all earlier answers of the letter to the same queries."""

    answers: Annotated[tuple[Answer, ...], Field(min_length=1, max_length=200)]


class ApprovalIn(In):
    """The approval of a letter by a named clinician. A person who is signed in approves in their own name."""

    by: Annotated[Line | None, Field(description="Needed from a key; a signed-in clinician's own name stands here")] = (
        None
    )
    role: Line | None = None
    identifier: Line | None = None
    replaces: Annotated[Line | None, Field(description="Digest or reference of the letter this one corrects")] = None


class NoteIn(In):
    """A pasted note."""

    text: Annotated[str, Field(min_length=1, max_length=50_000)]
    language: Literal["en-GB", "en-US"] = "en-GB"


class HealthOut(Out):
    """Whether the service lives, or can do its work."""

    status: Literal["ok"]
    stateless: bool


class ProblemTypeOut(Out):
    """What a type of problem means."""

    type: str
    title: str
    status: int


class RunLinks(Out):
    """Where a bulk run is to be looked at."""

    self_: Annotated[str, Field(alias="self")]
    events: str
    results: str


class BulkRunOut(Out):
    """A bulk run and how far it is."""

    id: str
    state: Literal["waiting", "reading", "drafting", "done", "failed"]
    rows: int
    letters: Annotated[int, Field(description="Letters that there are to draft")]
    drafted: int
    queried: Annotated[int, Field(description="Drafted, with queries")]
    refused: int
    waiting: int
    said: Annotated[str, Field(description="Why it could not begin or go on")]
    links: RunLinks
