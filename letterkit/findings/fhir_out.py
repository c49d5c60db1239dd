"""An encounter as a FHIR R4 Bundle: the resources that `letterkit.findings.fhir` reads, and a letter refers to.

One Observation is one fact. Ids are made from the encounter, so that the same one gives the same Bundle.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import NAMESPACE_URL, UUID, uuid5

from letterkit.catalogue import Catalogue, catalogue
from letterkit.errors import InvalidInput, Problem
from letterkit.findings.facts import Facts, expand
from letterkit.findings.fhir_codes import SYSTEMS
from letterkit.findings.fhir_out_facts import Links, laterality, observations_of
from letterkit.findings.fhir_out_people import (
    author_resources,
    clinic_resource,
    patient_resource,
    recipient_reference,
)
from letterkit.findings.models import Encounter, Record

NAMESPACE = uuid5(NAMESPACE_URL, "urn:letterkit")


class Maker:
    """Collects resources and gives each an id that depends only on its root and its key."""

    def __init__(self, root: str) -> None:
        self._namespace: UUID = uuid5(NAMESPACE, root)
        self.entries: list[dict[str, Any]] = []

    def url(self, key: str) -> str:
        """The address of the resource of that key."""
        return f"urn:uuid:{uuid5(self._namespace, key)}"

    def add(self, key: str, resource: Mapping[str, Any]) -> dict[str, str]:
        """Adds a resource; gives the reference that leads to it."""
        url = self.url(key)
        head = {"resourceType": resource["resourceType"], "id": url.removeprefix("urn:uuid:")}
        self.entries.append({"fullUrl": url, "resource": {**head, **resource}})
        return {"reference": url}


@dataclass(frozen=True, slots=True)
class Expressed:
    """The resources of an encounter, and the references a letter needs; `facts` leads from fact ids to Observations."""

    entries: tuple[dict[str, Any], ...]
    patient: dict[str, str]
    encounter: dict[str, str] | None
    author: dict[str, str] | None
    custodian: dict[str, str] | None
    facts: Mapping[str, tuple[dict[str, str], ...]]
    earlier: tuple[dict[str, str], ...]
    diagnoses: tuple[dict[str, str], ...]
    copies: dict[str, str] | None


def root_of(encounter: Encounter) -> str:
    """What tells this encounter from every other: its whole content."""
    return json.dumps(encounter.model_dump(mode="json", by_alias=True), sort_keys=True, ensure_ascii=False)


def _coded(system: str, code: str) -> dict[str, Any]:
    return {"coding": [{"system": SYSTEMS[system], "code": code}]}


def _encounter_resource(
    encounter: Encounter,
    patient: dict[str, str],
    author: dict[str, str] | None,
    clinic: dict[str, str] | None,
    request: dict[str, str] | None,
) -> dict[str, Any] | None:
    visit = encounter.visit
    if visit is None and author is None and clinic is None and encounter.reference is None:
        return None
    remote = visit is not None and visit.method in {"telephone", "video"}
    resource: dict[str, Any] = {
        "resourceType": "Encounter",
        "status": "finished",
        "class": {"system": SYSTEMS["act"], "code": "VR" if remote else "AMB"},
        "subject": patient,
    }
    if request is not None:
        resource["basedOn"] = [request]
    if encounter.reference:
        resource["identifier"] = [{"value": encounter.reference}]
    participants = []
    if author is not None:
        participants.append({"type": [_coded("participant", "author")], "individual": author})
    if visit is not None:
        types = [_coded("visit_kind", visit.kind)]
        types += [_coded("visit_method", visit.method.replace(" ", "-"))] if visit.method else []
        resource |= {"type": types, "period": {"start": visit.date.isoformat()}}
        named = (("responsible", visit.responsible), ("accompanying", visit.accompanied_by))
        participants += [
            {"type": [_coded("participant", role)], "individual": {"display": name}} for role, name in named if name
        ]
    if participants:
        resource["participant"] = participants
    if encounter.clinic is not None:
        if encounter.clinic.specialty:
            resource["serviceType"] = {"text": encounter.clinic.specialty}
        resource["serviceProvider"] = clinic
    return resource


def _request(encounter: Encounter, links: Links, requester: dict[str, str] | None, known: Catalogue) -> dict[str, Any]:
    resource: dict[str, Any] = {
        "resourceType": "ServiceRequest", "status": "completed", "intent": "order", "subject": links.patient
    }  # fmt: skip
    if requester is not None:
        resource["requester"] = requester
    reason = encounter.reason
    if reason is not None:
        words: dict[str, Any] = {}
        if reason.problem:
            words |= _coded("problem", known.problem_terms.get(reason.problem.casefold(), reason.problem))
        if reason.text:
            words["text"] = reason.text
        if words:
            resource["reasonCode"] = [words]
        if reason.side:
            resource["bodySite"] = [laterality(reason.side)]
        if reason.question:
            resource["note"] = [{"text": reason.question}]
    return resource


def _answer(value: Any) -> dict[str, Any]:
    return {"valueBoolean": value} if isinstance(value, bool) else {"valueString": str(value)}


def _texts(link: str, values: Iterable[Any]) -> list[dict[str, Any]]:
    answers = [_answer(value) for value in values if value is not None]
    return [{"linkId": link, "answer": answers}] if answers else []


def _entries(link: str, entries: Iterable[Record]) -> list[dict[str, Any]]:
    return [
        {"linkId": link, "item": [
            {"linkId": f"{link}.{name}", "answer": [_answer(value)]}
            for name, value in entry.model_dump(by_alias=True, exclude_none=True).items()
        ]}
        for entry in entries
    ]  # fmt: skip


def _answers(encounter: Encounter, links: Links) -> dict[str, Any]:
    """The fields that have no simple resource of their own, each as an answer under its path in the encounter."""
    patient, history = encounter.patient, encounter.history
    items = [
        *_texts("drafted", [encounter.drafted]),
        *_texts("patient.handedness", [patient.handedness]),
        *_texts("patient.occupation", [patient.occupation]),
        *_texts("patient.communicationNeeds", patient.communication_needs),
        *_texts("options.language", [encounter.options.language]),
        *_texts("options.largePrint", [encounter.options.large_print]),
        *_texts("options.measures", encounter.options.measures),
        *_texts("options.letter", [encounter.options.letter]),
        *_texts("options.drawing", [encounter.options.drawing]),
        *_texts("informationGiven", encounter.information_given),
        *_entries("impression", encounter.impression),
        *_entries("plan", encounter.plan),
    ]
    if history is not None:
        items += _texts("history.presenting", [history.presenting])
        items += _texts("history.past", history.past)
        items += _texts("history.sinceLastContact", [history.since_last_contact])
        items += _texts("history.concerns", [history.concerns])
        items += _entries("history.symptoms", history.symptoms)
    if encounter.medication is not None:
        items += _texts("medication", encounter.medication or [False])
    if encounter.allergies is not None:
        if encounter.allergies == "none known" or not encounter.allergies:
            items += _texts("allergies", ["none known"])
        else:
            items += _entries("allergies", encounter.allergies)
    return {"resourceType": "QuestionnaireResponse", "status": "completed", "subject": links.patient, "item": items}


def express(encounter: Encounter, facts: Facts, known: Catalogue, maker: Maker, *, status: str = "final") -> Expressed:
    """Adds the resources of an encounter to `maker`; `status` is that of its Observations."""
    practice = encounter.gp_practice
    patient = {"reference": maker.url("patient")}
    doctor = recipient_reference(maker.add, "practice", practice, patient) if practice else None
    maker.add("patient", patient_resource(encounter.patient, doctor))
    author = author_resources(maker.add, encounter.author) if encounter.author else None
    clinic = clinic_resource(maker.add, encounter.clinic) if encounter.clinic else None
    day = encounter.visit.date.isoformat() if encounter.visit else None
    asked = encounter.recipient is not None or encounter.reason is not None
    request = {"reference": maker.url("request")} if asked else None
    visit = _encounter_resource(encounter, patient, author, clinic, request)
    reference = maker.add("encounter", visit) if visit else None
    links = Links(patient, reference, author, day)
    if asked:
        to = encounter.recipient
        requester = recipient_reference(maker.add, "recipient", to, patient) if to else None
        maker.add("request", _request(encounter, links, requester, known))
    copies = None
    if encounter.copies:
        people = [recipient_reference(maker.add, f"copy {at}", to, patient) for at, to in enumerate(encounter.copies)]
        copies = maker.add("copies", {
            "resourceType": "CommunicationRequest", "status": "active", "subject": patient, "recipient": people,
        })  # fmt: skip
    earlier: list[dict[str, str]] = []
    found: dict[str, tuple[dict[str, str], ...]] = {}
    for key, fact, resource in observations_of(encounter, facts, links, known, status):
        made = maker.add(key, resource)
        if fact is not None:
            found[fact] = (*found.get(fact, ()), made)
        else:
            earlier.append(made)
    diagnoses = []
    for at, diagnosis in enumerate(encounter.diagnoses):
        condition = maker.add(f"diagnosis {at}", {
            "resourceType": "Condition",
            "category": [_coded("condition_category", "encounter-diagnosis")],
            "code": {"text": diagnosis.text},
            **({"bodySite": [laterality(diagnosis.side)]} if diagnosis.side else {}),
            "subject": patient,
            **({"encounter": reference} if reference else {}),
        })  # fmt: skip
        diagnoses.append(condition)
    maker.add("answers", _answers(encounter, links))
    return Expressed(
        tuple(maker.entries), patient, reference, author, clinic, found, tuple(earlier), tuple(diagnoses), copies
    )


def encounter_bundle(encounter: Encounter, known: Catalogue | None = None) -> dict[str, Any]:
    """An encounter as a Bundle of type collection, which reads back as the same facts.

    Raises `InvalidInput` for an encounter that cannot be read, or that holds answers to queries: a Bundle records an
    examination, and answers belong to the letter.
    """
    if encounter.answers:
        raise InvalidInput((Problem("answers", "a Bundle has no place for answers to queries; leave them out"),))
    vocabulary = known or catalogue()
    maker = Maker(root_of(encounter))
    express(encounter, expand(encounter, vocabulary), vocabulary, maker)
    return {"resourceType": "Bundle", "type": "collection", "entry": maker.entries}
