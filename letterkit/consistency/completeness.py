"""The rule about what a reader looks for in a presenting problem and does not find in the record."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Place
from letterkit.consistency.lookups import accounted_for
from letterkit.consistency.rule import Case, Hit, QueryClass, rule

_MOST_LISTED = 6
_MOST_CHOICES = 2
_MOST_TELLING = 6  # negatives further down tell so little that asking for them is noise


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the least that is expected: what it is called, and the items of which any is that step."""

    name: str
    items: tuple[str, ...]
    exempt: frozenset[str]


@cache
def steps() -> tuple[Step, ...]:
    """The steps of `data/expected.toml` in order of importance."""
    text = resources.files("letterkit.consistency").joinpath("data", "expected.toml").read_text(encoding="utf-8")
    return tuple(
        Step(raw["name"], tuple(raw["items"]), frozenset(raw.get("except", ()))) for raw in tomllib.loads(text)["step"]
    )


@cache
def substitutes() -> Mapping[str, tuple[str, ...]]:
    """By item, the items that say as much when it was not recorded itself."""
    text = resources.files("letterkit.consistency").joinpath("data", "expected.toml").read_text(encoding="utf-8")
    return {raw["item"]: tuple(raw["by"]) for raw in tomllib.loads(text)["stands_for"]}


def _called(items: Sequence[str], known: Catalogue) -> str:
    """The first one or two of the items that would do: 'malrotation or rotational alignment'."""
    return " or ".join(dict.fromkeys(_name(known.items[slug], known) for slug in items[:_MOST_CHOICES]))


def _name(item: Item, known: Catalogue) -> str:
    """An item for a list: with its site where the name alone leaves it open, as with tenderness."""
    name = item.doctor.noun or item.doctor.subject or item.name
    if len(item.sites) == 1 and item.doctor.place is not Place.SIDE:
        return f"{name} {item.doctor.place.value} the {known.sites[item.sites[0]].name}"
    return item.name if item.doctor.noun is None else name


def _missing(case: Case, problem: str) -> Iterator[str]:
    """What is expected and not accounted for: negatives of the problem in their order, then the general steps."""
    known = case.catalogue
    told: set[str] = set()
    for negative in known.problems[problem].negatives[:_MOST_TELLING]:
        enough = (*negative.items, *(each for item in negative.items for each in substitutes().get(item, ())))
        if told.isdisjoint(negative.items) and not accounted_for(case, *enough):
            told |= set(negative.items)
            yield _called(negative.items, known)
    for step in steps():
        if problem not in step.exempt and told.isdisjoint(step.items) and not accounted_for(case, *step.items):
            yield step.name


@rule(
    "expected-and-not-recorded",
    QueryClass.INCOMPLETE,
    asks="Not recorded, and looked for by a reader in “{problem}”: {missing}.",
    settle="Record them, say that they were not examined, or leave the record as it is.",
    source="the order is that of the negatives of the presenting problem; common practice, no source, for the rest",
)
def expected_and_not_recorded(case: Case) -> Iterator[Hit]:
    """A reader looks for certain steps in each presenting problem; what is missing is told, most telling first.

    A step counts as told if any of its items was recorded, if its stage was recorded as normal, or if it was declared
    not examined. At most six are listed.
    """
    problem = case.problem
    if problem is None:
        return
    missing = list(dict.fromkeys(_missing(case, problem)))
    if missing:
        words = {"problem": case.catalogue.problems[problem].name, "missing": "; ".join(missing[:_MOST_LISTED])}
        yield Hit((), ("reason.problem",), words)
