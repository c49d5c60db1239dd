"""Short ways to write an encounter and to ask what became of it, for the tests of the drafting core."""

from __future__ import annotations

from datetime import date
from typing import Any

from letterkit import draft
from letterkit.catalogue import catalogue
from letterkit.catalogue.model import Item, ValueKind
from letterkit.findings.facts import Facts, expand
from letterkit.pipeline import Draft, as_encounter
from letterkit.prose.writer import Writer
from letterkit.summary.select import summarise

DAY = date(2026, 11, 20)


def found(
    item: str, value: Any = "present", side: str | None = "right", site: Any = None, **more: Any
) -> dict[str, Any]:
    """One finding; `side=None` and `site=None` leave them out."""
    finding: dict[str, Any] = {"item": item, "value": value}
    if side is not None:
        finding["side"] = side
    if site is not None:
        finding["site"] = site
    return finding | more


def record(*findings: dict[str, Any], **more: Any) -> dict[str, Any]:
    """An encounter of an invented patient with these findings; `more` are further fields of it."""
    return {"patient": {"name": {"family": "Marlow"}}, "examination": {"findings": list(findings)}} | more


def facts_of(*findings: dict[str, Any], **more: Any) -> Facts:
    return expand(as_encounter(record(*findings, **more)), catalogue())


def drafted(*findings: dict[str, Any], **more: Any) -> Draft:
    return draft(record(*findings, **more), drafted=DAY)


def sentences(*findings: dict[str, Any], **more: Any) -> list[str]:
    """The sentences that state findings, with a plain space for each no-break space."""
    return [text.replace("\u00a0", " ") for text, _ in drafted(*findings, **more).sentences()]


def told(finding: dict[str, Any]) -> str:
    """What prose alone makes of one finding: no letter, no queries, and so quick enough for the whole catalogue."""
    facts = facts_of(finding)
    statements = summarise(facts, None, catalogue()).statements
    return " ".join(said.text for said in Writer(catalogue()).write(statements)).replace("\u00a0", " ")


def every_value(item: Item) -> list[Any]:
    """What may be recorded of an item: every state, or the bounds of a number."""
    match item.value:
        case ValueKind.PRESENCE:
            return ["present", "absent", "equivocal"]
        case ValueKind.TEST:
            return ["positive", "negative", "equivocal"]
        case ValueKind.STATE:
            assert item.scale is not None
            return [state.slug for state in catalogue().scales[item.scale].states]
        case ValueKind.MRC:
            return ["0", "2-", "4+", "5"]
        case ValueKind.QUANTITY:
            return [item.minimum, item.maximum]
        case ValueKind.ARC:
            return [{"from": 0, "to": item.maximum}, {"from": item.minimum, "to": item.maximum}]
        case ValueKind.TEXT:
            return ["normal", "a wool glove"]


def minimal(item: Item, value: Any, side: str = "right") -> dict[str, Any]:
    """The shortest finding of an item with a value, at its first site where it needs one."""
    return found(item.slug, value, side if item.paired else None, item.sites[0] if len(item.sites) > 1 else None)
