"""The page of documentation that lists every rule, made from the registry."""

from __future__ import annotations

from importlib import import_module
from itertools import groupby

from letterkit.consistency.answers import (
    ANSWER_RATIONALE,
    ANSWER_SETTLE,
    ANSWER_SOURCE,
    ANSWER_WITHOUT_QUERY,
    BLOCKING,
)
from letterkit.consistency.registry import rules
from letterkit.consistency.rule import QueryClass, Rule

_CLASSES = {
    QueryClass.URGENT: "read again before the letter goes",
    QueryClass.IMPOSSIBLE: "cannot be true as recorded",
    QueryClass.CONTRADICTORY: "one of two entries is probably wrong",
    QueryClass.UNUSUAL: "possible, and often innocent",
    QueryClass.INCOMPLETE: "a receiving doctor would look for more",
}
_HEAD = """\
# Query rules

This page is made from the rules themselves. Do not edit it by hand.

Every rule compares what was recorded with itself and asks the clinician about what does not fit together. A query names
the entries it is about and what would settle it. It never changes a finding, names no condition that the clinician has
not named, and says nothing about tests or treatment. A finding whose note says "known exception" is not asked about,
and a query is settled by correcting the record or by an answer that keeps it for a stated reason.

| class | meaning | holds up approval |
|---|---|---|
"""


def _entry(slug: str, query_class: str, asks: str, rationale: str, settle: str, source: str) -> str:
    return (
        f"### {slug}\n\n"
        f"- Class: {query_class}\n"
        f"- Asks: {asks}\n"
        f"- Why: {rationale}\n"
        f"- Settled by: {settle}\n"
        f"- Source: {source}\n"
    )


def _title(family: str) -> str:
    """The first line of the family's module, which says what its rules are about."""
    told = (import_module(f"letterkit.consistency.{family}").__doc__ or family).strip().splitlines()[0]
    return told.rstrip(".")


def _of(each: Rule) -> str:
    # What a message fills in is shown in italics.
    asks = each.asks.replace("{", "*").replace("}", "*")
    return _entry(each.slug, each.query_class.value, asks, each.rationale, each.settle, each.source)


def page() -> str:
    """The whole page as Markdown: the classes, then family by family every rule."""
    every = rules()
    parts = [
        _HEAD
        + "".join(
            f"| {each.value} | {meaning} | {'yes' if each in BLOCKING else 'no'} |\n"
            for each, meaning in _CLASSES.items()
        )
    ]
    parts.append(f"{len(every)} rules.\n")
    for family, members in groupby(every, key=lambda each: each.family):
        parts.append(f"## {_title(family)}\n")
        parts += (_of(each) for each in members)
    parts.append("## Rules about the answers to queries\n")
    parts.append(
        _entry(
            ANSWER_WITHOUT_QUERY,
            QueryClass.UNUSUAL.value,
            "An answer names a query that does not exist or that this record does not raise. Is it left over?",
            ANSWER_RATIONALE,
            ANSWER_SETTLE,
            ANSWER_SOURCE,
        )
    )
    return "\n".join(parts)
