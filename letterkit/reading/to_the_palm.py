"""'The small finger lacks 2 cm to the DPC', '1 cm short of the palm': how far a fingertip stays from the palm."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry
from letterkit.reading.placenames import Piece
from letterkit.reading.words import words

_PALM = frozenset({"palmar_crease", "palm"})
_BEHIND = 5  # marks from the palm back to the length
_SMALL = frozenset({"to", "of", "from", "the", "his", "her", "reaching", "touching", "away"})


def from_the_palm(marks: Sequence[Mark], texts: frozenset[str], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks with each gap between finger and palm as the distance that is measured there."""
    if not texts & words().sets["stays_off"] or any(mark.kind == "term" and _is_told(mark) for mark in marks):
        return marks
    made: list[Mark] = []
    for mark in marks:
        made.append(mark)
        length = _length(made) if mark.kind == "piece" and mark.piece is not None and _is_palm(mark.piece) else None
        off = _off(made, length) if length is not None else None
        if length is None or off is None:
            continue
        term = Mark("term", made[off].start, made[off].end, term=phrases["pulp to palm"].term, text="pulp to palm")
        there = Mark("filler", mark.start, mark.end, text="there")
        made[min(off, length) :] = [term, made[length], there]
    return made


def _is_palm(piece: Piece) -> bool:
    return bool(piece.slugs) and _PALM.issuperset(piece.slugs)


def _is_told(mark: Mark) -> bool:
    return mark.term is not None and "pulp_to_palm_distance" in mark.term.items


def _length(made: Sequence[Mark]) -> int | None:
    """Where the length stands from which only small words lead to the palm, which is the last mark."""
    for index in range(len(made) - 2, max(-1, len(made) - 2 - _BEHIND), -1):
        amount = made[index].amount
        if amount is not None and amount.unit in {"cm", "mm"}:
            return index
        if made[index].text not in _SMALL | words().sets["stays_off"]:
            return None
    return None


def _off(made: Sequence[Mark], length: int) -> int | None:
    """Where the word stands that says a finger does not come to the palm, just before the length or behind it."""
    before = length - 1
    while before > 0 and made[before].kind in {"filler", "certain"}:
        before -= 1  # 'lacks about 2 cm'
    near = [index for index in (before, *range(length + 1, len(made) - 1)) if index >= 0]
    return next((index for index in near if made[index].text in words().sets["stays_off"]), None)
