"""What the modules of scales share: places, single numbers, and an outcome that never stops a letter."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, TypeAlias

from letterkit.consistency.rule import Case
from letterkit.errors import InvalidValue
from letterkit.findings.facts import Fact
from letterkit.findings.sides import Side
from letterkit.findings.values import Quantity
from letterkit.measures.result import NotComputable, Result, Source
from letterkit.summary.statement import PlaceRef

Outcome: TypeAlias = Result[Any] | NotComputable

SIDES: tuple[Side, ...] = ("right", "left")
FINGERS = ("index", "middle", "ring", "little")
NOWHERE = PlaceRef(None, None)


def tried(instrument: str, source: Source, make: Callable[..., Outcome], *args: Any, **named: Any) -> Outcome:
    """The outcome of a measure, or that a recorded value lies outside the instrument: a scale never stops a letter."""
    try:
        return make(*args, **named)
    except InvalidValue:
        return NotComputable(instrument, (), source, "a recorded value lies outside the instrument")


def ids(facts: Iterable[Fact]) -> tuple[str, ...]:
    """The ids of facts, each once."""
    return tuple(dict.fromkeys(fact.id for fact in facts))


def one_number(case: Case, item: str, side: Side) -> tuple[float | None, tuple[Fact, ...]]:
    """The one number recorded of a side, with its facts; None for none, several that differ, or 'more than'."""
    found = case.of(item, side=side)
    numbers = {fact.value.number for fact in found if isinstance(fact.value, Quantity) and not fact.value.comparator}
    exact = all(isinstance(fact.value, Quantity) and not fact.value.comparator for fact in found)
    return (numbers.pop(), found) if exact and len(numbers) == 1 else (None, ())


def whether(facts: Iterable[Fact], yes: str, no: str) -> bool | None:
    """Whether the facts agree on one of two states; None where they say neither, both, or there are none."""
    states = {fact.state for fact in facts}
    return states == {yes} if states in ({yes}, {no}) else None
