"""What must be recorded for a rule to have anything to say, found by letting it look at a record that holds nothing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

from letterkit.consistency.rule import Case, Rule

_Made = TypeVar("_Made")


class _LooksElsewhereError(Exception):
    """The rule asks for something other than the findings of certain items."""


class _Nothing:
    """Stands in for a case without a single finding, and notes the items that are asked for."""

    def __init__(self) -> None:
        self.asked: set[str] = set()

    def of(self, *items: str, **_: object) -> tuple[()]:
        self.asked.update(items)
        return ()

    abnormal = normal = of

    def recorded(self, *items: str) -> bool:
        return bool(self.of(*items))

    def once(self, make: Callable[[Case], _Made]) -> _Made:
        return make(cast("Case", self))

    def __getattr__(self, name: str) -> Any:
        raise _LooksElsewhereError(name)


def needs(rule: Rule) -> frozenset[str] | None:
    """The items of which one must be recorded for the rule to have a query; None where it may always have one.

    A rule is a function of the case alone. One that asks for nothing but items, gets none of them and has no query has
    none in any record that lacks these items, for there it gets the same answers.
    """
    nothing = _Nothing()
    try:
        silent = not any(True for _ in rule.check(cast("Case", nothing)))
    except _LooksElsewhereError:
        return None
    return frozenset(nothing.asked) if silent else None
