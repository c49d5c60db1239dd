"""The list of rule families, and the check of a record against all of them."""

from __future__ import annotations

from functools import cache
from importlib import import_module

from letterkit.catalogue import Catalogue
from letterkit.consistency.needs import needs
from letterkit.consistency.rule import Case, Query, QueryClass, Rule
from letterkit.findings.facts import Facts
from letterkit.findings.models import Encounter

# Each family is a module of this room; every `Rule` in it counts. A new family is a line here.
FAMILIES = (
    "record",
    "movement",
    "full_range",
    "counts",
    "dates",
    "change",
    "sides",
    "digits",
    "operations",
    "power",
    "sensation",
    "nerves",
    "named",
    "joints",
    "inflammation",
    "dupuytren_and_trigger",
    "infection",
    "tendons_and_wounds",
    "wrist_and_thumb",
    "pain_and_lumps",
    "completeness",
    "strength",
    "circulation",
    "wording",
)

_ORDER = {query_class: position for position, query_class in enumerate(QueryClass)}


@cache
def rules() -> tuple[Rule, ...]:
    """Every rule, family by family, in the order in which the modules define them."""
    found: dict[str, Rule] = {}
    for family in FAMILIES:
        module = import_module(f"letterkit.consistency.{family}")
        for value in vars(module).values():
            if isinstance(value, Rule) and value.family == family:
                if value.slug in found:
                    raise ValueError(f"two rules are called {value.slug}")
                found[value.slug] = value
    return tuple(found.values())


@cache
def _rules_and_needs() -> tuple[tuple[Rule, frozenset[str] | None], ...]:
    return tuple((each, needs(each)) for each in rules())


def check_record(encounter: Encounter, facts: Facts, catalogue: Catalogue) -> tuple[Query, ...]:
    """All queries about a record, urgent first, in the order of the classes and of the rules."""
    case = Case(encounter, facts, catalogue)
    recorded = frozenset(fact.item for fact in facts.facts)
    found: list[Query] = []
    for each, needed in _rules_and_needs():
        if needed is not None and recorded.isdisjoint(needed):  # as with most
            continue
        if hits := list(each.check(case)):
            found += each.about(hits)
    return tuple(sorted(found, key=lambda query: _ORDER[query.query_class]))
