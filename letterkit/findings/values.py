"""Values as people write them, read by the kind of the item."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import isfinite
from typing import TypeAlias

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Polarity, Qualifier, StateDef, ValueKind
from letterkit.findings.text import LONGEST_LINE, printable

_YES = {"present", "yes", "y", "+", "++", "+++", "+ve", "pos", "positive", "true", "noted", "seen"}
_NO = {"absent", "no", "n", "-", "-ve", "neg", "negative", "nil", "none", "false", "not present"}
_MAYBE = {"equivocal", "?", "+/-", "borderline", "uncertain", "possible"}
_SEVERITY = {"mild": "mild", "slight": "mild", "moderate": "moderate", "severe": "severe", "marked": "severe",
             "gross": "severe"}  # fmt: skip
_NUMBER = re.compile(
    r"^(?P<comparator><=|>=|<|>|less than|more than|under|over)?\s*(?P<number>\d+(?:\.\d+)?)\s*(?P<unit>[^\d\s]\S*)?$"
)
_COMPARATORS = {"less than": "<", "under": "<", "more than": ">", "over": ">"}
_UNITS = {"degrees": "deg", "degree": "deg", "°": "deg", "deg": "deg", "kg": "kg", "kgs": "kg", "mm": "mm", "cm": "cm",
          "s": "s", "sec": "s", "secs": "s", "seconds": "s", "%": "%", "score": "score", "g": "g"}  # fmt: skip
_MRC = re.compile(r"^(?:m|mrc\s*|grade\s*)?(?P<grade>[0-5])(?P<sign>[+-]?)(?:\s*(?:/|out of)\s*5)?(?P<late>[+-]?)$")
_ARC = re.compile(r"^(?P<from>\d+(?:\.\d+)?)\s*(?:-|–|/|to)\s*(?P<to>\d+(?:\.\d+)?)$")


class UnreadValue(ValueError):
    """The value is not one the item allows; the message says what was given and what is allowed."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number in the item's unit. `trials` holds the single readings where `number` is their mean."""

    number: float
    unit: str
    comparator: str = ""
    trials: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Grade:
    """A Medical Research Council grade, 0 to 5, with a plus or minus where it was given."""

    text: str

    @property
    def rank(self) -> float:
        """The grade for comparison: 4- < 4 < 4+ < 5."""
        return int(self.text[0]) + {"+": 1 / 3, "-": -1 / 3}.get(self.text[1:], 0.0)


@dataclass(frozen=True, slots=True)
class Arc:
    """Two angles of flexion in degrees: the most extended position (negative: hyperextended) and the most flexed."""

    from_deg: float
    to_deg: float


Value: TypeAlias = Quantity | Grade | Arc | str | None


@dataclass(frozen=True, slots=True)
class Reading:
    """What a value says: the state, the value where the state has one, its polarity, and a severity it implied."""

    state: str
    value: Value
    polarity: Polarity
    severity: str | None = None


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."  # noqa: PLR2004 - an error stays one line


def _presence(value: object, item: Item) -> Reading:
    positive, negative = ("present", "absent") if item.value is ValueKind.PRESENCE else ("positive", "negative")
    folded = value.strip().casefold() if isinstance(value, str) else value
    if folded is True or folded in _YES:
        return Reading(positive, None, Polarity.ABNORMAL)
    if folded is False or folded in _NO:
        return Reading(negative, None, Polarity.NORMAL)
    if folded in _MAYBE:
        return Reading("equivocal", None, Polarity.EQUIVOCAL)
    if isinstance(folded, str) and folded in _SEVERITY and Qualifier.SEVERITY in item.qualifiers:
        return Reading(positive, None, Polarity.ABNORMAL, severity=_SEVERITY[folded])
    graded = ", or mild, moderate, severe" if Qualifier.SEVERITY in item.qualifiers else ""
    raise UnreadValue(
        f"{_shown(value)} is not a value of {item.name}; allowed: {positive}, {negative}, equivocal{graded}"
    )


def state_words(state: StateDef) -> str:
    """A state as people write it; a filament by its number."""
    numbered = any(letter.isdigit() for letter in state.slug) and state.aliases
    return state.aliases[0] if numbered else state.slug.replace("_", " ")


@lru_cache(maxsize=4)
def _states(catalogue: Catalogue) -> Mapping[str, Mapping[str, Reading]]:
    """By scale, what each of its states says, under every name that it goes by."""
    named: dict[str, dict[str, Reading]] = {slug: {} for slug in catalogue.scales}
    for slug, scale in catalogue.scales.items():
        for state in scale.states:
            for name in (state.slug, *(alias.casefold().replace(" ", "_") for alias in state.aliases)):
                named[slug].setdefault(name, Reading(state.slug, None, state.polarity))
    return named


def _state(value: object, item: Item, catalogue: Catalogue) -> Reading:
    assert item.scale is not None
    folded = value.strip().casefold().replace(" ", "_") if isinstance(value, str) else None
    if folded is not None and (reading := _states(catalogue)[item.scale].get(folded)):
        return reading
    allowed = ", ".join(state_words(state) for state in catalogue.scales[item.scale].states)
    raise UnreadValue(f"{_shown(value)} is not a state of {item.name}; allowed: {allowed}")


def _mrc(value: object, item: Item) -> Reading:
    text = str(value).strip().casefold() if isinstance(value, (str, int)) and not isinstance(value, bool) else ""
    match = _MRC.match(text)
    sign = match["sign"] or match["late"] if match else ""
    twice = match is not None and match["sign"] and match["late"]
    if match is None or twice or (match["grade"] == "5" and sign == "+") or (match["grade"] in "01" and sign):
        raise UnreadValue(
            f"{_shown(value)} is not a power grade for {item.name}; allowed: 0 to 5, with + or - from 2- to 5-, "
            "for example 4+"
        )
    grade = Grade(match["grade"] + sign)
    return Reading("graded", grade, Polarity.NORMAL if grade.text == "5" else Polarity.ABNORMAL)


def _number(value: object, item: Item) -> Quantity:
    comparator: str = ""
    unit: str = item.unit or ""
    if isinstance(value, dict):
        known = {"value", "unit", "comparator"}
        if extra := set(value) - known:
            raise UnreadValue(f"unknown field {min(extra)!r} in a quantity; allowed: value, unit, comparator")
        comparator, unit, value = value.get("comparator", ""), value.get("unit", unit), value.get("value")
    if isinstance(value, str) and (match := _NUMBER.match(value.strip().casefold())):
        comparator = _COMPARATORS.get(match["comparator"] or "", match["comparator"] or "") or comparator
        unit = match["unit"] or unit
        value = float(match["number"])
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not isfinite(value):
        raise UnreadValue(f"{_shown(value)} is not a number of {item.name}; give a number in {item.unit}")
    if _UNITS.get(str(unit).casefold()) != item.unit:
        hint = "; 1 lb is 0.4536 kg" if item.unit == "kg" and "lb" in str(unit).casefold() else ""
        raise UnreadValue(f"the unit {_shown(unit)} does not fit {item.name}; give it in {item.unit}{hint}")
    if comparator not in ("", "<", ">", "<=", ">="):
        raise UnreadValue(f"{_shown(comparator)} is not a comparator; allowed: <, <=, >, >=")
    assert item.minimum is not None
    assert item.maximum is not None
    if not item.minimum <= value <= item.maximum:
        hint = " Were these pounds?" if item.unit == "kg" and value > item.maximum else ""
        raise UnreadValue(
            f"{value:g} {item.unit} is outside {item.minimum:g} to {item.maximum:g} for {item.name}.{hint}"
        )
    return Quantity(float(value), item.unit or "", comparator)


def _against(number: float, item: Item, comparator: str) -> Polarity:
    """Where a number lies against what is expected; a bare 'less than' counts as its bound."""
    expected = item.expected
    if expected is None:
        return Polarity.NOTED
    if expected.low is not None and number < expected.low - expected.tolerance:
        return Polarity.ABNORMAL
    if expected.high is not None and number > expected.high + expected.tolerance and not comparator.startswith("<"):
        return Polarity.ABNORMAL
    return Polarity.NORMAL


def _quantity(value: object, item: Item) -> Reading:
    if isinstance(value, (list, tuple)):
        if not value:
            raise UnreadValue(f"an empty list is not a value of {item.name}; give a number in {item.unit}")
        readings = [_number(each, item) for each in value]
        if any(reading.comparator for reading in readings):
            raise UnreadValue("a list of readings cannot hold 'less than' or 'more than'")
        trials = tuple(reading.number for reading in readings)
        mean = sum(trials) / len(trials)
        return Reading("measured", Quantity(mean, item.unit or "", "", trials), _against(mean, item, ""))
    quantity = _number(value, item)
    return Reading("measured", quantity, _against(quantity.number, item, quantity.comparator))


def _arc(value: object, item: Item) -> Reading:
    start: object = None
    end: object = None
    if isinstance(value, dict):
        if extra := set(value) - {"from", "to"}:
            raise UnreadValue(f"unknown field {min(extra)!r} in an arc; allowed: from, to")
        start, end = value.get("from"), value.get("to")
    elif isinstance(value, Sequence) and not isinstance(value, (str, bytes)) and len(value) == 2:  # noqa: PLR2004 - a pair
        start, end = value
    elif isinstance(value, str):
        if match := _ARC.match(value.strip().casefold()):
            start, end = float(match["from"]), float(match["to"])
        elif value.strip().startswith("-"):
            raise UnreadValue(
                f"{_shown(value)} may mean a lack of extension or hyperextension; "
                'give {"from": 15, "to": 90} for a lack of 15 degrees, {"from": -15, "to": 90} for hyperextension'
            )
    for angle in (start, end):
        if isinstance(angle, bool) or not isinstance(angle, (int, float)) or not isfinite(angle):
            raise UnreadValue(f'{_shown(value)} is not an arc of {item.name}; give {{"from": 0, "to": 90}} in degrees')
    assert isinstance(start, (int, float))
    assert isinstance(end, (int, float))
    if start > end:
        raise UnreadValue(f"the arc {start:g} to {end:g} of {item.name} runs backwards; were the two angles swapped?")
    assert item.minimum is not None
    assert item.maximum is not None
    if start < item.minimum or end > item.maximum:
        raise UnreadValue(
            f"{start:g} to {end:g} degrees is outside {item.minimum:g} to {item.maximum:g} for {item.name}"
        )
    short = item.expected is not None and item.expected.low is not None and (
        end < item.expected.low - item.expected.tolerance
    )  # fmt: skip
    lag = item.expected_from is not None and item.expected_from.high is not None and (
        start > item.expected_from.high + item.expected_from.tolerance
    )  # fmt: skip
    judged = item.expected is not None or item.expected_from is not None
    polarity = Polarity.ABNORMAL if short or lag else Polarity.NORMAL if judged else Polarity.NOTED
    return Reading("measured", Arc(float(start), float(end)), polarity)


def _text(value: object, item: Item) -> Reading:
    if not isinstance(value, str) or not value.strip():
        raise UnreadValue(f"{item.name} takes words, not {_shown(value)}")
    if len(value) > LONGEST_LINE:
        raise UnreadValue(f"{item.name} takes at most {LONGEST_LINE} characters, given {len(value)}")
    try:
        printable(value)
    except ValueError as error:
        raise UnreadValue(f"{item.name}: {error}") from None
    if value.strip().casefold() in {"normal", "nad", "unremarkable"}:
        return Reading("normal", None, Polarity.NORMAL)
    return Reading("described", " ".join(value.split()), Polarity.NOTED)


def read_value(value: object, item: Item, catalogue: Catalogue) -> Reading:
    """What `value` says of `item`. Raises `UnreadValue` naming what was given and what is allowed."""
    if isinstance(value, (dict, list, tuple, bytes)) and item.value not in {ValueKind.QUANTITY, ValueKind.ARC}:
        raise UnreadValue(f"{_shown(value)} is not a value of {item.name}; give one word, number or grade")
    if value is None:
        raise UnreadValue(f"a value is missing for {item.name}; if it was not examined, list it under notExamined")
    match item.value:
        case ValueKind.PRESENCE | ValueKind.TEST:
            return _presence(value, item)
        case ValueKind.STATE:
            return _state(value, item, catalogue)
        case ValueKind.MRC:
            return _mrc(value, item)
        case ValueKind.QUANTITY:
            return _quantity(value, item)
        case ValueKind.ARC:
            return _arc(value, item)
        case ValueKind.TEXT:
            return _text(value, item)
