"""The expansion of an encounter's examination into atomic facts: one item, one side, one site, one value."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Polarity, Qualifier, Stage, ValueKind
from letterkit.errors import InvalidInput, Problem
from letterkit.findings.models import Earlier, Encounter, Finding, NotExamined, StageNormal
from letterkit.findings.places import UnreadSite, parse_site
from letterkit.findings.sides import Side, Sides, each
from letterkit.findings.values import Reading, UnreadValue, Value, read_value

Qualifiers = tuple[tuple[Qualifier, str | float | int], ...]


@dataclass(frozen=True, slots=True)
class Fact:
    """One atomic statement of the record.

    `id` is `f<finding>` or `f<finding>.<part>` where a finding covers several places; `findings` are the positions of
    the recorded findings it comes from (several when they said exactly the same).
    """

    id: str
    item: str
    stage: Stage
    side: Side | None
    site: str | None
    state: str
    value: Value
    polarity: Polarity
    qualifiers: Qualifiers
    note: str | None
    findings: tuple[int, ...]

    def qualifier(self, name: Qualifier) -> str | float | int | None:
        """The value of one qualifier, or None where it was not recorded."""
        return next((value for key, value in self.qualifiers if key is name), None)

    @property
    def place(self) -> tuple[str, Side | None, str | None, str]:
        """What the fact is about: item, side, site and the mode of movement."""
        return self.item, self.side, self.site, str(self.qualifier(Qualifier.MODE) or "")


@dataclass(frozen=True, slots=True)
class NormalFact:
    """A stage recorded as normal by exception, on one side or as a whole."""

    id: str
    stage: Stage
    side: Sides | None


@dataclass(frozen=True, slots=True)
class UnexaminedFact:
    """A stage or item that was not examined; the places stay together as they were recorded."""

    id: str
    stage: Stage
    item: str | None
    side: Sides | None
    sites: tuple[str, ...]
    reason: str | None
    declined: bool


@dataclass(frozen=True, slots=True)
class EarlierFact:
    """An earlier value of the same item at the same place; `date` is ISO.

    `polarity` says how the value lay against what was expected, `severity` how marked a finding was, where recorded.
    """

    date: str
    item: str
    side: Side | None
    site: str | None
    mode: str
    value: Value
    state: str
    polarity: Polarity = Polarity.NOTED
    severity: str | None = None

    @property
    def place(self) -> tuple[str, Side | None, str | None, str]:
        """What the value is about: item, side, site and the mode of movement, as of a fact."""
        return self.item, self.side, self.site, self.mode


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything the examination of one encounter asserts, in the order of the trade.

    `earlier_visit` is the ISO date of an earlier visit whose whole record is among `earlier`, or None.
    """

    facts: tuple[Fact, ...]
    normal: tuple[NormalFact, ...]
    unexamined: tuple[UnexaminedFact, ...]
    earlier: tuple[EarlierFact, ...]
    earlier_visit: str | None = None

    def opposed(self) -> tuple[tuple[Fact, Fact], ...]:
        """Pairs about one place that say different things: both are kept, and the clinician is asked."""
        spots = {(fact.item, fact.side, fact.site) for fact in self.facts}
        if len(spots) == len(self.facts):  # as most records are
            return ()
        first: dict[tuple[str, Side | None, str | None, str], Fact] = {}
        pairs: list[tuple[Fact, Fact]] = []
        for fact in self.facts:
            other = first.setdefault(fact.place, fact)
            if other is not fact and (other.state, other.value) != (fact.state, fact.value):
                pairs.append((other, fact))
        return tuple(pairs)


_OF_WHAT_IS_THERE = frozenset(Qualifier) - {Qualifier.MODE, Qualifier.DESCRIPTION}


def find_item(term: str, catalogue: Catalogue) -> Item:
    """The item of that slug, name or synonym. Raises `ValueError` with the nearest known names."""
    if term in catalogue.items:
        return catalogue.items[term]
    slug = catalogue.terms.get(" ".join(term.split()).casefold())
    if slug is not None:
        return catalogue.items[slug]
    folded = term.strip().casefold()
    meant = [item.name for item in catalogue.items.values() if folded in {name.casefold() for name in item.ambiguous}]
    if meant:
        raise ValueError(f"{term!r} may mean {' or '.join(meant)}; give one of these")
    from difflib import get_close_matches  # noqa: PLC0415 - only when something is wrong

    near = get_close_matches(folded, catalogue.terms, n=3, cutoff=0.65)
    known = list(dict.fromkeys(catalogue.items[catalogue.terms[name]].name for name in near))
    hint = f"did you mean {' or '.join(known)}?" if known else "letterkit catalogue lists them all"
    raise ValueError(f"{term!r} is no item of the examination; {hint}")


_QUALIFIERS = tuple((qualifier, qualifier.value) for qualifier in Qualifier)
_QUALIFIER_NAMES = frozenset(name for _, name in _QUALIFIERS)
_STAGES = {stage: position for position, stage in enumerate(Stage)}


def _qualifiers(finding: Finding, item: Item, reading: Reading, path: str) -> Qualifiers:
    if reading.severity is None and _QUALIFIER_NAMES.isdisjoint(finding.model_fields_set):  # as in most findings
        return ()
    found: list[tuple[Qualifier, str | float | int]] = []
    if finding.severity and reading.severity and finding.severity != reading.severity:
        raise InvalidInput((
            Problem(f"{path}.severity", f"{finding.severity} does not fit the value, which says {reading.severity}"),
        ))  # fmt: skip
    given = vars(finding)
    for qualifier, name in _QUALIFIERS:
        value = given[name]
        if value is None and name == "severity":
            value = reading.severity
        if value is None:
            continue
        nothing = item.value in {ValueKind.PRESENCE, ValueKind.TEST} and reading.state in {"absent", "negative"}
        if nothing and qualifier in _OF_WHAT_IS_THERE:
            raise InvalidInput((
                Problem(f"{path}.{_camel(qualifier.value)}", f"does not fit the value {reading.state}; remove either"),
            ))  # fmt: skip
        if qualifier not in item.qualifiers:
            allowed = ", ".join(sorted(name.value for name in item.qualifiers)) or "none"
            raise InvalidInput((
                Problem(f"{path}.{_camel(qualifier.value)}", f"{item.name} does not take this; allowed: {allowed}; "
                        "a note is always possible"),
            ))  # fmt: skip
        if qualifier is Qualifier.GRADE:
            if not finding.grading:
                raise InvalidInput((
                    Problem(f"{path}.grading", "a grade needs the name of its scale, for example Green or Quinnell"),
                ))  # fmt: skip
            value = f"{finding.grading} {value}"
        found.append((qualifier, value))
    return tuple(found)


def _camel(name: str) -> str:
    head, *tail = name.split("_")
    return head + "".join(part.capitalize() for part in tail)


def _side(side: Sides | None, item: Item, path: str) -> tuple[Side | None, ...]:
    if item.paired and side is None:
        raise InvalidInput((Problem(f"{path}.side", f"missing; {item.name} needs left, right or both"),))
    if not item.paired and side is not None:
        raise InvalidInput((Problem(f"{path}.side", f"{item.name} has no side; leave it out"),))
    return each(side)


def _expand(index: int, finding: Finding, catalogue: Catalogue) -> Iterator[Fact]:
    path = f"examination.findings[{index}]"
    try:
        item = find_item(finding.item, catalogue)
    except ValueError as error:
        raise InvalidInput((Problem(f"{path}.item", str(error)),)) from error
    sides = _side(finding.side, item, path)
    try:
        sites = parse_site(finding.site, item, catalogue)
    except UnreadSite as error:
        raise InvalidInput((Problem(f"{path}.site", str(error)),)) from error
    try:
        reading = read_value(finding.value, item, catalogue)
    except UnreadValue as error:
        raise InvalidInput((Problem(f"{path}.value", str(error)),)) from error
    qualifiers = _qualifiers(finding, item, reading, path)
    if finding.grading and finding.grade is None:
        raise InvalidInput((Problem(f"{path}.grade", "missing; the name of a scale was given without the grade"),))
    places = [(side, site) for side in sides for site in sites]
    for part, (side, site) in enumerate(places):
        yield Fact(
            id=f"f{index}" if len(places) == 1 else f"f{index}.{part}",
            item=item.slug, stage=item.stage, side=side, site=site, state=reading.state, value=reading.value,
            polarity=reading.polarity, qualifiers=qualifiers, note=finding.note, findings=(index,),
        )  # fmt: skip


def _merge(facts: Sequence[Fact]) -> list[Fact]:
    """Facts that say exactly the same become one, which remembers all its findings."""
    if len({(fact.item, fact.side, fact.site) for fact in facts}) == len(facts):  # as in most records
        return list(facts)
    merged: dict[object, Fact] = {}
    for fact in facts:
        key = (fact.place, fact.state, fact.value, fact.qualifiers, fact.note)
        known = merged.get(key)
        merged[key] = fact if known is None else replace(known, findings=(*known.findings, *fact.findings))
    return list(merged.values())


def _order(fact: Fact, catalogue: Catalogue) -> tuple[int, int, int, int]:
    item = catalogue.items[fact.item]
    site = catalogue.sites[fact.site].order if fact.site else 0
    return _STAGES[fact.stage], item.order, site, 0 if fact.side != "left" else 1


def _unexamined(index: int, given: NotExamined, catalogue: Catalogue) -> UnexaminedFact:
    path = f"examination.notExamined[{index}]"
    if given.stage is not None:
        if given.site is not None:
            raise InvalidInput((Problem(f"{path}.site", "a stage has no site; name the item that was not examined"),))
        return UnexaminedFact(f"u{index}", given.stage, None, given.side, (), given.reason, given.declined)
    assert given.item is not None
    try:
        item = find_item(given.item, catalogue)
    except ValueError as error:
        raise InvalidInput((Problem(f"{path}.item", str(error)),)) from error
    if not item.paired and given.side is not None:
        raise InvalidInput((Problem(f"{path}.side", f"{item.name} has no side; leave it out"),))
    sites: tuple[str, ...] = ()
    if given.site is not None:
        try:
            sites = tuple(site for site in parse_site(given.site, item, catalogue) if site)
        except UnreadSite as error:
            raise InvalidInput((Problem(f"{path}.site", str(error)),)) from error
    return UnexaminedFact(f"u{index}", item.stage, item.slug, given.side, sites, given.reason, given.declined)


def _earlier(index: int, given: Earlier, catalogue: Catalogue) -> Iterator[EarlierFact]:
    path = f"earlier[{index}]"
    try:
        item = find_item(given.item, catalogue)
    except ValueError as error:
        raise InvalidInput((Problem(f"{path}.item", str(error)),)) from error
    try:
        reading = read_value(given.value, item, catalogue)
    except UnreadValue as error:
        raise InvalidInput((Problem(f"{path}.value", str(error)),)) from error
    try:
        sites = parse_site(given.site, item, catalogue)
    except UnreadSite as error:
        raise InvalidInput((Problem(f"{path}.site", str(error)),)) from error
    for side in _side(given.side, item, path):
        for site in sites:
            yield EarlierFact(
                given.date.isoformat(), item.slug, side, site, given.mode or "", reading.value, reading.state,
                reading.polarity, reading.severity,
            )  # fmt: skip


def expand(encounter: Encounter, catalogue: Catalogue) -> Facts:
    """The atomic facts of an encounter. Raises `InvalidInput` listing every fault of the examination at once."""
    problems: list[Problem] = []
    facts: list[Fact] = []
    unexamined: list[UnexaminedFact] = []
    earlier: list[EarlierFact] = []
    examination = encounter.examination
    for index, finding in enumerate(examination.findings):
        try:
            facts += _expand(index, finding, catalogue)
        except InvalidInput as error:
            problems += error.problems
    for index, given in enumerate(examination.not_examined):
        try:
            unexamined.append(_unexamined(index, given, catalogue))
        except InvalidInput as error:
            problems += error.problems
    for index, before in enumerate(encounter.earlier):
        try:
            earlier += _earlier(index, before, catalogue)
        except InvalidInput as error:
            problems += error.problems
    if problems:
        raise InvalidInput(tuple(problems))
    return Facts(
        facts=tuple(sorted(_merge(facts), key=lambda fact: _order(fact, catalogue))),
        normal=tuple(_normal(index, given) for index, given in enumerate(examination.normal)),
        unexamined=tuple(unexamined),
        earlier=tuple(earlier),
    )


def with_earlier_visit(facts: Facts, before: Facts, day: date) -> Facts:
    """The facts of a visit with those of an earlier one, of that day, as earlier values; each once."""
    told = [
        EarlierFact(
            day.isoformat(), fact.item, fact.side, fact.site, str(fact.qualifier(Qualifier.MODE) or ""), fact.value,
            fact.state, fact.polarity,
            str(severity) if (severity := fact.qualifier(Qualifier.SEVERITY)) is not None else None,
        )
        for fact in before.facts
    ]  # fmt: skip
    return replace(facts, earlier=tuple(dict.fromkeys((*facts.earlier, *told))), earlier_visit=day.isoformat())


def _normal(index: int, given: StageNormal) -> NormalFact:
    return NormalFact(f"n{index}", given.stage, given.side)
