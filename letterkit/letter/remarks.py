"""Queries beside a draft: as remarks of the letter, in the words a reader sees, and where in the letter each belongs.

A remark belongs to the first sentence that states one of its facts; failing that to a cell of a table, to the
clinician's own words it speaks of, to the lines of identity or dates, or to the heading of the findings.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple, TypeAlias, TypeVar

from letterkit.consistency.rule import Query
from letterkit.errors import InvalidValue
from letterkit.letter.model import (
    Block,
    BulletList,
    Cell,
    Heading,
    Letter,
    Lines,
    Paragraph,
    Remark,
    Sentence,
    Table,
    Title,
)
from letterkit.letter.templates import CLOSE, OPEN

HEADING = "Queries for the clinician"

# Block, then entry or row, then sentence or cell; nought where a block has no parts.
_Spot: TypeAlias = tuple[int, int, int]
Markup: TypeAlias = Callable[[tuple[int, ...]], str]
_Said = TypeVar("_Said", Sentence, Cell)
_FACT_PATH = re.compile(r"examination\.(findings|normal|notExamined)\[(\d+)\]")
_FACT_LETTER = {"findings": "f", "normal": "n", "notExamined": "u"}
# Where the letter says what stands under these names of the encounter.
_LINES = {"patient": "identity", "visit": "dates", "drafted": "dates", "author": "signature", "recipient": "recipient"}


def remarks_of(queries: Sequence[Query]) -> tuple[Remark, ...]:
    """The queries as remarks of a draft, in their order."""
    return tuple(
        Remark(query.rule, query.query_class.value, query.message, query.settle, query.facts, query.paths)
        for query in queries
    )


def told(remark: Remark) -> tuple[str, str, str]:
    """What a clinician reads of a remark: the question, what settles it, and how an answer names it."""
    places = f"; entries: {', '.join(remark.places)}" if remark.places else ""
    return remark.text, f"Settled by: {remark.settle}", f"Rule: {remark.rule} ({remark.query_class}){places}"


@dataclass(frozen=True, slots=True)
class Marked:
    """The blocks of a letter with a mark before and after each stretch of text that remarks belong to.

    `spots` are the numbers of the remarks, from 0, at each stretch in the order of the letter; `unplaced` those of a
    letter that has no words at all.
    """

    blocks: tuple[Block, ...]
    spots: tuple[tuple[int, ...], ...]
    unplaced: tuple[int, ...]

    def put(self, written: Sequence[str], opening: Markup, closing: Markup) -> list[str]:
        """What a renderer made of the blocks, in order, with the format's own markup in place of the marks.

        `opening` and `closing` give the markup for the remarks of one stretch. Raises InvalidValue for a letter whose
        texts hold the characters that serve as marks.
        """
        whole = "".join(written)
        if not whole.count(OPEN) == whole.count(CLOSE) == len(self.spots):
            raise InvalidValue("letter: a text holds U+E000 or U+E001, which no letter may hold; remove it")
        result = list(written)
        for mark, make in ((OPEN, opening), (CLOSE, closing)):
            markup = iter([make(spot) for spot in self.spots])
            for at, text in enumerate(written):
                for _ in range(text.count(mark)):
                    result[at] = result[at].replace(mark, next(markup), 1)
        return result


class _Stretch(NamedTuple):
    """A sentence or a cell of the letter, and where it stands."""

    spot: _Spot
    said: Sentence | Cell

    @property
    def rank(self) -> int:
        """How near it is to where the letter says what it states: sentences, then cells, then what was made of them."""
        if isinstance(self.said, Cell):
            return 1
        return 0 if self.said.origin == "finding" else 2

    @property
    def places(self) -> tuple[str, ...]:
        """The places of the encounter whose words it gives."""
        return self.said.places if isinstance(self.said, Sentence) else ()


def _stretches(blocks: Sequence[Block]) -> Iterator[_Stretch]:
    for index, block in enumerate(blocks):
        parts: Sequence[Sequence[Sentence | Cell]] = ()
        if isinstance(block, Paragraph):
            parts = (block.sentences,)
        elif isinstance(block, BulletList):
            parts = block.entries
        elif isinstance(block, Table):
            parts = block.rows
        for part, row in enumerate(parts):
            for at, said in enumerate(row):
                if said.text:
                    yield _Stretch((index, part, at), said)


class _Finder:
    """Finds the spot of each remark in one letter."""

    def __init__(self, blocks: Sequence[Block]) -> None:
        self._blocks = blocks
        stretches = list(_stretches(blocks))
        self._sentences = [each for each in stretches if isinstance(each.said, Sentence)]
        # A table is where a reader looks a figure up, and a change or score what was made of it; the sentence says it.
        self._stating = sorted((each for each in stretches if each.said.facts), key=lambda each: each.rank)

    def spot(self, remark: Remark) -> _Spot | None:
        """Where a remark belongs; None in a letter without words."""
        found = self._stated(set(remark.facts)) if remark.facts else None
        for path in remark.places if found is None else ():
            found = self._named(path)
            if found is not None:
                break
        return self._fallback() if found is None else found

    def _stated(self, facts: set[str]) -> _Spot | None:
        return next((each.spot for each in self._stating if not facts.isdisjoint(each.said.facts)), None)

    def _named(self, path: str) -> _Spot | None:
        if match := _FACT_PATH.match(path):
            fact = f"{_FACT_LETTER[match[1]]}{match[2]}"
            return next(
                (each.spot for each in self._stating if fact in {name.partition(".")[0] for name in each.said.facts}),
                None,
            )
        for each in self._sentences:
            if any(_within(path, place) for place in each.places):
                return each.spot
        role = _LINES.get(path.partition(".")[0])
        found = (i for i, b in enumerate(self._blocks) if isinstance(b, Lines) and b.role == role and "".join(b.lines))
        return next(((index, 0, 0) for index in found), None)

    def _fallback(self) -> _Spot | None:
        """The heading over the findings; without one, the first words of the letter."""
        first = min((each.spot[0] for each in self._stating), default=len(self._blocks))
        headings = [i for i, b in enumerate(self._blocks) if isinstance(b, Heading) and b.text and i < first]
        if self._stating and headings:
            return headings[-1], 0, 0
        for index, block in enumerate(self._blocks):
            if isinstance(block, Title | Heading) and block.text:
                return index, 0, 0
        return self._sentences[0].spot if self._sentences else None


def _within(path: str, place: str) -> bool:
    """Whether a path is a place of the encounter or stands within it."""
    return path == place or path.startswith((f"{place}.", f"{place}["))


def _mark_said(row: Sequence[_Said], at: int) -> tuple[_Said, ...]:
    marked = list(row)
    marked[at] = replace(marked[at], text=f"{OPEN}{marked[at].text}{CLOSE}")
    return tuple(marked)


def _mark(block: Block, part: int, at: int) -> Block:
    """A block with marks around one of its stretches."""
    match block:
        case Title() | Heading():
            return replace(block, text=f"{OPEN}{block.text}{CLOSE}")
        case Lines():
            first, *rest = f"{OPEN}{chr(10).join(block.lines)}{CLOSE}".split("\n")
            return replace(block, lines=(first, *rest))
        case Paragraph():
            return replace(block, sentences=_mark_said(block.sentences, at))
        case BulletList():
            entries = block.entries
            return replace(block, entries=(*entries[:part], _mark_said(entries[part], at), *entries[part + 1 :]))
        case Table():
            rows = block.rows
            return replace(block, rows=(*rows[:part], _mark_said(rows[part], at), *rows[part + 1 :]))
        case _:
            return block


def marked(letter: Letter) -> Marked:
    """The blocks of a draft, marked where its remarks belong."""
    finder = _Finder(letter.blocks)
    spots: dict[_Spot, list[int]] = {}
    unplaced: list[int] = []
    for number, remark in enumerate(letter.remarks):
        spot = finder.spot(remark)
        if spot is None:
            unplaced.append(number)
        else:
            spots.setdefault(spot, []).append(number)
    blocks = list(letter.blocks)
    for index, part, at in spots:
        blocks[index] = _mark(blocks[index], part, at)
    return Marked(tuple(blocks), tuple(tuple(spots[spot]) for spot in sorted(spots)), tuple(unplaced))
