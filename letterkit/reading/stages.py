"""Whole stages of an examination: normal by exception, neurovascularly intact, or not examined, and never more."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Stage
from letterkit.reading.context import Setting
from letterkit.reading.cover import Cover
from letterkit.reading.marks import Mark
from letterkit.reading.placenames import Piece
from letterkit.reading.places import Places, sides_of
from letterkit.reading.result import ReadFinding, ReadStage
from letterkit.reading.segments import Segment
from letterkit.reading.sites import parse
from letterkit.reading.texts import Texts
from letterkit.reading.words import Words

_OTHERWISE = ("otherwise normal", "recorded as normal", "otherwise unremarkable", "otherwise nad")
_SUBJECT = re.compile(r"^(?:on (?:the (?:right|left)|both sides|either side),\s*)")
_SIDED = re.compile(r"\s+(?:on (?:the (?:right|left)|both sides|either side)|of both hands)$")
_PLACING = frozenset({"piece", "side", "value", "joiner", "filler"})
_PARTS = re.compile(r", | and ")
_ALSO_TERMS = frozenset({
    "range of movement", "range of motion", "rom", "sensation", "sensory", "motor", "reflexes", "perfusion", "pulses",
    "coord", "coordination", "station", "skin", "appearance",
})  # fmt: skip
_NOT_DONE = frozenset({"unexamined", "declined"})
_PREDICATE = re.compile(
    r"\s*\b(?:was|were|is|are)?\s*\b(?:otherwise (?:normal|unremarkable|nad)|recorded as normal|not (?:examined|tested"
    r"|assessed|performed|done|measured)|declined)\b"
)


@dataclass(slots=True)
class Result:
    """What a note has given so far."""

    findings: list[ReadFinding] = field(default_factory=list)
    normal: list[ReadStage] = field(default_factory=list)
    not_examined: list[ReadStage] = field(default_factory=list)


def _sited(mark: Mark) -> Mark:
    """A mark; in place of a term whose words say where, that place."""
    if mark.kind != "term" or mark.term is None or not mark.term.site:
        return mark
    return Mark("piece", mark.start, mark.end, piece=Piece("site", (mark.term.site,)), text=mark.text)


def places_of(marks: Sequence[Mark], catalogue: Catalogue) -> Places | None:
    """The places that marks name together; None where they name none. 'Wrist range of motion' names the wrist."""
    named = [_sited(mark) for mark in marks if mark.kind in _PLACING or (mark.term is not None and mark.term.site)]
    if not any(mark.kind in {"piece", "side"} for mark in named):
        return None
    return parse(named, catalogue)


class StageReader:
    """Reads statements about whole stages."""

    def __init__(self, catalogue: Catalogue, words: Words) -> None:
        self._catalogue = catalogue
        self._words = words

    def read(
        self, text: str, segment: Segment, current: list[Mark], texts: Texts, setting: Setting, around: Places | None,
        result: Result, cover: Cover, used: set[int],
    ) -> bool:  # fmt: skip
        """Whole stages, normal by exception or not examined. True where the sentence says nothing else."""
        body = text[segment.start : segment.end]
        folded = body.casefold()
        otherwise = any([phrase in folded for phrase in _OTHERWISE])  # noqa: C419 - quicker than a generator
        whole = otherwise or not texts.kinds.isdisjoint(_NOT_DONE)
        whole = whole or "neurovascular" in [mark.statement for mark in current]
        if not whole and any([mark.start >= segment.label for mark in texts.terms]):  # noqa: C419 - quicker
            return False
        side = sides_of((places_of(current, self._catalogue) or Places()).side) or (
            sides_of(around.side) if around else None
        )
        if otherwise:
            stages = self._named_stages(folded, setting)
            if stages:
                for stage in stages:
                    self._normal(stage, side, segment.start, segment.end, result)
                cover.add(segment.start, segment.end, "read")
                used.update(id(mark) for mark in current)
                return True
        if not texts.kinds.isdisjoint(_NOT_DONE) and _PREDICATE.search(folded):
            self._unexamined_stages(segment, folded, current, side, result, cover, used)
            if used and not any(mark.kind == "term" and id(mark) not in used for mark in current):
                return True
            current[:] = [mark for mark in current if id(mark) not in used]
        for mark in current:
            if mark.statement == "neurovascular":
                self._normal(Stage.NEUROVASCULAR, side, mark.start, mark.end, result)
                cover.add(mark.start, mark.end, "read")
                used.add(id(mark))
        if any(mark.kind == "term" and mark.start >= segment.label for mark in current):
            return False
        if not self._under_heading(segment, current, setting, side, result):
            return False
        cover.add(segment.start, segment.end, "read")
        used.update(id(mark) for mark in current)
        return True

    def _under_heading(
        self, segment: Segment, current: Sequence[Mark], setting: Setting, side: object, result: Result
    ) -> bool:  # fmt: skip
        """'Feel: NAD', 'Move: deferred': all that is said under the heading of a stage."""
        silent = {"filler", "joiner", "say"}
        telling = [mark for mark in current if mark.start >= segment.label and mark.kind not in silent]
        kinds = {mark.kind for mark in telling}
        if not setting.whole_stage or setting.stage is None:
            return False
        if "unexamined" in kinds and kinds <= {"unexamined", "side", "piece", "word", "declined"}:
            record: dict[str, object] = {"stage": setting.stage.value}
            if side:
                record["side"] = side
            result.not_examined.append(ReadStage(record, segment.start, segment.end))
            return True
        calm = all(mark.state is None or "normal" in mark.state.classes or mark.statement for mark in telling)
        if "state" in kinds and kinds <= {"state", "side", "piece"} and calm:
            self._normal(setting.stage, side, segment.start, segment.end, result)
            return True
        return False

    def _unexamined_stages(
        self,
        segment: Segment,
        folded: str,
        current: list[Mark],
        side: object,
        result: Result,
        cover: Cover,
        used: set[int],
    ) -> None:
        """Stages among what was not examined: 'grip strength on the left and palpation were not examined'."""
        predicate = _PREDICATE.search(folded)
        assert predicate is not None
        begins = _SUBJECT.match(folded)
        at = begins.end() if begins else 0
        for part in _PARTS.split(folded[at : predicate.start()]):
            bare = _SIDED.sub("", part.strip()).removeprefix("the ")
            if bare in self._words.stages and bare not in _ALSO_TERMS:
                start = segment.start + folded.index(part, at)
                named = _SIDED.search(part.strip())
                own = (
                    places_of([mark for mark in current if start <= mark.start < start + len(part)], self._catalogue)
                    if named
                    else None
                )
                record: dict[str, object] = {"stage": self._words.stages[bare]}
                if one := (sides_of(own.side) if own else side if begins else None):
                    record["side"] = one
                if any(mark.kind == "declined" for mark in current):
                    record["declined"] = True
                result.not_examined.append(ReadStage(record, start, segment.end))
                cover.add(start, segment.end, "read")
                used.update(id(mark) for mark in current if start <= mark.start < start + len(part))
                bracket = folded.find("(", predicate.end())
                if bracket >= 0:  # the reason, in the clinician's words
                    used.update(id(mark) for mark in current if mark.start >= segment.start + bracket)

    def _named_stages(self, folded: str, setting: Setting) -> list[Stage]:
        """Stages that are the whole subject of 'otherwise normal' or 'not examined', or that of the heading."""
        before = _SUBJECT.sub("", folded, count=1)
        before = _PREDICATE.split(before, maxsplit=1)[0].strip(" ,.:")
        before = _SIDED.sub("", before)
        parts = [
            part.strip().removeprefix("the ")
            for chunk in before.split(",")
            for part in chunk.split(" and ")
            if part.strip()
        ]
        if not parts and setting.stage is not None and setting.whole_stage:
            return [setting.stage]
        if not all(part in self._words.stages for part in parts):
            return []
        return list(dict.fromkeys(Stage(self._words.stages[part]) for part in parts))

    def _normal(self, stage: Stage, side: object, start: int, end: int, result: Result) -> None:
        record: dict[str, object] = {"stage": stage.value}
        if side:
            record["side"] = side
        result.normal.append(ReadStage(record, start, end))
