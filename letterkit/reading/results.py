"""Results of a sentence: states and numbers, and whether they belong to the term before or after them."""

from __future__ import annotations

from bisect import bisect_left

from letterkit.reading.marks import Mark
from letterkit.reading.places import Places
from letterkit.reading.predication import CUT, HEADS, MODIFIERS, OF_WHAT, VERBS, Pending, Predication, Said
from letterkit.reading.said import amounts_of
from letterkit.reading.sentence import SentenceState
from letterkit.reading.words import words

_TAKES = (" of", " to", " make", " perform", " in", " with")  # a result that is of what follows it
_OF_TASKS = frozenset({"reduced", "abnormal", "able", "unable"})
_CAN = frozenset({"can", "cannot", "can't", "can not", "could not", "manages to", "manages", "managed"})
_OF_AN_UNKNOWN_WORD = "a word that is not known may be what this is said of"


def _is_passed(mark: Mark) -> bool:
    """'None over the ...', 'none medially or over the ...'."""
    return mark.kind == "filler" or (mark.kind == "word" and mark.text.endswith("ly"))


class ResultReading(SentenceState):
    """Reads results."""

    def _result(self, mark: Mark, index: int) -> None:
        if (self.lost and not self.joiner) or self._denies_unknown(mark, index):
            return  # 'with loss of the normal contour': of what the reader does not know
        negated = False
        if self.pending.negator is not None and self.pending.negator.kind in {"negator", "neither", "no_longer"}:
            negated = True
            used = self.pending.used
        else:
            used = []
        after = self.marks[index + 1] if index + 1 < len(self.marks) else None
        if self.now is None and mark.text in words().sets["whole"] and after is not None and after.kind == "joiner":
            return  # 'left wrist NAD, grip 35 kg': of the wrist, and not of the grip
        bracketed = index > 0 and self.marks[index - 1].text == "("
        said = Said(mark, negated, bracketed=bracketed, joined=bool(self.joiner))
        thought = self.opinion and self.now is not None and not self.now.opinion and mark.text.endswith(_TAKES)
        if thought or self._has_no_object(mark, index):  # 'guttering indicates loss of the intrinsic muscles'
            self.lost = True
            return
        told = self.now is not None and self.joiner == "break" and self._is_presence(self.now)
        if told and mark.text == "none" and not self._is_sided(index):
            return  # 'lacerations over the forearm but none is deep'
        if self._speaks_of_the_rest(index):
            self.now = None  # '4/5 deltoid, 5/5 otherwise': of what is not said
            return
        if self._goes_before(index):
            if negated and mark.state is not None and not mark.state.classes:
                said.negated = False  # 'no pain or swelling': a word of quality leaves the negation to what follows
            elif negated:
                self.pending.negator = None
            said.before = True
            self.pending.said.append(said)
            self.pending.used.append(mark)
            return
        assert self.now is not None
        if (
            (
                (mark.text in {"none", "nil"} and not self._is_answer(index))
                or self._is_there_after_all(mark, negated=negated)
            )
            and self._is_presence(self.now)
            and (any(isinstance(each, Places) for each in self.now.tail) or self._is_behind_unknown_place(index))
            and any(each.kind in {"piece", "side"} and each.start > mark.start for each in self.marks)
        ):
            self.now.tail.append(CUT)  # 'tenderness over the medial epicondyle and none over the lateral'
        if (
            self._is_of_a_task(mark, index)
            or self._is_of_the_unread(mark, index)
            or (mark.text == "none" and self._is_of_an_unknown_place(index))
            or self._is_of_a_face(mark, index)
        ):
            self.lost = True
            return
        self.now.looks += [_OF_AN_UNKNOWN_WORD] * self._follows_unknown_noun(index)
        self._take(said, mark, used)

    def _denies_unknown(self, mark: Mark, index: int) -> bool:
        """'The hands are well perfused, no xyz seen': what is not there is what is not known."""
        negator, now = self.pending.negator, self.now
        if negator is None or now is None or mark.state is None or mark.state.classes != ("present",):
            return False
        at = next((at for at in range(index - 1, 0, -1) if self.marks[at] is negator), 0)
        between = [each for each in self.marks[at + 1 : index] if each.kind not in {"certain", "severity", "state"}]
        unknown = bool(between) and all(each.kind in {"word", "filler"} for each in between)
        unknown = unknown and any(each.kind == "word" and each.text not in words().plain for each in between)
        if not at or not unknown or self.marks[at - 1].kind not in {"joiner", "break"}:
            return False
        self.pending, self.now, self.broken = Pending(), None, True
        return True

    def _follows_unknown_noun(self, index: int) -> bool:
        """'Swelling of the wrist and the xyz was absent': said of the last word alone, as it seems."""
        at = index - 1
        while at > 0 and self.marks[at].kind in {"certain", "filler"} and self.marks[at].text not in {"the", "a", "an"}:
            at -= 1
        if self.marks[at].kind != "word":
            return False
        one = any(mark.text in {"was", "is"} for mark in self.marks[at + 1 : index])
        led = [mark.text for mark in self.marks[max(0, at - 2) : at]]
        word = self.marks[at]
        return one and word.text not in words().plain and led == ["and", "the"]

    def _is_of_a_face(self, mark: Mark, index: int) -> bool:
        """'Swelling of the wrist dorsally, none volarly': not there on one face of it, and there for all that."""
        ahead = self.marks[index + 1 : index + 3]
        if not ahead or ahead[0].text not in words().sets["facing"] or ahead[-1].text in {"or", "nor", "and"}:
            return False  # 'none medially or over the radial tunnel'
        denies = mark.state is not None and not {"negative", "absent"}.isdisjoint(mark.state.classes)
        return denies and bool(self.joiner) and self.now is not None and self._is_presence(self.now)

    def _is_of_an_unknown_place(self, index: int) -> bool:
        """'... over the medial epicondyle and none over the lateral': of a place that is not told apart."""
        ahead = self.marks[index + 1 : index + 3]
        if ahead and ahead[0].text.endswith("ly") and self.now is not None and not self.now.tail:
            return True  # 'tenderness laterally but none medially or over the olecranon'
        led = bool(ahead) and ahead[0].text in words().sets["where"] | words().sets["over"]
        return led and not any(each.kind in {"piece", "side"} for each in self.marks[index + 1 :])

    def _is_behind_unknown_place(self, index: int) -> bool:
        """'Tender over the fracture site, none at the ulnar styloid': the first was there."""
        at = index - 1
        while at > 0 and self.marks[at].kind == "joiner":
            at -= 1
        end = at
        while at > 0 and self.marks[at].kind in {"word", "filler"} and self.marks[at].text not in words().sets["where"]:
            at -= 1
        led = self.marks[at].text.split(" ")[-1] in words().sets["where"]
        return at < end < index - 1 and led and self.marks[end].kind == "word"

    def _is_answer(self, index: int) -> bool:
        """'Swelling of the wrist: none', 'wasting: right none, left mild': the result of what stands before it."""
        at = index - 1
        while at > 0 and self.marks[at].kind in {"piece", "side"}:
            at -= 1
        led = self.marks[at].text in words().sets["where"] | {"the"}
        return self.marks[index - 1].text == ":" or (at < index - 1 and not led)

    def _is_of_the_unread(self, mark: Mark, index: int) -> bool:
        """'Opposition was strong, with weak abduction': the second result is of a word that is not read alone."""
        after = self.marks[index + 1] if index + 1 < len(self.marks) else None
        told = self.now is not None and any(isinstance(each, Said) for each in self.now.tail)
        return bool(self.joiner) and told and after is not None and after.kind == "ambiguous" and mark.kind == "state"

    def _is_there_after_all(self, mark: Mark, *, negated: bool) -> bool:
        """'No tenderness over the snuffbox, present over the styloid': not denied at the place that follows."""
        assert self.now is not None
        classes = mark.state.classes if mark.state is not None else ()
        return self.now.negated and bool(self.joiner) and not negated and "present" in classes

    def _is_sided(self, index: int) -> bool:
        """Whether a place follows that a word such as 'none' can be of."""
        ahead = next((mark for mark in self.marks[index + 1 : index + 5] if not _is_passed(mark)), None)
        return ahead is None or ahead.kind in {"side", "piece", "joiner", "break"}

    def _is_of_a_task(self, mark: Mark, index: int) -> bool:
        """'A drift and difficulty standing': of what follows, which is not known, and not of the drift."""
        classes = set(mark.state.classes) if mark.state is not None else set()
        if not self.joiner or not classes or not classes <= _OF_TASKS or self.now is None:
            return False
        after = next((each for each in self.marks[index + 1 : index + 4] if each.kind != "filler"), None)
        return after is not None and after.kind in {"word", "piece"} and self._is_presence(self.now)

    def _take(self, said: Said, mark: Mark, used: list[Mark]) -> None:
        """Gives a result to the term before it."""
        assert self.now is not None
        if self.now.unexamined and self._is_of_another_side(self.now, mark):
            self._another_place(self.now)  # 'not tested on the left but positive on the right'
        negated = said.negated
        if negated:
            self.pending.negator = None
            self.now.used += used
            self.pending.used = []
        excepted = bool(self.excepting or self.now.without)
        if excepted and self._is_past_exception(mark):
            self.now.tail.append(CUT)
            self.excepting = False
        elif excepted:
            self._take_excepted()
        if self.pending.places is not None:
            self.now.tail.append(self.pending.places)
        measured = [each for each in self.now.tail if isinstance(each, Said)]
        if (
            self.joiner == "break"
            and not excepted
            and measured
            and any(isinstance(each, Places) for each in self.now.tail)
        ):
            self.now.tail.append(CUT)  # 'positive on the right, whereas they were negative on the left'
        if (
            measured
            and not negated
            and mark.state is not None
            and "present" in mark.state.classes
            and self._is_presence(self.now)
            and all(each.mark is not None and each.mark.amount is not None for each in measured)
        ):
            self.now.before.append(said)  # 'a deformity of 20 degrees of the thumb was present'
        elif self._grades_what_is_told(mark):
            self.now.tail.insert(-1, said)
        else:
            self.now.tail.append(said)
        self.now.listing = False
        self.now.used += [*self.pending.used, mark]
        self.now.looks += self.pending.looks  # 'Phalen's test is no longer positive'
        self.now.maybe = self.now.maybe or (self.pending.maybe and not measured)  # 'Tinel's ?positive'
        if self.pending.severity and not self.now.severity:
            self.now.severity = self.pending.severity
        self.pending = Pending()
        self.broken = False

    def _grades_what_is_told(self, mark: Mark) -> bool:
        """'Weak on the left, 3/5': the grade of what was called weak there, and none of another place."""
        tail = self.now.tail if self.now is not None else []
        if mark.amount is None or mark.amount.kind != "grade" or self.joiner not in {"comma", ""} or len(tail) < 2:  # noqa: PLR2004 - a state and its place
            return False
        told, place = tail[-2:]
        if not isinstance(told, Said) or told.mark is None or told.mark.state is None or not isinstance(place, Places):
            return False
        return not self._leads_to_place(mark)

    def _leads_to_place(self, mark: Mark) -> bool:
        """Whether a place stands right behind a result: '4/5 in the left arm'."""
        at = bisect_left(self.marks, mark.end, key=lambda each: each.start)
        ahead = next((each for each in self.marks[at : at + 4] if each.kind != "filler"), None)
        return ahead is not None and ahead.kind in {"piece", "side"}

    def _is_past_exception(self, mark: Mark) -> bool:
        """'Reduced on the right, sparing the palm, and normal on the left': with a place of its own behind it."""
        if self.joiner not in {"and", "break"} or self.excepting:
            return False
        return self._leads_to_place(mark)

    def _take_excepted(self) -> None:
        """'Normal except reduced in the thumb', '... in the thumb, where it was reduced': a result of the exception."""
        assert self.now is not None
        told = any(isinstance(each, Said) for each in self.now.tail) or self.now.before or self.now.negated
        if not told:
            return
        self.now.tail.append(CUT)
        if not self.excepting:
            self.now.apart.append(self.now.without[-1])
            self.now.tail.append(self.now.without.pop())
        self.excepted_next = self.excepting  # '... except 4 seconds in the ring'
        self.excepting = False

    def _has_no_object(self, mark: Mark, index: int) -> bool:
        """'... with loss of its contour', '... but is unable to sew': of what follows, which is no term of ours."""
        if mark.kind != "state" or self.now is None or not self.now.terms:
            return False
        if not mark.text.endswith(_TAKES) and mark.text not in _CAN:
            return False
        if index + 1 == len(self.marks) or self.marks[index + 1].kind in {"joiner", "break"}:
            return False  # 'Fist: unable to make'
        passed = (MODIFIERS - {"word"}) | {"piece", "side"}
        ahead = next((each for each in self.marks[index + 1 :] if each.kind not in passed), None)
        return ahead is None or ahead.kind not in {"term", "hint"}

    def _speaks_of_the_rest(self, index: int) -> bool:
        after = self.marks[index + 1] if index + 1 < len(self.marks) else None
        if after is None or after.text not in words().lists["rest"]:
            return False
        now = self.now
        told = now is not None and bool(now.before or any(isinstance(each, Said) for each in now.tail))
        placed = now is not None and self._is_presence(now) and (
            any(isinstance(each, Places) for each in now.tail) or (now.places is not None and not now.carried)
        )  # fmt: skip  # 'the left PIP joint is swollen, nil elsewhere'
        return told or placed

    def _goes_before(self, index: int) -> bool:
        """Whether a result belongs to the term after it."""
        now = self.now
        if now is None or not now.terms:
            return True
        if self.excepting:
            last = self._next(index + 1, MODIFIERS | {"piece", "side"})
            return last is not None and last.kind == "term"  # '... except for 4/5 in the right triceps'
        at = self._next_at(index + 1)
        ahead = None if at is None else self.marks[at]
        if at is not None and ahead is not None and ahead.kind in {"piece", "side"}:
            beyond = self._next(at + 1, MODIFIERS | {"piece", "side"})
            stop = any(each.kind == "joiner" for each in self.marks[index + 1 : at + 1])
            listed = self.marks[index].kind == "value" and self.joiner and self._is_told_first(now)
            if beyond is not None and beyond.kind == "term" and not stop and (listed or self._directly(index, beyond)):
                ahead = beyond  # '4/5 in the left deltoid, 4+/5 in the left triceps'
        if ahead is None or ahead.kind not in {"term", "hint"}:
            return self._is_of_a_function(index, now)
        if ahead.kind == "hint" and ahead.text in OF_WHAT and self._leads_to_term(at):
            return True  # 'motor testing reveals 4/5 strength in the right biceps'
        if (
            ahead.hints
            and not self.joiner
            and self._are_muscles(now)
            and not any(isinstance(each, Said) for each in now.tail)
        ):
            return False  # 'biceps and triceps were full strength'
        if self.broken or self.joiner or self.pending.places is not None or self._is_amount_of(index):
            return True
        negator = self.pending.negator
        if (
            negator is not None
            and negator is self.marks[index - 1]
            and negator.text not in words().sets["not_of_verbs"]
        ):
            return True  # 'no wasting, no abnormal sweating'
        if self._describes_the_next(index, now) or self._is_without_what_follows(index):
            return True
        head = bool(now.terms[-1].hints) or now.terms[-1].text in HEADS
        if head and self.marks[index + 1] is ahead and not now.tail:
            return True  # 'motor examination: normal bulk and tone'
        return any(isinstance(each, Said) for each in now.tail) or bool(self.pending.said)

    @staticmethod
    def _is_told_first(now: Predication) -> bool:
        """'Strength 4/5 in the right biceps': whether the number stood before what it is of."""
        return bool(amounts_of(now.before)) or (
            now.listing and bool(amounts_of([each for each in now.tail if isinstance(each, Said)]))
        )

    def _is_without_what_follows(self, index: int) -> bool:
        """'Warm and swollen without limitation of flexion', '... without loss of sensation': of what 'of' leads to."""
        said = self.marks[index].text
        if not said.startswith("without "):
            return False
        return said.endswith((" of", " in")) or self.marks[index + 1].text in {"of", "in"}

    def _describes_the_next(self, index: int, now: Predication) -> bool:
        """'A tender purple nodule': between an adjective and its noun, how the noun looks."""
        if index == 0 or index + 1 >= len(self.marks) or self.marks[index - 1] is not now.terms[-1]:
            return False
        state, before, noun = self.marks[index].state, now.terms[-1].term, self.marks[index + 1].term
        if state is None or state.classes or before is None or noun is None:
            return False
        return before.adjective and not noun.adjective and self._is_finding(self.marks[index + 1])

    def _leads_to_term(self, at: int | None) -> bool:
        """Whether 'strength in' is followed by a muscle, with no more than a side before it."""
        beyond = self._next((at or 0) + 1, MODIFIERS | {"side", "piece"})
        return at is not None and beyond is not None and beyond.kind == "term"

    def _is_amount_of(self, index: int) -> bool:
        """'40 degrees of flexion': a number and what it is of."""
        after = self.marks[index + 1 : index + 3]
        return (
            self.marks[index].kind == "value"
            and len(after) == 2  # noqa: PLR2004 - 'of' and the term
            and after[0].text == "of"
            and after[1].kind == "term"
        )

    def _is_of_a_function(self, index: int, now: Predication) -> bool:
        """'swelling, limited and weak movement': a result no finding takes, in a list that goes on to a function."""
        state = self.marks[index].state
        if state is None or self.joiner != "comma" or not self._is_presence(now) or not state.classes:
            return False
        if not set(state.classes) <= {"reduced", "full", "stable"}:
            return False
        return any(each.kind == "term" and not self._is_finding(each) for each in self.marks[index + 1 : index + 5])

    def _directly(self, index: int, term: Mark) -> bool:
        """Whether only words of place stand between a result and a term: '4/5 left deltoid'."""
        for mark in self.marks[index + 1 : index + 10]:
            if mark is term:
                return True
            if mark.kind == "joiner" or (
                mark.kind == "filler" and mark.text in VERBS | {"on", "at", "in", "of", "over"}
            ):
                return False
        return False

    def _value(self, mark: Mark, index: int) -> None:
        """A number: of a finding that is there it is a size, an angle or a time, and belongs to the term before it."""
        amount, now = mark.amount, self.now
        assert amount is not None
        measures = amount.kind == "size" or amount.unit in {"mm", "cm", "deg", "s"} or amount.kind == "bare"
        if self.joiner and amount.unit in {"mm", "cm"} and self._measures_next(index):
            self.pending.said.append(Said(mark))
            self.pending.used.append(mark)
            return
        if (
            measures
            and now is not None
            and now.terms
            and self._is_presence(now)
            and self.pending.empty
            and not (self._before_term(index) and (self.joiner or amount.kind == "bare" or self.broken))
        ):
            now.tail.append(Said(mark))
            now.used.append(mark)
            self.broken = False
            return
        self._result(mark, index)

    def _before_term(self, index: int) -> bool:
        ahead = self._next(index + 1)
        return ahead is not None and ahead.kind == "term"

    def _measures_next(self, index: int) -> bool:
        """'Two puncture wounds and a 1.5 cm gaping laceration': words between a size and what has it."""
        for mark in self.marks[index + 1 : index + 5]:
            if mark.kind == "term":
                return True
            quality = mark.kind == "state" and mark.state is not None and not mark.state.classes
            if not quality and mark.kind not in {"word", "certain", "severity"}:
                return False
        return False

    def _answers(self, index: int) -> bool:
        """Whether 'possible' is the result of a task and not a doubt about what follows."""
        ahead = self._next(index + 1)
        return self.now is not None and bool(self.now.terms) and (ahead is None or ahead.kind != "term") and any(
            self.catalogue.items[slug].scale in self.marks[index].state.scales  # type: ignore[union-attr]
            or slug in self.marks[index].state.items  # type: ignore[union-attr]
            for each in self.now.terms if each.term for slug in each.term.items[:6]
        )  # fmt: skip
