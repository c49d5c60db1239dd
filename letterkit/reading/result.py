"""What a reading gives: findings with where they stand in the text and how sure they are, and the rest of the text."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, NamedTuple, TypeAlias

from letterkit.findings.sides import Sides

Sure: TypeAlias = Literal["certain", "needs_a_look"]
# The reason of a look at two findings of one place that say different things.
TOLD_IN_TWO_WAYS = "this is told in two ways"
# The reasons of a look at a range of movement of which one way is said to be full, and the other way is not told.
ONE_WAY: Mapping[str, str] = {
    way: f"only the {way} is said to be full, and the range of movement has another way"
    for way in ("flexion", "extension")
}
Kind: TypeAlias = Literal["read", "not_current", "unread", "plain"]


class Span(NamedTuple):
    """A stretch of the text, `start` to `end` in characters, with what became of it and why."""

    start: int
    end: int
    kind: Kind
    why: str = ""


@dataclass(frozen=True, slots=True)
class ReadFinding:
    """One line of the examination as it was read.

    `state` is the catalogue's (present, negative, reduced ...), `value` what goes into the record, `reasons` what a
    clinician should look at where it is not certain. `record` has the shape of an encounter's finding.
    """

    item: str
    side: Sides | None
    sites: tuple[str, ...]
    state: str
    value: Any
    qualifiers: Mapping[str, str | float | int]
    start: int
    end: int
    sure: Sure = "certain"
    reasons: tuple[str, ...] = ()
    words: str = ""  # the site in the note's own words where the catalogue could not place it
    figures: tuple[tuple[int, int], ...] = ()  # where its numbers stand in the note

    @property
    def is_clear(self) -> bool:
        """Whether the words leave no doubt of what they say, though another finding may say the opposite.

        For callers who check the whole record as well: the check asks about every such pair, and once is enough.
        """
        return self.sure == "certain" or self.reasons == (TOLD_IN_TWO_WAYS,)

    @property
    def record(self) -> dict[str, Any]:
        """The finding in the encounter's JSON shape; a side or site that is not known is left out."""
        record: dict[str, Any] = {"item": self.item}
        if self.side is not None:
            record["side"] = self.side
        if self.sites:
            record["site"] = self.sites[0] if len(self.sites) == 1 else list(self.sites)
        elif self.words:
            record["site"] = self.words
        record["value"] = self.value
        return record | dict(self.qualifiers)


@dataclass(frozen=True, slots=True)
class ReadStage:
    """A stage or item recorded as normal by exception or as not examined."""

    record: Mapping[str, Any]
    start: int
    end: int
    sure: Sure = "certain"
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Reading:
    """A note as it was read; `spans` cover its text exactly, in order."""

    text: str
    findings: tuple[ReadFinding, ...] = ()
    normal: tuple[ReadStage, ...] = ()
    not_examined: tuple[ReadStage, ...] = ()
    spans: tuple[Span, ...] = field(default=())

    @property
    def encounter(self) -> dict[str, Any]:
        """The examination in the encounter's JSON shape."""
        examination: dict[str, Any] = {"findings": [finding.record for finding in self.findings]}
        if self.normal:
            examination["normal"] = [dict(stage.record) for stage in self.normal]
        if self.not_examined:
            examination["notExamined"] = [dict(stage.record) for stage in self.not_examined]
        return {"examination": examination}

    @property
    def unread(self) -> tuple[Span, ...]:
        """What looks clinical and was not read: a clinician must look at it."""
        return tuple(span for span in self.spans if span.kind == "unread")

    @property
    def not_current(self) -> tuple[Span, ...]:
        """What was recognised and is not of this examination, with why."""
        return tuple(span for span in self.spans if span.kind == "not_current")

    def figures(self, finding: ReadFinding) -> str:
        """The numbers of a finding as the note writes them, before they were turned into the unit of the item."""
        return ", ".join(self.text[start:end].strip() for start, end in finding.figures)

    def quote(self, span: Span | ReadFinding | ReadStage) -> str:
        """The words of the note that a span or finding stands for."""
        return self.text[span.start : span.end]
