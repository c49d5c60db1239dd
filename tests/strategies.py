"""Random encounters from the catalogue: a new item is generated without being asked for."""

from __future__ import annotations

import math
from typing import Any

from hypothesis import strategies as st

from letterkit.catalogue import catalogue
from letterkit.catalogue.model import Item, Qualifier, ValueKind

CATALOGUE = catalogue()
ITEMS = list(CATALOGUE.items.values())
_NOTES = st.sampled_from(["worse in the morning", "seen by the trainee as well", "painless"])
_GRADES = ["0", "1", "2", "2+", "3-", "3", "3+", "4-", "4", "4+", "5-", "5"]


@st.composite
def _value(draw: st.DrawFn, item: Item) -> Any:
    match item.value:
        case ValueKind.PRESENCE:
            return draw(st.sampled_from(["present", "absent", "absent", "present", "equivocal"]))
        case ValueKind.TEST:
            return draw(st.sampled_from(["positive", "negative", "equivocal"]))
        case ValueKind.STATE:
            assert item.scale is not None
            return draw(st.sampled_from([state.slug for state in CATALOGUE.scales[item.scale].states]))
        case ValueKind.MRC:
            return draw(st.sampled_from(_GRADES))
        case ValueKind.QUANTITY:
            assert item.minimum is not None
            assert item.maximum is not None
            if item.decimals:
                return round(draw(st.floats(item.minimum, item.maximum)), item.decimals)
            return draw(st.integers(math.ceil(item.minimum), int(item.maximum)))
        case ValueKind.ARC:
            assert item.minimum is not None
            assert item.maximum is not None
            start = draw(st.integers(int(item.minimum), int(item.maximum)))
            return {"from": start, "to": draw(st.integers(start, int(item.maximum)))}
        case ValueKind.TEXT:
            return draw(st.sampled_from(["normal", "thermoplastic splint", "cotton sleeve"]))


_QUALIFIERS: dict[Qualifier, st.SearchStrategy[Any]] = {
    Qualifier.SEVERITY: st.sampled_from(["mild", "moderate", "severe"]),
    Qualifier.ONSET: st.integers(1, 60),
    Qualifier.COUNT: st.integers(1, 5),
    Qualifier.SIZE: st.integers(2, 40),
    Qualifier.LENGTH: st.integers(1, 8),
    Qualifier.ANGLE: st.integers(5, 80),
    Qualifier.CORRECTABILITY: st.sampled_from(["correctable", "fixed"]),
    Qualifier.MODE: st.sampled_from(["active", "passive"]),
    Qualifier.DESCRIPTION: st.sampled_from(["firm", "smooth and mobile"]),
    Qualifier.DISTRIBUTION: st.sampled_from(["the index and middle fingers"]),
}


@st.composite
def findings(draw: st.DrawFn) -> dict[str, Any]:
    """One finding of any item, with a side, sites, a value it allows and perhaps qualifiers."""
    item = draw(st.sampled_from(ITEMS))
    found: dict[str, Any] = {"item": item.slug, "value": draw(_value(item))}
    if item.paired:
        found["side"] = draw(st.sampled_from(["left", "right", "both"]))
    if len(item.sites) > 1:
        found["site"] = draw(st.lists(st.sampled_from(item.sites), min_size=1, max_size=4, unique=True))
    told = found["value"] in ("present", "positive") or item.value in {ValueKind.ARC, ValueKind.QUANTITY}
    for name in sorted(item.qualifiers - {Qualifier.GRADE}):
        if (told or name is Qualifier.MODE) and draw(st.integers(0, 3)) == 0:
            key = "".join(part.capitalize() if i else part for i, part in enumerate(name.value.split("_")))
            found[key] = draw(_QUALIFIERS[name])
    if draw(st.integers(0, 9)) == 0:
        found["note"] = draw(_NOTES)
    return found


@st.composite
def encounters(draw: st.DrawFn, most: int = 60) -> dict[str, Any]:
    """An encounter with 1 to `most` findings; the size is drawn first, so that long ones are as likely as short ones."""
    size = draw(st.integers(1, most))
    found = draw(st.lists(findings(), min_size=size, max_size=size))
    encounter: dict[str, Any] = {
        "patient": {"name": {"family": "Testwell", "given": ["Avery"]}},
        "drafted": "2026-11-20",
        "examination": {"findings": found},
    }
    if draw(st.booleans()):
        encounter["reason"] = {"problem": draw(st.sampled_from(list(CATALOGUE.problems)))}
    if draw(st.integers(0, 3)) == 0:
        encounter["examination"]["normal"] = [{"stage": draw(st.sampled_from(["inspection", "palpation", "function"]))}]
    return encounter
