"""A FHIR R4 or R4B Bundle as an encounter, with a notice of everything it carries that an encounter cannot hold.

One Bundle is one visit of one patient. A resource of another patient, a paired item without a side, a unit that is not
UCUM's, and sources that disagree are refused, naming the resource. What is cancelled or entered in error is never read
as a finding.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from letterkit.catalogue import catalogue
from letterkit.errors import InvalidInput, Problem
from letterkit.findings.facts import expand
from letterkit.findings.fhir_answers import Answers, read_answers
from letterkit.findings.fhir_bundle import Bundle, Element, Notice, Resource, refused
from letterkit.findings.fhir_codes import Profile
from letterkit.findings.fhir_line import Recorded
from letterkit.findings.fhir_observation import effective_day, read_observation
from letterkit.findings.fhir_people import Person, patient_of, person_of
from letterkit.findings.fhir_places import Context
from letterkit.findings.fhir_requests import copies_of, diagnoses_of, reason_of
from letterkit.findings.fhir_values import Notices
from letterkit.findings.fhir_visit import Visit, visit_of
from letterkit.findings.models import Encounter
from letterkit.findings.read_input import read_encounter

_ABOUT_A_PATIENT = ("Observation", "Condition", "QuestionnaireResponse", "Encounter", "ServiceRequest")
_WITHOUT_TIME = {"cancelled", "entered-in-error", "registered"}


@dataclass(frozen=True, slots=True)
class BundleReading:
    """An encounter read from a Bundle.

    `notices` says, in the order of the Bundle, what was not held, left out or is to be settled; `origins` names for
    each finding the resource it was read from.
    """

    encounter: Encounter
    notices: tuple[Notice, ...]
    origins: tuple[str, ...]


def _identifiers(data: Any) -> set[tuple[str, str]]:
    """The identifiers in a list, or the one of a reference, by system and value without spaces."""
    given = data if isinstance(data, list) else [data]
    return {
        (str(each["system"]), str(each["value"]).replace(" ", ""))
        for each in given
        if isinstance(each, Mapping) and "system" in each and "value" in each
    }


def _check_patient(bundle: Bundle, patient: Resource, notices: Notices) -> None:
    """Raise `InvalidInput` for the first resource that is about somebody else than the one patient."""
    known = _identifiers(patient.element.peek("identifier"))
    for resource in bundle.resources:
        for owner in (resource, *resource.contained.values()):
            for key in ("subject", "patient"):
                given = owner.element.peek(key)
                if given is None:
                    continue
                path = f"{owner.element.path}.{key}"
                if not isinstance(given, Mapping):
                    raise refused(path, "not a reference")
                reference = given.get("reference")
                if reference is None and _identifiers(given.get("identifier")) & known:
                    continue
                if not isinstance(reference, str) or bundle.find(reference, resource) is not patient:
                    raise refused(path, f"does not lead to {patient.name}; a Bundle is of one patient")
        if resource.kind in _ABOUT_A_PATIENT and resource.element.peek("subject") is None:
            notices.add(resource.element.path, "to settle", "names no patient; read as of the Bundle's one patient")


def _one_patient(bundle: Bundle) -> Resource:
    patients = bundle.of("Patient")
    if len(patients) != 1:
        raise refused("Bundle.entry", f"{len(patients)} patients; a Bundle is of exactly one")
    return patients[0]


def _encounter(bundle: Bundle) -> Resource | None:
    found = bundle.of("Encounter")
    if len(found) > 1:
        raise refused("Bundle.entry", f"{len(found)} Encounters; give the one visit the letter is about")
    if not found:
        references = {
            str(given.get("reference"))
            for each in bundle.of("Observation")
            if isinstance(given := each.element.peek("encounter"), Mapping)
        }
        if len(references) > 1:
            raise refused("Bundle.entry", "Observations of several encounters; include the Encounter of this visit")
    return found[0] if found else None


def _day_of_visit(bundle: Bundle, visit: Visit | None) -> date | None:
    """The date of the visit: the Encounter's or, without one, the day on which all Observations were made."""
    if visit is not None and "date" in visit.visit:
        return date.fromisoformat(visit.visit["date"])
    days = {
        day
        for each in bundle.of("Observation")
        if each.element.word("status") not in _WITHOUT_TIME and (day := effective_day(each.element)[0])
    }
    if len(days) > 1:
        raise refused("Bundle.entry", "Observations of several days; include an Encounter with period.start")
    return next(iter(days), None)


def _last_day(day: date | None, visit: Visit | None) -> date | None:
    """The last day of the visit: a visit that runs past midnight has two days, and no visit has more."""
    if day is None or visit is None or visit.end is None:
        return day
    return max(day, min(visit.end, day + timedelta(days=1)))


def _author(visit: Visit | None, context: Context) -> Person | None:
    """Who examined: the Encounter's author or, without one, the one performer of the Observations."""
    author = visit.author if visit else None
    performers: dict[str, Person] = {}
    for resource in context.bundle.of("Observation"):
        if resource.element.is_left:
            continue
        for reference in resource.element.objects("performer"):
            person = person_of(reference, resource, context)
            if person is not None and author is not None and person.key != author.key and person.name != author.name:
                context.notices.add(reference.path, "not held", "a performer who is not the author")
            elif person is not None:
                performers.setdefault(person.key, person)
    if author is None and len(performers) > 1:
        context.notices.add("Bundle", "to settle", "several people made the Observations; no author was taken")
        return None
    return author or next(iter(performers.values()), None)


def _put(record: dict[str, Any], path: str, value: Any) -> None:
    """Sets one field by its path. Raises `InvalidInput` where another resource gave another value."""
    *parents, name = path.split(".")
    inner = record
    for parent in parents:
        inner = inner.setdefault(parent, {})
    if name in inner and inner[name] != value:
        raise refused(f"Bundle ({path})", "given twice with different values; correct one")
    inner[name] = value


def _assemble(
    bundle: Bundle, patient: Resource, context: Context, visit: Visit | None
) -> tuple[dict[str, Any], list[Recorded]]:
    problems: list[Problem] = []
    lines: list[Recorded] = []
    answers = Answers()
    record: dict[str, Any] = {"patient": patient_of(patient)}
    for resource in bundle.resources:
        try:
            if resource.kind == "Observation":
                lines += read_observation(resource, context)
            elif resource.kind == "QuestionnaireResponse":
                read_answers(resource, answers, context)
        except InvalidInput as error:
            problems += error.problems
    if problems:
        raise InvalidInput(tuple(problems))
    lines += answers.lines
    if visit is not None:
        record |= {key: value for key, value in (("clinic", visit.clinic), ("reference", visit.reference)) if value}
    if context.visit is not None:
        record["visit"] = {"kind": "other", **(visit.visit if visit else {}), "date": context.visit.isoformat()}
    record |= reason_of(bundle.of("ServiceRequest"), visit.reasons if visit else (), context)
    if (author := _author(visit, context)) is not None:
        record["author"] = author.as_author()
    doctors = patient.element.objects("generalPractitioner")
    if doctors and (practice := person_of(doctors[0], patient, context)) is not None:
        record["gpPractice"] = practice.as_recipient()
    for doctor in doctors[1:]:
        context.notices.add(doctor.path, "not held", "a second general practitioner")
        doctor.leave()
    record["copies"] = copies_of(bundle.of("CommunicationRequest"), context)
    record["diagnoses"] = list(diagnoses_of(bundle.of("Condition"), context))
    for path, value in answers.fields.items():
        _put(record, path, value)
    examination = {
        where: [each.data for each in lines if each.where == where] for where in ("findings", "normal", "notExamined")
    }
    record["examination"] = examination
    record["earlier"] = [each.data for each in lines if each.where == "earlier"]
    return record, lines


def _origins(lines: list[Recorded]) -> dict[str, str]:
    """Place in the encounter -> the resource it came from."""
    counts: dict[str, int] = {}
    found = {}
    for line in lines:
        at = counts[line.where] = counts.get(line.where, -1) + 1
        prefix = "earlier" if line.where == "earlier" else f"examination.{line.where}"
        found[f"{prefix}[{at}]"] = line.origin
    return found


def _renamed(problem: Problem, origins: Mapping[str, str]) -> Problem:
    place = problem.path.partition("]")[0] + "]"
    origin = origins.get(place)
    return Problem(f"{origin} ({problem.path})", problem.message) if origin else problem


def _unheld(element: Element, notices: Notices) -> None:
    if element.untouched:
        notices.add(element.path, "not held", "a resource that has no place in an encounter")
        return
    for path in element.unread():
        notices.add(path, "not held", "has no place in an encounter")


def _in_order(notices: list[Notice], bundle: Bundle) -> tuple[Notice, ...]:
    """The notices in the order of the Bundle's entries; those of the Bundle itself first."""
    order = {each.element.path.split(" ")[0]: at for at, each in enumerate(bundle.resources)}
    return tuple(sorted(dict.fromkeys(notices), key=lambda each: order.get(each.path.split(" ")[0], -1)))


def read_bundle(data: Mapping[str, Any], profile: Profile | None = None) -> BundleReading:
    """The encounter in a Bundle, and what it could not hold. Raises `InvalidInput` naming each resource at fault."""
    if data.get("resourceType") != "Bundle":
        raise refused("resourceType", "not a Bundle; put the resources of the visit into one of type collection")
    bundle = Bundle(data)
    patient = _one_patient(bundle)
    notices = Notices()
    _check_patient(bundle, patient, notices)
    encounter = _encounter(bundle)
    known = catalogue()
    blank = Context(bundle, profile or Profile(), known, notices, encounter=encounter)
    visit = visit_of(encounter, blank) if encounter is not None else None
    day = _day_of_visit(bundle, visit)
    context = replace(blank, visit=day, last_day=_last_day(day, visit))
    record, lines = _assemble(bundle, patient, context, visit)
    origins = _origins(lines)
    try:
        read = read_encounter(record)
        expand(read, known)
    except InvalidInput as error:
        raise InvalidInput(tuple(_renamed(problem, origins) for problem in error.problems)) from None
    _unheld(bundle.head, notices)
    for resource in bundle.resources:
        _unheld(resource.element, notices)
        for inner in resource.contained.values():
            _unheld(inner.element, notices)
    found = tuple(each.origin for each in lines if each.where == "findings")
    return BundleReading(read, _in_order(notices.found, bundle), found)
