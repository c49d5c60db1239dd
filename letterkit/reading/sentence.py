"""The state of one sentence while it is read, and what can be asked of it."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, value_of
from letterkit.reading.places import OPPOSITE, Places
from letterkit.reading.predication import MODIFIERS, Pending, Predication, Said


class SentenceState:
    """Where the reading of one sentence stands: its marks, what was found, what waits for a term."""

    def __init__(self, marks: list[Mark], topic: Sequence[Mark], catalogue: Catalogue, *, lists: bool) -> None:
        self.marks = marks
        self.catalogue = catalogue
        self.found: list[Predication] = []
        self.now: Predication | None = None
        self.pending = Pending()
        self.joiner = ""
        self.unknown = 0
        self.broken = False
        self.here: Places | None = None
        self.opinion = False
        self.excepting = False
        self.excepted_next = False  # the result of an exception was told, and its place comes
        self.of_all = False  # an exception from what was said of all, with no term: 'all was normal except ...'
        self.pain: Mark | None = None
        self.implied: Places | None = None  # the joint of the movement that hurts, until a place is told
        self.how = False  # what follows only says how sensation was tested
        self.felt: Mark | None = None  # with what alone sensation was tested
        self.earlier: Sequence[Predication] = ()  # what was found in the clauses before
        self.lost = False  # 'loss of' something that is not known: the place after it belongs to that
        self.colon = False  # a colon after the terms of a label
        self.first: Places | None = None  # a valid place that the sentence begins with
        self.list_end = self._ends_of_lists() if lists else [False] * len(marks)
        if topic:
            said = {"reflex"} & {hint for mark in topic for hint in mark.hints}  # 'biceps reflexes': of no power
            self.now = Predication(terms=list(topic), used=[], hints=said)
            self.found.append(self.now)

    def _ends_of_lists(self) -> list[bool]:
        """For each mark, whether a later 'or' closes a list of bare nouns that it stands in."""
        closed = False
        flags = [False] * len(self.marks)
        for index in range(len(self.marks) - 1, -1, -1):
            mark = self.marks[index]
            if mark.kind == "joiner" and mark.text == "or":
                closed = True
            elif mark.kind in {"negator", "state", "value", "break", "except"} or (
                mark.kind == "joiner" and mark.text == "with"
            ):
                closed = False
            flags[index] = closed
        return flags

    def _next_at(self, index: int, skip: frozenset[str] = MODIFIERS) -> int | None:
        for at, mark in enumerate(self.marks[index : index + 12], index):
            if mark.kind not in skip:
                return at
        return None

    def _next(self, index: int, skip: frozenset[str] = MODIFIERS) -> Mark | None:
        at = self._next_at(index, skip)
        return None if at is None else self.marks[at]

    def _are_muscles(self, now: Predication) -> bool:
        return any(
            self.catalogue.items[slug].value is ValueKind.MRC
            for each in now.terms
            if each.term
            for slug in each.term.items
        )

    def _is_a_muscle(self, mark: Mark) -> bool:
        """Whether the term is the power of a muscle."""
        return value_of(mark, self.catalogue) is ValueKind.MRC

    def _are_reflexes(self, now: Predication) -> bool:
        return bool(now.terms) and all(
            bool(each.term.items) and self.catalogue.items[each.term.items[0]].scale == "reflex"
            for each in now.terms
            if each.term
        )

    def _is_finding(self, mark: Mark) -> bool:
        """Whether the term is something that is there or not, and no function or measure."""
        term = mark.term
        if term is None or not term.items or term.state:
            return True
        return self.catalogue.items[term.items[0]].value is ValueKind.PRESENCE

    def _is_presence(self, now: Predication) -> bool:
        items = self.catalogue.items
        for each in now.terms:  # asked often: quicker than a generator
            if each.term and not (each.term.items and items[each.term.items[0]].value is ValueKind.PRESENCE):
                return False
        return bool(now.terms)

    def _moves(self, mark: Mark) -> bool:
        assert mark.term is not None
        return any(
            self.catalogue.items[slug].stage.value == "movement" and slug != "pain_on_movement"
            for slug in mark.term.items
        ) or mark.text.startswith("resisted")

    def _told_both_sides(self) -> bool:
        """'Tinel's negative on the right, positive on the left', 'right triceps 5/5, left triceps 4/5': after both
        sides of one thing neither is spoken of in what comes after.
        """
        if not self.found or not self.found[-1].terms:
            return False
        name = self.found[-1].terms[-1].text
        same = [each for each in self.found[-2:] if each.terms and each.terms[-1].text == name]
        told = [each.places for each in same if each.places is not None and not each.carried]
        told += [each for each in self.found[-1].tail if isinstance(each, Places)]
        return {"left", "right"} <= {each.side for each in told}

    def sides_behind(self) -> set[str]:
        """The sides behind what was told so far: 'biceps 4/5 right, triceps 4/5 left'. One before it may be of more."""
        found = (*self.earlier, *self.found)
        named = {part.side or "" for each in found for part in each.tail if isinstance(part, Places)}
        return named & OPPOSITE.keys()

    def told_several_places(self) -> bool:
        """Whether the findings before the last one are of different places."""
        found = (*self.earlier, *self.found[:-1])
        told = [part for each in found for part in (each.places, *each.tail) if isinstance(part, Places)]
        return len({place.site for part in told for place in part.places if place.site}) > 1

    def _is_of_another_side(self, now: Predication, mark: Mark) -> bool:
        """Whether a side is told beside the mark that is not the one of what was said before."""
        told = now.negated or now.unexamined or bool(now.before) or any(isinstance(each, Said) for each in now.tail)
        named = [each for each in (now.places, *now.tail) if isinstance(each, Places) and each.side]
        if not told or not named:
            return False
        if self.pending.places is not None:
            return self.pending.places.side not in {None, named[-1].side}
        at = bisect_left(self.marks, mark.end, key=lambda each: each.start)
        beside = next((each for each in self.marks[at:] if each.kind not in {"filler", "piece"}), None)
        return beside is not None and beside.kind == "side" and beside.text != named[-1].side

    def _another_place(self, now: Predication) -> Predication:
        """The same terms again, of the place that waits or comes."""
        pending = self.pending
        made = Predication(terms=list(now.terms), used=[*pending.used, *now.terms], hints=set(now.hints))
        made.places = pending.places
        self.pending = Pending()
        self.found.append(made)
        self.now = made
        return made
