"""The visit of a Bundle: when it was, of what kind, where, and who took part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from letterkit.catalogue.codes import codes
from letterkit.findings.fhir_bundle import Element, Resource, refused
from letterkit.findings.fhir_codes import SYSTEMS, Concept, coding, concept
from letterkit.findings.fhir_observation import day_of
from letterkit.findings.fhir_people import Person, filled, label_of, organization_of, person_of, telecom_of
from letterkit.findings.fhir_places import Context

_HELD = {"arrived", "triaged", "in-progress", "onleave", "finished", "unknown"}
_ROLES = ("author", "responsible", "accompanying")


@dataclass(frozen=True, slots=True)
class Visit:
    """The visit, the clinic and who took part in it."""

    visit: dict[str, Any]
    clinic: dict[str, Any]
    reference: str | None
    author: Person | None
    reasons: tuple[Concept, ...]
    end: date | None


def _service(element: Element, resource: Resource, context: Context) -> dict[str, Any]:
    """The clinic: the organisation that provided the service, and what it is part of."""
    specialty = label_of(concept(element.object("serviceType")))
    reference = element.object("serviceProvider")
    found = context.bundle.follow(reference, resource) if reference else None
    if reference is not None and found is None:
        name = reference.text("display")
        if name is None or reference.text("reference"):
            context.notices.add(reference.path, "not held", "an organisation that is not in the Bundle")
        return filled(name=name, specialty=specialty) if name else {}
    if found is None:
        return {}
    name, address = organization_of(found)
    above = found.element.object("partOf")
    parent = context.bundle.follow(above, found) if above else None
    whole, whole_address = organization_of(parent)
    return filled(
        name=name, specialty=specialty, organization=whole, address=address or whole_address,
        telecom=telecom_of(found.element),
    )  # fmt: skip


def _participants(resource: Resource, context: Context) -> dict[str, list[Person]]:
    """Who took part, by what their part was: one of `_ROLES`, 'other', or 'untold' where nothing says it."""
    found: dict[str, list[Person]] = {}
    for participant in resource.element.objects("participant"):
        kinds = [concept(each) for each in participant.objects("type")]
        told = [code for each in kinds for code in each.codes_of("participant") if code in _ROLES]
        told += [
            codes().participations[c] for k in kinds for c in k.codes_of("participation") if c in codes().participations
        ]
        person = person_of(participant.object("individual"), resource, context)
        if person is not None:
            found.setdefault(told[0] if told else "other" if kinds else "untold", []).append(person)
    return found


def _one(people: Sequence[Person], path: str, what: str, context: Context) -> Person | None:
    if len({each.key for each in people}) > 1:
        context.notices.add(path, "to settle", f"several people could be the {what}; none was taken")
        return None
    return people[0] if people else None


def visit_of(resource: Resource, context: Context) -> Visit:
    """The visit of an Encounter. Raises `InvalidInput` for one that did not take place."""
    element = resource.element
    status = element.text("status")
    if status not in _HELD:
        raise refused(f"{element.path}.status", f"not a visit that took place; allowed: {', '.join(sorted(_HELD))}")
    element.label("subject")
    kind = element.object("class")
    if kind is not None:
        coding(kind)
    for based_on in element.objects("basedOn"):
        context.bundle.follow(based_on, resource)
    period = element.object("period")
    start = day_of(period.text("start")) if period else None
    end = day_of(period.text("end")) if period else None
    types = [concept(each) for each in element.objects("type")]
    kinds = [code for each in types for code in each.codes_of("visit_kind")]
    methods = [code for each in types for code in each.codes_of("visit_method")]
    for each in types:
        if not each.codes_of("visit_kind") and not each.codes_of("visit_method"):
            context.notices.add(each.path, "not held", f"a type of visit that is not of {SYSTEMS['visit_kind']}")
    people = _participants(resource, context)
    author = _one(people.get("author", []) or people.get("untold", []), element.path, "author", context)
    responsible = _one(people.get("responsible", []), element.path, "responsible professional", context)
    with_patient = _one(people.get("accompanying", []), element.path, "person accompanying the patient", context)
    for other in [*people.get("other", []), *people.get("untold", [])]:
        if other is not author:
            context.notices.add(element.path, "not held", "somebody who took part and is not the author")
    identifiers = element.objects("identifier")
    reference = None
    if identifiers:
        identifiers[0].skip("use")
        reference = identifiers[0].text("value")
    visit = filled(
        date=start.isoformat() if start else None, kind=kinds[0] if kinds else "other",
        method=methods[0].replace("-", " ") if methods else None, responsible=responsible.name if responsible else None,
        accompaniedBy=with_patient.name if with_patient else None,
    )  # fmt: skip
    reasons = tuple(concept(each) for each in element.objects("reasonCode"))
    return Visit(visit, _service(element, resource, context), reference, author, reasons, end)
