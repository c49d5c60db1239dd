"""What is said of what: terms with the negations, results, numbers and places that belong to them in one sentence.

A list shares its negator only while its members are of one kind and nothing else comes between; a result may stand
before or after its term; a second side with a second result is a second statement.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from functools import cache

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.clauses import clauses
from letterkit.reading.doubts import BEFORE_ONLY, DoubtReading
from letterkit.reading.lists import TermReading
from letterkit.reading.locations import LocationReading
from letterkit.reading.marks import Mark
from letterkit.reading.places import Places
from letterkit.reading.predication import BE, CUT, INCLUDING, Pending, Predication, Said, is_asserted
from letterkit.reading.prepare import Preparer
from letterkit.reading.respective import RESPECTIVELY
from letterkit.reading.shared import SharedReading
from letterkit.reading.texts import Texts
from letterkit.reading.vocabulary import Vocabulary
from letterkit.reading.words import words

_BINARY = frozenset({ValueKind.PRESENCE, ValueKind.TEST})
_IS = BE | {"there is", "there was"}
_MOSTLY = frozenset({"filler", "joiner", "certain"})  # what most of a sentence is, and neither finding nor result
_ARROWS = frozenset({"↓", "↑", "↓ ↓", "↑ ↑"})


@cache
def _turning() -> frozenset[str]:
    """The words of little meaning that turn to something else, outside of an opinion."""
    return words().sets["another"] | words().sets["subjects"] | {RESPECTIVELY, ":", "otherwise"}


class Scope:
    """Reads the marks of one sentence into predications."""

    def __init__(self, catalogue: Catalogue, vocabulary: Vocabulary) -> None:
        self._catalogue = catalogue
        self._preparer = Preparer(catalogue, vocabulary)

    def read(
        self, marks: Sequence[Mark], texts: Texts, topic: Sequence[Mark] = (), order: tuple[str, str] | None = None
    ) -> tuple[list[Predication], Places | None]:  # fmt: skip
        """The predications of a sentence, and the place named last; `topic` are terms of the heading above it.

        `order` is that of the sides where a heading above gave one: 'Power R/L'.
        """
        found: list[Predication] = []
        here: Places | None = None
        made = self._preparer.prepare(marks, texts, topic, order)
        texts = texts.now(made)
        parts = clauses(made, texts, self._catalogue)
        lists = "or" in texts or sum(map(len, parts)) != len(made)  # what was left out may be a list too
        for at, clause in enumerate(parts):
            sentence = _Sentence(clause, () if at else topic, self._catalogue, lists=lists)
            sentence.here, sentence.earlier = here, tuple(found)
            told, here = sentence.read()
            found += told
        return found, here


class _Sentence(TermReading, LocationReading, DoubtReading, SharedReading):
    """One sentence, read from left to right."""

    def read(self) -> tuple[list[Predication], Places | None]:
        index = 0
        while index < len(self.marks):
            index = self._one(index)
        if self.now is not None and not self.now.terms:
            self.found = [each for each in self.found if each.terms]
        self._together()
        self._side_behind()
        self._place_behind()
        self._alike()
        self._leftovers()
        self._at_unknown_places()
        if self.here is not None and self.here.elsewhere and self.first is not None:
            self.here = self.first
        self._last_side()
        self.here = self._not_excepted()
        return [each for each in self.found if each.terms], self.here

    def _not_excepted(self) -> Places | None:
        """'All fingers were swollen except the thumb. There was no redness.': the next sentence is of no thumb."""
        now = self.now
        if now is not None and self.marks[-1].kind == "state" and self.marks[-1].text in words().sets["spared"]:
            told = [place for place in (now.places, *now.tail) if isinstance(place, Places)]
            return told[-2] if len(told) > 1 else self.here  # '... of the dorsum, with the palm spared'
        for each in self.found:
            excepted = [place.places for place in (*each.without, *each.apart)]
            if self.here is not None and self.here.places in excepted:
                told = [place for place in (each.places, *each.tail) if isinstance(place, Places)]
                return next((place for place in told if place.places not in excepted), None)
        return self.here

    def _leftovers(self) -> None:
        """What waited for a term in vain belongs to the last one, if that has no result yet."""
        pending, now = self.pending, self.now
        if now is not None and pending.said and not any(isinstance(each, Said) for each in now.tail) and not now.before:
            now.tail += [*pending.said, *([pending.places] if pending.places is not None else [])]
            now.used += pending.used
        if now is not None and pending.unexamined:
            now.unexamined = True
            now.used += pending.used

    def _one(self, index: int) -> int:
        """Reads the mark at `index`; gives the index of the next one to read."""
        mark = self.marks[index]
        if mark.text in INCLUDING and self.now is not None and not any(
            each.kind in {"value", "state"} for each in self.marks[index + 1 :]
        ):  # fmt: skip
            self.now.listing = True  # '5/5 in all groups including biceps and triceps': the result is of each
            return index + 1
        if mark.kind in _MOSTLY:
            self._between(mark)
            return index + 1
        if mark.kind in {"word", "ambiguous"} and (after := self._past_unknown_muscle(index)) is not None:
            return after
        match mark.kind:
            case "term":
                self._drop_grades_before(index)
                self._term(mark, index)
            case "piece" | "side":
                return self._location(index)
            case "state" | "told":
                self._result(mark, index)
            case "value":
                self._value(mark, index)
            case "maybe" | "fixed" if mark.state is not None and self._answers(index):
                self._result(mark, index)
            case "negator" | "neither":
                self.pending.negator = mark
                self.pending.used.append(mark)
            case "compared":
                return self._skip_comparison(index)
            case "severity" | "maybe" if self._is_degree(mark, index):
                self._result(mark, index)
            case _:
                self._between(mark)
                return index + 1
        self.joiner = ""
        self.unknown = 0
        return index + 1

    def _is_degree_behind(self, index: int) -> bool:
        """'The swelling was mild', 'swelling minimal, tenderness nil': behind a finding, how much of it there is."""
        now = self.now
        if now is None or now.negated or not self._is_presence(now) or not self.pending.empty or self.joiner:
            return False
        after = self.marks[index + 1] if index + 1 < len(self.marks) else None
        finger = self.marks[index].word == "small"  # 'ring + small'
        return not (now.before or finger) and (after is None or after.kind in {"joiner", "break"})

    def _is_of_one_place(self, index: int) -> bool:
        """'mild on the right and severe on the left': a degree or a doubt that holds for the place after it alone."""
        mark, now = self.marks[index], self.now
        if (
            now is None
            or not self._is_answerable(now)
            or not self.pending.empty
            or mark.text in BEFORE_ONLY - {"possible"}
        ):
            return False
        at = index + 1
        sides = False
        while at < len(self.marks) and self.marks[at].kind in {"filler", "side", "piece", "certain"}:
            sides = sides or self.marks[at].kind in {"side", "piece"}
            at += 1
        ahead = self.marks[at] if at < len(self.marks) else None
        ends = ahead is None or ahead.kind in {"joiner", "break", "except"}
        return sides and ends and (mark.kind == "severity" or ahead is not None or bool(now.tail))

    def _is_answerable(self, now: Predication) -> bool:
        """Whether its terms are there or not, or tests, which have degrees and doubts."""
        return bool(now.terms) and all(
            bool(each.term.items) and self.catalogue.items[each.term.items[0]].value in _BINARY
            for each in now.terms
            if each.term
        )

    def _is_degree(self, mark: Mark, index: int) -> bool:
        """Whether a degree is the result of what stands before it, or of one place of several."""
        return (mark.kind == "severity" and self._is_degree_behind(index)) or self._is_of_one_place(index)

    def _between(self, mark: Mark) -> None:
        """Reads what joins, parts and qualifies."""
        match mark.kind:
            case "joiner":
                self._drop_verbal_not(mark)
                self._drop_gone()
                self.opinion = self.opinion and not self._finds_more(mark)
                self.joiner = mark.text if self.joiner in {"", "comma"} else self.joiner
                if mark.text == "comma" and not self.pending.said:
                    self.pending.maybe = False
                self.broken = self.broken or mark.text == "with"
            case "break":
                if self.pending.said and (self.unknown or mark.text in words().sets["contrasts"]):
                    self.pending = Pending()  # 'able to give a thumb, but the OK sign ...': of what is not known
                self.broken, self.opinion, self.joiner = True, False, "break"
            case "except":
                self._except()
            case "say":
                self.opinion = self.opinion or "opinion" in mark.says
            case "word":
                self.unknown += 1
                if self._is_unknown_test(mark) or self._is_unknown_subject(mark):
                    self.now, self.broken = None, True  # its result is not that of the test before
                if self.pain is not None and self.now is not None and mark.text in words().efforts and not self.joiner:
                    self.now.motions.append(mark.text)  # 'pain on gripping'
                    self.now.used.append(mark)
            case "filler":
                self._filler(mark)
            case "maybe" | "unexamined" | "declined" | "no_longer" | "pseudo" | "double":
                self._doubt(mark)
            case _:
                self._modifier(mark)

    def _except(self) -> None:
        """'All tests were negative apart from Phalen's': what was said before is of no one test."""
        if self.now is None or not self.now.terms:
            self.pending = Pending()
            self.of_all = True
        self.excepting = self.broken = True

    def _finds_more(self, joiner: Mark) -> bool:
        """'In keeping with a jersey finger, and he was tender there': behind an opinion, what was found besides."""
        at = bisect_left(self.marks, joiner.end, key=lambda each: each.start)
        ahead = self.marks[at : at + 2]
        return (
            joiner.text == "and"
            and len(ahead) == 2  # noqa: PLR2004 - who, and was
            and (ahead[0].text.startswith("there ") or (ahead[0].text in {"he", "she"} and ahead[1].text in BE))
        )

    def _drop_gone(self) -> None:
        """'Night symptoms gone, still sore': what has gone is what stands before it, though that is not known."""
        said = self.pending.said[-1].mark if self.pending.said else None
        if said is not None and said.text.rpartition(" ")[2] in words().sets["goes"]:
            self.pending = Pending()

    def _drop_verbal_not(self, joiner: Mark) -> None:
        """'The fingers would not stay closed when asked, and Hoffmann's was positive': of a verb, and of no list."""
        negator = self.pending.negator
        if negator is not None and joiner.text == "with" and self.joiner == "comma":
            self.pending = Pending()  # 'no evidence of xyz, with a negative Phalen's'
            return
        if negator is None or negator.text not in words().sets["not_of_verbs"]:
            return
        at = bisect_left(self.marks, joiner.start, key=lambda each: each.start)
        behind = [mark for mark in self.marks[:at] if mark.start > negator.start]
        unknown = sum(mark.kind == "word" for mark in behind)
        if any(mark.state is not None and mark.state.classes for mark in behind):
            return
        if unknown > 1 and not (at < len(self.list_end) and self.list_end[at]):
            self.pending = Pending(looks=["what is negated before it is not known"])

    def _is_unknown_test(self, mark: Mark) -> bool:
        """'Tinel's negative, compression test positive': the name of a test that is not known, in a list of others."""
        if self.now is None or not self.joiner or mark.text in words().plain:
            return False
        at = bisect_left(self.marks, mark.end, key=lambda each: each.start)
        after = self.marks[at] if at < len(self.marks) else None
        return (
            after is not None
            and after.text in {"test", "sign", "maneuver", "manoeuvre"}
            and any(each.text not in {"and", "or"} or each.kind != "joiner" for each in self.marks[at + 1 : at + 2])
        )

    def _is_unknown_subject(self, mark: Mark) -> bool:
        """'The snuffbox is nontender and ballottement is negative': a word with a verb and a result of its own."""
        if self.now is None or self.unknown != 1 or mark.text in words().plain:
            return False
        at = bisect_left(self.marks, mark.end, key=lambda each: each.start)
        if self.joiner and self._is_one_more_sentence(at - 1):
            return True
        if self.joiner not in {"and", "comma"}:
            return False
        ahead = [each for each in self.marks[at : at + 5] if each.kind not in {"side", "piece", "certain"}]
        ahead = [each for each in ahead if each.text not in {"there", "on", "at", "the"}][:2]
        told = [each.state.classes for each in ahead[1:] if each.kind == "state" and each.state is not None]
        named = mark.text not in words().sets["stands_for_it"] and mark.text.isalpha()
        return named and bool(told) and ahead[0].text in _IS and bool({"positive", "negative"} & set(told[0]))

    def _is_one_more_sentence(self, index: int) -> bool:
        """'The thumb has a wound and the flexor tendon is absent': a verb before the 'and', and one behind."""
        now = self.now
        if now is None or not now.terms or now.negated or not self._is_presence(now):
            return False
        behind = next(
            (each for each in self.marks[index + 1 : index + 5] if each.kind not in {"word", "certain"}), None
        )
        parted = self.joiner == "break" and any(isinstance(each, Places) for each in now.tail)  # 'swelling of ..., but'
        return (parted or is_asserted(self.marks, now.terms[0])) and behind is not None and behind.text in BE

    def _past_unknown_muscle(self, index: int) -> int | None:
        """'Biceps 5/5, plantaris 3/5': a grade behind a word that is not known is not that of the term before.

        Gives where the reading goes on behind that grade, which stays unread.
        """
        now, mark = self.now, self.marks[index]
        if mark.text in words().plain or not (self._is_graded(index + 1) or self._is_arrow(index + 1)):
            return None
        if now is not None and now.terms and self._heads_unknown(now, index):
            return index + 2  # 'Motor: xyz 5/5'
        if now is None or not now.terms:
            return index + 2 if self.pending.empty and self._has_own_grade(index + 2) else None
        valued = any(
            isinstance(each, Said) and each.mark is not None and (each.mark.amount or self._is_arrow(index + 1))
            for each in now.tail
        )
        if not (valued or (self.joiner and now.before)) or self.pending.said:
            return None
        lead = index
        while lead > 0 and self.marks[lead - 1].kind in {"piece", "side", "word"}:
            lead -= 1
        if lead < index and self.marks[lead - 1].kind == "joiner" and now.tail and isinstance(now.tail[-1], Places):
            now.tail.pop()  # 'biceps 5/5, right thumb xyz 3/5': the place is of what is not known
        self.pending = Pending()
        self.now, self.broken, self.joiner = None, True, ""
        return index + 2

    def _heads_unknown(self, now: Predication, index: int) -> bool:
        """Whether all that was said is a heading such as 'power', and the word at `index` is the first of its list."""
        before = self.marks[index - 1] if index else None
        first = before is None or before.text == ":" or before.kind == "joiner"
        return first and not now.tail and not now.before and self.pending.empty and "power" in now.terms[-1].hints

    def _has_own_grade(self, index: int) -> bool:
        """Whether a term follows that has a grade of its own behind it: '(xyz 5/5), biceps 4/5'."""
        at = index + 1 if index < len(self.marks) and self.marks[index].text == "comma" else index
        return at < len(self.marks) and self.marks[at].kind in {"term", "word"} and self._is_graded(at + 1)

    def _drop_grades_before(self, index: int) -> None:
        """'Power: hip 4/5, grip 5/5': the first grade is of what stands before it, and not of the muscle."""
        said = [each.mark for each in self.pending.said if each.mark is not None and each.mark.amount is not None]
        if not said or not self._is_graded(index + 1) or len(said) < len(self.pending.said):
            return
        before = [each for each in self.marks[max(0, index - 5) : index] if each.start >= said[-1].end]
        if any(each.kind in {"joiner", "break"} for each in before):
            self.pending.said = []
            if self.pending.places is not None and self.pending.places.elsewhere:
                self.pending.places = None

    def _is_arrow(self, index: int) -> bool:
        """'Proprioception normal, xyz ↓': an arrow is of the word right before it."""
        return index < len(self.marks) and self.marks[index].text in _ARROWS

    def _is_graded(self, index: int) -> bool:
        """Whether a grade of power or of a reflex stands here."""
        amount = self.marks[index].amount if index < len(self.marks) else None
        return amount is not None and (
            amount.kind in {"grade", "signed", "span", "pair"}
            or (amount.kind == "bare" and amount.numbers[0] in {0, 1, 2, 3, 4, 5} and not amount.comparator)
        )

    def _modifier(self, mark: Mark) -> None:
        match mark.kind:
            case "severity":
                self.pending.severity = mark.text
                self.pending.used.append(mark)
            case "active_mode" | "passive_mode":
                mode = mark.kind.removesuffix("_mode")
                last = self.now.tail[-1] if self.now is not None and self.now.tail and self._is_late() else None
                if isinstance(last, Said) and last.mark is not None and last.mark.amount is not None:
                    last.mode = mode
                else:
                    self.pending.mode = mode
            case "correctable" | "fixed":
                self.pending.fixed = mark.kind
            case "hint":
                self.pending.hints.update(mark.hints)
                self.pending.used.append(mark)
            case _:
                pass

    def _filler(self, mark: Mark) -> None:
        now = self.now
        if now is None or not now.terms or not (self.opinion or mark.text in _turning()):
            return
        if self.opinion and now.opinion and self.joiner and mark.text in words().sets["auxiliaries"]:
            plain = [each for each in self.found if not each.opinion]
            self.now, self.opinion = (plain[-1], False) if plain else (now, True)
            return  # 'not tested on the left because of the cast and was negative on the right'
        if mark.text in words().sets["another"] and self.broken and self.unknown:
            self.now = None  # 'the ulnar pulse was absent while the brachial one was weak': of one that is not known
            return
        if mark.text in words().sets["another"] and (self.joiner or self.broken) and now.negated:
            there = [each for each in self.found if not each.negated and self._is_presence(each)]
            if not there and (self.broken or self.joiner == "break"):
                self.now, self.broken = None, True  # 'no nodules of the elbow but a small one on the forearm'
                return
            if there:
                self.now = there[-1]  # 'a tophus without redness, and a smaller one on the left'
                self.now.tail.append(CUT)
                self.joiner, self.unknown = "", 0
                return
        if mark.text == RESPECTIVELY:
            now.looks.append("'respectively': which result belongs to which is not told apart")
        if self.joiner and mark.text in words().sets["subjects"]:
            self.broken = True  # 'no swelling or redness, and she has mild tenderness'
        if mark.text == ":" and not now.tail:
            self.broken = self.colon = True
        elif mark.text == "otherwise" and (now.tail or now.before):
            self.now = None
            self.broken = True
        elif mark.text == "otherwise" and self._is_late():
            now.looks.append("'otherwise' leaves open what is meant")
