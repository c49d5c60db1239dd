"""A second place of which the opposite is said: '... but not on the left', '... but the left was'."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, value_of
from letterkit.reading.phrases import NOT_THERE, StateWord
from letterkit.reading.places import OPPOSITE, Places
from letterkit.reading.predication import BE, CUT, Cut, Pending, Predication, Said
from letterkit.reading.said import LOW, NORMAL, classes_of
from letterkit.reading.sentence import SentenceState
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_SHORTEST = 2  # 'so is'
_SO_IT_IS = ["is", "it", "so"]
_WHOLES = frozenset({"hand", "upper_limb"})
_ENDS = frozenset({"joiner", "break", "compared"})


def are_all(now: Predication, kind: ValueKind, catalogue: Catalogue) -> bool:
    """Whether all terms are recorded in this kind of value."""
    items = [each.term.items[0] if each.term.items else "" for each in now.terms if each.term is not None]
    return bool(items) and all(slug and catalogue.items[slug].value is kind for slug in items)


def told_last(now: Predication) -> list[Said]:
    """The results that were given last, of one place or of all."""
    told: list[Said] = []
    for each in now.tail:
        if isinstance(each, Cut):
            told = []
        elif isinstance(each, Said):
            told.append(each)
    return told or list(now.before)


def contrary_of(now: Predication, catalogue: Catalogue) -> tuple[str, ...] | None:
    """The classes of the opposite of what was said last; None where the words do not settle it."""
    if now.negated:
        return ("positive", "present")
    told = told_last(now)
    if any(each.mark is not None and each.mark.amount is not None for each in told):
        return None  # '4/5 on the right but not on the left'
    classes, unclear, _ = classes_of(told)
    if unclear:
        return None
    if not told and any(each.term is not None and each.term.state for each in now.terms):
        return ("negative",)  # 'loss of sensation on the right but not on the left'
    there = any(are_all(now, kind, catalogue) for kind in (ValueKind.PRESENCE, ValueKind.TEST))
    if classes & {"absent", "negative"}:
        return ("positive", "present")
    if classes & LOW:
        return ("negative",) if there else ("normal",)
    if "unable" in classes:
        return ("able",)
    if "able" in classes or not (told or there):
        return ("unable",)
    return ("reduced",) if classes & NORMAL else ("negative",)


def said_of_another(
    marks: Sequence[Mark], texts: Texts, before: Predication | None, catalogue: Catalogue
) -> list[Mark] | None:  # fmt: skip
    """'The left wrist is swollen. The right is not.', '... So is the right.': the marks with the result left out there.

    None where the sentence is no such one.
    """
    if texts.isdisjoint(words().sets["spared"]) and (before is None or ("term" in texts.kinds and "so" not in texts)):
        return None
    spoken = [mark for mark in marks if mark.kind not in {"joiner", "break"} and mark.text != "so"]  # 'not so'
    if "so" in texts and sorted(mark.text for mark in marks[:3]) == _SO_IT_IS:
        marks = [
            *(mark for mark in marks[:3] if mark.text == "so"),
            *(mark for mark in marks[:3] if mark.text in BE),
            *marks[3:],
        ]
    if before is not None and len(marks) > _SHORTEST and marks[0].text == "so" and marks[1].text in BE:
        return _so_is(marks, before, catalogue)
    if spoken and spoken[-1].kind == "state" and spoken[-1].text in words().sets["spared"]:
        return _spared(spoken, before, catalogue)
    if before is None or {mark.kind for mark in spoken} - {"filler", "side", "piece", "negator"}:
        return None
    negators = [mark for mark in spoken if mark.kind == "negator"]
    ends = spoken[-1] if spoken else None
    if ends is None or len(negators) > 1 or not any(mark.kind in {"side", "piece"} for mark in spoken):
        return None
    denied = bool(negators) and negators[0].text in words().sets["denials"]
    classes = contrary_of(before, catalogue)
    down = before.negated or bool(classes_of(told_last(before))[0] & {"absent", "negative"})
    if classes is None or denied == down or not (denied or ends.text in words().sets["auxiliaries"]):
        return None
    state = Mark("state", ends.end, ends.end, state=StateWord(classes), text="so")
    return [*(mark for mark in spoken if mark.kind != "negator"), state]


def _so_is(marks: Sequence[Mark], before: Predication, catalogue: Catalogue) -> list[Mark] | None:
    """'The right wrist is swollen. So is the left.': what was told last, of the other as well."""
    told = [each.mark for each in told_last(before) if each.mark is not None and not each.negated]
    itself = all(each.term is not None and bool(each.term.state) for each in before.terms)  # 'numb'
    there = (itself or are_all(before, ValueKind.PRESENCE, catalogue)) and not told_last(before)
    stop = next((at for at, mark in enumerate(marks) if mark.kind in _ENDS), len(marks))
    if any(mark.kind not in {"filler", "side", "piece"} for mark in marks[1:stop]) or before.negated:
        return None
    if stop <= _SHORTEST or (len(told) != 1 and not there):
        return None
    end = marks[stop - 1].end
    result = Mark("state", end, end, state=StateWord(("present",)), text="so")
    again = replace(told[0], start=end, end=end) if told else result
    return [*marks[_SHORTEST:stop], again, *marks[stop:]]  # '..., which is also bruised'


def _spared(spoken: Sequence[Mark], before: Predication | None, catalogue: Catalogue) -> list[Mark] | None:
    """'The palm is burnt. The dorsum is spared.': what was found before is not there."""
    there = before is not None and are_all(before, ValueKind.PRESENCE, catalogue)
    if not there or before is None or before.negated or classes_of(told_last(before))[0] & {"absent", "negative"}:
        return None
    if {mark.kind for mark in spoken[:-1]} - {"filler", "side", "piece"} or len(before.terms) != 1:
        return None
    if not any(mark.kind == "piece" for mark in spoken):
        return None
    return [*spoken[:-1], Mark("state", spoken[-1].start, spoken[-1].end, state=NOT_THERE, text="so")]


class ContraryReading(SentenceState):
    """Reads a place of which the contrary is said of what was told of the place before it."""

    def _is_contrary(self, places: Places, ahead: Mark | None, end: int, used: Sequence[Mark]) -> bool:
        """Whether only the contrary is said of these places, which the term before then has."""
        now = self.now
        if now is None or not now.terms:
            return False
        denied = self._denies(ahead, now, used)
        if not denied and not self._turns_back(ahead, now, end):
            return False
        classes = contrary_of(now, self.catalogue)
        if classes is None:
            return False
        if denied and not now.negated and classes == ("unable",):
            now.tail.insert(0, Said(Mark("state", 0, 0, state=StateWord(("able",)))))  # 'could make a fist on the left'
        now.tail += [CUT, Said(Mark("state", 0, 0, state=StateWord(classes))), places]
        now.used += [*self.pending.used, *used] if denied else used
        self.pending = Pending() if denied else self.pending
        return True

    def _denies(self, ahead: Mark | None, now: Predication, place: Sequence[Mark]) -> bool:
        """'... but not over the left': a negator and a place, and nothing to negate but the term before.

        'a cord of the palm, not pulling the finger down' denies what the reader does not know.
        """
        negator = self.pending.negator
        if negator is None or self.pending.said or now.negated:
            return False
        if place and any(each.kind == "word" and negator.end <= each.start < place[0].start for each in self.marks):
            return False
        return (ahead is None or ahead.kind in _ENDS) and negator.text in {"not", "no"}

    def _turns_back(self, ahead: Mark | None, now: Predication, end: int) -> bool:
        """'The right wrist is not tender but the left is', 'could not be felt, the left could': where it is."""
        if self.joiner not in {"break", "comma", "and"} or not self.pending.empty:
            return False
        if ahead and ahead.kind not in _ENDS:
            rest = self.marks[end : next((at for at in range(end, len(self.marks)) if self._ends(at)), None)]
            placed = rest[0].text in BE and all(mark.kind in {"filler", "side"} for mark in rest)
            return placed and now.negated and self.joiner == "break"  # '..., but the thumb is on the right'
        auxiliaries = words().sets["auxiliaries"]
        after = []
        for mark in self.marks[end:]:
            if mark.kind in _ENDS:
                break
            after.append(mark)
        if any(mark.kind == "word" and mark.text not in auxiliaries for mark in after):
            return False
        told = now.negated or bool(told_last(now))
        if after and after[-1].text in auxiliaries:
            return told  # '..., the elbow is not, and the left thumb is'
        if self.joiner != "break" or ahead is not None:
            return False
        sure = now.negated and (self._is_presence(now) or are_all(now, ValueKind.TEST, self.catalogue))
        return sure or (told and self._is_led_by_auxiliary(end))

    def _ends(self, at: int) -> bool:
        return self.marks[at].kind in _ENDS

    def _is_led_by_auxiliary(self, end: int) -> bool:
        """'... but was on the left': between the joiner and the place."""
        for mark in reversed(self.marks[:end]):
            if mark.kind in {"break", "joiner"}:
                return False
            if mark.text in words().sets["auxiliaries"]:
                return True
        return False

    def _is_of_other_side(self, places: Places, now: Predication, ahead: Mark | None, end: int) -> bool:
        """Whether what is there on one side has its place, and the other side follows with a result or a place."""
        after = self.marks[end : end + 3] if self.joiner == "and" else []
        apart = self.joiner in {"comma", "break"} or any(mark.text in BE for mark in after)  # 'and on the right it was'
        if not apart or not self._is_presence(now) or now.negated or now.before:
            return False
        told = [now.places] if now.places is not None and not now.carried else []
        told += [each for each in now.tail if isinstance(each, Places)]
        if not told or len(told) - 1 > len(now.tail) or {places.side, told[-1].side} != {"left", "right"}:
            return False
        if any(not isinstance(each, Places) for each in now.tail):
            return False
        if ahead is None:
            ends = end == len(self.marks) or self.marks[end].kind in _ENDS  # 'swollen on the right, thumb on the left'
            return ends and places.has_site and any(each.has_site for each in told)
        return ahead.kind in {"state", "severity"}

    def _is_of_other_site(self, places: Places, now: Predication, ahead: Mark | None, end: int) -> bool:
        """'Swelling over the dorsum, while the palm is spared': what is there at one site is not there at another."""
        if ahead is None or ahead.kind != "state" or not places.has_site or places.elsewhere:
            return False
        if self.joiner != "break" and not (self.joiner == "comma" and self.marks[end].text in BE):
            return False
        if any(mark.kind == "word" for mark in self.marks[end : self.marks.index(ahead, end)]):
            return False  # 'but the elbow moves normally'
        if ahead.text not in {*words().sets["spared"], "normal"}:
            return False  # 'but the fingers are intact'
        if not self._is_presence(now) or now.negated or classes_of(now.before)[0] - {"present"}:
            return False
        told = [now.places] if now.places is not None and not now.carried else []
        told += [each for each in now.tail if isinstance(each, Places)]
        if not told or any(not isinstance(each, Places) for each in now.tail):
            return False
        sites = {place.site or place.row for each in told for place in each.places}
        return bool(sites - {None}) and not sites & {place.site or place.row for place in places.places}

    def _is_of_spared_site(self, places: Places, now: Predication, ahead: Mark | None, end: int) -> bool:
        """'Numb over the ring finger but the palm was spared': at one site it is less, and as usual at another."""
        if ahead is None or ahead.text not in words().sets["spared"] or not places.has_site or places.elsewhere:
            return False
        if self.joiner not in {"break", "comma", "and"} or self._is_presence(now) or now.negated:
            return False
        told = any(isinstance(each, Places) and each.has_site for each in (*now.tail, now.places))
        return told and self._is_less(now) and not any(mark.kind == "word" for mark in self.marks[end : end + 2])

    @staticmethod
    def _is_less(now: Predication) -> bool:
        """Whether a function was called less than it should be, by its name or by its result."""
        itself = any(each.term is not None and bool(each.term.state) for each in now.terms)
        return itself or bool(classes_of(told_last(now))[0] & (LOW | {"absent"}))

    @staticmethod
    def _is_called_normal(ahead: Mark | None) -> bool:
        """'..., the left normal': of a finding that is there on the right, it is not there on the left."""
        classes = set(ahead.state.classes) if ahead is not None and ahead.state is not None else set()
        return bool(classes) and classes <= {"normal"}

    def _with_its_doubt(self, places: Places, now: Predication, behind: Sequence[Mark]) -> Places:
        """'Left thumb numb, right hand normal': whether that hand only lacks this, or all of it is normal, is asked."""
        told = [each for each in (now.places, *now.tail) if isinstance(each, Places)]
        whole = all(place.site in _WHOLES for place in places.places) and places.side in OPPOSITE
        if not whole or not places.has_site or not told or any(each.side == places.side for each in told):
            return places
        if (
            not behind
            or not self._is_called_normal(behind[0])
            or {place.site for place in places.places} == {place.site for each in told for place in each.places}
        ):
            return places
        return replace(places, look=(*places.look, "whether it is called normal in this alone is not clear"))

    def _has_unknown_verb(self, start: int) -> bool:
        """Whether a verb and a word not known stand between the 'and' and the place that begins at `start`."""
        for at in range(start - 1, max(-1, start - 6), -1):
            if self.marks[at].kind == "joiner":
                between = self.marks[at + 1 : start]
                return any(mark.text in BE for mark in between) and any(
                    mark.kind == "word" and mark.text not in words().plain for mark in between
                )
        return False

    def _is_told_otherwise(self, now: Predication, start: int, end: int) -> bool:
        """'Both pulses were palpable, the right more weakly': of this place something else is said than before."""
        placed = (now.places is not None and not now.carried) or any(isinstance(each, Places) for each in now.tail)
        there = any(value_of(each, self.catalogue) is ValueKind.PRESENCE for each in now.terms)
        told = bool(told_last(now)) or there or any(each.term is not None and each.term.state for each in now.terms)
        ahead = self._next(end)
        lost = end < len(self.marks) and (ahead is None or ahead.kind == "ambiguous")
        lost = lost or end == len(self.marks)
        if self.joiner == "break" and placed and told and lost:
            return any(mark.kind == "word" for mark in self.marks[end:])  # 'whereas on the right they stop short'
        if self.joiner == "and" and placed and told and lost and self._has_unknown_verb(start):
            return True  # 'reproduced on the left and is blank on the right'
        if self.joiner != "comma" or not placed or not told:
            return False
        strange = self.unknown and start > 0 and self.marks[start - 1].text not in words().plain
        sided = any(mark.kind == "side" for mark in self.marks[start:end])
        ends = sided and end < len(self.marks) and self.marks[end].kind == "joiner"
        if strange and (ends or self._next(end) is None):
            return True  # 'the nerve subluxes on the right, stays put on the left', '..., a crease on the left, ...'
        if self._next(end) is not None:
            return False
        return end < len(self.marks) and self.marks[end].kind == "word"
