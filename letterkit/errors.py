"""What can go wrong, said so that the reader can mend it.

Every message is one line: the place first, then what was given, then what is allowed or how to mend it. An error
pickles, so it survives a process pool, and it never carries more of a record than the one value it speaks of.
"""

from __future__ import annotations


class LetterkitError(Exception):
    """Base of every error this package raises on purpose."""


class CatalogueError(LetterkitError, ValueError):
    """The catalogue's data is broken: names the file, the item and the reason."""


class Problem:
    """One fault of an input: where it stands, what is wrong with it and what would mend it."""

    __slots__ = ("message", "path")

    def __init__(self, path: str, message: str) -> None:
        self.path = path
        self.message = message

    def __str__(self) -> str:
        return f"{self.path}: {self.message}" if self.path else self.message

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Problem) and (self.path, self.message) == (other.path, other.message)

    def __hash__(self) -> int:
        return hash((self.path, self.message))

    def __repr__(self) -> str:
        return f"Problem({self.path!r}, {self.message!r})"


class InvalidInput(LetterkitError, ValueError):
    """An encounter, option or file was refused; `problems` lists every fault found, each with its place."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__(problems)
        self.problems = problems

    def __str__(self) -> str:
        return "\n".join(str(problem) for problem in self.problems)


class InvalidValue(LetterkitError, ValueError):
    """A number or grade lies outside what its instrument can give."""


class MissingValue(LetterkitError, ValueError):
    """A measure cannot be computed because a required item was not recorded."""


class LetterheadError(LetterkitError, ValueError):
    """A letterhead or template cannot be used: names the file, the part and the remedy."""


class LetterWithheld(LetterkitError, RuntimeError):
    """A finished letter does not give back the facts it was made from, and is not released."""
