"""The examination as a form needs it, from the catalogue: items by stage with their words, values and places."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from letterkit.catalogue import Catalogue, catalogue
from letterkit.catalogue.model import Item, Polarity, Qualifier, Stage, ValueKind
from letterkit.catalogue.page import matching
from letterkit.findings.sides import Side
from letterkit.render.hand_shapes import BOTTOM, TOP, WIDTH, Point, View, creases, nails, outline, spot

STAGES = {
    Stage.INSPECTION: "Inspection",
    Stage.PALPATION: "Palpation",
    Stage.MOVEMENT: "Movement",
    Stage.FUNCTION: "Function",
    Stage.NEUROVASCULAR: "Nerves and vessels",
    Stage.SPECIAL_TESTS: "Special tests",
}
_MRC = ("0", "1", "2-", "2", "2+", "3-", "3", "3+", "4-", "4", "4+", "5-", "5")
_PRESENCE = (("present", "present"), ("absent", "absent"), ("equivocal", "equivocal"))
_TEST = (("positive", "positive"), ("negative", "negative"), ("equivocal", "equivocal"))
_UNITS = {"deg": "degrees", "score": "points", "s": "seconds"}
_QUALIFIERS = {
    Qualifier.SEVERITY: ("severity", "Severity"), Qualifier.ONSET: ("onsetS", "Onset (seconds)"),
    Qualifier.DISTRIBUTION: ("distribution", "Where felt"), Qualifier.DESCRIPTION: ("description", "Description"),
    Qualifier.COUNT: ("count", "How many"), Qualifier.SIZE: ("sizeMm", "Size (mm)"),
    Qualifier.LENGTH: ("lengthCm", "Length (cm)"), Qualifier.ANGLE: ("angleDeg", "Angle (degrees)"),
    Qualifier.CORRECTABILITY: ("correctability", "Correctable"), Qualifier.GRADE: ("grade", "Grade"),
    Qualifier.MODE: ("mode", "Active or passive"),
}  # fmt: skip
_CLOSEST = 25.0  # units of the field between two targets of the drawing, so that each can be hit
_FIRST = ("mcp", "pip", "dip", "ip", "digit", "pulp", "nail", "a1", "metacarpal")


def _choices(item: Item, known: Catalogue) -> list[tuple[str, str]]:
    match item.value:
        case ValueKind.PRESENCE:
            return list(_PRESENCE)
        case ValueKind.TEST:
            return list(_TEST)
        case ValueKind.STATE:
            assert item.scale is not None
            words = item.doctor.states
            return [(each.slug, words.get(each.slug, each.doctor)) for each in known.scales[item.scale].states]
        case ValueKind.MRC:
            return [(grade, f"grade {grade}") for grade in _MRC]
        case _:
            return []


def _normal(item: Item, known: Catalogue) -> str | None:
    if item.scale is not None:
        states = known.scales[item.scale].states
        return next((each.slug for each in states if each.polarity is Polarity.NORMAL), None)
    return {ValueKind.PRESENCE: "absent", ValueKind.TEST: "negative", ValueKind.MRC: "5"}.get(item.value)


def _item(item: Item, known: Catalogue) -> dict[str, Any]:
    told: dict[str, Any] = {
        "slug": item.slug, "name": item.name, "stage": item.stage.value, "kind": item.value.value,
        "terms": [*item.synonyms, *item.ambiguous, *([item.us_name] if item.us_name else [])],
        "weight": item.weight, "paired": item.paired,
    }  # fmt: skip
    if choices := _choices(item, known):
        told["choices"] = choices
        told["normal"] = _normal(item, known)
    if item.is_measured:
        told["unit"] = _UNITS.get(item.unit or "deg", item.unit)
        told["low"], told["high"] = item.minimum, item.maximum
    if item.sites:
        told["sites"] = list(item.sites)
    if found := [_QUALIFIERS[each] for each in Qualifier if each in item.qualifiers]:
        told["more"] = found
    return told


@cache
def form() -> tuple[bytes, str]:
    """The whole examination as JSON, and its entity tag."""
    known = catalogue()
    told = {
        "stages": [{"slug": stage.value, "name": name} for stage, name in STAGES.items()],
        "items": [_item(item, known) for item in matching(known, "")],
        "sites": {
            site.slug: {"name": site.name, "row": site.row, "digit": site.digit} for site in known.sites.values()
        },
        "rows": {row.slug: row.plural for row in known.rows.values()},
    }
    content = json.dumps(told, ensure_ascii=False, separators=(",", ":")).encode()
    return content, f'"{hashlib.sha256(content).hexdigest()[:16]}"'


@dataclass(frozen=True, slots=True)
class Target:
    """A place of the drawing that can be chosen."""

    site: str
    name: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Hand:
    """One hand of the drawing that takes input: its lines, and the places that can be chosen, thumb side first."""

    side: Side
    view: View
    mirrored: bool
    outline: tuple[str, ...]
    lines: tuple[str, ...]
    nails: tuple[str, ...]
    targets: tuple[Target, ...]
    box: str = f"0 {TOP:g} {WIDTH:g} {BOTTOM - TOP:g}"
    width: float = WIDTH


def _targets(view: View, mirrored: bool) -> tuple[Target, ...]:  # noqa: FBT001 - as the field
    known = catalogue()
    wanted: list[tuple[int, str, str, Point]] = []
    for site in known.sites.values():
        found = spot(site.slug, site.row, site.digit)
        if found is None or found.view not in {None, view}:
            continue
        rank = _FIRST.index(site.row) if site.row in _FIRST else len(_FIRST) + (site.row is not None)
        wanted.append((rank, site.slug, site.name, found.point))
    kept: list[Target] = []
    for _, slug, name, (x, y) in sorted(wanted, key=lambda each: each[0]):
        place = (WIDTH - x if mirrored else x, y)
        if all((place[0] - each.x) ** 2 + (place[1] - each.y) ** 2 >= _CLOSEST**2 for each in kept):
            kept.append(Target(slug, name, round(place[0], 1), round(place[1], 1)))
    return tuple(sorted(kept, key=lambda each: known.sites[each.site].order))


@cache
def hands() -> tuple[Hand, ...]:
    """Both hands from the back and from the palm, as the patient sees them: the left hand on the left."""
    views: tuple[View, ...] = ("back", "palm")
    sides: tuple[Literal["left"], Literal["right"]] = ("left", "right")
    found = []
    for view in views:
        for side in sides:
            mirrored = (side == "left") is (view == "back")
            found.append(Hand(
                side, view, mirrored, outline(), creases(view), nails() if view == "back" else (),
                _targets(view, mirrored),
            ))  # fmt: skip
    return tuple(found)
