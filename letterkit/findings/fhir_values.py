"""The value of an Observation, a component or an answer, read as an encounter's finding gives it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeGuard

from letterkit.catalogue import Catalogue
from letterkit.catalogue.codes import codes
from letterkit.catalogue.model import Item, Polarity, ValueKind
from letterkit.findings.fhir_bundle import Element, Notice, NoticeKind, refused
from letterkit.findings.fhir_codes import SYSTEMS, Concept, coding, concept
from letterkit.findings.values import Reading, UnreadValue, read_value

_COMPARATORS = {"<", "<=", ">=", ">"}
_LENGTHS = {"mm": 1.0, "cm": 10.0}  # millimetres; the two units of length of the catalogue and of a finding
_LONGEST_WORDS = 200
_POUNDS = ("lb", "pound")
_POUND_CODES = ("[lb_av]", "[lbf_av]")
_MOST = 1_000_000  # far beyond any measurement; keeps what JSON calls a number from being infinite


@dataclass(slots=True)
class Notices:
    """The notices of one reading, in the order in which they arose."""

    found: list[Notice] = field(default_factory=list)

    def add(self, path: str, kind: NoticeKind, message: str) -> None:
        """One more notice."""
        self.found.append(Notice(path, kind, message))


def value_key(element: Element, prefix: str = "value") -> str | None:
    """The name of the one value an object has, None where it has none. Raises `InvalidInput` for several."""
    keys = [key for key in element.names() if key.startswith(prefix) and key[len(prefix) : len(prefix) + 1].isupper()]
    if len(keys) > 1:
        raise refused(element.path, f"has {len(keys)} values; FHIR allows one")
    return keys[0] if keys else None


def _is_number(value: object) -> TypeGuard[int | float]:
    return not isinstance(value, bool) and isinstance(value, (int, float)) and -_MOST <= value <= _MOST


def measured(element: Element, unit: str, notices: Notices, decimals: int = 0) -> dict[str, Any]:
    """A Quantity in the catalogue's unit, with its comparator. Raises `InvalidInput` for a unit that is not UCUM's.

    Converted only from the UCUM code, never from the words of a unit; a conversion is reported.
    """
    number = element.take("value")
    if not _is_number(number):
        raise refused(f"{element.path}.value", "not a number, or none that anything measures")
    system, code = element.text("system"), element.text("code")
    words = (element.text("unit") or "").casefold()
    allowed = ", ".join(each.code for each in codes().unit if each.unit == unit)
    if system != SYSTEMS["ucum"] or not code:
        raise refused(element.path, f"the unit is not given by a UCUM code; allowed: {allowed} of {SYSTEMS['ucum']}")
    known = codes().units.get(code)
    factor: float | None = None
    if known is not None:
        if known.unit == unit:
            factor = known.factor
        elif known.unit in _LENGTHS and unit in _LENGTHS:
            factor = _LENGTHS[known.unit] / _LENGTHS[unit]
    if factor is None:
        raise refused(f"{element.path}.code", f"the unit does not fit; allowed: {allowed}")
    assert known is not None
    meant = next((each for each in codes().unit if each.code.casefold() == words), known)
    if meant.unit != known.unit or (words.startswith(_POUNDS) and known.code not in _POUND_CODES):
        raise refused(f"{element.path}.unit", f"its words say another unit than its code {code}; correct the one")
    comparator = element.text("comparator")
    if comparator is not None and comparator not in _COMPARATORS:
        raise refused(
            f"{element.path}.comparator", f"not a comparator of FHIR; allowed: {', '.join(sorted(_COMPARATORS))}"
        )
    if factor != 1:
        number = round(number * factor, max(decimals, 1))
        notices.add(element.path, "to settle", f"converted to {number:g} {unit} from the UCUM unit {code}")
    return {"value": number, "unit": unit, **({"comparator": comparator} if comparator else {})}


def _quantity(element: Element, item: Item, notices: Notices) -> object:
    if item.value is not ValueKind.QUANTITY:
        raise refused(element.path, f"{item.slug} takes {item.value.value}, not a quantity")
    assert item.unit is not None
    return measured(element, item.unit, notices, item.decimals)


def _angle(element: Element | None, path: str, notices: Notices) -> float:
    if element is None:
        raise refused(path, "an arc needs both its angles")
    found = measured(element, "deg", notices)
    if "comparator" in found:
        raise refused(f"{element.path}.comparator", "an angle of an arc is a plain number")
    number: float = found["value"]
    return number


def arc_of(low: Element | None, high: Element | None, path: str, notices: Notices) -> dict[str, float]:
    """Two angles in degrees: the most extended and the most flexed position."""
    return {"from": _angle(low, path, notices), "to": _angle(high, path, notices)}


def _range(element: Element, item: Item, notices: Notices) -> object:
    if item.value is not ValueKind.ARC:
        raise refused(element.path, f"{item.slug} takes one value, not a range")
    return arc_of(element.object("low"), element.object("high"), element.path, notices)


def reading(value: object, item: Item, catalogue: Catalogue, path: str) -> Reading:
    """What a value says. Raises `InvalidInput` at `path` where it is not one the item allows."""
    try:
        return read_value(value, item, catalogue)
    except UnreadValue as error:
        raise refused(path, str(error)) from None


def _same(value: object, other: object, item: Item, catalogue: Catalogue, path: str) -> bool:
    one, two = (reading(each, item, catalogue, path) for each in (value, other))
    return (one.state, one.value) == (two.state, two.value)


def coded_value(given: Concept, item: Item, catalogue: Catalogue, notices: Notices) -> str:
    """What a coded value says, in the words of the item. Raises `InvalidInput` where its codes disagree."""
    known = list(given.codes_of("state"))
    known += [codes().states[code] for code in given.codes_of("snomed") if code in codes().states]
    for other in known[1:]:
        if not _same(known[0], other, item, catalogue, given.path):
            raise refused(given.path, f"its codes say {known[0]} and {other}; correct the one that is wrong")
    if not known and not given.words:
        raise refused(given.path, f"says nothing that {item.slug} reads")
    value = known[0] if known else given.words[0]
    if len(value) > _LONGEST_WORDS:
        raise refused(given.path, f"words of {len(value)} characters are no value of {item.slug}")
    if item.value is not ValueKind.TEXT:
        reading(value, item, catalogue, given.path)
    for words in given.words[0 if known else 1 :]:
        try:
            told = read_value(words, item, catalogue)
        except UnreadValue:
            notices.add(given.path, "not held", "words beside the code, which are not a value of the item")
            continue
        meant = reading(value, item, catalogue, given.path)
        if (told.state, told.value) != (meant.state, meant.value):
            raise refused(given.path, "the words say something else than the code; correct the one that is wrong")
    return value


def _whole_number(element: Element, key: str, item: Item) -> object:
    number = element.take(key)
    path = f"{element.path}.{key}"
    if not _is_number(number):
        raise refused(path, "not a number, or none that anything measures")
    if item.value is ValueKind.MRC or (item.value is ValueKind.QUANTITY and item.unit == "score"):
        return int(number) if number == int(number) else number
    raise refused(path, f"a bare number is no value of {item.slug}; give a Quantity with its UCUM unit, or a code")


def _boolean(element: Element, key: str, item: Item) -> object:
    value = element.take(key)
    if not isinstance(value, bool):
        raise refused(f"{element.path}.{key}", "not true or false")
    if item.value not in {ValueKind.PRESENCE, ValueKind.TEST}:
        raise refused(
            f"{element.path}.{key}", f"true or false is no value of {item.slug}, which takes {item.value.value}"
        )
    return value


def read(element: Element, key: str, item: Item, catalogue: Catalogue, notices: Notices) -> object:
    """The value under `key` as a finding of `item` gives it. Raises `InvalidInput` for one the item does not allow."""
    plain: dict[str, Callable[[], object]] = {
        "Boolean": lambda: _boolean(element, key, item),
        "Integer": lambda: _whole_number(element, key, item),
        "Decimal": lambda: _whole_number(element, key, item),
        "String": lambda: element.text(key),
    }
    for ending, made in plain.items():
        if key.endswith(ending):
            value = made()
            reading(value, item, catalogue, f"{element.path}.{key}")
            return value
    inner = element.object(key) if isinstance(element.peek(key), Mapping) else None
    if inner is None:
        raise refused(f"{element.path}.{key}", f"not a kind of value that {item.slug} takes")
    if key.endswith("Quantity"):
        value = _quantity(inner, item, notices)
    elif key.endswith("CodeableConcept"):
        return coded_value(concept(inner), item, catalogue, notices)
    elif key.endswith("Coding"):
        return coded_value(Concept(inner.path, (coding(inner),)), item, catalogue, notices)
    elif key.endswith("Range"):
        value = _range(inner, item, notices)
    else:
        raise refused(inner.path, f"not a kind of value that {item.slug} takes")
    reading(value, item, catalogue, inner.path)
    return value


def interpreted(given: list[Concept], item: Item, catalogue: Catalogue) -> tuple[str, str] | None:
    """What an interpretation alone says was found, and its path; None where it only judges or is of another system.

    N of a test is 'normal', which is not 'negative': such a code is read for an item whose states have that name.
    """
    states: dict[str, str] = {}
    for each in given:
        for code in each.codes_of("interpretation"):
            known = codes().interpretations.get(code)
            if known is None:
                continue
            if known.judges:
                scale = catalogue.scales[item.scale] if item.scale else None
                if scale is None or known.state not in {state.slug for state in scale.states}:
                    continue
            states.setdefault(known.state, each.path)
    if len(states) > 1:
        raise refused(next(iter(states.values())), f"says {' and '.join(states)}; correct the one that is wrong")
    return next(iter(states.items()), None)


def check_interpretation(
    given: list[Concept], value: object, item: Item, catalogue: Catalogue, notices: Notices
) -> None:
    """Holds an interpretation against the value beside it: refused where they say opposite things."""
    told = reading(value, item, catalogue, given[0].path if given else "")
    for each in given:
        for code in each.codes_of("interpretation"):
            known = codes().interpretations.get(code)
            if known is None:
                notices.add(each.path, "not held", "an interpretation beside the value")
            elif known.judges:
                normal = known.state == "normal"
                if told.polarity is (Polarity.ABNORMAL if normal else Polarity.NORMAL):
                    notices.add(each.path, "to settle", f"the interpretation {code} does not fit the value")
            elif item.value in {ValueKind.PRESENCE, ValueKind.TEST} and not _same(
                value, known.state, item, catalogue, each.path
            ):
                raise refused(
                    each.path, f"the interpretation {code} contradicts the value; correct the one that is wrong"
                )
        if not each.codes_of("interpretation"):
            notices.add(each.path, "not held", "an interpretation beside the value")
