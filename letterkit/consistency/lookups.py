"""Small look-ups that the rule families share: grades, numbers and joint angles of facts, and how an entry is told."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from letterkit.catalogue.model import Place, Polarity, Qualifier, ValueKind
from letterkit.consistency.rule import Case
from letterkit.findings.facts import Fact
from letterkit.findings.sides import Side
from letterkit.findings.values import Arc, Grade, Quantity

SIDES: tuple[Side, ...] = ("right", "left")
FULL_POWER = 5.0
# States of sensation that say that something is missing; heightened sensation is a departure of another kind.
LOSS = frozenset({"reduced", "absent", "altered"})
# A joint that lacks no more than this counts as straight (reading error of a goniometer; common practice, no source).
STRAIGHT_DEG = 5.0
_MOST_LISTED = 4


def rank(fact: Fact) -> float | None:
    """The muscle grade of a fact for comparison, or None where it is no grade."""
    return fact.value.rank if isinstance(fact.value, Grade) else None


def number(fact: Fact) -> float | None:
    """The number of a measured fact in its item's unit, or None."""
    return fact.value.number if isinstance(fact.value, Quantity) else None


def arc(fact: Fact) -> Arc | None:
    """The two angles of a fact, or None."""
    return fact.value if isinstance(fact.value, Arc) else None


def graded(
    case: Case, *items: str, low: float = 0, high: float = FULL_POWER, side: Side | None = None, site: str | None = None
) -> tuple[Fact, ...]:
    """Facts of these muscles whose grade lies between `low` and `high`, both included."""
    found = case.of(*items, side=side, site=site)
    return tuple(fact for fact in found if isinstance(fact.value, Grade) and low <= fact.value.rank <= high)


def losses(facts: Iterable[Fact]) -> tuple[Fact, ...]:
    """Those facts of sensation that say it is reduced, absent or altered."""
    return tuple(fact for fact in facts if fact.state in LOSS)


def normals(facts: Iterable[Fact]) -> tuple[Fact, ...]:
    """Those facts that are as expected."""
    return tuple(fact for fact in facts if fact.polarity is Polarity.NORMAL)


def abnormals(facts: Iterable[Fact]) -> tuple[Fact, ...]:
    """Those facts that depart from normal."""
    return tuple(fact for fact in facts if fact.polarity is Polarity.ABNORMAL)


def on_digit(case: Case, facts: Iterable[Fact], digit: str | None) -> tuple[Fact, ...]:
    """Those facts that are about one digit."""
    return tuple(fact for fact in facts if digit is not None and case.digit(fact) == digit)


def joint(case: Case, fact: Fact) -> str | None:
    """The kind of joint a fact is about (mcp, pip, dip, ip), or None."""
    return case.catalogue.sites[fact.site].row if fact.site else None


def passive(fact: Fact) -> bool:
    """Whether the fact was recorded as passive movement."""
    return fact.qualifier(Qualifier.MODE) == "passive"


def _declared(case: Case) -> Mapping[Side | None, tuple[frozenset[str], frozenset[str]]]:
    """The stages that were recorded as normal or not examined, and the single items that were not examined.

    By the side that a rule asks about; under None stands what was said of any side.
    """
    told: dict[Side | None, tuple[frozenset[str], frozenset[str]]] = {}
    for side in (None, *SIDES):
        here = {None, "both", side} if side else {None, "both", *SIDES}
        unexamined = [fact for fact in case.facts.unexamined if fact.side in here]
        stages = [fact.stage for fact in case.facts.normal if fact.side in here]
        stages += [fact.stage for fact in unexamined if fact.item is None]
        told[side] = frozenset(stages), frozenset(fact.item for fact in unexamined if fact.item is not None)
    return told


def accounted_for(case: Case, *items: str, side: Side | None = None) -> bool:
    """Whether any of the items was recorded, was covered by a stage recorded as normal, or declared not examined.

    With a `side`, only what was said of that side or of both counts.
    """
    if case.of(*items, side=side) if side else case.recorded(*items):
        return True
    stages, named = case.once(_declared)[side]
    known = case.catalogue.items
    return not named.isdisjoint(items) or any(known[item].stage in stages for item in items if stages and item in known)


def _where(fact: Fact, case: Case) -> str:
    side = f"{fact.side} " if fact.side else ""
    if fact.site is None:
        return f" on the {fact.side}" if fact.side else ""
    site = case.catalogue.sites[fact.site]
    place = case.item(fact).doctor.place
    preposition = "at" if place is Place.SIDE else place.value
    if site.digit and case.catalogue.digits[site.digit].name in site.name:
        digit = case.catalogue.digits[site.digit].name
        return f" {preposition} the {site.name.replace(digit, side + digit)}"
    return f" {preposition} the {side}{site.name}"


def _state(fact: Fact, case: Case) -> str:
    item = case.item(fact)
    if item.scale is None:
        return fact.state.replace("_", " ")
    if fact.state in item.doctor.states:
        return item.doctor.states[fact.state]
    words = {state.slug: state.doctor for state in case.catalogue.scales[item.scale].states}
    return words.get(fact.state, fact.state)


def _value(fact: Fact, case: Case) -> str:
    value = fact.value
    if isinstance(value, Grade):
        return f"{value.text} out of 5"
    if isinstance(value, Quantity):
        unit = {"deg": " degrees", "score": ""}.get(value.unit, f" {value.unit}")
        return f"{value.comparator}{value.number:g}{unit}"
    if isinstance(value, Arc):
        mode = fact.qualifier(Qualifier.MODE)
        return f"{value.from_deg:g} to {value.to_deg:g} degrees" + (f", {mode}" if mode else "")
    severity = fact.qualifier(Qualifier.SEVERITY)
    angle = fact.qualifier(Qualifier.ANGLE)
    plain = case.item(fact).value is ValueKind.PRESENCE and fact.state in {"present", "absent"}
    words = [str(severity)] if severity else [] if plain else [_state(fact, case)]
    if angle is not None:
        words.append(f"{angle:g} degrees")
    return ", ".join(words)


def entry(fact: Fact, case: Case) -> str:
    """One entry of the record for a message: 'thenar wasting on the right (severe)', 'absence of swelling'."""
    item = case.item(fact)
    name = item.doctor.noun or item.doctor.subject or item.name
    mode = fact.qualifier(Qualifier.MODE)
    if item.value is ValueKind.MRC:
        name = f"power of {name}"
    elif item.value is ValueKind.PRESENCE and fact.state == "absent":
        name = f"absence of {name}"
    elif mode and not isinstance(fact.value, Arc):
        name = f"{mode} {name}"
    value = _value(fact, case)
    return f"{name}{_where(fact, case)}" + (f" ({value})" if value else "")


def listed(words: Sequence[str]) -> str:
    """Words as one list: 'a, b and c'."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def entries(facts: Iterable[Fact], case: Case) -> str:
    """Several entries as one list; beyond four, the rest are counted."""
    told = list(dict.fromkeys(entry(fact, case) for fact in facts))
    if len(told) > _MOST_LISTED:
        told = [*told[: _MOST_LISTED - 1], f"{len(told) - _MOST_LISTED + 1} more"]
    return listed(told)


def opening(text: str) -> str:
    """A text with a capital to open a sentence."""
    return text[:1].upper() + text[1:]


def recorded(facts: Sequence[Fact], case: Case) -> str:
    """Entries as the opening of a sentence: 'Thenar wasting on the right is recorded'."""
    return f"{opening(entries(facts, case))} {'is' if len(facts) == 1 else 'are'} recorded"


def by_side(facts: Iterable[Fact]) -> dict[Side | None, list[Fact]]:
    """Facts sorted into their sides, so that one query speaks of a whole hand."""
    found: dict[Side | None, list[Fact]] = {}
    for fact in facts:
        found.setdefault(fact.side, []).append(fact)
    return found
