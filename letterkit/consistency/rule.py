"""What a query rule is: one small function that looks at a record and points at what does not fit together.

A query is a check of the record. It names no condition the clinician has not named, advises nothing, and never changes
a finding.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from functools import cached_property
from typing import Any, TypeAlias, TypeVar

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Polarity
from letterkit.consistency.terms import PARTS, Mention, Part, Wording
from letterkit.findings.facts import Fact, Facts
from letterkit.findings.models import Encounter
from letterkit.findings.sides import Side

_Made = TypeVar("_Made")


class QueryClass(StrEnum):
    """How a query is meant, in the order in which queries are shown."""

    URGENT = "urgent"  # read again before the letter goes
    IMPOSSIBLE = "impossible"  # cannot be true as recorded
    CONTRADICTORY = "contradictory"  # one of two entries is probably wrong
    UNUSUAL = "unusual"  # possible; often innocent
    INCOMPLETE = "incomplete"  # a receiving doctor would look for more


@dataclass(frozen=True, slots=True)
class Hit:
    """What a rule found: the facts and the other places of the record it points at, and words for its message.

    `source` stands in for the rule's own where one rule draws on several.
    """

    facts: tuple[Fact, ...] = ()
    paths: tuple[str, ...] = ()
    words: Mapping[str, str] = field(default_factory=dict)
    source: str = ""


@dataclass(frozen=True, slots=True)
class Query:
    """A question to the clinician.

    `facts` are ids of facts, `paths` places of the encounter (`examination.findings[3]`, `plan[0]`), `settle` what
    would settle it, `source` where the rule comes from, with its mark.
    """

    rule: str
    query_class: QueryClass
    message: str
    facts: tuple[str, ...]
    paths: tuple[str, ...]
    settle: str
    source: str


_Index: TypeAlias = Mapping[Side | None, Mapping[str, tuple[Fact, ...]]]


def _indexed(facts: Iterable[Fact]) -> _Index:
    """Facts by their side and then by their item; those of all sides together stand under None."""
    whole: dict[str, list[Fact]] = {}
    sided: dict[Side | None, dict[str, list[Fact]]] = {"right": {}, "left": {}}
    for fact in facts:
        whole.setdefault(fact.item, []).append(fact)
        if fact.side is not None:
            sided[fact.side].setdefault(fact.item, []).append(fact)
    return {side: {item: tuple(own) for item, own in found.items()} for side, found in (*sided.items(), (None, whole))}


def _among(index: Mapping[str, tuple[Fact, ...]], items: tuple[str, ...], site: str | None) -> tuple[Fact, ...]:
    if index.keys().isdisjoint(items):  # as most are
        return ()
    found = [fact for item in items if item in index for fact in index[item]]
    return tuple(found if site is None else [fact for fact in found if fact.site == site])


class Case:
    """One encounter with its facts, indexed for the rules. Built once, read by every rule."""

    def __init__(self, encounter: Encounter, facts: Facts, catalogue: Catalogue) -> None:
        self.encounter = encounter
        self.facts = facts
        self.catalogue = catalogue
        self.departures = tuple([fact for fact in facts.facts if fact.polarity is Polarity.ABNORMAL])
        """Every fact that departs from normal."""
        self._made: dict[object, Any] = {}
        self._all = _indexed(facts.facts)
        self._abnormal = _indexed(self.departures)

    def of(self, *items: str, side: Side | None = None, site: str | None = None) -> tuple[Fact, ...]:
        """The facts of these items, where given on that side and at that site, in the order of the trade."""
        if len(items) == 1 and site is None:
            return self._all[side].get(items[0], ())
        return _among(self._all[side], items, site)

    def abnormal(self, *items: str, side: Side | None = None, site: str | None = None) -> tuple[Fact, ...]:
        """Those of the facts that depart from normal."""
        if len(items) == 1 and site is None:
            return self._abnormal[side].get(items[0], ())
        return _among(self._abnormal[side], items, site)

    def normal(self, *items: str, side: Side | None = None, site: str | None = None) -> tuple[Fact, ...]:
        """Those of the facts that are as expected."""
        found = self.of(*items, side=side, site=site)
        return tuple(fact for fact in found if fact.polarity is Polarity.NORMAL) if found else found

    def recorded(self, *items: str) -> bool:
        """Whether any of the items was recorded at all."""
        return not self._all[None].keys().isdisjoint(items)

    def once(self, make: Callable[[Case], _Made]) -> _Made:
        """What `make` gives for this case, made at the first call and kept."""
        if make not in self._made:
            self._made[make] = make(self)
        made: _Made = self._made[make]
        return made

    @cached_property
    def wording(self) -> Wording:
        """The clinician's texts, searched for the terms."""
        return Wording(self.encounter)

    def named(self, *terms: str, among: tuple[Part, ...] = PARTS) -> tuple[Mention, ...]:
        """Where the texts of those parts name one of the terms and assert it."""
        return self.wording.named(*terms, among=among)

    def mentioned(self, *terms: str, among: tuple[Part, ...] = PARTS) -> bool:
        """Whether the texts speak of one of the terms at all, be it to deny or doubt it."""
        return bool(self.wording.mentions(*terms, among=among))

    @cached_property
    def problem(self) -> str | None:
        """The slug of the presenting problem, or None where none is given or the catalogue does not know it."""
        reason = self.encounter.reason
        given = reason.problem if reason is not None else None
        return self.catalogue.problem_terms.get(given.casefold()) if given else None

    @cached_property
    def day(self) -> date | None:
        """The day of the examination or, failing that, of the draft."""
        return self.encounter.visit.date if self.encounter.visit else self.encounter.drafted

    @cached_property
    def age_years(self) -> int | None:
        """Completed years of the patient on that day."""
        day, birth = self.day, self.encounter.patient.birth_date
        if day is None or birth is None or day < birth:
            return None
        return day.year - birth.year - ((day.month, day.day) < (birth.month, birth.day))

    def item(self, fact: Fact) -> Item:
        """The catalogue's item of a fact."""
        return self.catalogue.items[fact.item]

    def digit(self, fact: Fact) -> str | None:
        """The digit a fact is about, or None."""
        return self.catalogue.sites[fact.site].digit if fact.site else None


Check: TypeAlias = Callable[[Case], Iterator[Hit]]


@dataclass(frozen=True, slots=True)
class Rule:
    """A registered rule: its slug for ever, its class, what it asks, why, from where, and what settles it."""

    slug: str
    query_class: QueryClass
    asks: str
    rationale: str
    source: str
    settle: str
    family: str
    check: Check

    def queries(self, case: Case) -> Iterator[Query]:
        """The queries this rule has about a case. A finding noted as a known exception silences it."""
        return self.about(self.check(case))

    def about(self, hits: Iterable[Hit]) -> Iterator[Query]:
        """The queries that these hits of the rule make."""
        for hit in hits:
            if any(fact.note and "known exception" in fact.note.casefold() for fact in hit.facts):
                continue
            findings = dict.fromkeys(index for fact in hit.facts for index in fact.findings)
            paths = (*(f"examination.findings[{index}]" for index in findings), *hit.paths)
            message = self.asks.format(**hit.words)
            yield Query(
                self.slug, self.query_class, message, tuple(fact.id for fact in hit.facts), paths, self.settle,
                hit.source or self.source,
            )  # fmt: skip


def rule(slug: str, query_class: QueryClass, *, asks: str, settle: str, source: str) -> Callable[[Check], Rule]:
    """Makes a rule of a function; its docstring is the rationale, its module the family.

    `asks` is the message, with `{names}` filled from each hit's `words`. `source` names the published source with its
    mark, or says 'common practice, no source' or 'from memory'.
    """

    def register(check: Check) -> Rule:
        rationale = " ".join((check.__doc__ or "").split())
        if not rationale:
            raise ValueError(f"the rule {slug} has no rationale in its docstring")
        family = check.__module__.rsplit(".", 1)[-1]
        return Rule(slug, query_class, asks, rationale, source, settle, family, check)

    return register
