"""Why the patient came, what was diagnosed and who receives the letter: ServiceRequest, Condition and their like."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from letterkit.findings.fhir_bundle import Element, Resource, refused
from letterkit.findings.fhir_codes import SYSTEMS, Concept, SideSource, agreed_side, concept, is_side_alone, sides_in
from letterkit.findings.fhir_people import Person, person_of
from letterkit.findings.fhir_places import Context, extended_sides
from letterkit.findings.sides import Sides

_ASKED = {"active", "completed"}


def _side(element: Element, context: Context) -> Sides | None:
    """The side that the body sites of a request or condition agree on; a site is reported, for there is no place."""
    sources: list[SideSource] = []
    for body in element.objects("bodySite"):
        given = concept(body)
        sources += [*sides_in(given, context.profile, context.catalogue), *extended_sides(body, context)]
        if (given.codings or given.text) and is_side_alone(given) is None:
            context.notices.add(given.path, "not held", "a site, of which only the side has a place")
    return agreed_side(sources, element.path)


def _is_asked(resource: Resource, context: Context) -> bool:
    status = resource.element.text("status")
    if status in _ASKED:
        return True
    context.notices.add(resource.element.path, "left out", f"its status is not {' or '.join(sorted(_ASKED))}")
    resource.element.leave()
    return False


def _reason_words(reasons: Iterable[Concept], context: Context) -> dict[str, Any]:
    """Why the patient came: the words, and the presenting problem where a code of ours names it."""
    found: dict[str, Any] = {}
    for given in reasons:
        for code in given.codes_of("problem"):
            if code not in context.catalogue.problems:
                known = ", ".join(context.catalogue.problems)
                raise refused(given.path, f"names no presenting problem of {SYSTEMS['problem']}; known: {known}")
            if found.setdefault("problem", code) != code:
                raise refused(given.path, "a second presenting problem; give the one that brought the patient")
        others = [each for each in given.codings if each.system != SYSTEMS["problem"]]
        words = given.text or next((each.display for each in others if each.display), "")
        if words and words != found.get("text"):
            found["text"] = "; ".join([*([found["text"]] if "text" in found else []), words])
        if others:
            context.notices.add(given.path, "not held", "a code of the reason, of which the words were taken")
    return found


def reason_of(requests: tuple[Resource, ...], reasons: tuple[Concept, ...], context: Context) -> dict[str, Any]:
    """`reason` and `recipient` of an encounter, from its one ServiceRequest and the reasons of the Encounter itself."""
    asked = [each for each in requests if _is_asked(each, context)]
    if len(asked) > 1:
        for each in asked:
            context.notices.add(each.element.path, "to settle", "one of several requests; none was taken")
            each.element.leave()
        asked = []
    found: dict[str, Any] = {}
    words = list(reasons)
    side: Sides | None = None
    notes: list[str] = []
    for resource in asked:
        element = resource.element
        element.skip("intent")
        element.label("subject")
        words += [concept(each) for each in element.objects("reasonCode")]
        side = _side(element, context)
        notes = [text for each in element.objects("note") if (text := each.text("text"))]
        sender = person_of(element.object("requester"), resource, context)
        if sender is not None:
            found["recipient"] = sender.as_recipient()
    reason = _reason_words(words, context)
    reason |= {"side": side} if side else {}
    reason |= {"question": " ".join(notes)} if notes else {}
    return found | ({"reason": reason} if reason else {})


def copies_of(requests: tuple[Resource, ...], context: Context) -> list[dict[str, Any]]:
    """Who else receives the letter: the recipients of each CommunicationRequest."""
    found: list[Person] = []
    for resource in requests:
        if not _is_asked(resource, context):
            continue
        resource.element.label("subject")
        for reference in resource.element.objects("recipient"):
            person = person_of(reference, resource, context)
            if person is not None:
                found.append(person)
    return [person.as_recipient() for person in found]


def _diagnosed(encounter: Resource | None, context: Context) -> set[str]:
    """The paths of the conditions that the Encounter itself names as its diagnoses."""
    if encounter is None:
        return set()
    found = set()
    for each in encounter.element.objects("diagnosis"):
        reference = each.object("condition")
        condition = context.bundle.follow(reference, encounter) if reference else None
        if condition is not None:
            found.add(condition.element.path)
    return found


def _why_not_a_diagnosis(element: Element) -> str | None:
    """Why a Condition may not be printed as a diagnosis of this visit, or None where it may."""
    allowed = (
        ("verificationStatus", "condition_verification", {"confirmed"}, "its verification status is not confirmed"),
        (
            "clinicalStatus",
            "condition_clinical",
            {"active", "recurrence", "relapse"},
            "its clinical status is not active",
        ),
    )
    for field, system, codes, why in allowed:
        given = element.object(field)
        if given is not None and not set(concept(given).codes_of(system)) & codes:
            return f"{why}, so it is not printed as a diagnosis"
    return None


def diagnoses_of(resources: tuple[Resource, ...], context: Context) -> Iterator[dict[str, Any]]:
    """The diagnoses of the visit, in the clinician's words; every other condition is reported."""
    named = _diagnosed(context.encounter, context)
    for resource in resources:
        element = resource.element
        element.label("subject")
        kinds = [code for each in element.objects("category") for code in concept(each).codes_of("condition_category")]
        reference = element.object("encounter")
        of_visit = reference is not None and context.bundle.follow(reference, resource) is context.encounter is not None
        why = _why_not_a_diagnosis(element)
        if why is None and not (element.path in named or "encounter-diagnosis" in kinds or of_visit):
            why = "not a diagnosis of this visit"
        given = concept(element.object("code"))
        text = given.text or next(iter(given.words), None)
        if why is None and text is None:
            why = "has no words, and codes are not put into words here"
        if why is not None:
            context.notices.add(element.path, "left out" if "status" in why else "not held", why)
            element.leave()
            continue
        side = _side(element, context)
        yield {"text": text, **({"side": side} if side else {})}
