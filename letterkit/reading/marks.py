"""Marks: what a phrase or a number of a note means, each with its one meaning there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.phrases import StateWord, Term
from letterkit.reading.placenames import Piece
from letterkit.reading.values import Amount

NAMES_SIDE = frozenset({"side", "piece"})  # kinds of marks that may say a side
DASHES = frozenset("-–−")  # a minus, as people type it


@dataclass(slots=True, eq=False)
class Mark:
    """One phrase with its meaning. `kind` is term, piece, side, state, value, joiner, word, filler or a cue's name."""

    kind: str
    start: int
    end: int
    term: Term | None = None
    piece: Piece | None = None
    state: StateWord | None = None
    amount: Amount | None = None
    text: str = ""
    word: str = ""  # as it was matched, where `text` is what it stands for
    hints: tuple[str, ...] = ()
    look: str = ""
    says: tuple[str, ...] = ()  # currency cues: history, plan, ...
    statement: str = ""  # heading, neurovascular
    cues: tuple[str, ...] = field(default=())
    ambiguous: str = ""  # of a short form: why it is not read without others of its kind beside it


def beside(marks: Sequence[Mark]) -> Iterator[tuple[Mark | None, Mark, Mark | None]]:
    """Each mark with the one before it and the one after it."""
    yield from zip([None, *marks[:-1]], marks, [*marks[1:], None], strict=True)


def items_of(mark: Mark) -> tuple[str, ...]:
    """The items that a term may name; none for what is no term."""
    return mark.term.items if mark.kind == "term" and mark.term is not None else ()


def side_of(mark: Mark) -> str:
    """The side that a word, or a name with its side in it, says; nothing where it says none."""
    if mark.kind == "side":
        return mark.text
    return (mark.piece.side or "") if mark.kind == "piece" and mark.piece is not None else ""


def without_side(mark: Mark) -> Mark:
    """A part, whichever side its name says."""
    return mark if mark.piece is None else replace(mark, piece=replace(mark.piece, side=None))


def without_place(mark: Mark) -> Mark:
    """A part as none that is named: only the side stays that its name says."""
    if mark.piece is None:
        return mark
    return Mark("side" if mark.piece.side else "filler", mark.start, mark.end, text=mark.piece.side or mark.text)


def value_of(mark: Mark, catalogue: Catalogue) -> ValueKind | None:
    """In what the first item of a term is recorded: presence, a test's result, a grade. None for what is no term."""
    items = items_of(mark)
    return catalogue.items[items[0]].value if items else None
