"""The glossary: words that clinicians write, each with one plain sentence for the patient. Loaded once a process."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from types import MappingProxyType

from pydantic import Field, ValidationError, field_validator

from letterkit.catalogue.model import Definition, Slug, Words
from letterkit.errors import CatalogueError

_LONGEST = 14  # words of an explanation


class Term(Definition):
    """One entry: how the word is written, and what it means in one short sentence."""

    slug: Slug
    terms: tuple[Words, ...] = Field(min_length=1)
    explanation: Words

    @field_validator("explanation")
    @classmethod
    def _is_one_short_sentence(cls, text: str) -> str:
        if len(text.split()) > _LONGEST or not text.endswith("."):
            raise ValueError(f"{text!r} must be one sentence of at most {_LONGEST} words")
        return text


def _key(term: str) -> str:
    return term if term.isupper() else term.casefold()


@dataclass(frozen=True, slots=True, eq=False)
class Glossary:
    """The entries by slug, and the pattern that finds any of their terms. Compared by identity."""

    entries: Mapping[str, Term]
    _slugs: Mapping[str, str]
    _pattern: re.Pattern[str]

    def found(self, text: str) -> Iterator[tuple[Term, int, int]]:
        """The entries whose terms stand in a text, in order, each with the start and end of the term."""
        for match in self._pattern.finditer(text):
            slug = self._slugs.get(match[0]) or self._slugs.get(match[0].casefold())
            if slug is not None:
                yield self.entries[slug], match.start(), match.end()

    def explained(self, text: str, known: set[str]) -> tuple[str, ...]:
        """The explanations of the terms that stand in a text for the first time; adds their slugs to `known`."""
        told = []
        for entry, _, _ in self.found(text):
            if entry.slug not in known:
                known.add(entry.slug)
                told.append(entry.explanation)
        return tuple(told)


def _pattern(slugs: Mapping[str, str]) -> re.Pattern[str]:
    """The longest term at a place counts. Capitals are matched as such; everything else in any case."""
    ordered = sorted(slugs, key=len, reverse=True)
    either = [re.escape(term) if term.isupper() else f"(?i:{re.escape(term)})" for term in ordered]
    return re.compile(rf"(?<![\w-])(?:{'|'.join(either)})(?![\w-])")


def load(file: Traversable) -> Glossary:
    """The glossary in `file`. Raises `CatalogueError` with entry and reason at the first fault."""
    try:
        raw = tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise CatalogueError(f"{file.name}: not readable as TOML: {error}") from error
    entries: dict[str, Term] = {}
    slugs: dict[str, str] = {}
    for index, given in enumerate(raw.get("term", [])):
        try:
            entry = Term.model_validate(given)
        except ValidationError as error:
            first = error.errors(include_url=False, include_context=False)[0]
            where = ".".join(str(part) for part in first["loc"])
            raise CatalogueError(
                f"{file.name}: term {given.get('slug', index + 1)}: {where}: {first['msg']}"
            ) from error
        if entry.slug in entries:
            raise CatalogueError(f"{file.name}: term {entry.slug} is defined twice")
        entries[entry.slug] = entry
        for term in entry.terms:
            other = slugs.setdefault(_key(term), entry.slug)
            if other != entry.slug:
                raise CatalogueError(f"{file.name}: term {entry.slug}: {term!r} also means {other}; remove it from one")
    if not entries:
        raise CatalogueError(f"{file.name}: holds no term")
    return Glossary(MappingProxyType(entries), MappingProxyType(slugs), _pattern(slugs))


@cache
def glossary() -> Glossary:
    """The glossary that ships with the package, loaded once a process."""
    return load(resources.files("letterkit.catalogue") / "data" / "glossary.toml")
