"""Clauses in the clinical register: each part of a statement in several shapes, all saying exactly the same.

A clause is a function from a statement to its variants. A shape is how a sentence opens; the writer picks among them so
that no three in a row are alike.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal, TypeAlias

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Place, Qualifier, Stage, ValueKind
from letterkit.findings.values import Arc, Grade, Quantity
from letterkit.prose.places import Where, side_phrase, site_phrase, where
from letterkit.prose.words import amount, capital, count_word, listed, long_date, rounded, with_article
from letterkit.summary.statement import Form, Part, PlaceRef, Statement

Shape: TypeAlias = Literal["there", "subject", "place", "no"]


@dataclass(frozen=True, slots=True)
class Variant:
    """One way to say a statement; `text` has no full stop yet."""

    shape: Shape
    text: str


_FRONTED = frozenset({Place.SIDE, Place.OVER, Place.IN, Place.ON})
_SEEN = {Stage.INSPECTION: "seen", Stage.PALPATION: "felt"}


def _items(part: Part, catalogue: Catalogue) -> list[Item]:
    return [catalogue.items[slug] for slug in part.items]


def _qualifier(part: Part, name: Qualifier) -> str | float | int | None:
    return next((value for key, value in part.qualifiers if key is name), None)


def _note(part: Part) -> str:
    return f" ({part.note})" if part.note else ""


def _at(part: Part, item: Item, catalogue: Catalogue, *, negated: bool = False) -> str:
    """Where the part holds, as the item's wording says it; empty where neither side nor site applies."""
    places = where(part.places, catalogue)
    if item.doctor.place is Place.SIDE:
        return side_phrase(places.sides, negated=negated)
    return site_phrase(places, item.doctor.place.value, catalogue, negated=negated)


def _sentence(*parts: str) -> str:
    return " ".join(part for part in parts if part)


# Presence


def _noun_phrase(item: Item, part: Part, places: Where) -> tuple[str, bool]:
    """The finding as a noun phrase with its qualifiers, and whether it is plural."""
    wording = item.doctor
    noun = wording.noun or item.name
    count = _qualifier(part, Qualifier.COUNT)
    several = (isinstance(count, int) and count > 1) or (count is None and max(places.count, len(places.sides)) > 1)
    plural = wording.plural is not None and (several or wording.article is None)
    size = _size(part)
    # A size stands before a thing that can be counted, as it is dictated; after a substance it is told as a measure.
    before = [size] if size and wording.article else []
    before += [str(value) for name in (Qualifier.SEVERITY, Qualifier.CORRECTABILITY)
               if (value := _qualifier(part, name)) is not None]  # fmt: skip
    words = " ".join([*before, (wording.plural or noun) if plural else noun])
    if isinstance(count, int) and wording.plural:
        words = f"{count_word(count)} {words}"
    elif wording.article and not plural:
        words = with_article(words)
    if size and not wording.article:
        words += f" measuring {size}"
    return words + _measures(part), plural


def _size(part: Part) -> str:
    size, length = _qualifier(part, Qualifier.SIZE), _qualifier(part, Qualifier.LENGTH)
    told = [amount(float(size), "mm")] if size is not None else []
    told += [amount(float(length), "cm")] if length is not None else []
    return " by ".join(told)


def _measures(part: Part) -> str:
    text = ""
    if (angle := _qualifier(part, Qualifier.ANGLE)) is not None:
        text += f" of {amount(float(angle), 'deg')}"
    if (grade := _qualifier(part, Qualifier.GRADE)) is not None:
        scale, _, value = str(grade).rpartition(" ")
        text += f" ({scale} grade {value})"
    return text


def _after(part: Part) -> str:
    """What follows the place: the clinician's description, when symptoms came and where they were felt."""
    text = ""
    if (onset := _qualifier(part, Qualifier.ONSET)) is not None:
        text += f" after {amount(float(onset), 's')}"
    if (distribution := _qualifier(part, Qualifier.DISTRIBUTION)) is not None:
        text += f" (felt in {distribution})"
    if (description := _qualifier(part, Qualifier.DESCRIPTION)) is not None:
        text += f" ({description})"
    return text + _note(part)


def _found(items: Sequence[Item], at: str, *, negated: bool = False) -> str:
    """The verb of finding: seen or felt by stage; the patient's pain is neither."""
    sore = any(word in (item.doctor.noun or "") for item in items for word in ("pain", "tender"))
    if items[0].doctor.place is Place.OF and at and not negated:
        return "present"
    return "noted" if sore else _SEEN.get(items[0].stage, "found")


def _with_verb(words: str, verb: str, items: Sequence[Item], at: str, *, negated: bool = False) -> str:
    """'swelling of the right wrist was present', 'a scar was seen over the right palm'."""
    found = _found(items, at, negated=negated)
    if items[0].doctor.place is Place.OF:
        return _sentence(words, at, verb, found)
    return _sentence(words, verb, found, at)


def _frontable(item: Item) -> bool:
    """Whether English lets the place stand first: 'over the right wrist there was', never 'of the right wrist'."""
    return item.doctor.place in _FRONTED


def _presence(part: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = _items(part, catalogue)
    places = where(part.places, catalogue)
    phrases = [_noun_phrase(item, part, places) for item in items[: 1 if not part.crossed else None]]
    at = _at(part, items[0], catalogue)
    words = listed([phrase for phrase, _ in phrases])
    plural = len(phrases) > 1 or phrases[0][1]
    there = "were" if phrases[0][1] else "was"
    after = _after(part)
    yield Variant("there", f"{_sentence('there', there, words, at)}{after}")
    yield Variant("subject", f"{_with_verb(words, 'were' if plural else 'was', items, at)}{after}")
    if at and _frontable(items[0]):
        yield Variant("place", f"{_sentence(at, 'there', there, words)}{after}")


def _denied_plural(item: Item) -> bool:
    """After 'no', what a place may hold several of takes the plural: 'no nodules', but 'no contracture'."""
    return item.doctor.plural is not None and Qualifier.COUNT in item.qualifiers


def _absent_nouns(items: Sequence[Item]) -> list[str]:
    return [(item.doctor.plural if _denied_plural(item) else item.doctor.noun) or item.name for item in items]


def _absence(part: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = _items(part, catalogue)
    named = items if part.crossed else items[:1]
    at = _at(part, items[0], catalogue, negated=True)
    words = listed(_absent_nouns(named), "or")
    plural = _denied_plural(named[0])
    after = _after(part)
    yield Variant("there", f"{_sentence('there', 'were' if plural else 'was', 'no', words, at)}{after}")
    last_plural = _denied_plural(named[-1])
    yield Variant(
        "no", f"{_with_verb(f'no {words}', 'were' if last_plural else 'was', named, at, negated=True)}{after}"
    )
    if at and _frontable(items[0]):
        yield Variant("place", f"{_sentence(at, 'there', 'were' if plural else 'was', 'no', words)}{after}")


def _uncertain_presence(part: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = _items(part, catalogue)
    nouns = [item.doctor.noun or item.name for item in (items if part.crossed else items[:1])]
    at = _at(part, items[0], catalogue)
    after = _after(part)
    words = listed(nouns, "or")
    yield Variant("subject", f"{_sentence('it was uncertain whether there was', words, at)}{after}")
    yield Variant("there", f"{_sentence('whether there was', words, at, 'remained uncertain')}{after}")


# Tests


def _predicate(item: Item, state: str, verb: str) -> str:
    custom = {"positive": item.doctor.positive, "negative": item.doctor.negative, "equivocal": item.doctor.equivocal}
    return custom.get(state) or f"{verb} {state}"


def _subjects(items: Sequence[Item]) -> tuple[str, str]:
    """The subjects as a list, and the verb that agrees with it."""
    words = listed(list(dict.fromkeys(item.doctor.subject or item.name for item in items)))
    plural = len({item.doctor.subject for item in items}) > 1 or items[0].doctor.number == "plural"
    return words, "were" if plural else "was"


def _test(part: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = _items(part, catalogue)
    words, verb = _subjects(items)
    at = _at(part, items[0], catalogue)
    predicate = _predicate(items[0], part.state, verb)
    after = _after(part)
    yield Variant("subject", f"{_sentence(words, predicate, at)}{after}")
    if at and _frontable(items[0]):
        yield Variant("place", f"{at}, {words} {predicate}{after}")


# States of a scale


def _state_words(item: Item, state: str, catalogue: Catalogue) -> str:
    if state in item.doctor.states:
        return item.doctor.states[state]
    assert item.scale is not None
    return next(each.doctor for each in catalogue.scales[item.scale].states if each.slug == state)


def _state(part: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = _items(part, catalogue)
    words, verb = _subjects(items)
    state = _state_words(items[0], part.state, catalogue)
    at = _at(part, items[0], catalogue, negated=state.startswith("not "))
    after = _after(part)
    if items[0].doctor.place is Place.SIDE:
        yield Variant("subject", f"{_sentence(words, verb, state, at)}{after}")
    else:
        yield Variant("subject", f"{_sentence(words, at, verb, state)}{after}")
    if at and _frontable(items[0]):
        yield Variant("place", f"{at}, {words} {verb} {state}{after}")


# Power


def _grade(value: object) -> str:
    assert isinstance(value, Grade)
    return f"grade {value.text.replace('-', ' minus').replace('+', ' plus')} out of 5"


def _mrc(part: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = _items(part, catalogue)
    words, _ = _subjects(items)
    at = _at(part, items[0], catalogue)
    after = _after(part)
    yield Variant("subject", f"{_sentence(f'power of {words} was {_grade(part.value)}', at)}{after}")
    if at and _frontable(items[0]):
        yield Variant("place", f"{at}, power of {words} was {_grade(part.value)}{after}")


# Numbers


def _number(part: Part, item: Item) -> str:
    if isinstance(part.value, Quantity):
        text = amount(part.value.number, part.value.unit, part.value.comparator, max(item.decimals, 1))
        if len(part.value.trials) > 1:
            trials = listed([rounded(trial, 1) for trial in part.value.trials])
            text += f" (mean of {count_word(len(part.value.trials))} trials: {trials})"
        return text + _previously(part, item)
    assert isinstance(part.value, Arc)
    return arc_words(part.value) + _previously(part, item)


def _previously(part: Part, item: Item) -> str:
    """The latest earlier figure of the same place beside today's, where a part is about one place."""
    if not part.before:
        return ""
    before = part.before[-1]
    day = long_date(date.fromisoformat(before.date))
    if isinstance(before.value, Quantity):
        value = before.value
        return f" (previously {amount(value.number, value.unit, value.comparator, max(item.decimals, 1))} on {day})"
    return f" (previously {arc_words(before.value)} on {day})" if isinstance(before.value, Arc) else ""


def arc_words(arc: Arc) -> str:
    """An arc in words: 'from 20 to 85 degrees', with hyperextension said as such."""
    end = amount(arc.to_deg, "deg")
    if arc.from_deg < 0:
        return f"from {amount(-arc.from_deg, 'deg')} of hyperextension to {end} of flexion"
    return f"from {rounded(arc.from_deg, 1)} to {end}"


def _measured(part: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = _items(part, catalogue)
    words, verb = _subjects(items)
    mode = _qualifier(part, Qualifier.MODE)
    subject = f"{mode} {words}" if mode else words
    at = _at(part, items[0], catalogue)
    after = _after(part)
    number = _number(part, items[0])
    if items[0].doctor.place is Place.SIDE:
        yield Variant("subject", f"{_sentence(subject, verb, number, at)}{after}")
    else:
        yield Variant("subject", f"{_sentence(subject, at, verb, number)}{after}")
    if at and items[0].doctor.place is Place.SIDE:
        yield Variant("place", f"{at}, {subject} {verb} {number}{after}")


# The clinician's own words


def _text(part: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = _items(part, catalogue)
    words, verb = _subjects(items)
    at = _at(part, items[0], catalogue)
    after = _after(part)
    told = f"{verb} normal" if part.state == "normal" else f"{verb} recorded as: {part.value}"
    yield Variant("subject", f"{_sentence(words, at, told)}{after}")


def _clauses(part: Part, catalogue: Catalogue) -> Iterator[Variant]:
    match catalogue.items[part.items[0]].value:
        case ValueKind.PRESENCE if part.state == "present":
            return _presence(part, catalogue)
        case ValueKind.PRESENCE if part.state == "absent":
            return _absence(part, catalogue)
        case ValueKind.PRESENCE:
            return _uncertain_presence(part, catalogue)
        case ValueKind.TEST:
            return _test(part, catalogue)
        case ValueKind.STATE:
            return _state(part, catalogue)
        case ValueKind.MRC:
            return _mrc(part, catalogue)
        case ValueKind.QUANTITY | ValueKind.ARC:
            return _measured(part, catalogue)
        case ValueKind.TEXT:
            return _text(part, catalogue)


# Contrasts between the sides


def _answer(part: Part, item: Item, catalogue: Catalogue, verb: str) -> str:
    """What one side of a contrast says, after the subject: 'was positive after 20 seconds'."""
    match item.value:
        case ValueKind.TEST:
            return _predicate(item, part.state, verb)
        case ValueKind.STATE:
            return f"{verb} {_state_words(item, part.state, catalogue)}"
        case ValueKind.MRC:
            return f"{verb} {_grade(part.value)}"
        case ValueKind.TEXT:
            return f"{verb} normal" if part.state == "normal" else f"{verb} recorded as: {part.value}"
        case _:
            return f"{verb} {_number(part, item)}"


def _contrast(right: Part, left: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = _items(right, catalogue)
    item = items[0]
    if item.value is ValueKind.PRESENCE:
        yield from _presence_contrast(right, left, catalogue)
        return
    words, verb = _subjects(items)
    if item.value is ValueKind.MRC:
        words, verb = f"power of {words}", "was"
    mode = _qualifier(right, Qualifier.MODE)
    subject = f"{mode} {words}" if mode else words
    at = _at_both(right, item, catalogue)
    one = _answer(right, item, catalogue, verb)
    other = _answer(left, item, catalogue, verb).removeprefix(f"{verb} ")
    told = f"{one} on the right{_after(right)} and {other} on the left{_after(left)}"
    yield Variant("subject", f"{_sentence(subject, at)} {told}")


def _presence_contrast(right: Part, left: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = _items(right, catalogue)
    named = items if right.crossed else items[:1]

    def phrase(part: Part) -> tuple[str, bool]:
        places = where(part.places, catalogue)
        if part.state == "absent":
            return f"no {listed(_absent_nouns(named), 'or')}", _denied_plural(named[0])
        found = [_noun_phrase(item, part, places) for item in named]
        words = listed([words for words, _ in found])
        return (f"uncertain {words}" if part.state == "equivocal" else words), found[0][1]

    at = _at_both(right, named[0], catalogue)
    if both := _severities(right, left, named, at, catalogue):
        yield from both
        return
    first, second = (right, left) if right.state != "absent" else (left, right)
    sides = {id(right): "on the right", id(left): "on the left"}
    words, plural = phrase(first)
    other = "none" if second.state == "absent" and not second.qualifiers and len(named) == 1 else phrase(second)[0]
    verb = "were" if plural else "was"
    end = f"{sides[id(first)]}{_after(first)} and {other} {sides[id(second)]}{_after(second)}"
    yield Variant("there", _sentence("there", verb, words, at, end))
    plain = end.replace(" and none on", " and absent on") if other == "none" else end
    yield Variant("subject", _sentence(words, at, "were" if plural or len(named) > 1 else "was", "present", plain))


def _severities(right: Part, left: Part, named: Sequence[Item], at: str, catalogue: Catalogue) -> list[Variant]:
    """'There was squaring of the thumb base, moderate on the right and mild on the left', where only that differs."""
    grades = [part.qualifiers[0][1] for part in (right, left) if part.state == "present" and len(part.qualifiers) == 1
              and part.qualifiers[0][0] is Qualifier.SEVERITY]  # fmt: skip
    if len(grades) != 2 or len(named) != 1:  # noqa: PLR2004 - right and left
        return []
    plain = replace(right, qualifiers=())
    words, plural = _noun_phrase(named[0], plain, where(right.places, catalogue))
    told = f"{grades[0]} on the right{_after(right)} and {grades[1]} on the left{_after(left)}"
    verb = "were" if plural else "was"
    return [
        Variant("there", f"{_sentence('there', verb, words, at)}, {told}"),
        Variant("subject", f"{_sentence(words, at)} {verb} {told}"),
    ]


def _at_both(part: Part, item: Item, catalogue: Catalogue) -> str:
    """The site that both sides of a contrast share, without a side; empty where the item's name says it."""
    if item.doctor.place is Place.SIDE:
        return ""
    sideless = where((PlaceRef(place.site, None) for place in part.places), catalogue)
    return site_phrase(sideless, item.doctor.place.value, catalogue)


def _chain(statement: Statement, catalogue: Catalogue) -> Iterator[Variant]:
    """Several states of one thing at one place: 'the lump on the right wrist was firm, well defined and mobile'."""
    first = statement.parts[0]
    item = catalogue.items[first.items[0]]
    words, verb = _subjects([item])
    at = _at(first, item, catalogue)
    states = listed([_state_words(catalogue.items[part.items[0]], part.state, catalogue) for part in statement.parts])
    yield Variant("subject", f"{_sentence(words, at, verb, states)}")


def variants(statement: Statement, catalogue: Catalogue) -> list[Variant]:
    """All the ways to say a statement, the plainest first, each a whole sentence without its full stop."""
    if statement.form is Form.CHAIN:
        found = list(_chain(statement, catalogue))
    elif statement.form is Form.CONTRAST:
        right, left = statement.parts
        found = list(_contrast(right, left, catalogue))
    else:
        found = list(_clauses(statement.parts[0], catalogue))
    return [Variant(each.shape, capital(each.text.strip())) for each in found]
