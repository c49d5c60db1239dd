"""The parts of a sentence between its joiners and breaks, and marks that are said again in another part.

A mark that is said again stands for no characters of its own: what is shown as unread is asked of the first one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark

AGAIN = "again"  # the text of a break before a term that is said again
PARTS = frozenset({"joiner", "break"})  # the kinds of mark that stand between two parts


def part_begins(marks: Sequence[Mark], at: int) -> int:
    """Where the part begins that ends before `at`."""
    return next((each + 1 for each in range(at - 1, -1, -1) if marks[each].kind in PARTS), 0)


def part_ends(marks: Sequence[Mark], at: int) -> int:
    """Where the part ends that begins at `at`, or that `at` stands in."""
    return next((each for each in range(at, len(marks)) if marks[each].kind in PARTS), len(marks))


def said_at(marks: Sequence[Mark], at: int) -> list[Mark]:
    """The marks once more, said at a character."""
    return [replace(mark, start=at, end=at) for mark in marks]


def listed_at(marks: Sequence[Mark], at: int) -> list[Mark]:
    """The marks once more as a list, 'a, b and c', said at a character."""
    made: list[Mark] = []
    for index, mark in enumerate(said_at(marks, at)):
        made += [Mark("joiner", at, at, text="and" if index == len(marks) - 1 else "comma"), mark]
    return made[1:]


def break_at(at: int) -> Mark:
    """The break behind which a term is said again, where nothing parted the two."""
    return Mark("break", at, at, text=AGAIN)


def as_break(mark: Mark) -> Mark:
    """The same in the place of what joined the two."""
    return replace(mark, kind="break", text=AGAIN)


def in_place(marks: Sequence[Mark], where: Sequence[Mark]) -> list[Mark]:
    """The marks with the characters of those they take the place of: what reads on asks for ascending ones.

    What is moved forward reaches to its own last character, so that no word of it is shown as unread.
    """
    return [replace(mark, start=old.start, end=max(mark.end, old.end)) for mark, old in zip(marks, where, strict=True)]
