"""The letter as a value: a closed set of frozen nodes, with the facts behind each sentence.

A renderer matches on the node's class and must handle all of them; the type checker says so when one is forgotten.
Nothing here knows a file format: there are no tags, no styles of a word processor and no markup in the texts.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal, TypeAlias

from letterkit.errors import InvalidValue

Role: TypeAlias = Literal["body", "salutation", "subject", "note", "caution", "signature", "small"]


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence of the letter.

    `facts` are the ids of the recorded facts it states, in the order in which it states them; empty for words of the
    template, of a caution or of the clinician. `origin` says whose words they are, and `places` where in the encounter
    the clinician's own words stand, such as `plan[0]`.
    """

    text: str
    facts: tuple[str, ...] = ()
    origin: Literal["finding", "change", "score", "clinician", "template", "caution"] = "template"
    places: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Title:
    """What kind of letter this is; stands once, at the top."""

    text: str


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading of level 1 (sections) to 3; levels are never skipped."""

    level: Literal[1, 2, 3]
    text: str


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Sentences set after each other with a space between; `role` says what it is for, not how it looks."""

    sentences: tuple[Sentence, ...]
    role: Role = "body"


@dataclass(frozen=True, slots=True)
class Lines:
    """Short lines under each other that belong together: an address, an identity block."""

    lines: tuple[str, ...]
    role: Literal["sender", "recipient", "identity", "dates", "signature"]


@dataclass(frozen=True, slots=True)
class BulletList:
    """A list; each entry is one or more sentences."""

    entries: tuple[tuple[Sentence, ...], ...]
    ordered: bool = False


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a table; `facts` as in `Sentence`. An empty text is a cell with nothing recorded."""

    text: str
    facts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Table:
    """A table with one header row; the first column names the row. No cell is merged."""

    caption: str
    description: str  # for a reader who cannot see it
    header: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing as scalable vector graphics of our own making; `alt` says in words all that it shows.

    `svg` is one `svg` element with its size in points, which fetches nothing and holds no script.
    """

    svg: str
    alt: str


Block: TypeAlias = Title | Heading | Paragraph | Lines | BulletList | Table | Picture


@dataclass(frozen=True, slots=True)
class Properties:
    """What a file says of itself, never of the patient; `large_print` asks for text of 16 points or more."""

    title: str
    author: str
    language: Literal["en-GB", "en-US"]
    created: date
    status: Literal["Draft", "Final"]
    large_print: bool = False


@dataclass(frozen=True, slots=True)
class Remark:
    """A query about the record, shown beside a draft: it is for the clinician and no part of the letter.

    `rule` and `query_class` name the rule, `settle` says what would settle it, `facts` are the ids of the facts and
    `places` the places of the encounter it is about.
    """

    rule: str
    query_class: str
    text: str
    settle: str
    facts: tuple[str, ...]
    places: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Letter:
    """A letter ready to be rendered.

    `continuation` identifies the patient on every page after the first. `draft_mark` stands on every page of a letter
    nobody has approved, and is None in an approved one. `remarks` are the open queries, in a draft only: an approved
    letter cannot hold any, and making one raises InvalidValue.
    """

    properties: Properties
    blocks: tuple[Block, ...]
    continuation: str
    draft_mark: str | None
    remarks: tuple[Remark, ...] = ()

    def __post_init__(self) -> None:
        if self.remarks and self.draft_mark is None:
            raise InvalidValue("letter: a letter without draft mark holds queries about the record; leave them out")
