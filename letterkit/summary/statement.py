"""What a letter is going to say, before it is English: statements made of parts, each knowing its facts."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Literal

from letterkit.catalogue.model import Caution, Polarity, Stage
from letterkit.findings.facts import EarlierFact, Fact, NormalFact, Qualifiers, UnexaminedFact
from letterkit.findings.models import ScaleName
from letterkit.findings.sides import Side
from letterkit.findings.values import Value
from letterkit.measures.result import NotComputable, Result
from letterkit.summary.change import Change


class Tier(StrEnum):
    """Where a statement stands in the letter."""

    URGENT = "urgent"
    BEARING = "bearing"  # bears on the presenting problem
    REST = "rest"
    PERTINENT_NEGATIVE = "pertinent_negative"
    OTHER_NEGATIVE = "other_negative"


class Form(StrEnum):
    """How the parts of a statement belong together."""

    SINGLE = "single"
    CONTRAST = "contrast"  # the right side, then the left
    CHAIN = "chain"  # several states of one thing at one place


@dataclass(frozen=True, slots=True, order=True)
class PlaceRef:
    """One place: a side (None where none applies) and a site slug (None where the item's name says it all)."""

    site: str | None
    side: Side | None


@dataclass(frozen=True, slots=True)
class Part:
    """Items that share one state and one value, at places that were all recorded, with one fact each.

    Either every item holds at every place (`crossed`), or the items are one family of words whose sites differ
    (sensation in three nerve areas) and each place belongs to exactly one of them.
    """

    items: tuple[str, ...]
    places: tuple[PlaceRef, ...]
    state: str
    value: Value
    polarity: Polarity
    qualifiers: Qualifiers
    note: str | None
    facts: tuple[str, ...]
    crossed: bool = True


@dataclass(frozen=True, slots=True)
class Statement:
    """One thing to be said; `form` says how several parts belong together.

    `throughout` marks a normal result of several muscles: all that were tested, or all others where one was weak.
    """

    parts: tuple[Part, ...]
    tier: Tier
    stage: Stage
    form: Form
    throughout: Literal["all", "others"] | None = None

    @property
    def facts(self) -> tuple[str, ...]:
        """The ids of all facts it states, in the order of its parts."""
        return tuple(fact for part in self.parts for fact in part.facts)


@dataclass(frozen=True, slots=True)
class Measurement:
    """One row of the table of measurements: an item at a site, right and left, with earlier values, oldest first."""

    item: str
    site: str | None
    mode: str
    right: Fact | None
    left: Fact | None
    earlier_right: tuple[EarlierFact, ...]
    earlier_left: tuple[EarlierFact, ...]


@dataclass(frozen=True, slots=True)
class ChosenCaution:
    """A caution of the catalogue, the facts that called for it, and the digits or hands they lie in."""

    caution: Caution
    facts: tuple[str, ...]
    places: tuple[PlaceRef, ...]


@dataclass(frozen=True, slots=True)
class Score:
    """One published scale at one place: its outcome, and the facts it was worked out from.

    `counted` are the places that a count counts, `unrecorded` those it needs and the record does not speak of.
    """

    scale: ScaleName
    place: PlaceRef
    outcome: Result[Any] | NotComputable
    facts: tuple[str, ...] = ()
    counted: tuple[PlaceRef, ...] = ()
    unrecorded: tuple[PlaceRef, ...] = ()


@dataclass(frozen=True, slots=True)
class Summary:
    """Everything the letter says of the examination, in the order in which it says it."""

    statements: tuple[Statement, ...]
    otherwise_normal: tuple[NormalFact, ...]
    unexamined: tuple[UnexaminedFact, ...]
    measurements: tuple[Measurement, ...]
    cautions: tuple[ChosenCaution, ...]
    stages_with_findings: frozenset[Stage]
    changes: tuple[Change, ...] = ()
    scores: tuple[Score, ...] = ()

    def of(self, *tiers: Tier) -> tuple[Statement, ...]:
        """The statements of the given tiers, in order."""
        return tuple(statement for statement in self.statements if statement.tier in tiers)
