"""QuestionnaireResponses: answers whose linkId is an item of the catalogue, or a field of the encounter."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Literal, TypeAlias

from letterkit.catalogue.codes import codes
from letterkit.catalogue.model import Item
from letterkit.findings.fhir_bundle import Element, Resource, refused
from letterkit.findings.fhir_codes import SYSTEMS, Concept, SideSource, coding, side_in_words
from letterkit.findings.fhir_line import Recorded, camel
from letterkit.findings.fhir_observation import day_of, refers_to_visit
from letterkit.findings.fhir_places import Context, Place, side_value
from letterkit.findings.fhir_values import read, value_key

_READ = {"completed", "amended"}
_NOT_READ = {"entered-in-error", "stopped"}
_SIDES = ("left", "right", "both")
_QUALIFIERS = ("severity", "distribution", "description", "correctability", "grade", "grading", "mode", "note")
_NO_REASON: Mapping[str, Any] = MappingProxyType({})

Shape: TypeAlias = Literal["text", "texts", "entries"]
# The fields of an encounter that FHIR has no simple resource for, by their path in the encounter's JSON.
FIELDS: Mapping[str, Shape] = MappingProxyType(
    {
        "drafted": "text",
        "reference": "text",
        "patient.handedness": "text",
        "patient.occupation": "text",
        "patient.communicationNeeds": "texts",
        "visit.accompaniedBy": "text",
        "reason.question": "text",
        "history.presenting": "text",
        "history.past": "texts",
        "history.sinceLastContact": "text",
        "history.concerns": "text",
        "history.symptoms": "entries",
        "medication": "texts",
        "allergies": "entries",
        "impression": "entries",
        "plan": "entries",
        "informationGiven": "texts",
        "options.language": "text",
        "options.largePrint": "text",
        "options.measures": "texts",
        "options.letter": "text",
        "options.drawing": "text",
    }
)


@dataclass(slots=True)
class Answers:
    """What the answers of a Bundle say: lines of the examination, and fields of the encounter by their path."""

    lines: list[Recorded] = field(default_factory=list)
    fields: dict[str, Any] = field(default_factory=dict)


def _plain(answer: Element) -> Any:
    """An answer of a field as plain text or yes and no."""
    key = value_key(answer)
    if key == "valueBoolean":
        return answer.take(key)
    if key == "valueCoding":
        inner = answer.object(key)
        given = coding(inner) if inner else None
        return (given.code or given.display) if given else None
    if key in {"valueString", "valueDate", "valueUri"}:
        return answer.text(key)
    raise refused(answer.path, "give it as valueString")


def _entry(item: Element, answer: Element | None) -> dict[str, Any]:
    """One entry of a list with named parts, each an item inside the item or its answer."""
    found: dict[str, Any] = {}
    for part in [*item.objects("item"), *(answer.objects("item") if answer else [])]:
        part.skip("text", "definition")
        name = (part.text("linkId") or "").rsplit(".", 1)[-1]
        answers = part.objects("answer")
        if len(answers) != 1:
            raise refused(part.path, "one answer is needed here")
        found[name] = _plain(answers[0])
    return found


def _take_field(path: str, item: Element, answers: Answers) -> None:
    shape = FIELDS[path]
    given = item.objects("answer")
    if shape == "entries":
        words = [_plain(each) for each in given if value_key(each)]
        if path == "allergies" and words == ["none known"]:
            answers.fields[path] = "none known"
            return
        entries = answers.fields.setdefault(path, [])
        if words or not isinstance(entries, list):
            raise refused(item.path, f"{path} has an item for each part of an entry")
        entries.append(_entry(item, given[0] if given else None))
        return
    if not given:
        return
    values = [_plain(each) for each in given]
    if shape == "texts":
        empty = [] if values == [False] else values  # "no" says that there are none
        answers.fields[path] = [*answers.fields.get(path, []), *empty]
        return
    if len(values) > 1 or path in answers.fields:
        raise refused(item.path, f"{path} is answered more than once")
    answers.fields[path] = values[0]


def _parts_of_link(link: str, context: Context) -> tuple[Item | None, list[str], str | None]:
    """A linkId as item, sites and side: 'phalen_test:left', 'triggering:index:right'."""
    slug, *rest = link.split(":")
    item = context.catalogue.items.get(slug)
    side = next((part for part in rest if part in _SIDES), None)
    return item, [part for part in rest if part not in _SIDES], side


def _link(item: Element) -> str:
    link = item.text("linkId")
    if link is None:
        raise refused(f"{item.path}.linkId", "missing; FHIR needs it")
    definition = item.text("definition") or ""
    prefix = f"{SYSTEMS['item']}#"
    return definition.removeprefix(prefix) if definition.startswith(prefix) else link


def _details(item: Element, answer: Element, context: Context) -> tuple[dict[str, Any], list[SideSource], list[str]]:
    """What the items inside an answered item add: side, site and qualifiers."""
    data: dict[str, Any] = {}
    sides: list[SideSource] = []
    sites: list[str] = []
    for part in [*item.objects("item"), *answer.objects("item")]:
        name = (part.text("linkId") or "").rsplit(":", 1)[-1].rsplit(".", 1)[-1]
        given = part.objects("answer")
        if not given:
            continue
        part.skip("text", "definition")
        if name == "side":
            sides += [side_value(each, context) for each in given]
        elif name == "site":
            sites += [str(_plain(each)) for each in given]
        elif name in _QUALIFIERS and len(given) == 1:
            data[camel(name)] = _plain(given[0])
        else:
            context.notices.add(part.path, "not held", "an answer inside an answer that is no part of a finding")
            part.leave()
    return data, sides, sites


def _not_examined(answer: Element) -> Mapping[str, Any] | None:
    """What an answer that is a reason for having none says; None where it is a value."""
    inner = answer.object("valueCoding") if "valueCoding" in answer else None
    if inner is None or inner.word("system") != SYSTEMS["absent_reason"]:
        return None
    given = coding(inner)
    meaning = codes().absent_reasons.get(given.code)
    if meaning == "with reason" and given.display:
        return {"reason": given.display}
    if meaning in {"not examined", "declined"}:
        return {"declined": meaning == "declined"}
    return _NO_REASON


def _take_finding(item: Element, known: Item, sites: list[str], side: str | None, context: Context) -> Recorded | None:
    given = item.objects("answer")
    if not given:
        return None  # an item without an answer is not a negative
    if len(given) > 1:
        raise refused(item.path, f"{len(given)} answers to {known.slug}; give one item for each")
    answer = given[0]
    words = item.text("text") or ""
    data, sources, more = _details(item, answer, context)
    if side in _SIDES:
        sources.append(SideSource(side, f"{item.path}.linkId"))  # type: ignore[arg-type]  # one of the three
    if (told := side_in_words(words)) is not None:
        sources.append(SideSource(told, f"{item.path}.text"))
    concepts = tuple(Concept(item.path, text=site) for site in [*sites, *more])
    place = Place(item.path, concepts[:1], tuple(sources), given=bool(concepts))
    where: dict[str, Any] = {"item": known.slug}
    if len(concepts) > 1:
        where["site"] = [each.text for each in concepts]
    else:
        where["site"] = place.site(known, context)
    reason = _not_examined(answer)
    where["side"] = place.side(known, context, needed=reason is None)
    if reason is not None:
        if reason is _NO_REASON:
            context.notices.add(answer.path, "to settle", f"no value of {known.slug}, for a reason that says nothing")
            return None
        line = {**where, **reason}
        return Recorded("notExamined", {key: value for key, value in line.items() if value}, item.path)
    key = value_key(answer)
    if key is None:
        return None
    value = read(answer, key, known, context.catalogue, context.notices)
    line = {**where, "value": value, **data}
    return Recorded("findings", {name: each for name, each in line.items() if each is not None}, item.path)


def _walk(item: Element, answers: Answers, context: Context) -> None:
    link = _link(item)
    if link in FIELDS:
        item.skip("text")
        _take_field(link, item, answers)
        return
    known, sites, side = _parts_of_link(link, context)
    if known is not None:
        line = _take_finding(item, known, sites, side, context)
        if line is not None:
            answers.lines.append(line)
        return
    if item.objects("answer"):
        context.notices.add(
            item.path, "not held", "its linkId is no item of the catalogue and no field of an encounter"
        )
        item.leave()
        return
    item.skip("text")
    for inner in item.objects("item"):
        _walk(inner, answers, context)


def _is_of_visit(resource: Resource, context: Context) -> bool:
    """Whether answers belong to the visit: they refer to it, or were given on its day. Refuses those of another."""
    linked = refers_to_visit(resource, context)
    if linked is False:
        raise refused(f"{resource.element.path}.encounter", "refers to another encounter than the Bundle's")
    authored = resource.element.text("authored")
    day = day_of(authored)
    if linked or authored is None or context.visit is None:
        return True
    return day is not None and context.visit <= day <= (context.last_day or context.visit)


def read_answers(resource: Resource, answers: Answers, context: Context) -> None:
    """Adds what one QuestionnaireResponse says. Raises `InvalidInput` for what may not be guessed."""
    element = resource.element
    status = element.text("status")
    element.skip("questionnaire")
    element.label("subject")
    if status in _NOT_READ:
        context.notices.add(element.path, "left out", f"{status}: its answers are not read")
        element.leave()
        return
    if not _is_of_visit(resource, context):
        context.notices.add(element.path, "to settle", "answered on another day than the visit's: not read")
        element.leave()
        return
    if status == "in-progress":
        context.notices.add(element.path, "to settle", "still in progress: its answers are read as they stand")
    elif status not in _READ:
        allowed = ", ".join(sorted(_READ | _NOT_READ | {"in-progress"}))
        raise refused(f"{element.path}.status", f"not a status of a QuestionnaireResponse; allowed: {allowed}")
    for item in element.objects("item"):
        _walk(item, answers, context)
