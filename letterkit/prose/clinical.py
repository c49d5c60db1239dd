"""Clauses in the clinical register: each part of a statement in several shapes, all saying exactly the same.

A clause is a function from a statement to its variants. A shape is how a sentence opens; the writer picks among them so
that no three in a row are alike.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Place, Qualifier, ValueKind
from letterkit.prose.contrast import contrast
from letterkit.prose.phrases import (
    Variant,
    absent_nouns,
    after_place,
    at_place,
    denied_plural,
    grade_words,
    items_of,
    joined,
    noun_phrase,
    number_words,
    possible,
    qualifier_of,
    result_words,
    state_words,
    subjects,
    told_by_noun,
    verb_of_finding,
)
from letterkit.prose.places import where
from letterkit.prose.words import capital, listed
from letterkit.summary.statement import Form, Part, Statement

_FRONTED = frozenset({Place.SIDE, Place.OVER, Place.IN, Place.ON})
_BOUND = frozenset({Place.OF, Place.TO, Place.FROM, Place.THROUGH})  # 'a wound to the palm was seen', never 'seen to'


def _note(part: Part) -> str:
    return f" ({part.note})" if part.note else ""


def _with_verb(words: str, verb: str, items: Sequence[Item], at: str, *, negated: bool = False) -> str:
    """'swelling of the right wrist was present', 'a scar was seen over the right palm'."""
    found = verb_of_finding(items, at, negated=negated)
    if items[0].doctor.place in _BOUND:
        return joined(words, at, verb, found)
    return joined(words, verb, found, at)


def _frontable(item: Item) -> bool:
    """Whether English lets the place stand first: 'over the right wrist there was', never 'of the right wrist'."""
    return item.doctor.place in _FRONTED


def _presence(part: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = items_of(part, catalogue)
    places = where(part.places, catalogue)
    phrases = [noun_phrase(item, part, places) for item in items[: 1 if not part.crossed else None]]
    at = at_place(part, items[0], catalogue)
    words = listed([phrase for phrase, _ in phrases])
    plural = len(phrases) > 1 or phrases[0][1]
    there = "were" if phrases[0][1] else "was"
    after = after_place(part, told_by_noun(items[0], part))
    yield Variant("there", f"{joined('there', there, words, at)}{after}")
    yield Variant("subject", f"{_with_verb(words, 'were' if plural else 'was', items, at)}{after}")
    if at and _frontable(items[0]):
        yield Variant("place", f"{joined(at, 'there', there, words)}{after}")


def _absence(part: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = items_of(part, catalogue)
    named = items if part.crossed else items[:1]
    at = at_place(part, items[0], catalogue, negated=True)
    words = listed(absent_nouns(named), "or")
    plural = denied_plural(named[0])
    after = after_place(part)
    yield Variant("there", f"{joined('there', 'were' if plural else 'was', 'no', words, at)}{after}")
    last_plural = denied_plural(named[-1])
    yield Variant(
        "no", f"{_with_verb(f'no {words}', 'were' if last_plural else 'was', named, at, negated=True)}{after}"
    )
    if at and _frontable(items[0]):
        yield Variant("place", f"{joined(at, 'there', 'were' if plural else 'was', 'no', words)}{after}")


def _uncertain_presence(part: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = items_of(part, catalogue)
    places = where(part.places, catalogue)
    found = [possible(item, places) for item in (items if part.crossed else items[:1])]
    words = listed([phrase for phrase, _ in found])
    at = at_place(part, items[0], catalogue)
    after = after_place(part)
    yield Variant("there", f"{joined('there', 'were' if found[0][1] else 'was', words, at)}{after}")
    verb = "were" if len(found) > 1 or found[0][1] else "was"
    yield Variant("subject", f"{joined(words, at, verb, 'noted')}{after}")


def _test(part: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = items_of(part, catalogue)
    words, verb = subjects(items)
    at = at_place(part, items[0], catalogue)
    told = result_words(items[0], part.state, verb)
    after = after_place(part)
    yield Variant("subject", f"{joined(words, told, at)}{after}")
    if at and _frontable(items[0]):
        yield Variant("place", f"{at}, {words} {told}{after}")


def _state(part: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = items_of(part, catalogue)
    words, verb = subjects(items)
    state = state_words(items[0], part.state, catalogue)
    at = at_place(part, items[0], catalogue, negated=state.startswith("not "))
    after = after_place(part)
    if items[0].doctor.place is Place.SIDE:
        yield Variant("subject", f"{joined(words, verb, state, at)}{after}")
    else:
        yield Variant("subject", f"{joined(words, at, verb, state)}{after}")
    if at and _frontable(items[0]):
        yield Variant("place", f"{at}, {words} {verb} {state}{after}")


def _mrc(part: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = items_of(part, catalogue)
    words, _ = subjects(items)
    at = at_place(part, items[0], catalogue)
    after = after_place(part)
    yield Variant("subject", f"{joined(f'power of {words} was {grade_words(part.value)}', at)}{after}")
    if at and _frontable(items[0]):
        yield Variant("place", f"{at}, power of {words} was {grade_words(part.value)}{after}")


def _measured(part: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = items_of(part, catalogue)
    words, verb = subjects(items)
    mode = qualifier_of(part, Qualifier.MODE)
    subject = f"{mode} {words}" if mode else words
    at = at_place(part, items[0], catalogue)
    after = after_place(part, {Qualifier.MODE})
    number = number_words(part, items[0])
    if items[0].doctor.place is Place.SIDE:
        yield Variant("subject", f"{joined(subject, verb, number, at)}{after}")
    else:
        yield Variant("subject", f"{joined(subject, at, verb, number)}{after}")
    if at and items[0].doctor.place is Place.SIDE:
        yield Variant("place", f"{at}, {subject} {verb} {number}{after}")


def _text(part: Part, catalogue: Catalogue) -> Iterator[Variant]:
    items = items_of(part, catalogue)
    words, verb = subjects(items)
    at = at_place(part, items[0], catalogue)
    after = after_place(part)
    told = f"{verb} normal" if part.state == "normal" else f"{verb} recorded as: {part.value}"
    yield Variant("subject", f"{joined(words, at, told)}{after}")


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


def _chain(statement: Statement, catalogue: Catalogue) -> Iterator[Variant]:
    """Several states of one thing at one place: 'the lump on the right wrist was firm, well defined and mobile'."""
    first = statement.parts[0]
    item = catalogue.items[first.items[0]]
    words, verb = subjects([item])
    at = at_place(first, item, catalogue)
    states = listed([state_words(catalogue.items[part.items[0]], part.state, catalogue) for part in statement.parts])
    yield Variant("subject", f"{joined(words, at, verb, states)}")


def _full_power(statement: Statement, catalogue: Catalogue) -> Iterator[Variant]:
    """Full power of several muscles: 'power was otherwise grade 5 out of 5 on both sides, in ...'."""
    part = statement.parts[0]
    items = items_of(part, catalogue)
    words, _ = subjects(items)
    at = at_place(part, items[0], catalogue)
    grade = grade_words(part.value)
    told = f"otherwise {grade}" if statement.throughout == "others" else f"{grade} throughout"
    yield Variant("subject", f"power was {joined(told, at)}, in {words}{after_place(part)}")


def variants(statement: Statement, catalogue: Catalogue) -> Iterator[Variant]:
    """All the ways to say a statement, the plainest first, each a whole sentence without its full stop.

    Each is made when it is asked for: most of the time the first will do.
    """
    if statement.throughout is not None:
        found = _full_power(statement, catalogue)
    elif statement.form is Form.CHAIN:
        found = _chain(statement, catalogue)
    elif statement.form is Form.CONTRAST:
        right, left = statement.parts
        found = contrast(right, left, catalogue)
    else:
        found = _clauses(statement.parts[0], catalogue)
    return (Variant(each.shape, capital(each.text.strip())) for each in found)
