"""One line of an examination from an Observation or a component: its value, what qualifies it, or why there is none."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from letterkit.catalogue.codes import codes
from letterkit.catalogue.model import Item, Qualifier, ValueKind
from letterkit.findings.fhir_bundle import Element, refused
from letterkit.findings.fhir_codes import Concept, SideSource, concept, is_side_alone, item_of, side_in_words
from letterkit.findings.fhir_places import Context, Place, is_laterality
from letterkit.findings.fhir_values import arc_of, check_interpretation, interpreted, measured, read, value_key

_UNITS = {Qualifier.ONSET: "s", Qualifier.SIZE: "mm", Qualifier.LENGTH: "cm", Qualifier.ANGLE: "deg"}
_PARTS = {each.value for each in Qualifier} | {"grading"}
_MODES = ("active", "passive")


@dataclass(frozen=True, slots=True)
class Recorded:
    """One line of the encounter's examination, or an earlier value, with the resource it was read from."""

    where: Literal["findings", "normal", "notExamined", "earlier"]
    data: dict[str, Any]
    origin: str


def camel(name: str) -> str:
    """A field name as the encounter's JSON spells it."""
    head, *tail = name.split("_")
    return head + "".join(part.capitalize() for part in tail)


def _words(element: Element, key: str) -> str | None:
    """Words of a component that qualifies a finding."""
    if key == "valueString":
        return element.text(key)
    if key == "valueCodeableConcept":
        given = concept(element.object(key))
        own = [*given.codes_of("state"), *given.codes_of("part")]
        return given.text or (own[0] if own else next(iter(given.words), None))
    raise refused(f"{element.path}.{key}", "give it as valueString or valueCodeableConcept")


def _qualifier(part: str, element: Element, context: Context) -> Any:
    key = value_key(element)
    if key is None:
        raise refused(element.path, "has no value")
    qualifier = None if part == "grading" else Qualifier(part)
    if qualifier is Qualifier.COUNT:
        if key != "valueInteger":
            raise refused(f"{element.path}.{key}", "give a count as valueInteger")
        return element.take(key)
    if qualifier in _UNITS:
        inner = element.object(key) if key == "valueQuantity" else None
        if inner is None:
            raise refused(f"{element.path}.{key}", f"give it as valueQuantity in {_UNITS[qualifier]}")
        found = measured(inner, _UNITS[qualifier], context.notices)
        if "comparator" in found:
            raise refused(f"{inner.path}.comparator", "a plain number is needed here")
        return found["value"]
    return _words(element, key)


@dataclass(slots=True)
class Parts:
    """The components of one Observation, by what they are for."""

    qualifiers: dict[str, Any]
    arc: dict[str, Element]
    trials: list[float]
    own: list[tuple[Element, Item, SideSource | None]]  # components that are findings of their own


def parts_of(element: Element, item: Item | None, context: Context) -> Parts:
    """The components of an Observation of `item`, sorted by what they are for; what has no use is reported."""
    parts = Parts({}, {}, [], [])
    for component in element.objects("component"):
        code = concept(component.object("code"))
        if is_laterality(code):
            continue
        names = code.codes_of("part")
        side = is_side_alone(code)
        other = None if names or side else item_of(code, context.profile, context.catalogue)
        if names and names[0] in {"from", "to"}:
            if names[0] in parts.arc:
                raise refused(component.path, f"the angle {names[0]!r} stands twice")
            found = component.object("valueQuantity")
            parts.arc[names[0]] = found or component
        elif names and names[0] == "trial" and item is not None:
            quantity = component.object("valueQuantity")
            if quantity is None:
                raise refused(component.path, "a reading needs a valueQuantity")
            trial = measured(quantity, item.unit or "", context.notices, item.decimals)
            if "comparator" in trial:
                raise refused(f"{quantity.path}.comparator", "a single reading is a plain number")
            parts.trials.append(trial["value"])
        elif names and names[0] in _PARTS:
            if camel(names[0]) in parts.qualifiers:
                raise refused(component.path, f"{names[0]} stands twice")
            parts.qualifiers[camel(names[0])] = _qualifier(names[0], component, context)
        elif side and item is not None:
            parts.own.append((component, item, SideSource(side, component.path)))
        elif other is not None:
            own = next((SideSource(s, code.path) for s in map(side_in_words, code.words) if s is not None), None)
            parts.own.append((component, other, own))
        else:
            context.notices.add(component.path, "not held", "a component that is no item and no part of one")
            component.leave()
    return parts


def _value(element: Element, item: Item, parts: Parts | None, context: Context) -> tuple[object, list[Concept]]:
    """The value and the interpretations of an Observation or component; None where there is no value."""
    given = [concept(each) for each in element.objects("interpretation")]
    key = value_key(element)
    value: object = None
    if parts is not None and parts.arc and item.value is ValueKind.ARC:
        if key is not None:
            raise refused(f"{element.path}.{key}", "an arc is given by its two components or by a range, not by both")
        value = arc_of(parts.arc.get("from"), parts.arc.get("to"), element.path, context.notices)
    elif key is not None:
        value = read(element, key, item, context.catalogue, context.notices)
    if parts is not None and parts.trials:
        mean = sum(parts.trials) / len(parts.trials)
        whole = value.get("value") if isinstance(value, dict) else None
        if whole is not None and abs(whole - mean) > 10**-item.decimals:
            raise refused(
                element.path, "the value is not the mean of the readings beside it; correct the one that is wrong"
            )
        value = list(parts.trials)
    if value is None:
        if (told := interpreted(given, item, context.catalogue)) is not None:
            return told[0], []
        return None, given
    check_interpretation(given, value, item, context.catalogue, context.notices)
    return value, given


def absent(element: Element) -> tuple[str, str, str] | None:
    """What dataAbsentReason means, its words and its path."""
    reason = element.object("dataAbsentReason")
    if reason is None:
        return None
    if value_key(element) is not None:
        raise refused(element.path, "has a value and a reason why it has none; correct the one that is wrong")
    given = concept(reason)
    meanings = {codes().absent_reasons.get(code, "nothing") for code in given.codes_of("absent_reason")}
    if len(meanings) > 1:
        raise refused(given.path, "gives reasons that differ; give one")
    return next(iter(meanings), "nothing"), given.text, given.path


def line_of(
    element: Element, item: Item, place: Place, parts: Parts | None, context: Context, *, earlier: bool
) -> Recorded | None:
    """What an Observation or component says of one item; None, with a notice, where it says nothing."""
    if parts is not None and item.value is not ValueKind.ARC:
        for angle in parts.arc.values():
            raise refused(angle.path, f"{item.slug} has no angles to run from and to")
    reason = absent(element)
    if reason is not None:
        meaning, words, path = reason
        if meaning == "nothing" or (meaning == "with reason" and not words):
            context.notices.add(path, "to settle", f"no value of {item.slug}, for a reason that says nothing of it")
            return None
        if earlier:
            context.notices.add(path, "not held", "something not examined at an earlier date")
            return None
        if parts is not None and (parts.qualifiers or parts.arc or parts.trials):
            raise refused(element.path, f"qualifies {item.slug}, which was not examined; correct the one that is wrong")
        data: dict[str, Any] = {
            "item": item.slug, "side": place.side(item, context, needed=place.given), "site": place.site(item, context),
            "reason": words, "declined": meaning == "declined",
        }  # fmt: skip
        return Recorded("notExamined", {key: value for key, value in data.items() if value}, element.path)
    value, given = _value(element, item, parts, context)
    if value is None:
        for each in given:
            context.notices.add(each.path, "not held", f"an interpretation that is no value of {item.slug}")
        context.notices.add(element.path, "to settle", f"no value of {item.slug} and no reason why; not read")
        return None
    found: dict[str, Any] = {
        "item": item.slug, "side": place.side(item, context), "site": place.site(item, context), "value": value
    }  # fmt: skip
    if parts is not None:
        found |= parts.qualifiers
    return Recorded("findings", {k: v for k, v in found.items() if v is not None}, element.path)


def mode_of(element: Element, context: Context) -> str | None:
    """The mode of movement, where the method says active or passive and nothing else."""
    method = element.object("method")
    if method is None:
        return None
    given = concept(method)
    told = {code for code in given.codes_of("part") if code in _MODES} | {
        words.casefold() for words in given.words if words.casefold() in _MODES
    }
    if len(told) == 1:
        return told.pop()
    context.notices.add(given.path, "not held", "a method of examination")
    return None
