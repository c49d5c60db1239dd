"""Sites as people write them: slugs, names, 'IF MCPJ', 'index to little MCP joints', 'D2-D4 PIP'."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item

_RANGE = {"to", "-", "–", "through"}
_JOINERS = {"and", ",", "/", "&", "+", "or"}
_FILLERS = {"of", "the", "joint", "joints", "finger", "fingers", "digit", "digits", "at"}
_ALL = {"all", "each", "every"}
_TOKEN = re.compile(r"[A-Za-z0-9']+|[-–,/&+]")
_UNSETTLED = {
    "lf": "LF is the little finger in Britain and the long (middle) finger in America; write 'little' or 'middle'",
    "left": "give the side under side, not in the site",
    "right": "give the side under side, not in the site",
    "mp": "MP may be the metacarpophalangeal joint or the middle phalanx; write 'MCP' or 'middle phalanx'",
}


class UnreadSite(ValueError):
    """The words do not name a site; the message says what would."""


@dataclass(frozen=True, slots=True)
class _Vocabulary:
    exact: Mapping[str, tuple[str, ...]]
    digits: Mapping[tuple[str, ...], str]
    rows: Mapping[tuple[str, ...], str]


def _words(text: str) -> tuple[str, ...]:
    return tuple(token.casefold() for token in _TOKEN.findall(text))


@lru_cache(maxsize=4)
def _vocabulary(catalogue: Catalogue) -> _Vocabulary:
    exact: dict[str, tuple[str, ...]] = {}
    for site in catalogue.sites.values():
        for name in (site.slug, site.name):
            exact[name.casefold()] = (site.slug,)
    for plain in catalogue.plain_sites.values():
        for name in (plain.plural, *plain.aliases):
            exact.setdefault(name.casefold(), (plain.slug,))
    for group in catalogue.groups.values():
        for name in (group.slug, *group.aliases):
            exact.setdefault(name.casefold(), group.sites)
    digits: dict[tuple[str, ...], str] = {}
    for digit in catalogue.digits.values():
        for name in (digit.slug, digit.name, digit.plural, digit.short, *digit.aliases):
            digits[_words(name)] = digit.slug
    rows: dict[tuple[str, ...], str] = {}
    for row in catalogue.rows.values():
        for name in (row.slug, row.name, row.plural, *row.aliases, *(f"{alias}s" for alias in row.aliases)):
            rows[_words(name)] = row.slug
    return _Vocabulary(exact, digits, rows)


def _longest(words: Sequence[str], at: int, names: Mapping[tuple[str, ...], str]) -> tuple[str, int] | None:
    for length in range(min(6, len(words) - at), 0, -1):
        found = names.get(tuple(words[at : at + length]))
        if found is not None:
            return found, length
    return None


def _scan(text: str, vocabulary: _Vocabulary) -> tuple[list[str], list[str], bool]:
    """Rows and digits named in `text`, ranges as '..', and whether all are meant. Raises on a word it cannot place."""
    words = _words(text)
    rows: list[str] = []
    digits: list[str] = []
    everything = False
    at = 0
    while at < len(words):
        word = words[at]
        if found := _longest(words, at, vocabulary.digits):
            digits.append(found[0])
            at += found[1]
        elif found := _longest(words, at, vocabulary.rows):
            rows.append(found[0])
            at += found[1]
        elif word in _UNSETTLED:
            raise UnreadSite(_UNSETTLED[word])
        elif word in _RANGE:
            digits.append("..")
            at += 1
        elif word in _ALL:
            everything = True
            at += 1
        elif word in _JOINERS or word in _FILLERS:
            at += 1
        else:
            raise UnreadSite(f"{word!r} is not a site or digit")
    return rows, digits, everything


def _spread(digits: Sequence[str], catalogue: Catalogue) -> list[str]:
    """The digits named, ranges filled in. Raises for half a range and for one range after another."""
    order = sorted(catalogue.digits, key=lambda slug: catalogue.digits[slug].order)
    result: list[str] = []
    for index, digit in enumerate(digits):
        if digit != "..":
            result += [digit] if digit not in result else []
            continue
        if index == 0 or index + 1 >= len(digits) or ".." in {digits[index - 1], digits[index + 1]}:
            raise UnreadSite("a range needs two ends, as in 'index to ring'")
        if index > 1 and digits[index - 2] == "..":
            raise UnreadSite("one range follows another; part them with commas")
        first, last = sorted((order.index(digits[index - 1]), order.index(digits[index + 1])))
        result += [slug for slug in order[first : last + 1] if slug not in result]
    return [slug for slug in order if slug in result]


def _some(sites: Sequence[str], catalogue: Catalogue) -> str:
    shown = 6
    names = ", ".join(catalogue.sites[slug].name for slug in sites[:shown])
    return names + (f" and {len(sites) - shown} more" if len(sites) > shown else "")


def _row(rows: Sequence[str], text: str, item: Item, catalogue: Catalogue) -> str:
    """The row of sites that is meant: the one named, or the one that the item is recorded at."""
    carried = {row for slug in item.sites if (row := catalogue.sites[slug].row)}
    # The nail of an item of nails is the digit; 'all digits' of an item recorded at nails means all nails.
    named = {"digit" if "digit" in carried and catalogue.rows[row].name in item.name else row for row in rows}
    if "digit" not in carried:
        named -= {"digit"}
    if len(named) > 1:
        raise UnreadSite("names joints of two kinds; give them as a list of sites, one kind each")
    if named:
        return named.pop()
    if "digit" in carried:
        return "digit"
    if len(carried) == 1:
        return carried.pop()
    raise UnreadSite(f"{text!r} is not a site of {item.name}; allowed: {_some(item.sites, catalogue)}")


def _one(text: str, item: Item, catalogue: Catalogue) -> tuple[str, ...]:
    vocabulary = _vocabulary(catalogue)
    folded = " ".join(text.split()).casefold()
    exact = vocabulary.exact.get(folded)
    if exact and set(exact) <= set(item.sites):
        return exact
    rows: list[str] = []
    digits: list[str] = []
    everything = False
    if exact and not set(exact) <= set(catalogue.digits):
        raise UnreadSite(f"{text!r} is not a site of {item.name}; allowed: {_some(item.sites, catalogue)}")
    if exact:
        digits = list(exact)  # a group of digits
    else:
        rows, digits, everything = _scan(text, vocabulary)
    row = _row(rows, text, item, catalogue)
    available = catalogue.rows[row].digits
    named = _spread(digits, catalogue)
    if not named:
        if not everything and len(available) > 1:
            raise UnreadSite(f"says no digit; name them, or write 'all {catalogue.rows[row].plural}'")
        named = list(available)
    if missing := [slug for slug in named if slug not in available]:
        raise UnreadSite(f"the {catalogue.digits[missing[0]].name} has no {catalogue.rows[row].name}")
    return tuple(slug if row == "digit" else f"{row}_{slug}" for slug in named)


def parse_site(given: str | Sequence[str] | None, item: Item, catalogue: Catalogue) -> tuple[str | None, ...]:
    """The site slugs of `item` that `given` names, in the order of the trade; one None for an item without sites.

    An item with a single site needs none. Raises `UnreadSite` with the remedy; a site is never guessed.
    """
    if not item.sites:
        if given:
            raise UnreadSite(f"{item.name} is recorded without a site; its name already says where")
        return (None,)
    if not given:
        if len(item.sites) == 1:
            return item.sites
        names = ", ".join(catalogue.sites[slug].name for slug in item.sites[:4])
        raise UnreadSite(f"{item.name} needs a site, for example {names}")
    found: list[str] = []
    for text in (given,) if isinstance(given, str) else given:
        for slug in _one(text, item, catalogue):
            if slug not in item.sites:
                name = catalogue.sites[slug].name
                raise UnreadSite(f"{name} is not a site of {item.name}; allowed: {_some(item.sites, catalogue)}")
            if slug not in found:
                found.append(slug)
    return tuple(sorted(found, key=lambda slug: catalogue.sites[slug].order))
