"""The words of the note itself, from `data/words.toml`: function words, results, headings, senses."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from letterkit.errors import CatalogueError
from letterkit.kept import kept

_CHOICE = re.compile(r"\{([^{}]*)\}")


@dataclass(frozen=True, slots=True)
class Sense:
    """Words that name items and a state of them at once; `exact` holds forms of which only the capitals are read."""

    words: tuple[str, ...]
    items: tuple[str, ...]
    state: str
    every: bool = False
    look: str = ""
    exact: tuple[str, ...] = ()
    side: str = ""  # of words that speak of the whole person: "diffuse hyporeflexia"


@dataclass(frozen=True, slots=True, eq=False)
class Words:
    """All of `words.toml`: lists by name, and the tables that tie words to items."""

    lists: Mapping[str, tuple[str, ...]]  # "negator" -> its phrases
    states: Mapping[str, tuple[str, ...]]  # "reduced" -> its phrases
    sections: Mapping[str, str]  # heading -> history, plan, ...
    movements: Mapping[str, str]  # verb of movement -> the movement
    labels: Mapping[str, str]  # one word of a heading -> history, plan, ...
    stages: Mapping[str, str]  # heading -> stage
    currency: Mapping[str, tuple[str, ...]]  # "history" -> its phrases
    scaled: Mapping[str, Mapping[str, tuple[str, ...]]]  # scale -> state -> words that mean it in that scale only
    elsewhere: tuple[str, ...]
    legs: frozenset[str]  # the parts below, whose side says nothing of a hand
    foreign: tuple[str, ...]  # tests of other parts of the body
    senses: tuple[Sense, ...]
    families: tuple[Mapping[str, Any], ...]
    loose: tuple[Mapping[str, Any], ...]
    pains: tuple[Mapping[str, Any], ...]
    siblings: tuple[tuple[str, ...], ...]
    own: tuple[Mapping[str, Any], ...]  # words of result that only some items take: "the ulcer has healed"
    placed: Mapping[str, Mapping[str, str]]  # item -> site -> the item that is meant there, if any
    places: tuple[Mapping[str, Any], ...]  # other names of sites
    rows: Mapping[str, str]  # item -> the row a digit stands for
    reflexes: Mapping[str, str]  # power item -> the reflex of the same muscle
    provokes: frozenset[str]  # what a test did: "reproduced"
    symptoms: frozenset[str]  # what it brought on
    counted: Mapping[str, int]  # items told as so many of so many signs
    tender_itself: Mapping[str, str]  # the last word of an item, and the item of its own tenderness
    stretches: Mapping[str, str]  # a position and the test it is, where it brings on tingling
    efforts: frozenset[str]  # what hurts: "gripping"
    sets: Mapping[str, frozenset[str]]  # words that tell forms of speech apart, by what they do
    affixes: Mapping[str, tuple[str, ...]]  # beginnings and endings of phrases, likewise
    jerks: frozenset[str]  # reflexes of the leg in short: muscles in one list with them are tapped
    leg: frozenset[str]  # words beside which short forms that arm and leg share are of the leg
    shared_with_leg: frozenset[str]
    rash_colours: frozenset[str]  # colours that describe a rash and are no finding beside it: "erythematous"
    rashes: frozenset[str]  # the items so described
    carried: Mapping[str, frozenset[str]]  # items by what a sentence about them inherits: "whole" -> no side
    abbreviations: frozenset[str]
    plain: frozenset[str]


def _inverted(table: Mapping[str, list[str]]) -> dict[str, str]:
    return {word: kind for kind, words in table.items() for word in words}


def _with_company(entry: Mapping[str, Any], company: Mapping[str, list[str]]) -> Mapping[str, Any]:
    """An entry whose `beside` names lists of `shorthand.company` ('muscles power') instead of spelling them out."""
    beside = entry.get("beside")
    if not isinstance(beside, str):
        return entry
    return {**entry, "beside": [word for name in beside.split() for word in company[name]]}


def _spelt(phrases: Iterable[str]) -> Iterator[str]:
    """Each phrase as it is and as its marks have it: 'pain - free', whose hyphen is a word of its own."""
    for phrase in phrases:
        yield phrase
        if "-" in phrase:
            yield phrase.replace("-", " - ")


def expanded(phrase: str) -> Iterator[str]:
    """Each phrase that a pattern of the data stands for: '{is|was} {|not }swollen' for four."""
    choice = _CHOICE.search(phrase)
    if choice is None:
        yield " ".join(phrase.split())
        return
    for way in choice[1].split("|"):
        yield from expanded(f"{phrase[: choice.start()]}{way}{phrase[choice.end() :]}")


def with_choices_made(data: Any) -> Any:
    """The data of `words.toml` with each pattern in a list written out."""
    if isinstance(data, Mapping):
        return {name: with_choices_made(each) for name, each in data.items()}
    if not isinstance(data, list):
        return data
    return [
        one
        for each in data
        for one in (expanded(each) if isinstance(each, str) and "{" in each else [with_choices_made(each)])
    ]


def _load() -> Words:
    """The words in the package's data. Raises `CatalogueError` for broken data."""
    file = resources.files("letterkit.reading") / "data" / "words.toml"
    try:
        raw = with_choices_made(tomllib.loads(file.read_text(encoding="utf-8")))
        return Words(
            lists={kind: tuple(phrases) for kind, phrases in raw["words"].items()},
            states={kind: tuple(phrases) for kind, phrases in raw["states"].items()},
            sections=_inverted(raw["sections"]),
            movements=_inverted(raw["movements"]),
            labels=_inverted(raw["labels"]),
            stages=_inverted(raw["stages"]),
            currency={kind: tuple(phrases) for kind, phrases in raw["currency"].items()},
            scaled={
                scale: {state: tuple(phrases) for state, phrases in states.items()}
                for scale, states in raw["scaled"].items()
            },
            elsewhere=tuple(raw["elsewhere"]["sites"]),
            legs=frozenset(raw["elsewhere"]["legs"]),
            foreign=tuple(raw["elsewhere"]["terms"]),
            senses=tuple(
                Sense(
                    tuple(entry["words"]), tuple(entry["items"]), entry["state"], entry.get("all", False),
                    entry.get("look", ""), tuple(entry.get("exact", ())), entry.get("side", ""),
                )
                for entry in raw["sense"]
            ),
            families=tuple(raw["family"]),
            loose=tuple(_with_company(entry, raw["shorthand"]["company"]) for entry in raw["loose"]),
            pains=tuple(raw["pain"]),
            siblings=tuple(tuple(entry["items"]) for entry in raw["sibling"]),
            own=tuple(raw["own"]),
            placed={entry["item"]: entry["at"] for entry in raw["placed"]},
            places=tuple(raw["place"]),
            rows=raw["rows"],
            reflexes=raw["reflexes"],
            provokes=frozenset(raw["provocation"]["verbs"]),
            symptoms=frozenset(raw["provocation"]["symptoms"]),
            stretches=raw["provocation"]["stretches"],
            counted=raw["counted"],
            tender_itself=raw["tender_itself"],
            efforts=frozenset(raw["provocation"]["efforts"]),
            sets={name: frozenset(_spelt(phrases)) for name, phrases in raw["sets"].items()},
            affixes={name: tuple(phrases) for name, phrases in raw["affixes"].items()},
            jerks=frozenset(raw["shorthand"]["jerks"]),
            leg=frozenset(raw["shorthand"]["leg"]),
            shared_with_leg=frozenset(raw["shorthand"]["shared_with_leg"]),
            rash_colours=frozenset(raw["rash"]["colours"]),
            rashes=frozenset(raw["rash"]["items"]),
            carried={name: frozenset(slugs) for name, slugs in raw["carried"].items()},
            abbreviations=frozenset(raw["abbreviations"]),
            plain=frozenset(raw["plain"]["words"]),
        )  # fmt: skip
    except (OSError, KeyError, tomllib.TOMLDecodeError) as error:
        raise CatalogueError(f"words.toml: not readable: {error!r}") from error


@cache
def words() -> Words:
    """The words that ship with the package, loaded once a process. Raises `CatalogueError` for broken data."""
    return kept("words", ("letterkit.reading",), _load)
