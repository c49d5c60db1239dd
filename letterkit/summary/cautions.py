"""Which cautions of the catalogue the recorded findings call for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import TypeAlias

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Caution, Condition, Polarity
from letterkit.findings.facts import Fact, Facts
from letterkit.findings.values import Arc, Grade, Quantity
from letterkit.summary.statement import ChosenCaution, PlaceRef

_Scope: TypeAlias = Mapping[str, Sequence[Fact]]


def _meets(fact: Fact, condition: Condition) -> bool:
    if condition.above is not None or condition.below is not None:
        number = fact.value.number if isinstance(fact.value, Quantity) else None
        if isinstance(fact.value, Arc):
            number = fact.value.to_deg
        if isinstance(fact.value, Grade):
            number = fact.value.rank
        if number is None:
            return False
        return (condition.above is None or number > condition.above) and (
            condition.below is None or number < condition.below
        )
    if condition.states:
        return fact.state in condition.states
    return fact.polarity is Polarity.ABNORMAL


def _scopes(same: str, facts: Sequence[Fact], catalogue: Catalogue) -> list[_Scope]:
    """The facts that may be taken together, by item: all of them, those of one side, or those of one digit."""
    scopes: dict[tuple[str | None, ...], dict[str, list[Fact]]] = {}
    for fact in facts:
        key: tuple[str | None, ...] = ()
        if same == "side":
            key = (fact.side,)
        elif same != "nothing":
            key = (fact.side, catalogue.sites[fact.site].digit if fact.site else None)
        scopes.setdefault(key, {}).setdefault(fact.item, []).append(fact)
    return list(scopes.values())


def _holds(caution: Caution, scope: _Scope) -> tuple[Fact, ...]:
    """The facts of `scope` that fulfil the pattern, or none."""
    found: list[Fact] = []
    for condition in caution.all:
        met = [fact for fact in scope.get(condition.item, ()) if _meets(fact, condition)]
        if not met:
            return ()
        found += met
    alternatives = [
        [fact for fact in scope.get(condition.item, ()) if _meets(fact, condition)] for condition in caution.any
    ]
    fulfilled = [met for met in alternatives if met]
    if caution.any and len(fulfilled) < caution.at_least:
        return ()
    for met in fulfilled:
        found += met
    return tuple(dict.fromkeys(found))


def _places(caution: Caution, facts: Iterable[Fact], catalogue: Catalogue) -> tuple[PlaceRef, ...]:
    """Where the findings lie, as closely as the caution looks: the digits, or the hands."""
    places: dict[PlaceRef, None] = {}
    for fact in facts:
        digit = catalogue.sites[fact.site].digit if fact.site else None
        places[PlaceRef(digit if digit and caution.same == "digit" else "hand", fact.side)] = None
    return tuple(place for place in places if place.side)


@lru_cache(maxsize=4)
def _by_need(catalogue: Catalogue) -> Sequence[tuple[Caution, frozenset[str], frozenset[str]]]:
    """Each caution with the items that must be recorded for it, and those of which one must be."""
    return tuple(
        (caution, frozenset(each.item for each in caution.all), frozenset(each.item for each in caution.any))
        for caution in catalogue.cautions.values()
    )


def choose_cautions(facts: Facts, catalogue: Catalogue) -> tuple[ChosenCaution, ...]:
    """The cautions whose pattern the facts fulfil, urgent ones first; each once, with the facts that called for it."""
    recorded = {fact.item for fact in facts.facts}
    chosen: list[ChosenCaution] = []
    scopes: dict[str, list[_Scope]] = {}
    for caution, needed, alternatives in _by_need(catalogue):
        if not needed <= recorded or (alternatives and alternatives.isdisjoint(recorded)):  # as with most
            continue
        called: list[Fact] = []
        if caution.same not in scopes:
            scopes[caution.same] = _scopes(caution.same, facts.facts, catalogue)
        for scope in scopes[caution.same]:
            called += _holds(caution, scope)
        if called:
            found = tuple(dict.fromkeys(called))
            chosen.append(ChosenCaution(caution, tuple(fact.id for fact in found), _places(caution, found, catalogue)))
    return tuple(sorted(chosen, key=lambda each: not each.caution.urgent))
