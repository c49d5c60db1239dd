"""What the marks of a sentence say, asked for all of them at once: most sentences have hardly any of the forms read."""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.reading.marks import Mark


class Texts(frozenset[str]):
    """The texts of some marks; `kinds` are their kinds, `lines` the texts with a line break before and after each.

    `terms`, `sides` and `placed` are the marks of a term, of a side and with a piece, in order; `items` are the first
    items of the terms.

    Whether one of them ends, or begins, in some way is asked of `lines`: much quicker than of each of them.
    """

    __slots__ = ("items", "kinds", "lines", "marks", "placed", "sides", "terms")
    items: frozenset[str]
    kinds: frozenset[str]
    lines: str
    marks: list[Mark]
    placed: list[Mark]
    sides: list[Mark]
    terms: list[Mark]

    @classmethod
    def of(cls, marks: Sequence[Mark]) -> Texts:
        """Those of `marks`."""
        said = [mark.text for mark in marks]
        made = cls(said)
        made.marks = list(marks)  # a copy: what was asked of them is asked no more once they change
        made.kinds = kinds = frozenset([mark.kind for mark in marks])
        made.terms = [mark for mark in marks if mark.kind == "term"] if "term" in kinds else []
        made.sides = [mark for mark in marks if mark.kind == "side"] if "side" in kinds else []
        made.placed = [mark for mark in marks if mark.piece is not None]
        made.items = frozenset([mark.term.items[0] for mark in made.terms if mark.term is not None and mark.term.items])
        made.lines = "\n" + "\n".join(said) + "\n"
        return made

    def now(self, marks: Sequence[Mark]) -> Texts:
        """Those of `marks`, which are these where no mark has changed."""
        return self if self.marks == marks else Texts.of(marks)
