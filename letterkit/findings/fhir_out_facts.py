"""Facts as FHIR Observations: one item at one site on one side, coded by the catalogue and, where known, SNOMED CT."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from letterkit.catalogue import Catalogue
from letterkit.catalogue.codes import codes
from letterkit.catalogue.model import Item, Qualifier, ValueKind
from letterkit.findings.facts import EarlierFact, Fact, Facts, NormalFact, UnexaminedFact
from letterkit.findings.fhir_codes import LATERALITY_URL, SYSTEMS
from letterkit.findings.models import Encounter
from letterkit.findings.values import Arc, Grade, Quantity, Value

_UCUM = {"score": "{score}"}  # every other unit of the catalogue is its own code
_UNITS = {Qualifier.ONSET: "s", Qualifier.SIZE: "mm", Qualifier.LENGTH: "cm", Qualifier.ANGLE: "deg"}


@dataclass(frozen=True, slots=True)
class Links:
    """What every Observation refers to, and the date of the visit."""

    patient: dict[str, str]
    encounter: dict[str, str] | None
    author: dict[str, str] | None
    day: str | None


def laterality(side: str) -> dict[str, Any]:
    """A body site that holds a side, by its SNOMED CT code in an extension, with the word beside it."""
    known = next(each for each in codes().side if each.side == side)
    coding = {"system": SYSTEMS["snomed"], "code": known.code, "display": known.display}
    return {
        "extension": [{"url": LATERALITY_URL, "valueCodeableConcept": {"coding": [coding]}}],
        "text": "Both sides" if side == "both" else known.display,
    }


def _body_site(side: str | None, site: str | None, known: Catalogue) -> dict[str, Any]:
    if side is None and site is None:
        return {}
    found = laterality(side) if side else {}
    if site is not None:
        name = known.sites[site].name
        found["coding"] = [{"system": SYSTEMS["site"], "code": site, "display": name}]
        found["text"] = f"{side} {name}" if side in {"left", "right"} else name
    return {"bodySite": found}


def _number(value: float) -> int | float:
    return int(value) if value == int(value) else value


def _quantity(value: float, unit: str, comparator: str = "") -> dict[str, Any]:
    code = _UCUM.get(unit, unit)
    return {
        "value": _number(value), **({"comparator": comparator} if comparator else {}),
        "unit": unit, "system": SYSTEMS["ucum"], "code": code,
    }  # fmt: skip


def _part(name: str, **value: Any) -> dict[str, Any]:
    return {"code": {"coding": [{"system": SYSTEMS["part"], "code": name}]}, **value}


def _state(state: str, item: Item) -> dict[str, Any]:
    coding = [{"system": SYSTEMS["state"], "code": state}]
    if item.value in {ValueKind.PRESENCE, ValueKind.TEST}:
        coding += [
            {"system": SYSTEMS["snomed"], "code": each.code, "display": each.display}
            for each in codes().state
            if each.state == state
        ]
    return {"valueCodeableConcept": {"coding": coding, "text": state.replace("_", " ")}}


def _value(value: Value, state: str, item: Item) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """The value of an Observation, and the components that belong to it."""
    match value:
        case Quantity(number, unit, comparator, trials):
            parts = [_part("trial", valueQuantity=_quantity(trial, unit)) for trial in trials]
            return {"valueQuantity": _quantity(number, unit, comparator)}, parts
        case Arc(start, end):
            angles = (("from", start), ("to", end))
            return {}, [_part(name, valueQuantity=_quantity(angle, "deg")) for name, angle in angles]
        case Grade(text):
            return {"valueCodeableConcept": {"coding": [{"system": SYSTEMS["state"], "code": text}], "text": text}}, []
        case str():
            return {"valueString": value}, []
        case None:
            return ({"valueString": state}, []) if item.value is ValueKind.TEXT else (_state(state, item), [])


def _qualifiers(fact: Fact, encounter: Encounter) -> Iterator[dict[str, Any]]:
    for name, value in fact.qualifiers:
        if name is Qualifier.MODE:
            continue
        if name is Qualifier.GRADE:
            finding = encounter.examination.findings[fact.findings[0]]
            yield _part("grade", valueString=finding.grade)
            yield _part("grading", valueString=finding.grading)
        elif name is Qualifier.COUNT:
            yield _part(name.value, valueInteger=value)
        elif name in _UNITS:
            yield _part(name.value, valueQuantity=_quantity(float(value), _UNITS[name]))
        else:
            yield _part(name.value, valueString=value)


def _code(system: str, code: str, name: str) -> dict[str, Any]:
    return {"coding": [{"system": SYSTEMS[system], "code": code, "display": name}], "text": name}


def _base(code: dict[str, Any], links: Links, status: str) -> dict[str, Any]:
    return {
        "resourceType": "Observation",
        "status": status,
        "category": [{"coding": [{"system": SYSTEMS["category"], "code": "exam"}]}],
        "code": code,
        "subject": links.patient,
        **({"encounter": links.encounter} if links.encounter else {}),
        **({"effectiveDateTime": links.day} if links.day else {}),
        **({"performer": [links.author]} if links.author else {}),
    }


def _mode(mode: object) -> dict[str, Any]:
    if not mode:
        return {}
    return {"method": {"coding": [{"system": SYSTEMS["part"], "code": mode}], "text": mode}}


def _fact(fact: Fact, encounter: Encounter, links: Links, known: Catalogue, status: str) -> dict[str, Any]:
    item = known.items[fact.item]
    value, parts = _value(fact.value, fact.state, item)
    parts += _qualifiers(fact, encounter)
    return {
        **_base(_code("item", item.slug, item.name), links, status), **value,
        **({"note": [{"text": fact.note}]} if fact.note else {}),
        **_body_site(fact.side, fact.site, known), **_mode(fact.qualifier(Qualifier.MODE)),
        **({"component": parts} if parts else {}),
    }  # fmt: skip


def _normal(fact: NormalFact, links: Links, known: Catalogue, status: str) -> dict[str, Any]:
    value = {"coding": [{"system": SYSTEMS["state"], "code": "normal"}], "text": "normal"}
    name = fact.stage.value.replace("_", " ")
    return {
        **_base(_code("stage", fact.stage.value, name), links, status), "valueCodeableConcept": value,
        **_body_site(fact.side, None, known),
    }  # fmt: skip


def _unexamined(fact: UnexaminedFact, site: str | None, links: Links, known: Catalogue, status: str) -> dict[str, Any]:
    if fact.item is not None:
        code = _code("item", fact.item, known.items[fact.item].name)
    else:
        code = _code("stage", fact.stage.value, fact.stage.value.replace("_", " "))
    reason: dict[str, Any] = {
        "coding": [{"system": SYSTEMS["absent_reason"], "code": "asked-declined" if fact.declined else "not-performed"}]
    }
    if fact.reason:
        reason["text"] = fact.reason
    return {**_base(code, links, status), "dataAbsentReason": reason, **_body_site(fact.side, site, known)}


def _earlier(fact: EarlierFact, links: Links, known: Catalogue) -> dict[str, Any]:
    item = known.items[fact.item]
    value, parts = _value(fact.value, fact.state, item)
    if fact.severity:
        parts.append(_part("severity", valueString=fact.severity))
    then = Links(links.patient, None, None, fact.date)
    return {
        **_base(_code("item", item.slug, item.name), then, "final"), **value,
        **_body_site(fact.side, fact.site, known), **_mode(fact.mode),
        **({"component": parts} if parts else {}),
    }  # fmt: skip


def observations_of(
    encounter: Encounter, facts: Facts, links: Links, known: Catalogue, status: str
) -> Iterator[tuple[str, str | None, dict[str, Any]]]:
    """Key, id of the fact (None for an earlier value) and Observation, in the order in which they were recorded."""
    recorded = sorted(facts.facts, key=lambda fact: [int(part) for part in fact.id[1:].split(".")])
    for fact in recorded:
        yield fact.id, fact.id, _fact(fact, encounter, links, known, status)
    for normal in facts.normal:
        yield normal.id, normal.id, _normal(normal, links, known, status)
    for gap in facts.unexamined:
        for site in gap.sites or (None,):
            yield f"{gap.id} {site or ''}", gap.id, _unexamined(gap, site, links, known, status)
    for at, before in enumerate(facts.earlier):
        yield f"earlier {at}", None, _earlier(before, links, known)
