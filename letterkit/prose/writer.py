"""From statements to sentences: which shape each takes, and where one too long is said in two."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Place, Stage, ValueKind
from letterkit.findings.facts import NormalFact, UnexaminedFact
from letterkit.findings.sides import Sides, each
from letterkit.prose.clinical import variants
from letterkit.prose.phrases import Shape, Variant
from letterkit.prose.places import side_phrase, site_phrase, where
from letterkit.prose.words import capital, listed
from letterkit.summary.statement import Part, PlaceRef, Statement

_LONGEST = 35  # words; a longer sentence is split where its list can be parted
_STAGE_WORDS = {
    Stage.INSPECTION: "inspection",
    Stage.PALPATION: "palpation",
    Stage.MOVEMENT: "movement",
    Stage.FUNCTION: "hand function",
    Stage.NEUROVASCULAR: "the neurovascular examination",
    Stage.SPECIAL_TESTS: "special tests",
}


@dataclass(frozen=True, slots=True)
class Said:
    """One sentence with the ids of the facts it states."""

    text: str
    facts: tuple[str, ...]


def _halves(statement: Statement) -> tuple[Statement, Statement] | None:
    """The statement in two, parted between items or else between places; None where neither can be parted."""
    first: list[Part] = []
    second: list[Part] = []
    for part in statement.parts:
        if part.crossed and len(part.items) > 1:
            middle = (len(part.items) + 1) // 2
            per_item = len(part.facts) // len(part.items)
            first.append(replace(part, items=part.items[:middle], facts=part.facts[: middle * per_item]))
            second.append(replace(part, items=part.items[middle:], facts=part.facts[middle * per_item :]))
        elif part.crossed and len(part.places) > 1:
            right = [index for index, place in enumerate(part.places) if place.side != "left"]
            left = [index for index, place in enumerate(part.places) if place.side == "left"]
            if not right or not left:
                middle = (len(part.places) + 1) // 2
                right, left = list(range(middle)), list(range(middle, len(part.places)))
            first.append(_with_places(part, right))
            second.append(_with_places(part, left))
        elif len(part.places) == len(part.facts) and (middle := _between_sites(part.places)):
            first.append(_with_places(part, range(middle)))  # one name at places of several items
            second.append(_with_places(part, range(middle, len(part.places))))
        else:
            return None
    return replace(statement, parts=tuple(first)), replace(statement, parts=tuple(second), throughout=None)


def _between_sites(places: Sequence[PlaceRef]) -> int:
    """About the middle of the places, between two sites; 0 where there is one site only."""
    borders = [index for index in range(1, len(places)) if places[index].site != places[index - 1].site]
    return min(borders, key=lambda index: abs(index - len(places) / 2), default=0)


def _with_places(part: Part, kept: Sequence[int]) -> Part:
    places: tuple[PlaceRef, ...] = tuple(part.places[index] for index in kept)
    return replace(part, places=places, facts=tuple(part.facts[index] for index in kept))


class Writer:
    """Writes statements one after another; remembers the last two shapes, so that no three alike follow each other."""

    def __init__(self, catalogue: Catalogue) -> None:
        self._catalogue = catalogue
        self._last: list[Shape] = []

    def write(self, statements: Iterable[Statement]) -> tuple[Said, ...]:
        """The sentences of `statements`, in order."""
        return tuple(said for statement in statements for said in self._one(statement))

    def _one(self, statement: Statement) -> list[Said]:
        chosen = self._choose(variants(statement, self._catalogue))
        if len(chosen.text.split()) > _LONGEST and (halves := _halves(statement)):
            return [said for half in halves for said in self._one(half)]
        self._last = [*self._last[-1:], chosen.shape]
        return [Said(f"{chosen.text}.", statement.facts)]

    def _choose(self, options: Iterator[Variant]) -> Variant:
        """The plainest of a shape that was not heard twice just now or, where all were, the plainest."""
        tired = self._last[0] if len(self._last) == 2 and self._last[0] == self._last[1] else None  # noqa: PLR2004
        plainest = next(options)
        if plainest.shape != tired:
            return plainest
        return next((option for option in options if option.shape != tired), plainest)


def otherwise_normal(normal: Sequence[NormalFact], told: frozenset[Stage]) -> tuple[Said, ...]:
    """Stages recorded as normal by exception: 'otherwise' where something of the stage was told, and no item named."""
    grouped: dict[tuple[Sides | None, bool], list[NormalFact]] = {}
    for fact in normal:
        grouped.setdefault((fact.side, fact.stage in told), []).append(fact)
    said = []
    for (side, otherwise), facts in grouped.items():
        words = listed([_STAGE_WORDS[fact.stage] for fact in facts])
        plural = len(facts) > 1 or facts[0].stage is Stage.SPECIAL_TESTS
        verb = "were" if plural else "was"
        clause = f"{words} {verb} {'otherwise normal' if otherwise else 'recorded as normal'}"
        lead = side_phrase(frozenset(each(side)))
        text = f"{lead}, {clause}" if lead else clause
        said.append(Said(f"{capital(text)}.", tuple(fact.id for fact in facts)))
    return tuple(said)


def _unexamined_words(fact: UnexaminedFact, catalogue: Catalogue) -> str:
    sides = each(fact.side)
    if fact.item is None:
        return " ".join(part for part in (_STAGE_WORDS[fact.stage], side_phrase(frozenset(sides))) if part)
    item = catalogue.items[fact.item]
    words = item.doctor.subject or item.doctor.noun or item.name
    if item.doctor.place is not Place.SIDE and not fact.sites:
        words = item.name  # the wording alone leaves open which of several items is meant
    if fact.declined and item.doctor.noun:
        words = f"examination for {words}"
    if item.value is ValueKind.MRC:
        words = f"power of {words}"
    if fact.sites:
        places = where((PlaceRef(site, side) for site in fact.sites for side in sides), catalogue)
        preposition = item.doctor.place.value if item.doctor.place is not Place.SIDE else "at"
        return f"{words} {site_phrase(places, preposition, catalogue)}"
    return " ".join(part for part in (words, side_phrase(frozenset(sides))) if part)


def _not_done(fact: UnexaminedFact, catalogue: Catalogue) -> str:
    """The verb that fits: a test is done, a number measured, everything else examined."""
    if fact.declined:
        return "declined"
    kind = catalogue.items[fact.item].value if fact.item else None
    if kind is ValueKind.TEST:
        return "not done"
    return "not measured" if kind in {ValueKind.QUANTITY, ValueKind.ARC} else "not examined"


def unexamined(facts: Sequence[UnexaminedFact], catalogue: Catalogue) -> tuple[Said, ...]:
    """What was not examined, grouped by the reason that was given."""
    grouped: dict[tuple[str | None, str], list[UnexaminedFact]] = {}
    for fact in facts:
        grouped.setdefault((fact.reason, _not_done(fact, catalogue)), []).append(fact)
    said = []
    for (reason, verb), members in grouped.items():
        words = listed([_unexamined_words(fact, catalogue) for fact in members])
        why = f" ({reason})" if reason else ""
        plural = len(members) > 1 or (members[0].item is None and members[0].stage is Stage.SPECIAL_TESTS)
        text = f"{capital(words)} {'were' if plural else 'was'} {verb}{why}."
        said.append(Said(text, tuple(fact.id for fact in members)))
    return tuple(said)
