"""The catalogue in American English: trade names and digits where they differ, and the spelling of every wording."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import lru_cache
from types import MappingProxyType
from typing import Any, TypeVar

from letterkit.catalogue.load import Catalogue, catalogue
from letterkit.catalogue.model import Definition, Item
from letterkit.catalogue.traps import traps
from letterkit.kept import kept

_D = TypeVar("_D", bound=Definition)
_WORDS = frozenset(
    {"name", "plural", "short", "patient", "patient_plural", "noun", "subject", "positive", "negative", "equivocal",
     "doctor", "plain", "explanation"}
)  # fmt: skip


def spelling(pairs: Mapping[str, str]) -> Callable[[str], str]:
    """A function that spells a text the American way, word by word, keeping capitals."""
    pattern = re.compile(
        "|".join(re.escape(word) for word in sorted(pairs, key=len, reverse=True)) or r"(?!)", re.IGNORECASE
    )

    def one(match: re.Match[str]) -> str:
        word = pairs[match[0].casefold()]
        return word.capitalize() if match[0][0].isupper() else word

    return lambda text: pattern.sub(one, text)


def _respelt(value: Any, spell: Callable[[str], str], *, words: bool = False) -> Any:
    """The words of a definition respelt; slugs, sources and synonyms stay as they are."""
    if isinstance(value, Definition):
        changed = {
            name: new
            for name in type(value).model_fields
            if (old := getattr(value, name)) != (new := _respelt(old, spell, words=name in _WORDS))
        }
        return value.model_copy(update=changed) if changed else value
    if isinstance(value, str) and words and type(value) is str:
        return spell(value)
    if isinstance(value, tuple):
        return tuple(_respelt(each, spell) for each in value)
    if isinstance(value, dict) and all(isinstance(each, str) for each in value.values()):
        return {key: spell(each) for key, each in value.items()}
    return value


def _all(definitions: Mapping[str, _D], spell: Callable[[str], str]) -> Mapping[str, _D]:
    return MappingProxyType({slug: _respelt(each, spell) for slug, each in definitions.items()})


def _american_item(item: Item) -> Item:
    """An item under its American trade name, which takes the place of the British one in the wording."""
    if item.us_name is None:
        return item
    us_name, wording = item.us_name, item.doctor
    changed = {
        field: words.replace(item.name, us_name)
        for field in ("noun", "plural", "subject")
        if (words := getattr(wording, field)) and item.name in words
    }
    if wording.plural and "noun" in changed:
        changed["plural"] = f"{changed['noun']}s"
    return item.model_copy(update={"name": us_name, "doctor": wording.model_copy(update=changed)})


@lru_cache(maxsize=4)
def american(british: Catalogue) -> Catalogue:
    """The same catalogue with American words; slugs, sites and values are untouched."""
    if british is catalogue():
        return kept("catalogue-american", ("letterkit.catalogue",), lambda: _american(british))
    return _american(british)


def _american(british: Catalogue) -> Catalogue:
    spell = spelling({pair.british: pair.american for pair in traps().spellings})
    digits = {
        slug: digit.model_copy(
            update={"name": digit.us_name, "plural": f"{digit.us_name}s", "short": digit.us_name.split()[0],
                    "patient": digit.us_name, "patient_plural": f"{digit.us_name}s"}
        ) if digit.us_name else digit
        for slug, digit in british.digits.items()
    }  # fmt: skip
    sites = {
        slug: site.model_copy(update={"name": site.name.replace(
            british.digits[site.digit].name, digits[site.digit].name)}) if site.digit else site
        for slug, site in british.sites.items()
    }  # fmt: skip
    items = {slug: _american_item(item) for slug, item in british.items.items()}
    return replace(
        british,
        digits=MappingProxyType(digits),
        sites=_all(sites, spell),
        rows=_all(british.rows, spell),
        plain_sites=_all(british.plain_sites, spell),
        scales=_all(british.scales, spell),
        items=_all(items, spell),
        problems=_all(british.problems, spell),
        cautions=_all(british.cautions, spell),
        deferrals=_all(british.deferrals, spell),
    )


def in_language(catalogue: Catalogue, language: str) -> Catalogue:
    """The catalogue in the words of a letter's language: `en-GB` or `en-US`."""
    return american(catalogue) if language == "en-US" else catalogue
