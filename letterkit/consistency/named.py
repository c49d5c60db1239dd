"""Rules about findings beside what the clinician has named; the pairs stand in `data/named.toml`."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

from letterkit.catalogue.model import Polarity
from letterkit.consistency.claims import claims, dealt_with, quoted, with_sides
from letterkit.consistency.lookups import LOSS, entries, number, rank
from letterkit.consistency.rule import Case, Hit, QueryClass, rule
from letterkit.consistency.terms import Mention
from letterkit.findings.facts import Fact
from letterkit.findings.sides import Side

Class = Literal["contradictory", "unusual"]
State = Literal["normal", "abnormal", "loss"]
_POLARITY = {"normal": Polarity.NORMAL, "abnormal": Polarity.ABNORMAL}


@dataclass(frozen=True, slots=True)
class Wanted:
    """One finding that is looked for: the items, and what must be recorded of them."""

    items: tuple[str, ...]
    state: State | None = None
    states: frozenset[str] = frozenset()
    sites: frozenset[str] = frozenset()
    low: float | None = None
    high: float | None = None
    below: float | None = None
    count: int = 1

    def fits(self, fact: Fact) -> bool:
        """Whether a fact of one of the items says what is looked for. An item without a site is at every site."""
        if self.sites and fact.site is not None and fact.site not in self.sites:
            return False
        if self.low is not None or self.high is not None:
            grade = rank(fact)
            return grade is not None and (self.low or 0) <= grade <= (9 if self.high is None else self.high)
        if self.below is not None:
            measured = number(fact)
            return measured is not None and measured < self.below
        if self.states:
            return fact.state in self.states
        return fact.state in LOSS if self.state == "loss" else fact.polarity is _POLARITY[self.state or "abnormal"]

    def found(self, case: Case, side: Side) -> tuple[Fact, ...]:
        """The facts of one side that say it; none where there are fewer than asked for."""
        facts = tuple(fact for fact in case.of(*self.items, side=side) if self.fits(fact))
        return facts if len(facts) >= self.count else ()


@dataclass(frozen=True, slots=True)
class Row:
    """Findings that do not fit one of the named terms, and why they are asked about."""

    terms: tuple[str, ...]
    unless: tuple[str, ...]
    query_class: Class
    findings: tuple[Wanted, ...]
    without: tuple[Wanted, ...]
    why: str
    source: str
    untreated: bool


def _wanted(raw: Mapping[str, Any]) -> Wanted:
    rest = {key: value for key, value in raw.items() if key not in {"items", "states", "sites"}}
    states, sites = frozenset(raw.get("states", ())), frozenset(raw.get("sites", ()))
    return Wanted(items=tuple(raw["items"]), states=states, sites=sites, **rest)


@cache
def rows() -> tuple[Row, ...]:
    """The pairs of the table, in its order."""
    text = resources.files("letterkit.consistency").joinpath("data", "named.toml").read_text(encoding="utf-8")
    return tuple(
        Row(
            tuple(raw["terms"]), tuple(raw.get("unless", ())), raw["class"],
            tuple(_wanted(one) for one in raw["findings"]), tuple(_wanted(one) for one in raw.get("without", ())),
            raw["why"], f"{raw['source']} ({raw['mark']})", raw.get("untreated", False),
        )
        for raw in tomllib.loads(text)["named"]
    )  # fmt: skip


@cache
def _vocabulary() -> tuple[str, ...]:
    return tuple(dict.fromkeys(term for row in rows() for term in (*row.terms, *row.unless)))


@cache
def _positions(query_class: Class) -> Mapping[str, tuple[int, ...]]:
    """By term, the positions in the table of the rows of one class that are about it."""
    found: dict[str, list[int]] = {}
    for position, row in enumerate(rows()):
        for term in row.terms if row.query_class == query_class else ():
            found.setdefault(term, []).append(position)
    return {term: tuple(positions) for term, positions in found.items()}


def _every(case: Case) -> tuple[Mention, ...]:
    """Whatever the impression and the diagnoses name of the table."""
    return claims(case, *_vocabulary()) if case.encounter.impression or case.encounter.diagnoses else ()


def _all_found(every: tuple[Wanted, ...], case: Case, side: Side) -> list[Fact]:
    """The facts of all that is looked for, or none where any of it is missing."""
    facts: list[Fact] = []
    for wanted in every:
        found = wanted.found(case, side)
        if not found:
            return []
        facts += found
    return facts


def _hits(case: Case, query_class: Class) -> Iterator[Hit]:
    every = case.once(_every)
    named = {mention.term for mention in every}
    positions = _positions(query_class) if named else {}
    for row in [rows()[at] for at in sorted({at for term in named for at in positions.get(term, ())})]:
        if not named.isdisjoint(row.unless):
            continue
        asked: set[Side] = set()
        for mention, side in with_sides(case, (one for one in every if one.term in row.terms)):
            if side in asked or (row.untreated and dealt_with(case, mention)):
                continue
            found = _all_found(row.findings, case, side)
            if found and not any(wanted.found(case, side) for wanted in row.without):
                asked.add(side)
                facts = tuple(dict.fromkeys(found))
                words = {"named": quoted(mention), "finding": entries(facts, case), "why": row.why}
                yield Hit(facts, (mention.path,), words, row.source)


@rule(
    "finding-against-named-condition",
    QueryClass.CONTRADICTORY,
    asks="{named}. Beside it stands {finding}; {why}. Are both as intended?",
    settle="Correct the finding, its side or the wording, or name what else explains it.",
    source="standard anatomy (from memory), where a pair has no source of its own",
)
def finding_against_named_condition(case: Case) -> Iterator[Hit]:
    """A finding outside the reach of what is named, or normal findings where it shows, puts one of the two in doubt."""
    yield from _hits(case, "contradictory")


@rule(
    "finding-unusual-for-named-condition",
    QueryClass.UNUSUAL,
    asks="{named}. Beside it stands {finding}; {why}. Are both as intended?",
    settle="Confirm the finding and the wording, or correct one of them.",
    source="standard anatomy (from memory), where a pair has no source of its own",
)
def finding_unusual_for_named_condition(case: Case) -> Iterator[Hit]:
    """A finding that goes with what is named now and then, and is a slip of side or line the other times."""
    yield from _hits(case, "unusual")
