"""Observations of a Bundle as lines of an examination: findings, what was normal, not examined, or found earlier."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from letterkit.catalogue.model import Item, Stage
from letterkit.findings.fhir_bundle import Element, Resource, refused
from letterkit.findings.fhir_codes import Concept, agreed_side, concept, item_of, without_side
from letterkit.findings.fhir_line import Parts, Recorded, absent, line_of, mode_of, parts_of
from letterkit.findings.fhir_places import Context, Place, place_of
from letterkit.findings.fhir_values import value_key

# The closed list of Observation.status, and what each means for a finding.
_READ = {"final", "amended", "corrected"}
_ASKED = {"preliminary": "preliminary: read as it stands", "unknown": "of unknown status: read as it stands"}
_NOT_READ = {
    "cancelled": "cancelled: not read as a finding",
    "entered-in-error": "entered in error: not read as a finding",
    "registered": "only registered, without a result yet: not read as a finding",
}
_HELD_BY_EARLIER = {"item", "side", "site", "value", "mode"}


def is_read(resource: Resource, context: Context) -> bool:
    """Whether the status lets an Observation be a finding; said in a notice where it does not, or is not settled."""
    status = resource.element.text("status")
    path = resource.element.path
    if status in _READ:
        return True
    if status in _ASKED:
        context.notices.add(path, "to settle", _ASKED[status])
        return True
    if status in _NOT_READ:
        asked = status == "registered" or "hasMember" in resource.element
        more = "; its members are read by their own status" if "hasMember" in resource.element else ""
        context.notices.add(path, "to settle" if asked else "left out", _NOT_READ[status] + more)
        return False
    given = "missing" if status is None else "not a status of an Observation"
    raise refused(f"{path}.status", f"{given}; allowed: {', '.join(sorted(_READ | set(_ASKED) | set(_NOT_READ)))}")


def day_of(text: str | None) -> date | None:
    """The day of a FHIR date or date and time as written; None where only a month or year is known."""
    try:
        return date.fromisoformat((text or "")[:10])
    except ValueError:
        return None


def effective_day(element: Element) -> tuple[date | None, bool]:
    """The day an Observation was made, and whether a time was given at all."""
    key = value_key(element, "effective")
    if key is None:
        return None, False
    if key == "effectivePeriod":
        period = element.object(key)
        return (day_of(period.text("start")) if period else None), True
    if key == "effectiveTiming":
        return None, True
    return day_of(element.text(key)), True


def refers_to_visit(resource: Resource, context: Context) -> bool | None:
    """Whether a resource refers to the Bundle's Encounter; None where it refers to none, or the Bundle has none."""
    reference = resource.element.object("encounter")
    if reference is None:
        return None
    found = context.bundle.follow(reference, resource)
    reference.skip("display", "type", "identifier")
    return found is context.encounter if context.encounter is not None else None


def _is_earlier(resource: Resource, context: Context) -> bool | None:
    """Whether an Observation belongs to an earlier date; None where its time cannot be held. Refuses what disagrees."""
    day, given = effective_day(resource.element)
    linked = refers_to_visit(resource, context)
    path = resource.element.path
    if given and day is None:
        return None
    if day is None or context.visit is None or context.visit <= day <= (context.last_day or context.visit):
        if linked is False:
            raise refused(f"{path}.encounter", "refers to another encounter than the Bundle's; give one visit")
        if day is None and linked is None and context.encounter is not None:
            context.notices.add(path, "to settle", "names neither the visit nor a day; read as of this visit")
        return False
    if linked or day > context.visit:
        raise refused(
            path,
            f"made on {day.isoformat()}, which is not the day of the visit, {context.visit.isoformat()}; "
            "correct one, or leave out its encounter if it is an earlier value",
        )
    return True


def _members(resource: Resource, context: Context) -> None:
    """Takes the members of a panel, which are read as entries of their own; one that is missing is reported."""
    for reference in resource.element.objects("hasMember"):
        found = context.bundle.follow(reference, resource)
        if found is None:
            context.notices.add(reference.path, "not held", "a member of the panel that is not in the Bundle")
            reference.leave()


def _stage(resource: Resource, stage: str, place: Place, context: Context) -> Recorded | None:
    """A stage that was normal by exception, or not examined."""
    element = resource.element
    known = [each.value for each in Stage]
    if stage not in known:
        raise refused(f"{element.path}.code", f"not a stage of the examination; allowed: {', '.join(known)}")
    side = agreed_side(place.sides, element.path)
    data: dict[str, Any] = {"stage": stage, **({"side": side} if side else {})}
    reason = absent(element)
    if reason is not None:
        meaning, words, path = reason
        if meaning == "nothing" or (meaning == "with reason" and not words):
            context.notices.add(path, "to settle", f"nothing of the stage {stage}, for a reason that does not say more")
            return None
        data |= {"reason": words} if words else {}
        data |= {"declined": True} if meaning == "declined" else {}
        return Recorded("notExamined", data, element.path)
    given = [concept(each) for each in element.objects("interpretation")]
    told = {code for each in given for code in each.codes_of("interpretation")}
    key = value_key(element)
    if key == "valueCodeableConcept":
        value = concept(element.object(key))
        told |= {"N" if code == "normal" else code for code in value.codes_of("state")}
        told |= {"N"} if not value.codings and value.text.casefold() == "normal" else set()
    elif key is not None:
        raise refused(f"{element.path}.{key}", "a stage is recorded as normal or as not examined, not by such a value")
    if told != {"N"}:
        raise refused(
            element.path, "a stage is recorded as normal (code normal, or interpretation N) or as not examined"
        )
    return Recorded("normal", data, element.path)


def _own_findings(parts: Parts, place: Place, context: Context, *, earlier: bool) -> list[Recorded]:
    """Components that are findings themselves: of one side each, or of items of their own."""
    found = []
    for component, item, side in parts.own:
        sides = place.sides
        if side is not None:
            # A panel says "both" of what its components give side by side; any other side must agree.
            sides = (side, *(each for each in place.sides if each.side != "both"))
        line = line_of(
            component, item, replace(place, path=component.path, sides=sides), None, context, earlier=earlier
        )
        if line is not None:
            found.append(line)
    return found


def _note(element: Element) -> str:
    return " ".join(text for each in element.objects("note") if (text := each.text("text")))


def _as_earlier(line: Recorded, day: date, context: Context) -> Recorded:
    found = dict(line.data)
    is_there = found["value"] is True or found["value"] in ("present", "positive")
    if is_there and "severity" in found:
        found["value"] = found.pop("severity")  # an earlier value says how marked it was by its word alone
    for key in sorted(set(found) - _HELD_BY_EARLIER):
        context.notices.add(line.origin, "not held", f"{key} of an earlier value")
    data = {key: value for key, value in found.items() if key in _HELD_BY_EARLIER}
    return Recorded("earlier", {"date": day.isoformat(), **data}, line.origin)


def _lines(resource: Resource, code: Concept, item: Item | None, context: Context, *, earlier: bool) -> list[Recorded]:
    element = resource.element
    place = place_of(resource, code, context)
    parts = parts_of(element, item, context)
    found = _own_findings(parts, place, context, earlier=earlier)
    _members(resource, context)
    if item is None:
        if parts.qualifiers or parts.arc:
            raise refused(element.path, "has parts of a finding but its code is no item of the catalogue")
        return found
    has_value = value_key(element) or "dataAbsentReason" in element or element.peek("interpretation")
    if not has_value and not parts.arc and not parts.trials and (found or element.peek("hasMember")):
        if parts.qualifiers:
            raise refused(element.path, "qualifies a finding that has no value; put value and qualifiers together")
        return found
    line = line_of(element, item, place, parts, context, earlier=earlier)
    return [line, *found] if line is not None else found


def read_observation(resource: Resource, context: Context) -> list[Recorded]:
    """What one Observation records. Raises `InvalidInput` naming the resource for what may not be guessed."""
    element = resource.element
    element.label("subject")
    for category in element.objects("category"):
        concept(category)
    if not is_read(resource, context):
        element.leave()
        return []
    if element.objects("focus"):
        context.notices.add(element.path, "not held", "about somebody or something other than the patient")
        element.leave()
        return []
    given = element.object("code")
    if given is None:
        raise refused(f"{element.path}.code", "missing; FHIR needs it")
    code = concept(given)
    stages = code.codes_of("stage")
    item = None if stages else item_of(code, context.profile, context.catalogue)
    group = element.peek("hasMember") or element.peek("component")
    if item is None and not stages and (not group or value_key(element)):
        context.notices.add(element.path, "not held", "its code is no item of the catalogue")
        element.leave()
        return []
    label = without_side(code.text)
    if item is not None and label and code.codings and label.casefold() not in context.catalogue.terms:
        context.notices.add(code.path, "not held", "words beside the code that are no name of the item")
    earlier = _is_earlier(resource, context)
    if earlier is None:
        context.notices.add(element.path, "not held", "its time is not a day")
        element.leave()
        return []
    if stages:
        line = _stage(resource, stages[0], place_of(resource, code, context), context)
        found = [line] if line is not None else []
    else:
        found = _lines(resource, code, item, context, earlier=earlier)
    if earlier and any(each.where in {"normal", "notExamined"} for each in found):
        context.notices.add(element.path, "not held", "a stage or a gap of an earlier date")
        found = [each for each in found if each.where == "findings"]
    mode = mode_of(element, context)
    note = _note(element)
    if len(found) == 1 and found[0].where == "findings":
        extra = {key: value for key, value in (("mode", mode), ("note", note)) if value}
        found = [replace(found[0], data=found[0].data | extra)]
    elif mode or note:
        context.notices.add(element.path, "not held", "a method or a note of something that is not one finding")
    day = effective_day(element)[0]
    return [_as_earlier(each, day, context) for each in found] if earlier and day else found
