"""Clauses in plain English: one kind of finding said to the patient, in short sentences that say 'you' and 'we'.

A clause takes facts that say the same thing of one item (or, for findings that are there or not there, of several items
at the same places) and gives whole sentences without their full stop. Nothing here selects, drops or groups.
"""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Place, Qualifier, Stage, ValueKind
from letterkit.findings.facts import Fact
from letterkit.findings.values import Arc, Grade, Quantity, Value
from letterkit.prose.plain_places import (
    at_the_edge,
    edge,
    side_words,
    spots_phrase,
    takes_side,
    with_both,
    with_either,
    with_side,
)
from letterkit.prose.words import NO_BREAK, listed, rounded
from letterkit.summary.statement import PlaceRef

_UNITS = {
    "deg": ("degree", "degrees"), "kg": ("kilogram", "kilograms"), "mm": ("millimetre", "millimetres"),
    "cm": ("centimetre", "centimetres"), "s": ("second", "seconds"), "g": ("gram", "grams"),
    "%": ("per cent", "per cent"), "score": ("", ""),
}  # fmt: skip
_COMPARATORS = {"<": "less than ", ">": "more than ", "<=": "at most ", ">=": "at least ", "": ""}
_MODES = {"active": "With your own effort, ", "passive": "With our help, "}
_DENIALS = ("did not ", "does not ", "was not ", "were not ", "not ", "no ", "was no ", "showed no ", "left no ")

# Strength against the grades of the Medical Research Council: what the patient could do, then the same on the other
# side, where 'it' stands for the movement.
_STRENGTH = {
    5: ("You had full strength when {}", "you had full strength"),
    4: ("You had less than full strength when {}", "you had less than full strength"),
    3: ("You could manage {}, but not against pressure", "you could manage it, but not against pressure"),
    2: ("You could manage {} only with the weight held",
        "you could manage it only with the weight held"),
    1: ("We saw only a flicker when you tried {}", "we saw only a flicker"),
    0: ("We saw no movement when you tried {}", "we saw no movement"),
}  # fmt: skip
_FULL = 5


def amount(number: float, unit: str, comparator: str = "", decimals: int = 1) -> str:
    """A number with its unit as a word: '27 kilograms', 'less than 2 seconds'."""
    text = rounded(number, decimals).replace("-", "minus ")
    word = _UNITS[unit][0 if text == "1" else 1]
    return _COMPARATORS[comparator] + (f"{text}{NO_BREAK}{word}" if word else text)


def denies(predicate: str) -> bool:
    """Whether a predicate says that something did not happen, so that 'either side' follows it."""
    return predicate.startswith(_DENIALS)


def sides_of(facts: Sequence[Fact]) -> frozenset[str | None]:
    """The sides that the facts name."""
    return frozenset(fact.side for fact in facts)


def _places(facts: Sequence[Fact]) -> list[PlaceRef]:
    return list(dict.fromkeys(PlaceRef(fact.site, fact.side) for fact in facts))


def _edge(facts: Sequence[Fact], catalogue: Catalogue) -> str:
    return edge(facts[0].site, catalogue)


def _placed(words: str, facts: Sequence[Fact], item: Item, catalogue: Catalogue, *, negated: bool = False) -> str:
    """Words of an item with their place: the site after its preposition, or the side put into the words."""
    if item.patient.place is not Place.SIDE:
        at = spots_phrase(_places(facts), item.patient.place.value, catalogue, negated=negated)
        return at_the_edge(f"{words} {at}", _edge(facts, catalogue))
    sides = frozenset(fact.side for fact in facts)
    if takes_side(words) and sides != {"right", "left"}:
        return with_side(words, next(iter(sides)))
    tail = side_words(sides, negated=negated)
    return f"{words} {tail}" if tail else words


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


# Findings that are there, or not


def _noun(item: Item, facts: Sequence[Fact]) -> str:
    """The finding with its article or its count; in the plural only where places or a count say so."""
    wording = item.patient
    noun = wording.noun or item.name
    count = facts[0].qualifier(Qualifier.COUNT)
    if isinstance(count, int) and count > 1 and wording.plural:
        return wording.plural if len(facts) > 1 else f"{count} {wording.plural}"
    if wording.plural and wording.place is not Place.SIDE and len(facts) > 1:
        return wording.plural
    return f"{wording.article} {noun}" if wording.article else noun


def _there(words: str, facts: Sequence[Fact], item: Item, catalogue: Catalogue, *, negated: bool) -> str:
    """The words with their place; a finding on both sides takes the plural of the part, or 'either' after a 'no'."""
    if item.patient.place is Place.SIDE and takes_side(words) and sides_of(facts) == {"right", "left"}:
        return with_either(words) if negated else with_both(words)
    return _placed(words, facts, item, catalogue, negated=negated)


def found(items: Sequence[Item], facts: Sequence[Fact], catalogue: Catalogue) -> str:
    """'We found swelling of your right wrist'; several items share their places."""
    verb = "We saw" if items[0].stage is Stage.INSPECTION else "We found"
    own = [[fact for fact in facts if fact.item == item.slug] for item in items]
    nouns = [_noun(item, its) for item, its in zip(items, own, strict=True)]
    return f"{verb} {_there(listed(nouns), own[0], items[0], catalogue, negated=False)}"


def not_found(items: Sequence[Item], facts: Sequence[Fact], catalogue: Catalogue) -> str:
    """'We found no swelling of either wrist'."""
    verb = "We saw no" if items[0].stage is Stage.INSPECTION else "We found no"
    own = [fact for fact in facts if fact.item == items[0].slug]
    nouns = [item.patient.noun or item.name for item in items]
    return f"{verb} {_there(listed(nouns, 'or'), own, items[0], catalogue, negated=True)}"


def unsure(items: Sequence[Item], facts: Sequence[Fact], catalogue: Catalogue) -> str:
    """'There may be swelling of your right wrist'; that it was uncertain is said by `more`."""
    nouns = [_noun(item, [facts[0]]) for item in items]
    own = [fact for fact in facts if fact.item == items[0].slug]
    return f"There may be {_there(listed(nouns, 'or'), own, items[0], catalogue, negated=False)}"


# Tests, states, strength, numbers, the clinician's words


def _predicate(item: Item, fact: Fact, catalogue: Catalogue) -> str:
    wording = item.patient
    verb = "were" if wording.number == "plural" else "was"
    match item.value:
        case ValueKind.TEST:
            told = {"positive": wording.positive, "negative": wording.negative, "equivocal": wording.equivocal}
            return told[fact.state] or "gave no clear answer"
        case ValueKind.STATE:
            assert item.scale is not None
            words = next(each.patient for each in catalogue.scales[item.scale].states if each.slug == fact.state)
            return f"{verb} {wording.states.get(fact.state, words)}"
        case ValueKind.TEXT:
            return f"{verb} normal" if fact.state == "normal" else f"{verb} noted as follows: {fact.value}"
        case _:
            return f"{verb} {number(fact.value, item)}"


def _subject(item: Item) -> str:
    return item.patient.subject or item.name


def _strength(grade: Grade) -> tuple[str, str]:
    return _STRENGTH[int(grade.text[0])]


def score(value: Value) -> list[str]:
    """What a grade of strength below full means, as a sentence of its own; nothing for full strength."""
    assert isinstance(value, Grade)
    if value.text == str(_FULL):
        return []
    text = value.text.replace("-", " minus").replace("+", " plus")
    return [f"We score this {text} out of 5, where 5 is full strength"]


def number(value: Value, item: Item) -> str:
    """A measured value in words: '27 kilograms', 'from 20 to 85 degrees'."""
    if isinstance(value, Quantity):
        return amount(value.number, value.unit, value.comparator, max(item.decimals, 1))
    assert isinstance(value, Arc)
    end = f"{amount(-value.to_deg, 'deg')} bent back" if value.to_deg < 0 else f"{amount(value.to_deg, 'deg')} bent"
    if value.from_deg < 0:
        return f"from {amount(-value.from_deg, 'deg')} bent back to {end}"
    return f"from {rounded(value.from_deg, 1)} to {amount(value.to_deg, 'deg')}"


def said(item: Item, facts: Sequence[Fact], catalogue: Catalogue) -> str:
    """A test, a state, strength, a number or the clinician's words about one item at its places."""
    fact = facts[0]
    lead = _MODES.get(str(fact.qualifier(Qualifier.MODE)), "")
    if item.value is ValueKind.MRC:
        assert isinstance(fact.value, Grade)
        return _strength(fact.value)[0].format(_placed(_subject(item), facts, item, catalogue))
    predicate = _predicate(item, fact, catalogue)
    sides = frozenset(each.side for each in facts)
    whole = f"{_subject(item)} {predicate}"
    if item.patient.place is not Place.SIDE:
        whole = f"{_placed(_subject(item), facts, item, catalogue)} {predicate}"
        whole = at_the_edge(whole, _edge(facts, catalogue))
    elif takes_side(whole) and sides != {"right", "left"}:
        whole = with_side(whole, next(iter(sides)))
    elif tail := side_words(sides, negated=denies(predicate.removeprefix("was ").removeprefix("were "))):
        whole = f"{whole} {tail}"
    return lead + whole if lead else _capital(whole)


def again(item: Item, fact: Fact, catalogue: Catalogue) -> str:
    """A further answer about what was told just before: 'it did not bring on tingling', 'you had full strength'."""
    if item.value is ValueKind.MRC:
        assert isinstance(fact.value, Grade)
        return _strength(fact.value)[1]
    if item.value is ValueKind.PRESENCE:
        # 'This' after 'we saw no swelling' could be read as the absence.
        return {"present": "it was there", "absent": "it was not there"}.get(fact.state, "we were not sure of it")
    pronoun = "they" if item.patient.number == "plural" else "it"
    return f"{pronoun} {_predicate(item, fact, catalogue)}"


def compared(item: Item, right: Fact, left: Fact, places: Sequence[Fact], catalogue: Catalogue) -> str:
    """Two numbers of one item: '... was 27 kilograms on the right and 26 kilograms on the left'."""
    words = _subject(item)
    if item.patient.place is not Place.SIDE:
        sideless = [PlaceRef(fact.site, None) for fact in places]
        at = spots_phrase(dict.fromkeys(sideless), item.patient.place.value, catalogue)
        words = at_the_edge(f"{words} {at}", _edge(places, catalogue))
    lead = _MODES.get(str(right.qualifier(Qualifier.MODE)), "")
    verb = "were" if item.patient.number == "plural" else "was"
    told = f"{number(right.value, item)} on the right and {number(left.value, item)} on the left"
    whole = f"{words} {verb} {told}"
    return lead + whole if lead else _capital(whole)


# What else was recorded of a finding, each in a sentence of its own


def _counted(count: int, item: Item, *, spread: bool) -> list[str]:
    """How many, where the noun did not tell it; of several places it is told that each has so many."""
    if spread:
        return [f"We counted {count} in each place"]
    told = item.patient.plural is not None and (count > 1 or item.patient.article is not None)
    return [] if told else [f"We counted {count}"]


def more(fact: Fact, item: Item, *, several: bool, spread: bool = False) -> list[str]:
    """Sentences about severity, size, onset and the like.

    `several` says whether the finding was told in the plural, `spread` whether it holds at each of several places.
    """
    it, was = ("They", "were") if several else ("It", "was")
    known = dict(fact.qualifiers)
    told: list[str] = []
    if item.value is ValueKind.PRESENCE and fact.state == "equivocal":
        told.append("We were not sure")
    if severity := known.get(Qualifier.SEVERITY):
        told.append(f"{it} {was} {severity}")
    if Qualifier.COUNT in known:
        told += _counted(int(known[Qualifier.COUNT]), item, spread=spread)
    if (size := known.get(Qualifier.SIZE)) is not None:
        told.append(f"{it} {was} {amount(float(size), 'mm')} across")
    if (length := known.get(Qualifier.LENGTH)) is not None:
        told.append(f"{it} {was} {amount(float(length), 'cm')} long")
    if (angle := known.get(Qualifier.ANGLE)) is not None:
        told.append(f"The angle was {amount(float(angle), 'deg')}")
    if correctability := known.get(Qualifier.CORRECTABILITY):
        could = "could" if correctability == "correctable" else "could not"
        told.append(f"We {could} ease {it.lower().replace('they', 'them')} back by hand")
    if (grade := known.get(Qualifier.GRADE)) is not None:
        scale, _, value = str(grade).rpartition(" ")
        told.append(f"Its grade was {value} on the {scale} scale, which is a way to describe it")
    if item.value is ValueKind.PRESENCE and (mode := known.get(Qualifier.MODE)):
        told.append("This was when you moved it yourself" if mode == "active" else "This was when we moved it for you")
    if (onset := known.get(Qualifier.ONSET)) is not None:
        told.append(f"This took {amount(float(onset), 's')}")
    if isinstance(fact.value, Quantity) and len(fact.value.trials) > 1:
        tries = listed([rounded(each, 1) for each in fact.value.trials])
        told.append(f"This is the average of {len(fact.value.trials)} tries: {tries}")
    if isinstance(fact.value, Grade):
        told += score(fact.value)
    return told


def own_words(fact: Fact) -> list[str]:
    """The clinician's words beside a finding, each as a sentence that says whose they are."""
    told = []
    if distribution := fact.qualifier(Qualifier.DISTRIBUTION):
        told.append(f"You felt this in {distribution}")
    if description := fact.qualifier(Qualifier.DESCRIPTION):
        told.append(f"Our notes say: {description}")
    if fact.note:
        told.append(f"Our notes say: {fact.note}")
    return told
