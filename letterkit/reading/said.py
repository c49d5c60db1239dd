"""The classes of words of result, and the outcome of a statement as a value."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from letterkit.catalogue.model import Item
from letterkit.reading.predication import Said
from letterkit.reading.values import Amount

NORMAL = frozenset({"normal", "full", "able", "stable", "equal"})
LOW = frozenset({"reduced", "abnormal", "increased", "painful"})


@dataclass(frozen=True, slots=True)
class Outcome:
    """A state with the value for the record; `looks` say what is doubtful about it. `side` splits a right/left pair."""

    state: str
    value: Any
    looks: tuple[str, ...] = ()
    side: str | None = None
    note: str = ""


def _opposite(classes: set[str]) -> set[str]:
    """What a negated result says; empty where the negation does not settle it."""
    if classes & {"present", "positive"}:
        return {"negative", "absent"}
    if classes & LOW:
        return {"normal"}
    return set()


def classes_of(said: Sequence[Said]) -> tuple[set[str], bool, bool]:
    """Classes of the results, whether a negation left them open, and whether any word of result was there."""
    classes: set[str] = set()
    unclear = False
    some = False
    for each in said:
        if each.mark is None or each.mark.state is None:
            continue
        if each.before and not each.mark.state.classes:
            continue  # 'firm swelling': a quality of it, and no result
        some = True
        own = set(each.mark.state.classes)
        if each.negated:
            turned = _opposite(own)
            unclear = unclear or not turned
            own = turned
        classes |= own
    return classes, unclear, some


def own_words(item: Item, said: Sequence[Said]) -> str:
    """The state that the item's own words name."""
    for each in said:
        if (
            each.mark is not None
            and each.mark.state is not None
            and item.slug in each.mark.state.items
            and not each.negated
        ):
            return each.mark.state.items[item.slug]
    return ""


def amounts_of(said: Sequence[Said]) -> list[Amount]:
    """The numbers among the results."""
    return [each.mark.amount for each in said if each.mark is not None and each.mark.amount is not None]
