"""What the marks of a sentence say, asked for all of them at once: most sentences have hardly any of the forms read."""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.reading.marks import Mark


class Texts(frozenset[str]):
    """The texts of some marks; `kinds` are their kinds, `lines` the texts with a line break before and after each.

    `items` are the first items of the terms among them.

    Whether one of them ends, or begins, in some way is asked of `lines`: much quicker than of each of them.
    """

    __slots__ = ("items", "kinds", "lines", "marks")
    items: frozenset[str]
    kinds: frozenset[str]
    lines: str
    marks: list[Mark]

    @classmethod
    def of(cls, marks: Sequence[Mark]) -> Texts:
        """Those of `marks`."""
        said = [mark.text for mark in marks]
        made = cls(said)
        made.marks = list(marks)  # a copy: what was asked of them is asked no more once they change
        made.kinds = frozenset([mark.kind for mark in marks])
        terms = [mark.term for mark in marks if mark.kind == "term"]
        made.items = frozenset([term.items[0] for term in terms if term is not None and term.items])
        made.lines = "\n" + "\n".join(said) + "\n"
        return made

    def now(self, marks: Sequence[Mark]) -> Texts:
        """Those of `marks`, which are these where no mark has changed."""
        return self if self.marks == marks else Texts.of(marks)
