"""People of a Bundle: the patient, who examined, and who receives the letter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from letterkit.findings.fhir_bundle import Element, Resource, refused
from letterkit.findings.fhir_codes import Concept, concept
from letterkit.findings.fhir_observation import day_of
from letterkit.findings.fhir_places import Context

SALUTATION_URL = "urn:letterkit:extension:salutation"
_REAL_NAMES = ("official", "usual", None)
_OLD_NAMES = {"old", "maiden", "temp"}
_PROFESSIONALS = ("PractitionerRole", "Practitioner", "Organization")


def filled(**fields: Any) -> dict[str, Any]:
    """The fields that say something."""
    return {name: value for name, value in fields.items() if value not in (None, "", [], {}, ())}


def _name_parts(name: Element) -> dict[str, Any]:
    return filled(
        family=name.text("family"), given=list(name.texts("given")), prefix=list(name.texts("prefix")),
        text=name.text("text"),
    )  # fmt: skip


def label_of(given: Concept) -> str | None:
    """The words of a concept: its text or the first display."""
    return given.text or next(iter(given.words), None)


def is_active(element: Element) -> None:
    """Takes the flag of a record in use; one that is no longer in use is left to be reported."""
    if element.peek("active") is True:
        element.skip("active")


def address_of(element: Element) -> dict[str, Any] | None:
    """The first address of a person or an organisation that is still in use."""
    for address in element.objects("address"):
        if address.word("use") in {"old", "temp"}:
            continue
        address.skip("use", "type")
        lines, whole = list(address.texts("line")), address.text("text")
        return filled(
            line=lines or ([whole] if whole and "city" not in address else []), city=address.text("city"),
            district=address.text("district"), postalCode=address.text("postalCode"), country=address.text("country"),
        )  # fmt: skip
    return None


def telecom_of(element: Element) -> str | None:
    """The first telephone number or address of a person or an organisation."""
    first = next(iter(element.objects("telecom")), None)
    if first is None:
        return None
    first.skip("system", "use", "rank")
    return first.text("value")


def identifier_of(element: Element) -> dict[str, Any] | None:
    """One identifier: its system, or the words for its kind where there is no system."""
    element.skip("use")
    value = element.text("value")
    kind = concept(element.object("type"))
    assigner = element.object("assigner")
    if value is None:
        return None
    return filled(
        system=element.text("system") or label_of(kind), value=value,
        assigner=assigner.text("display") if assigner else None,
    )  # fmt: skip


def patient_of(resource: Resource) -> dict[str, Any]:
    """The person examined. Raises `InvalidInput` where the Bundle gives no name."""
    element = resource.element
    names = {each.word("use"): each for each in reversed(element.objects("name")) if each.word("use") not in _OLD_NAMES}
    main = next((names[use] for use in _REAL_NAMES if use in names), None)
    if main is None:
        raise refused(f"{element.path}.name", "no name of use official or usual; the letter needs one")
    main.skip("use")
    preferred = None
    for use in ("usual", "nickname"):
        other = names.get(use)
        if preferred is None and other is not None and other is not main:
            other.skip("use")
            parts = _name_parts(other)
            preferred = parts.get("text") or " ".join([*parts.get("given", []), parts.get("family", "")]).strip()
    birth = element.text("birthDate")
    if birth is not None and day_of(birth) is None:
        raise refused(f"{element.path}.birthDate", "not a whole date; give year, month and day")
    return filled(
        name=_name_parts(main), preferredName=preferred, birthDate=birth, gender=element.text("gender"),
        identifier=[found for each in element.objects("identifier") if (found := identifier_of(each))],
        address=address_of(element),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who examines or receives: the resource that identifies them, and what it says."""

    key: str  # the path of the person's own resource, whichever resource refers to it
    name: str | None
    role: str | None = None
    organization: str | None = None
    qualification: str | None = None
    identifier: dict[str, Any] | None = None
    telecom: str | None = None
    salutation: str | None = None
    address: dict[str, Any] | None = None

    def as_author(self) -> dict[str, Any]:
        """As the author of a letter."""
        return filled(
            name=self.name, role=self.role, qualification=self.qualification, identifier=self.identifier,
            telecom=self.telecom,
        )  # fmt: skip

    def as_recipient(self) -> dict[str, Any]:
        """As a receiver of a letter."""
        return filled(
            name=self.name, salutation=self.salutation, role=self.role, organization=self.organization,
            address=self.address,
        )  # fmt: skip


def _named(element: Element) -> str | None:
    for name in element.objects("name"):
        if name.word("use") in _OLD_NAMES:
            continue
        name.skip("use")
        parts = _name_parts(name)
        return (
            parts.get("text")
            or " ".join([*parts.get("prefix", []), *parts.get("given", []), parts.get("family", "")]).strip()
        )
    return None


def _salutation(element: Element) -> str | None:
    for extension in element.objects("extension"):
        if extension.word("url") == SALUTATION_URL:
            extension.skip("url")
            return extension.text("valueString")
    return None


def organization_of(resource: Resource | None) -> tuple[str | None, dict[str, Any] | None]:
    """The name and the address of an organisation."""
    if resource is None:
        return None, None
    is_active(resource.element)
    return resource.element.text("name"), address_of(resource.element)


def _practitioner(resource: Resource | None) -> dict[str, Any]:
    if resource is None:
        return {}
    element = resource.element
    is_active(element)
    qualifications = [label_of(concept(each.object("code"))) for each in element.objects("qualification")]
    identifiers = element.objects("identifier")
    return {
        "name": _named(element),
        "qualification": ", ".join(each for each in qualifications if each) or None,
        "identifier": identifier_of(identifiers[0]) if identifiers else None,
        "telecom": telecom_of(element),
        "salutation": _salutation(element),
        "address": address_of(element),
    }


def person_of(reference: Element | None, owner: Resource, context: Context) -> Person | None:
    """The person a reference leads to, by PractitionerRole, Practitioner, Organization, or its label alone.

    None, with a notice, where it leads outside the Bundle and has no label.
    """
    if reference is None:
        return None
    found = context.bundle.follow(reference, owner)
    if found is None:
        label = reference.text("display")
        if reference.text("reference") or label is None:
            context.notices.add(reference.path, "not held", "somebody who is not in the Bundle")
        reference.skip("type", "identifier")
        return Person(reference.path, label) if label else None
    if found.kind == "Patient":
        return Person(found.element.path, reference.text("display") or _named(found.element), "Patient")
    if found.kind == "RelatedPerson":
        relation = [label_of(concept(each)) for each in found.element.objects("relationship")]
        is_active(found.element)
        found.element.label("patient")
        return Person(
            found.element.path, _named(found.element), next(iter(relation), None), address=address_of(found.element)
        )
    if found.kind == "Organization":
        name, address = organization_of(found)
        return Person(found.element.path, name, address=address)
    if found.kind not in _PROFESSIONALS:
        context.notices.add(reference.path, "not held", f"a {found.kind}; people are expected here")
        return None
    role, practitioner, organization = None, found, None
    if found.kind == "PractitionerRole":
        is_active(found.element)
        role = next((label_of(concept(each)) for each in found.element.objects("code")), None)
        practitioner_reference = found.element.object("practitioner")
        organization_reference = found.element.object("organization")
        person = context.bundle.follow(practitioner_reference, found) if practitioner_reference else None
        organization = context.bundle.follow(organization_reference, found) if organization_reference else None
        if person is None or (organization is None and organization_reference is not None):
            context.notices.add(found.element.path, "not held", "a person or organisation that is not in the Bundle")
        practitioner = person if person is not None else found
    about: dict[str, Any] = _practitioner(practitioner) if practitioner.kind == "Practitioner" else {}
    if found.kind == "PractitionerRole" and about.get("telecom") is None:
        about["telecom"] = telecom_of(found.element)
    name, address = organization_of(organization)
    about["address"] = about.get("address") or address
    return Person(practitioner.element.path, about.pop("name", None), role=role, organization=name, **about)
