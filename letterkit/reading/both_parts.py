"""'Right: index and middle stiff, both swollen': 'both' is of the two parts just named, and of no two sides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, side_of, value_of
from letterkit.reading.places import OPPOSITE
from letterkit.reading.texts import Texts

_TWO = 2
_NAMED = frozenset({"digit"})
_EITHER = "'both' may be both sides or the two digits named"


def both_parts(marks: list[Mark], texts: Texts, catalogue: Catalogue) -> list[Mark]:
    """The marks of one sentence of one side with 'both' as the two digits that it names before.

    Of a test or a movement it may be both sides as well: 'right ring and little numb, Phalen's positive both'.
    """
    if "both" not in texts or len({side_of(mark) for mark in marks} & OPPOSITE.keys()) != 1:
        return marks
    at = next((at for at, mark in enumerate(marks) if mark.kind == "side" and mark.word == "both"), -1)
    named = _two_digits(marks[: max(at, 0)])
    if not named or (at + 1 < len(marks) and marks[at + 1].kind in {"piece", "side"}):
        return marks
    if not any(side_of(mark) in OPPOSITE for mark in marks[:at]):
        return marks
    begins = max((index for index in range(at) if marks[index].kind in {"joiner", "break"}), default=-1)
    where = marks[at]
    if any(value_of(mark, catalogue) is not ValueKind.PRESENCE for mark in _of_clause(marks, begins, at)):
        return [*marks[:at], replace(where, look=_EITHER), *marks[at + 1 :]]
    if any(mark in named for mark in marks[begins + 1 : at]) or marks[begins].text in {"and", "slash"}:
        again = [Mark("filler", where.start, where.end, text="of them")]  # 'tender over the index and middle, both'
    else:
        first, second = (replace(mark, start=where.start, end=where.end) for mark in named)
        again = [first, Mark("joiner", where.start, where.end, text="and"), second]
    return [*marks[:at], *again, *marks[at + 1 :]]


def _of_clause(marks: Sequence[Mark], begins: int, at: int) -> list[Mark]:
    """The terms beside 'both', up to the next joiner."""
    ends = next((index for index in range(at, len(marks)) if marks[index].kind in {"joiner", "break"}), len(marks))
    return [mark for mark in marks[begins + 1 : ends] if mark.kind == "term"]


def _two_digits(before: Sequence[Mark]) -> list[Mark]:
    """The two digits that are joined before: 'the ring and little fingers', 'MF + RF'; none where there are others."""
    digits = {mark.text: mark for mark in before if mark.piece is not None and mark.piece.kind in _NAMED}
    others = [mark for mark in before if mark.piece is not None and mark.piece.kind == "digits"]
    return list(digits.values()) if len(digits) == _TWO and not others else []
