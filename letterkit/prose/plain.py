"""The plain register: every recorded fact said to the patient in short sentences of everyday words.

The order is that of the summary. Within one of its statements the facts are grouped anew, because what is one word for
a doctor may be two for a patient. Each sentence carries the ids of the facts it states; none is lost and none is added.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Item, Place, Qualifier, Stage, ValueKind
from letterkit.findings.facts import EarlierFact, Fact, Facts, NormalFact, UnexaminedFact
from letterkit.findings.sides import each
from letterkit.findings.values import Arc
from letterkit.prose import plain_words as words
from letterkit.prose.plain_places import edge, side_words, spots_phrase, takes_side, with_side
from letterkit.prose.words import long_date
from letterkit.prose.writer import Said
from letterkit.summary.statement import PlaceRef, Statement

_LONGEST = 16  # words; a longer sentence is parted by what was found, by site or by side
_LONGEST_LIST = 20  # words; only a longer one is parted among the fingers of one hand
_A_LITTLE_LONGER = 18  # for two numbers set against each other, which cannot be parted
OWN_WORDS = (
    "Our notes say: ",
    "You felt this in ",
    "The reason in our notes is: ",
)  # what the clinician's words follow
_CHECKS = {
    Stage.INSPECTION: "how things looked",
    Stage.PALPATION: "how things felt to touch",
    Stage.MOVEMENT: "movement",
    Stage.FUNCTION: "hand use",
    Stage.NEUROVASCULAR: "nerves and blood flow",
    Stage.SPECIAL_TESTS: "special tests",
}


def _count(text: str) -> int:
    return len(text.split())


class PlainWriter:
    """Writes the facts of one encounter in plain English."""

    def __init__(self, facts: Facts, catalogue: Catalogue) -> None:
        self._catalogue = catalogue
        self._facts = {fact.id: fact for fact in facts.facts}
        self._before: dict[object, tuple[EarlierFact, ...]] = {}
        for before in sorted(facts.earlier, key=lambda one: one.date):
            key = (before.item, before.side, before.site, before.mode)
            self._before[key] = (*self._before.get(key, ()), before)
        self._told_arcs = False

    def statement(self, statement: Statement) -> tuple[Said, ...]:
        """The sentences of one statement of the summary."""
        return self.facts([self._facts[fact] for fact in statement.facts])

    def facts(self, facts: Sequence[Fact]) -> tuple[Said, ...]:
        """The sentences of facts that belong together: like ones told as one, the right side set against the left."""
        told: list[Said] = []
        groups = self._merged(self._groups(facts))
        while groups:
            group = groups.pop(0)
            partner = next((other for other in groups if self._opposed(group, other)), None)
            if partner is None:
                told += self._whole(group)
            else:
                groups.remove(partner)
                right, left = sorted((group, partner), key=lambda one: one[0].side != "right")
                told += self._contrast(right, left)
        return tuple(told)

    # Which facts share a sentence

    def _item(self, fact: Fact) -> Item:
        return self._catalogue.items[fact.item]

    def _theme(self, fact: Fact) -> tuple[object, ...]:
        """What two facts must share to be about one thing in the patient's words."""
        item = self._item(fact)
        wording = item.patient
        at_edge = edge(fact.site, self._catalogue) if "side" in f"{wording}{fact.site}" else ""
        return (
            item.value, item.scale, item.stage, wording.noun, wording.subject, wording.place, wording.positive,
            wording.negative, wording.equivocal, tuple(sorted(wording.states.items())), at_edge,
            fact.qualifier(Qualifier.MODE),
        )  # fmt: skip

    def _groups(self, facts: Sequence[Fact]) -> list[list[Fact]]:
        """Facts that say the same words, in the order of their first."""
        found: dict[tuple[object, ...], list[Fact]] = {}
        for fact in facts:
            key = (self._theme(fact), fact.state, fact.value, fact.qualifiers, fact.note,
                   fact.id if fact.place in self._before else None)  # fmt: skip
            found.setdefault(key, []).append(fact)
        return list(found.values())

    def _merged(self, groups: list[list[Fact]]) -> list[list[Fact]]:
        """Findings that are there, or not there, at the very same places share a sentence while it stays short."""
        merged: list[list[Fact]] = []
        for group in groups:
            key = self._shareable(group)
            for at, known in enumerate(merged):
                joined = known + group
                if key is not None and self._shareable(known) == key and _count(self._core(joined)) <= _LONGEST:
                    merged[at] = joined
                    break
            else:
                merged.append(group)
        return merged

    def _shareable(self, group: Sequence[Fact]) -> tuple[object, ...] | None:
        first = group[0]
        item = self._item(first)
        if item.value is not ValueKind.PRESENCE or item.patient.place is Place.SIDE or first.qualifiers or first.note:
            return None
        if first.state == "equivocal":
            return None
        places = frozenset((fact.site, fact.side) for fact in group)
        return (first.state, item.stage, item.patient.place, places)

    def _items(self, group: Sequence[Fact]) -> list[Item]:
        """The items of a group as named: those that share their words are named once, whatever their slugs."""
        named: dict[str | None, Item] = {}
        for fact in group:
            item = self._item(fact)
            named.setdefault(item.patient.noun or item.patient.subject, item)
        return list(named.values())

    def _opposed(self, one: Sequence[Fact], other: Sequence[Fact]) -> bool:
        """Whether two groups tell the same thing of the same sites, one on the right and one on the left."""
        if len({self._theme(fact) for fact in (*one, *other)}) != 1:
            return False
        if {words.sides_of(one), words.sides_of(other)} != {frozenset({"right"}), frozenset({"left"})}:
            return False
        return {fact.site for fact in one} == {fact.site for fact in other}

    # The sentences of a group

    def _core(self, group: Sequence[Fact]) -> str:
        items = self._items(group)
        if items[0].value is not ValueKind.PRESENCE:
            return words.said(items[0], group, self._catalogue)
        clauses = {"present": words.found, "absent": words.not_found}
        clause = clauses.get(group[0].state, words.unsure)
        own = self._renamed(group, items)
        return clause(items, own, self._catalogue)

    def _renamed(self, group: Sequence[Fact], items: Sequence[Item]) -> list[Fact]:
        """The facts under the item that names them, so that two slugs with the same words count as one."""
        slugs = {item.patient.noun: item.slug for item in items}
        return [replace(fact, item=slugs[self._item(fact).patient.noun]) for fact in group]

    def _whole(self, group: Sequence[Fact]) -> list[Said]:
        """A group in one sentence, or in two or more where one would be long, with what else was recorded of it."""
        parts = self._parts(group)
        told = [said for part in parts for said in self._with_more(part)]
        ids = tuple(fact.id for fact in group)
        told += [Said(f"{text.rstrip('.')}.", ids) for text in words.own_words(group[0])]
        return told + self._earlier(group[0])

    def _earlier(self, fact: Fact, where: str = "") -> list[Said]:
        """What was recorded of the same place before, oldest first, each with its date."""
        item = self._item(fact)
        told = []
        for before in self._before.get(fact.place, ()):
            day = long_date(date.fromisoformat(before.date))
            then = replace(fact, state=before.state, value=before.value)
            told.append(Said(f"On {day}, {words.again(item, then, self._catalogue)}{where}.", (fact.id,)))
        return told

    def _parts(self, group: Sequence[Fact]) -> list[Sequence[Fact]]:
        count = _count(self._core(group))
        either = words.sides_of(group) >= {"right", "left"} and self._denied(group)
        if count <= _LONGEST and not either:
            return [group]
        halves = self._halves(group, fingers=count > _LONGEST_LIST)
        return [group] if halves is None else [part for half in halves for part in self._parts(half)]

    def _denied(self, group: Sequence[Fact]) -> bool:
        """A denial at sites of both sides is told side by side: 'both' after 'did not' could be misread."""
        item = self._item(group[0])
        if item.value is ValueKind.PRESENCE or item.patient.place is Place.SIDE:
            return False
        return " not " in self._core(group)

    def _halves(self, group: Sequence[Fact], *, fingers: bool) -> list[list[Fact]] | None:
        """A group parted by its words, its sites or its sides, and by its fingers if need be; None where it cannot."""
        if self._item(group[0]).patient.place is Place.SIDE:
            return None
        keys = (
            lambda fact: self._item(fact).patient.noun,
            lambda fact: self._catalogue.sites[fact.site].row or fact.site,
            lambda fact: fact.side,
        )
        for key in keys:
            parts: dict[object, list[Fact]] = {}
            for fact in group:
                parts.setdefault(key(fact), []).append(fact)
            if len(parts) > 1:
                return list(parts.values())
        if len(group) == 1 or not fingers:
            return None
        middle = (len(group) + 1) // 2
        return [list(group[:middle]), list(group[middle:])]

    def _with_more(self, group: Sequence[Fact]) -> list[Said]:
        ids = tuple(fact.id for fact in group)
        first = group[0]
        item = self._item(first)
        count = first.qualifier(Qualifier.COUNT)
        several = item.value is ValueKind.PRESENCE and bool(
            item.patient.plural
            and ((len(group) > 1 and item.patient.place is not Place.SIDE) or (isinstance(count, int) and count > 1))
        )
        told = [self._core(group), *words.more(first, item, several=several, spread=len(group) > 1)]
        if isinstance(first.value, Arc) and not self._told_arcs:
            self._told_arcs = True
            told.append("Here 0 degrees means straight")
        return [Said(f"{text}.", ids) for text in told]

    # Right against left

    def _contrast(self, right: Sequence[Fact], left: Sequence[Fact]) -> list[Said]:
        item = self._item(right[0])
        if item.value is ValueKind.PRESENCE:
            return self._presence_contrast(right, left)
        ids = tuple(fact.id for fact in (*right, *left))
        if item.is_measured and not (words.own_words(right[0]) or words.own_words(left[0])):
            text = words.compared(item, right[0], left[0], right, self._catalogue)
            if _count(text) <= _A_LITTLE_LONGER and not words.more(right[0], item, several=False) + words.more(
                left[0], item, several=False
            ):
                told = [Said(f"{text}.", ids)]
                if isinstance(right[0].value, Arc) and not self._told_arcs:
                    self._told_arcs = True
                    told.append(Said("Here 0 degrees means straight.", ids))
                return told + self._earlier(right[0], " on the right") + self._earlier(left[0], " on the left")
        if item.value is ValueKind.TEXT or len(self._parts(right)) > 1:
            return self._whole(right) + self._whole(left)
        second = tuple(fact.id for fact in left)
        texts = [
            f"On the left, {words.again(item, left[0], self._catalogue)}",
            *words.more(left[0], item, several=False),
            *(text.rstrip(".") for text in words.own_words(left[0])),
        ]
        told = self._whole(right) + [Said(f"{text}.", second) for text in texts]
        return told + self._earlier(left[0], " on the left")

    def _presence_contrast(self, right: Sequence[Fact], left: Sequence[Fact]) -> list[Said]:
        """The side where it was found comes first; the other is told as 'none' where nothing else is to be said."""
        first, second = (left, right) if right[0].state == "absent" else (right, left)
        told = self._whole(first)
        bare = not second[0].qualifiers and not second[0].note and second[0].place not in self._before
        if second[0].state != "absent" or len(self._parts(first)) > 1 or not bare:
            return told + self._whole(second)
        saw = "saw" if second[0].stage is Stage.INSPECTION else "found"
        text = f"We {saw} none on the {second[0].side}."
        return [*told, Said(text, tuple(fact.id for fact in second))]


def otherwise_normal(normal: Sequence[NormalFact], told: frozenset[Stage]) -> tuple[Said, ...]:
    """Stages recorded as normal by exception: 'otherwise' where something of the stage was told, and no item named."""
    said = []
    for fact in normal:
        lead = "Otherwise, our check" if fact.stage in told else "Our check"
        parts = [f"{lead} of {_CHECKS[fact.stage]} was normal", side_words(frozenset(each(fact.side)))]
        said.append(Said(" ".join(part for part in parts if part) + ".", (fact.id,)))
    return tuple(said)


def _unchecked(fact: UnexaminedFact, catalogue: Catalogue) -> str:
    sides = frozenset(each(fact.side))
    if fact.item is None:
        return " ".join(part for part in (_CHECKS[fact.stage], side_words(sides, negated=True)) if part)
    item = catalogue.items[fact.item]
    what = f"for {item.patient.noun}" if item.patient.noun else item.patient.subject or item.name
    if item.value is ValueKind.MRC:
        what = f"your strength when {what}"
    if fact.sites:
        places = [PlaceRef(site, side) for site in fact.sites for side in sides]
        preposition = item.patient.place.value if item.patient.place is not Place.SIDE else "at"
        return f"{what} {spots_phrase(places, preposition, catalogue, negated=True)}"
    if len(sides) == 1 and takes_side(what):
        return with_side(what, next(iter(sides)))
    return " ".join(part for part in (what, side_words(sides, negated=True)) if part)


def unexamined(facts: Iterable[UnexaminedFact], catalogue: Catalogue) -> tuple[Said, ...]:
    """What was not checked, each in a sentence, with the reason in the words in which it was given."""
    said = []
    for fact in facts:
        tried = fact.item is not None and catalogue.items[fact.item].value is ValueKind.TEST
        said.append(Said(f"We did not {'try' if tried else 'check'} {_unchecked(fact, catalogue)}.", (fact.id,)))
        if fact.declined:
            said.append(Said("You chose not to have this done.", (fact.id,)))
        if fact.reason:
            said.append(Said(f"The reason in our notes is: {fact.reason.rstrip('.')}.", (fact.id,)))
    return tuple(said)
