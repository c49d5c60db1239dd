"""What the findings of one sentence share once all of it is read: a result that stands last, a side that ends it."""

from __future__ import annotations

from bisect import bisect_left
from itertools import pairwise

from letterkit.catalogue.model import ValueKind
from letterkit.reading.contrary import are_all, contrary_of, told_last
from letterkit.reading.marks import Mark, value_of
from letterkit.reading.phrases import StateWord
from letterkit.reading.places import Place, Places
from letterkit.reading.predication import THERE_IS, Pending, Predication, Said, is_asserted, is_called_so
from letterkit.reading.sentence import SentenceState
from letterkit.reading.sides import merged
from letterkit.reading.words import words

_PLURAL = frozenset({"were", "are"})
_SOFT = frozenset({"side", "piece", "filler", "certain"})


def _told_equal(part: object) -> bool:
    """'Reflexes 2+ and symmetric, supinator reduced on the left': what is equal is not of the side named last."""
    said = part.mark.state if isinstance(part, Said) and part.mark is not None else None
    return said is not None and "equal" in said.classes


def _tells_itself(now: Predication) -> bool:
    """Whether its words say a result: 'numbness', 'hyporeflexia'."""
    return any(mark.term is not None and mark.term.state for mark in now.terms)


class SharedReading(SentenceState):
    """Gives what is left out in one part of a sentence from another."""

    def _together(self) -> None:
        """'Right finger extensors and left triceps weak': a result that stands behind the last is of both."""
        for before, each in pairwise(self.found):
            told = [part for part in each.tail if isinstance(part, Said)]
            if before.before or each.before or not told or not self._is_silent(before) or not self._is_silent(each):
                continue
            if self._only_joined(before, each) and self._may_share(before, each, told):
                before.tail += told

    def _may_share(self, before: Predication, each: Predication, told: list[Said]) -> bool:
        """Whether one result can be of both: of one kind, of two functions that 'were' so, or the second of the leg."""
        first, second = self._kinds(before), self._kinds(each)
        if _tells_itself(before):  # no 'numbness of the thumb, and the triceps reflex was lost'
            return _tells_itself(each) and self._are_told_in_the_plural(before, each)
        if ValueKind.PRESENCE in first:  # no 'there is atrophy ..., and clawing of the ring finger is not present'
            return first == second and self._are_told_in_the_plural(before, each)
        functions = not (first | second) & {ValueKind.PRESENCE, ValueKind.TEST}
        words = all(part.mark is not None and part.mark.kind == "state" for part in told)
        return second in (first, set()) or (functions and words and self._are_told_in_the_plural(before, each))

    def _are_told_in_the_plural(self, before: Predication, each: Predication) -> bool:
        """'Left wrist swelling and right elbow tenderness were absent': both, and neither is said to be there."""
        at = self._index(each.terms[-1].end)
        plural = any(mark.text.split(" ", 1)[0] in _PLURAL for mark in self.marks[at : at + 8])
        last = before.terms[-1]
        return plural and not (is_asserted(self.marks, last) or is_called_so(self.marks, last))

    @staticmethod
    def _is_silent(now: Predication) -> bool:
        return not (now.negated or now.maybe or now.unexamined or now.opinion or now.looks)

    def _kinds(self, now: Predication) -> set[ValueKind | None]:
        return {value_of(mark, self.catalogue) for mark in now.terms if mark.term is not None and mark.term.items}

    def _only_joined(self, before: Predication, each: Predication) -> bool:
        """Whether nothing but an 'and' and the place of the second stand between two terms."""
        if any(isinstance(part, Said) for part in before.tail):
            return False
        between = [mark.text for mark in self._up_to(before.terms[-1], each) if mark.kind not in _SOFT]
        return between in (["and"], ["comma", "and"])

    def _up_to(self, first: Mark, each: Predication) -> list[Mark]:
        """The marks behind one and before the first term of a predication."""
        start, end = self._index(first.end), self._index(each.terms[0].start)
        return self.marks[start:end]

    def _index(self, at: int) -> int:
        """Which mark begins at a character, or next."""
        return bisect_left(self.marks, at, key=lambda mark: mark.start)

    def _side_behind(self) -> None:
        """'Biceps 1+ and brachioradialis 1+ on both sides': a side behind the second result is of the first as well."""
        for before, each in pairwise(self.found):
            told = [part for part in before.tail if isinstance(part, Said)]
            places = [part for part in each.tail if isinstance(part, Places)]
            bare = before.places is None or not any(one.side for one in before.places.places)
            if not told or len(before.tail) != len(told) or len(places) != 1 or each.places is not None or not bare:
                continue
            behind = [isinstance(part, Said) for part in each.tail] == [True, False] and places[0].side == "both"
            if behind and not places[0].has_site and self._is_joined_by_and(told[-1], each):
                before.places = places[0] if before.places is None else merged(places[0], before.places)
                before.looks.append("the side stands behind the next result")

    def _place_behind(self) -> None:
        """'Swelling but no bruising at the right wrist': looked for at one place, which only the second has."""
        for before, each in pairwise(self.found):
            kinds = self._kinds(before) | self._kinds(each)
            bare = before.places is None and not any(isinstance(part, Places) for part in before.tail)
            places = [part for part in each.tail if isinstance(part, Places)]
            if kinds != {ValueKind.PRESENCE} or not bare or each.places is not None or len(places) != 1:
                continue
            if not places[0].has_site or not places[0].side:
                continue
            if self._is_in_its_list(before, each):
                before.places = places[0]
            elif self._only_but_no_between(before, each):
                before.places = places[0]
                before.looks.append("the place stands behind the next finding")

    def _is_in_its_list(self, before: Predication, each: Predication) -> bool:
        """'There was swelling, a scar and a wound of the left hand': one list, which the 'and' ends, at one place."""
        start = self._index(before.terms[0].start)
        between = [mark.text for mark in self._up_to(before.terms[-1], each) if mark.kind != "filler"]
        led = any(mark.text in THERE_IS for mark in self.marks[max(0, start - 2) : start])
        return led and between == ["comma"] and len(each.terms) > 1 and not (before.negated or each.negated)

    def _only_but_no_between(self, before: Predication, each: Predication) -> bool:
        kinds = {mark.kind for mark in self._up_to(before.terms[-1], each)} - {"filler", "joiner"}
        return bool(kinds) and kinds <= {"break", "negator", "severity"}

    def _is_joined_by_and(self, told: Said, each: Predication) -> bool:
        between = self._up_to(told.mark, each) if told.mark is not None else []
        return [mark.text for mark in between if mark.kind != "filler"] == ["and"]

    def _alike(self) -> None:
        """'Tinel's was positive on the right, Phalen's on both sides', '... but Phalen's was not': what is left out."""
        for before, each in pairwise(self.found):
            silent = not (each.before or each.negated or each.maybe or each.unexamined or each.opinion)
            silent = silent and not any(isinstance(part, Said) for part in each.tail)
            tests = all(are_all(one, ValueKind.TEST, self.catalogue) for one in (before, each))
            told = told_last(before)
            if not (silent and tests and told) or before.maybe or before.unexamined or before.opinion:
                continue
            denied = each is self.found[-1] and self.pending.negator is not None
            other = contrary_of(before, self.catalogue) if denied else ()
            if other is not None:
                each.before = [Said(Mark("state", 0, 0, state=StateWord(other)))] if denied else told
                self.pending = Pending() if denied else self.pending

    def _last_side(self) -> None:
        """'2+ biceps, 2+ triceps bilaterally': a side that ends the sentence is that of all before it without one."""
        last = self.found[-1] if self.found else None
        named_last = [each for each in last.tail if isinstance(each, Places)] if last is not None else []
        if len(self.found) < 2 or len(named_last) != 1:  # noqa: PLR2004 - several
            return
        side = named_last[0]
        named = [index for index, mark in enumerate(self.marks) if mark.kind == "side"]
        whole = side.side == "both" and all(place.site in {"hand", "upper_limb"} for place in side.places)
        if (side.has_site and not whole) or side.side not in {"both", "left", "right"} or len(named) != 1:
            return
        if any(not self._is_equal(mark) for mark in self.marks[named[0] + 1 :]):
            return
        for each in self.found[:-1]:
            bare = each.places is None or not (each.places.elsewhere or any(one.side for one in each.places.places))
            if bare and not any(isinstance(part, Places) or _told_equal(part) for part in each.tail):
                each.places = side if each.places is None else merged(side, each.places)
                each.looks.append("the side stands at the end of the sentence")

    @staticmethod
    def _is_equal(mark: Mark) -> bool:
        """'..., and symmetric' after the side is said."""
        return mark.kind in {"joiner", "filler"} or (mark.state is not None and "equal" in mark.state.classes)

    def _at_unknown_places(self) -> None:
        """'The snuffbox is tender. No tenderness over the xyz': not in the snuffbox, though no other place is known."""
        for each in self.found:
            bare = each.places is None or each.carried
            if not each.terms or not bare or any(isinstance(part, Places) for part in each.tail):
                continue
            if not self._is_presence(each) or not self._leads_to_unknown(each.terms[-1]):
                continue
            each.unplaced = True
            each.looks.append("the place is not known")
            if each.places is not None:
                each.places = Places((Place(each.places.side),), each.places.look, each.places.elsewhere)

    def _leads_to_unknown(self, term: Mark) -> bool:
        """Whether 'over the' and a word that names no known place stand right behind a term."""
        at = self._index(term.end)
        if at >= len(self.marks) or self.marks[at].text not in words().sets["over"]:
            return False
        ahead = next((mark for mark in self.marks[at + 1 :] if mark.kind != "filler"), None)
        no_name = words().sets["no_place"] | words().plain
        return ahead is not None and ahead.kind == "word" and ahead.text not in no_name
