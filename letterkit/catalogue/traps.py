"""Short forms that mean more than one thing, statements that cover much at once, look-alikes and spelling pairs.

They stand in `data/traps.toml`; the reader of notes asks about them instead of guessing.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from typing import Any, Literal, TypeVar

from pydantic import Field, ValidationError

from letterkit.catalogue.model import Definition, Words
from letterkit.errors import CatalogueError

_D = TypeVar("_D", bound=Definition)


class Meaning(Definition):
    """One meaning of a short form: in full, what settles it, and the locale it holds in where usage decides."""

    means: Words
    when: Words
    locale: Literal["en-GB", "en-US"] | None = None


class Trap(Definition):
    """A short form with more than one meaning, and what a reader does about it."""

    term: Words
    case_sensitive: bool = False
    kind: Literal[
        "side", "digit", "joint", "polarity", "measure", "nerve", "disease", "operation", "other",
    ]  # fmt: skip
    readings: tuple[Meaning, ...] = Field(min_length=1)
    action: Literal["query", "unread", "expand"]

    def question(self) -> str:
        """What to ask of the clinician: the short form and what it may mean."""
        return f"{self.term} may mean {' or '.join(meaning.means for meaning in self.readings)}"


class GlobalStatement(Definition):
    """A statement that covers much at once: what it asserts, and what it is never expanded to."""

    terms: tuple[Words, ...] = Field(min_length=1)
    asserts: Words
    never: tuple[Words, ...] = ()


class LookAlike(Definition):
    """Forms one letter or one word order apart, of which none is ever corrected into another."""

    terms: tuple[Words, ...] = Field(min_length=2)


class Spelling(Definition):
    """The same word in its British and its American form."""

    british: Words
    american: Words


@dataclass(frozen=True, slots=True, eq=False)
class Traps:
    """All that `traps.toml` holds."""

    traps: tuple[Trap, ...]
    statements: tuple[GlobalStatement, ...]
    look_alikes: tuple[LookAlike, ...]
    spellings: tuple[Spelling, ...]


def _all(model: type[_D], kind: str, raw: dict[str, Any]) -> tuple[_D, ...]:
    made: list[_D] = []
    for index, entry in enumerate(raw.get(kind, [])):
        try:
            made.append(model.model_validate(entry))
        except ValidationError as error:
            first = error.errors(include_url=False, include_context=False)[0]
            place = ".".join(str(part) for part in first["loc"])
            named = entry.get("term") or f"number {index + 1}"
            raise CatalogueError(f"traps.toml: {kind} {named}: {place}: {first['msg']}") from error
    return tuple(made)


def load_traps(folder: Traversable) -> Traps:
    """The traps in `folder`. Raises `CatalogueError` with the entry and the reason at the first fault."""
    try:
        raw = tomllib.loads(folder.joinpath("traps.toml").read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise CatalogueError(f"traps.toml: not readable: {error}") from error
    traps = _all(Trap, "trap", raw)
    seen: set[str] = set()
    for trap in traps:
        if trap.term in seen:
            raise CatalogueError(f"traps.toml: trap {trap.term} is defined twice")
        seen.add(trap.term)
    return Traps(
        traps, _all(GlobalStatement, "global", raw), _all(LookAlike, "look_alike", raw), _all(Spelling, "spelling", raw)
    )


@cache
def traps() -> Traps:
    """The traps that ship with the package, loaded once a process."""
    return load_traps(resources.files("letterkit.catalogue") / "data")
