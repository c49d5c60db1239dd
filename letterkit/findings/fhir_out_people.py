"""People and organisations of an encounter as FHIR resources."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeAlias

from letterkit.findings.fhir_people import SALUTATION_URL
from letterkit.findings.identifiers import NHS_NUMBER_SYSTEM
from letterkit.findings.models import Address, Author, Clinic, Identifier, Patient, Recipient

Add: TypeAlias = Callable[[str, Mapping[str, Any]], dict[str, str]]


def _filled(**fields: Any) -> dict[str, Any]:
    return {name: value for name, value in fields.items() if value not in (None, "", [], {}, ())}


def _address(given: Address | None) -> list[dict[str, Any]]:
    if given is None:
        return []
    return [_filled(
        line=list(given.line), city=given.city, district=given.district, postalCode=given.postal_code,
        country=given.country,
    )]  # fmt: skip


def _telecom(given: str | None) -> list[dict[str, str]]:
    if given is None:
        return []
    return [{"system": "email" if "@" in given and " " not in given else "phone", "value": given}]


def identifier_out(given: Identifier) -> dict[str, Any]:
    """An identifier; a system that is no address is said as the kind of identifier."""
    system = NHS_NUMBER_SYSTEM if given.is_nhs_number else given.system
    found: dict[str, Any] = {}
    if system and ":" in system:
        found["system"] = system
    elif system:
        found["type"] = {"text": system}
    value = given.value.replace(" ", "") if given.is_nhs_number else given.value
    return found | _filled(value=value, assigner={"display": given.assigner} if given.assigner else None)


def patient_resource(patient: Patient, doctor: dict[str, str] | None) -> dict[str, Any]:
    """The person examined, with the practice they are registered at."""
    name = patient.name
    names = [{
        "use": "official",
        **_filled(text=name.text, family=name.family, given=list(name.given), prefix=list(name.prefix)),
    }]  # fmt: skip
    if patient.preferred_name:
        names.append({"use": "usual", "text": patient.preferred_name})
    return {
        "resourceType": "Patient",
        **_filled(
            identifier=[identifier_out(each) for each in patient.identifier], name=names, gender=patient.gender,
            birthDate=patient.birth_date.isoformat() if patient.birth_date else None, address=_address(patient.address),
            generalPractitioner=[doctor] if doctor else None,
        ),
    }  # fmt: skip


def author_resources(add: Add, author: Author) -> dict[str, str]:
    """The clinician who examined, with their role where it is known."""
    practitioner = add("author", {
        "resourceType": "Practitioner",
        **_filled(
            identifier=[identifier_out(author.identifier)] if author.identifier else None,
            name=[{"text": author.name}], telecom=_telecom(author.telecom),
            qualification=[{"code": {"text": author.qualification}}] if author.qualification else None,
        ),
    })  # fmt: skip
    if author.role is None:
        return practitioner
    return add("author role", {
        "resourceType": "PractitionerRole", "practitioner": practitioner, "code": [{"text": author.role}]
    })  # fmt: skip


def clinic_resource(add: Add, clinic: Clinic) -> dict[str, str]:
    """The clinic as an organisation, inside the one it belongs to."""
    whole = add("trust", {"resourceType": "Organization", "name": clinic.organization}) if clinic.organization else None
    return add("clinic", {
        "resourceType": "Organization",
        **_filled(
            name=clinic.name, telecom=_telecom(clinic.telecom), address=_address(clinic.address), partOf=whole
        ),
    })  # fmt: skip


def recipient_reference(add: Add, key: str, given: Recipient, patient: dict[str, str]) -> dict[str, str]:
    """Somebody who receives the letter; the patient is referred to as such."""
    if (given.role or "").casefold() == "patient" and not (given.organization or given.address or given.salutation):
        return {**patient, "display": given.name}
    salutation = [{"url": SALUTATION_URL, "valueString": given.salutation}] if given.salutation else None
    person = add(key, {
        "resourceType": "Practitioner",
        **_filled(extension=salutation, name=[{"text": given.name}], address=_address(given.address)),
    })  # fmt: skip
    if given.role is None and given.organization is None:
        return person
    whole = given.organization
    organization = add(f"{key} organisation", {"resourceType": "Organization", "name": whole}) if whole else None
    return add(f"{key} role", {
        "resourceType": "PractitionerRole",
        **_filled(
            practitioner=person, organization=organization, code=[{"text": given.role}] if given.role else None
        ),
    })  # fmt: skip
