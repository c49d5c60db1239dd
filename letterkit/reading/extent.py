"""Where a phrase of place ends: what belongs to its list, and what begins something new."""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.reading.contrary import ContraryReading
from letterkit.reading.marks import Mark
from letterkit.reading.one_joint import is_digit
from letterkit.reading.places import OPPOSITE, Places
from letterkit.reading.predication import (
    BE,
    COUNTS,
    DIGIT_NUMBERS,
    VERBS,
    Predication,
    Said,
    acts,
    term_is_adjective,
)
from letterkit.reading.said import NORMAL
from letterkit.reading.sides import TWO_SIDES
from letterkit.reading.words import words

_IT = frozenset({"it", "they", "there"})
_LISTED = frozenset({"and", "slash", "comma", "or"})  # what joins the places of one list
_TOLD = frozenset({"term", "state", "value"})
_PARTED = frozenset({"joiner", "break"})
_INSIDE = COUNTS | {"ray", "base", "space", "major"}


def _is_size(said: Said) -> bool:
    """'1 cm wounds of ...': how large it is says nothing of whether it is there."""
    return said.mark is not None and said.mark.amount is not None and said.mark.amount.unit in {"mm", "cm"}


class ExtentReading(ContraryReading):
    """Reads how far a phrase of place reaches."""

    def _group_end(self, index: int) -> int:
        """Where the phrase of place that begins at `index` ends."""
        end = index + 1
        at = index + 1
        joined = False
        stop = min(len(self.marks), index + 60)
        has_term = self.now is not None and bool(self.now.terms)
        polar = has_term and self.now is not None and (
            self.now.negated
            or any(not _is_size(each) for each in self.now.before)
            or any(isinstance(each, Said) for each in self.now.tail)
        )  # fmt: skip
        while at < stop:
            mark = self.marks[at]
            if mark.kind in {"piece", "side"}:
                before = self.marks[index:end]
                next_has = has_term and (self._is_of_next(at, before) or self._is_of_a_told_term(at))
                if joined and (next_has or self._is_named_again(at, before)):
                    break
                anew = joined and self._starts_anew(at, has_term=has_term, polar=polar, before=before)
                if anew and not self._is_of_next(index, self.marks[max(0, index - 6) : index]):
                    break
                joined = False
                end = at + 1
            elif mark.kind == "value" and self._counts_digits(mark, end):
                joined = False
                end = at + 1
            elif mark.kind == "joiner" and mark.text != "with":
                joined = True
            elif not self._runs_on(mark) or (mark.text == ":" and self._heads_more(index, at)):
                break
            at += 1
        return end

    def _is_how_far(self, led: Sequence[str]) -> bool:
        """'The forearm shows oedema up to the elbow', 'the finger curves towards the thumb': where it is was said."""
        if led[-1:] not in (["to"], ["towards"], ["toward"]):
            return False
        far = led[-1] != "to" or " ".join(led[-3:]).endswith(("up to", "as far as to"))
        now = self.now
        sited = (self.here is not None and self.here.has_site) if now is None else (
            (now.places is not None and now.places.has_site) or any(
                isinstance(each, Places) and each.has_site for each in now.tail
            )
        )  # fmt: skip
        return far and sited

    def _is_led_by_of(self, start: int) -> bool:
        """'No swelling of the right wrist or tenderness of the left': of the left one, and not 'on the left'."""
        return next((mark.text for mark in reversed(self.marks[:start]) if mark.text != "the"), "") == "of"

    def _is_of_a_told_term(self, at: int) -> bool:
        """'... the left wrist and the right radial pulse is absent', '... the right hand has no wasting'."""
        sets = words().sets
        end = at + 1
        while end < len(self.marks) and self.marks[end].kind in {"side", "piece"}:
            end += 1
        behind = self.marks[end : end + 3]
        if not behind or self.marks[at].kind != "side":
            return False
        term = behind[0]
        if term.kind != "term":
            return term.text in sets["owns"] | sets["lacking"]
        if acts(term) or end > at + 1 or term_is_adjective(term):
            return acts(term)
        result = next((mark for mark in behind[1:] if mark.text not in BE), None)
        return result is not None and result.kind in {"state", "value"}

    def _is_named_again(self, at: int, before: Sequence[Mark]) -> bool:
        """'Left knee and wrist, a knee effusion': a part of the list, told of by itself."""
        after = self.marks[at + 1] if at + 1 < len(self.marks) else None
        again = self._is_elsewhere(self.marks[at : at + 1]) and any(mark.text == self.marks[at].text for mark in before)
        return again and after is not None and after.kind == "term"

    def _is_adjective_next(self, index: int) -> bool:
        at = self._next_at(index)
        term = self.marks[at].term if at is not None and self.marks[at].kind == "term" else None
        return term is not None and (term.adjective or bool(term.state))

    def _is_owner(self, end: int) -> bool:
        """'No reflexes in the right arm, while the left had normal jerks': a place, a verb, a result, its term."""
        verb = self.marks[end].text if end < len(self.marks) else ""
        owns = verb in words().sets["owns"] and self.joiner in {"break", "comma", "and"}
        there = self.now is not None and bool(self.now.terms) and self._is_presence(self.now)
        if not (owns or (there and verb in words().sets["owning"] and self.joiner in {"break", "comma"})):
            return False  # 'swelling of the left, the right with normal creases'
        soft = {"state", "value", "severity", "certain", "filler", "hint", "active_mode", "passive_mode", "maybe"}
        soft |= {"word"} if there else set()  # 'the right having an old scar'
        ahead = next((mark for mark in self.marks[end + 1 :] if mark.kind not in soft), None)
        return ahead is not None and ahead.kind == "term"

    def _led(self, at: int) -> int:
        """Where the words of the place at `at` begin: ', and the proximal forearm was tender'."""
        while at > 1 and self.marks[at - 1].text in words().sets["parts_of"]:
            at -= 1
        return at

    def _heads_more(self, index: int, colon: int) -> bool:
        """'Upper extremities: the elbows and wrists ...': a whole limb before a colon, parts of it after it."""
        beyond = next((each for each in self.marks[colon + 1 : colon + 4] if each.kind == "piece"), None)
        if beyond is not None and beyond.piece is not None and beyond.piece.kind == "elsewhere":
            return True  # 'Right shoulder and wrist: AC joint tender'
        limb = any(each.piece is not None and "upper_limb" in each.piece.slugs for each in self.marks[index:colon])
        return limb and any(each.kind == "piece" for each in self.marks[colon + 1 : colon + 4])

    @staticmethod
    def _runs_on(mark: Mark) -> bool:
        """Words that stand inside a phrase of place."""
        if mark.kind == "filler":
            return mark.text not in VERBS
        return mark.kind == "certain" or (mark.kind == "word" and mark.text in _INSIDE)

    def _counts_digits(self, mark: Mark, end: int) -> bool:
        amount = mark.amount
        last = self.marks[end - 1]
        if amount is None or amount.unit or (last.piece is None and last.kind != "value"):
            return False
        if last.piece is not None and last.piece.kind not in {"row", "digits"}:
            return False
        if amount.kind == "grade" and last.text == "digits" and amount.grade in {"3", "4"}:
            return not any(each.hints or self._is_a_muscle(each) for each in self.marks)  # 'numb in digits 4/5'
        if amount.kind == "pair":
            return amount.grade.isdigit() and amount.other.isdigit() and last.piece is not None and last.piece.plural
        small = all(number <= DIGIT_NUMBERS and number == int(number) and number >= 1 for number in amount.numbers)
        return amount.kind in {"bare", "arc", "trials"} and small and bool(amount.numbers)

    def _tells_how(self, at: int) -> bool:
        """Whether the term at `at` only says with what sensation was tested: '... to pin', '... for vibration'."""
        items = self.marks[at].term.items if self.marks[at].term is not None else ()  # type: ignore[union-attr]
        sensory = bool(items) and self.catalogue.items[items[0]].scale == "sensation"
        return sensory and self.marks[at - 1].text in {"to", "for"}

    @staticmethod
    def _is_elsewhere(marks: Sequence[Mark]) -> bool:
        """Whether another part of the body is named."""
        return any(mark.piece is not None and mark.piece.kind == "elsewhere" for mark in marks)

    @staticmethod
    def _names_another(before: Sequence[Mark], place: Sequence[Mark]) -> bool:
        """'... on the right, thumb on the left': a bare side, and then a part with a side of its own."""
        sides = {mark.text for mark in before if mark.kind == "side"}
        others = {mark.text for mark in place if mark.kind == "side"}
        parts = any(mark.kind == "piece" for mark in place) and not any(mark.kind == "piece" for mark in before)
        return parts and bool(sides and others) and not sides & others

    def _starts_anew(self, at: int, *, has_term: bool, polar: bool, before: Sequence[Mark]) -> bool:
        """Whether the place at `at`, after a joiner, belongs to what follows it and not to the list before."""
        run = at
        while run < len(self.marks) and (self._is_of_place(run) or self._joins_places(run)):
            if self.marks[run].kind == "filler" and self.marks[run].text in VERBS:
                break
            run += 1
        after = self.marks[run] if run < len(self.marks) else None
        if after is None:
            return has_term and self._names_another(before, self.marks[at:run])
        joined = next((each.text for each in reversed(self.marks[:at]) if each.kind != "filler"), "")
        comma = joined == "comma"
        if after.kind == "term" and self._tells_how(run):
            return False  # 'over the thumb and index finger to pin'
        if after.kind == "term" or (
            after.kind == "state" and after.text.startswith(words().affixes["has_gone"]) and comma
        ):
            return has_term
        if after.kind in {"negator", "neither", "unexamined", "declined"}:
            return has_term
        if after.kind == "value" and has_term:
            beyond = self._next(run + 1)
            if (polar and self.marks[at - 1].text == "comma") or (beyond is not None and beyond.kind == "term"):
                return True
        if after.kind in {"state", "value"} and has_term and self._is_elsewhere(self.marks[at:run]) and polar:
            return not self._is_elsewhere(before)  # 'reflexes 1+ throughout, toes down'
        return has_term and self._begins_clause(at, run, after, before, polar=polar)

    def _is_of_next(self, index: int, before: Sequence[Mark]) -> bool:
        """'Wrist swollen, elbow and thumb not swollen', 'MCP 2 red, PIP 2/3 tender': a list before what is found.

        Its first place, at `index`, follows a comma and a result, or a comma and a list that has ended: 'swelling of
        the wrist and elbow, thumb and index not'.
        """
        marks, last = self.marks, index - 1
        while last > 0 and (marks[last].text in {"the", "and"} or marks[last].kind == "break"):
            last -= 1  # 'the wrist was swollen, and the elbow and thumb tender'
        if last < 1 or (not (comma := marks[last].text == "comma") and last == index - 1):
            return False
        last -= comma
        while comma and last and marks[last].kind in {"side", "filler"}:
            last -= 1  # 'grip 20 kg R, L wrist and elbow tender'
        told = marks[last].kind in _TOLD and not is_digit(marks[last])
        told = told or (comma and any(mark.text in {"and", "slash"} for mark in before))
        end = index
        while end < len(marks) and (self._is_of_place(end) or marks[end].text in _LISTED):
            if marks[end].text in VERBS:
                return False
            end += 1
        denied = end < len(marks) and marks[end].kind == "negator"
        end += denied
        found = marks[end].term if end < len(marks) and marks[end].kind == "term" else None
        if found is not None or not told:
            return found is not None and (told or (comma and found.adjective and bool(before)))
        return denied and marks[end - 2].kind != "joiner" and (end == len(marks) or marks[end].kind == "break")

    def _joins_places(self, at: int) -> bool:
        """'And the right arm and both legs had ...': an 'and' inside the subject of a second clause."""
        led = [mark.text for mark in self.marks[max(0, at - 12) : at]]
        if self.marks[at].text != "and" or "comma" not in led:
            return False
        ahead = next((mark for mark in self.marks[at + 1 : at + 4] if mark.kind != "filler"), None)
        verb = next((mark for mark in self.marks[at + 1 : at + 7] if mark.text in BE | words().sets["owns"]), None)
        return ahead is not None and ahead.kind in {"side", "piece"} and verb is not None

    def _is_of_place(self, at: int) -> bool:
        """Whether the mark at `at` may stand in a phrase of place, as the numbers in 'MCP 4 and 5' do."""
        mark = self.marks[at]
        if mark.kind in {"piece", "side", "filler", "certain", "severity"}:
            return True
        rows = [each for each in self.marks[max(0, at - 3) : at] if each.piece is not None and each.piece.kind == "row"]
        small = mark.amount is not None and mark.amount.kind == "bare" and mark.amount.numbers[0] <= DIGIT_NUMBERS
        counted = bool(rows) and small and not (mark.amount and mark.amount.unit)
        joins = mark.text == "and" and at + 1 < len(self.marks) and self.marks[at + 1].kind == "value"
        return counted or (joins and at > 0 and self.marks[at - 1].kind == "value" and bool(rows))

    def _begins_clause(self, at: int, run: int, after: Mark, before: Sequence[Mark], *, polar: bool) -> bool:
        """Whether a place that a result or a verb follows is that of a new clause, and not the last of a list."""
        sides = {mark.text for mark in before if mark.kind == "side"}
        other = {mark.text for mark in self.marks[at:run] if mark.kind == "side"}
        comma = self.marks[at - 1].text == "comma"  # right before it
        differ = bool(sides and other and sides != other)
        if after.kind == "filler" and after.text in VERBS:
            at = self._led(at)
            led = [mark.text for mark in self.marks[max(0, at - 4) : at] if mark.text != "the"]
            own = self.marks[at - 1].text == "the" and led[-1:] == ["comma"]
            bare = [text for text in led if text not in words().sets["where"]]
            if polar and differ and bare[-1:] == ["and"] and after.text in BE | _IT:
                return True  # 'positive on the right, and on the left it is negative'
            if after.text in BE | words().sets["owns"] and (own or led[-2:] == ["comma", "and"]) and polar:
                return True  # 'diminished over the index, and the small finger is normal'
            spared = after.text in BE and getattr(self._next(run + 1), "text", "") in words().sets["spared"]
            digits = [mark.piece.kind if mark.piece is not None else "" for mark in (before[-1], self.marks[at])]
            one_list = comma and digits == ["digit", "digit"]  # 'on the thumb, index and middle fingers of both hands'
            return led[-1:] == ["comma"] and ((differ and not one_list) or spared)
        if after.text == "with" and comma and differ:
            return True  # 'swollen on the left, right with normal skin'
        if comma and self._is_unlike_the_list(self._behind_two(run, after)):
            return True  # 'numb ring finger, little finger normal'
        return after.kind in {"state", "value"} and differ and (polar or comma)

    def _behind_two(self, run: int, after: Mark) -> Mark:
        """What stands behind '..., index and middle normal': the word behind both parts."""
        if after.text != "and":
            return after
        ahead = self.marks[run + 1 : run + 6]
        return next((mark for mark in ahead if mark.kind not in {"piece", "side", "filler"}), after)

    def _is_other_side_too(self, places: Places, now: Predication, ahead: Mark | None) -> bool:
        """'The left hand is swollen, the right to a lesser extent': of both, and no result follows for the other."""
        before = now.places.side if now.places is not None and not (now.carried or now.tail or now.negated) else None
        if self.joiner not in {"and", "comma"} or before not in OPPOSITE or places.side != OPPOSITE[before or ""]:
            return False
        if places.elsewhere or not (ahead is None or ahead.kind in _PARTED):
            return False
        assert now.places is not None
        first = {place.site or place.row for place in now.places.places}
        if places.has_site and first == {place.site or place.row for place in places.places}:
            now.looks.append(TWO_SIDES)  # '..., the right hand to a lesser extent'
            return True
        return not places.has_site

    def _is_unlike_the_list(self, after: Mark) -> bool:
        """Whether a part is called normal behind parts of which a function was called less."""
        now = self.now
        classes = set(after.state.classes) if after.kind == "state" and after.state is not None else set()
        if now is None or now.negated or not classes or not classes <= NORMAL or self._is_presence(now):
            return False
        return self._is_less(now)
