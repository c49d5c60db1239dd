"""How far a negation and a place reach: over which members of a list, and past which subjects."""

from __future__ import annotations

from bisect import bisect_left
from itertools import takewhile

from letterkit.catalogue.model import ValueKind
from letterkit.reading.begins import BeginningReading
from letterkit.reading.contrary import contrary_of
from letterkit.reading.exceptions import NOT_SAID
from letterkit.reading.marks import NAMES_SIDE, Mark, side_of, value_of
from letterkit.reading.phrases import POSITIVE, StateWord
from letterkit.reading.places import OPPOSITE, Place, Places, unsided
from letterkit.reading.predication import BE, Predication, Said, term_is_adjective
from letterkit.reading.words import words

_SOUND = frozenset({"normal", "full", "intact", "stable", "soft"})


class ReachReading(BeginningReading):
    """Settles what a term that begins takes from what was said before it."""

    def _is_sound(self, mark: Mark) -> bool:
        """Whether the words say by themselves that all is well: 'full range of movement', 'skin intact'."""
        term = mark.term
        if term is None or not term.state:
            return False
        there = value_of(mark, self.catalogue) in {ValueKind.PRESENCE, ValueKind.TEST}
        return term.state in _SOUND or (there and term.state in {"absent", "negative"})

    def _reach(self, made: Predication, mark: Mark, index: int) -> None:
        """Whether the negation of the list before reaches what begins."""
        pending, now = self.pending, self.now
        if now is not None and now.negated and (told := self._is_denied_no_more(index)):
            if told == "?":
                made.looks.append("it is not clear how far the negation reaches")
            return
        if not made.negated and not pending.said and self._is_finding(mark) and self._is_in_denied_list(index):
            made.negated = True
            return
        open_ended = now is not None and now.negated and pending.negator is None and not pending.said
        sound = now is not None and bool(now.terms) and self._is_sound(mark) and not self._is_sound(now.terms[0])
        if now is not None and open_ended and not sound and not self.broken:  # no 'no deformity, skin intact'
            same = self._is_finding(mark) == self._is_finding(now.terms[0])
            same = same and (self.joiner == "or" or term_is_adjective(mark) == term_is_adjective(now.terms[0]))
            listed = self._denies_lists(now) and (pending.places is not None or self.joiner in {"comma", "and", "or"})
            if self.joiner == "or" or listed or (same and self.joiner in {"comma", "and"} and self.list_end[index]):
                made.negated = True
            elif self.joiner == "and":
                made.looks.append("it is not clear how far the negation reaches")

    def _is_in_denied_list(self, index: int) -> bool:
        """'No colour change, sweating, allodynia or swelling': in a list that a 'no' opens and an 'or' closes."""
        if self.joiner not in {"comma", "or"} or not (self.list_end[index] or self.joiner == "or"):
            return False
        for at in range(index - 1, -1, -1):
            mark = self.marks[at]
            if mark.kind in {"negator", "neither"}:
                return True
            listed = mark.kind in {"term", "certain"} or (mark.kind == "joiner" and mark.text in {"comma", "or"})
            said = mark.kind == "state" and self.marks[at + 1].kind == "term"  # 'no increased tone or tremor'
            if not (listed or said):
                return False
        return False

    @staticmethod
    def _denies_lists(now: Predication) -> bool:
        """'Negative for Finkelstein, Watson and fovea tenderness'."""
        return any(mark.kind == "negator" and mark.text in words().sets["of_lists"] for mark in now.used)

    def _place(self, made: Predication, mark: Mark, index: int) -> None:
        """Gives what begins the place that waits for it, or the one that was spoken of."""
        pending, now = self.pending, self.now
        if pending.places is not None:
            made.places = pending.places
            self.here = pending.places
        elif self.here is not None:
            made.places, made.carried = (unsided(self.here) if self._is_of_no_side(mark) else self.here), True
            if term_is_adjective(mark) and self.here.has_site and self._has_unknown_subject(index):
                made.places = Places((Place(self.here.side),), self.here.look, self.here.elsewhere)
                made.looks.append("what it is said of is not known")
        if (
            now is not None
            and now.terms
            and now.terms[-1].term
            and mark.term
            and now.terms[-1].term.items == mark.term.items
        ):
            sited = next((each for each in (*now.tail, now.places) if isinstance(each, Places) and each.has_site), None)
            if (
                sited is not None and pending.places is None
            ):  # 'swelling of the wrist on the right and swelling on the left'
                made.places = unsided(sited)

    def _is_of_no_side(self, mark: Mark) -> bool:
        """'Biceps 4/5 right, triceps 4/5 left, APB 5/5': of neither side; 'red' would be of the last part."""
        functions = value_of(mark, self.catalogue) is not ValueKind.PRESENCE
        return self._told_both_sides() or (functions and self.sides_behind() == OPPOSITE.keys())

    def _has_own_side(self, now: Predication, index: int) -> bool:
        """'Bilateral ulnar drift, MCP subluxation R': behind what is of both sides, a finding of one.

        'Left thenar wasting, scar right palm': behind what is of one side, a finding of the other.
        """
        if self.joiner not in {"comma", "and"} or now.negated or now.carried or now.places is None:
            return False
        before = now.places.side
        if before not in OPPOSITE and (before != "both" or self.joiner != "comma"):
            return False
        behind = takewhile(lambda each: each.kind in {"side", "piece", "filler"}, self.marks[index + 1 : index + 6])
        side = next((side for mark in behind if (side := side_of(mark))), "")
        return side in OPPOSITE and side != before

    def _is_placed_apart(self, mark: Mark, now: Predication) -> bool:
        """'Tenderness of the volar aspect, numbness of the thumb': behind a comma, and the first has its own place.

        So has it where one was spoken of before a finding and a function: 'the left forearm: swelling, numbness of the
        thumb'.
        """
        if self.joiner not in {"comma", "and"} or now.before or now.tail:
            return False
        ours = now.places is not None and not now.carried and not now.places.elsewhere
        if ours and self._is_led_to(mark.end, frozenset({"piece"}), elsewhere=True):
            return True  # 'left palm blister, rash of the knees'
        if self.joiner != "comma" or now.negated:
            return False
        if self._is_led_to(now.terms[-1].end, frozenset({"word"})):
            return True
        lead = now.terms[0].term
        sited = self.here is not None and self.here.has_site and lead is not None and not lead.state
        tells = mark.term is not None and mark.term.state and value_of(mark, self.catalogue) is not ValueKind.PRESENCE
        return bool(sited and tells and self._is_presence(now)) and self._is_led_to(mark.end, NAMES_SIDE)

    def _is_led_to(self, end: int, kinds: frozenset[str], *, elsewhere: bool = False) -> bool:
        """Whether 'of the' and one of these kinds stand where a term ends; where `elsewhere`, of no arm."""
        sets, at = words().sets, bisect_left(self.marks, end, key=lambda each: each.start)
        leads = sets["where"] | sets["over"] | (sets["places_led"] if elsewhere else frozenset())
        if at >= len(self.marks) or self.marks[at].text not in leads:
            return False
        ahead = next((each for each in self.marks[at + 1 : at + 4] if each.kind != "filler"), None)
        apart = ahead is not None and ahead.piece is not None and ahead.piece.kind == "elsewhere"
        return ahead is not None and ahead.kind in kinds and (apart or not elsewhere)

    def _has_unknown_subject(self, index: int) -> bool:
        """'..., but the ECU tendon is sore': after a joiner a subject that is no place, and a verb."""
        before = [each for each in self.marks[max(0, index - 6) : index] if each.kind not in {"certain", "severity"}]
        if len(before) < 3 or before[-1].text not in BE or before[-2].kind not in {"word", "term", "ambiguous"}:  # noqa: PLR2004
            return False
        named = next((each.kind for each in reversed(before[:-1]) if each.kind in {"joiner", "break", "piece"}), "")
        own = any(each.kind == "piece" for each in self.marks[index + 1 :])  # '..., the limb was swollen to the elbow'
        return named in {"joiner", "break"} and not own

    def _excepted(self, made: Predication, mark: Mark, index: int, *, denied: bool) -> None:
        """'No swelling except redness', 'all tests negative except Phalen's': what is excepted is there."""
        now = self.now
        made.excepted = True
        told = bool(made.before) or any(each.kind in {"state", "value", "negator"} for each in self.marks[index + 1 :])
        if now is not None and not told and not now.negated and not self.of_all:
            now.looks.append(NOT_SAID)  # 'reflexes 2+ except the left triceps'
            self._turn(made, mark, now)
        if now is not None and now.negated and not denied:
            made.negated = False
        if self.of_all and value_of(mark, self.catalogue) is ValueKind.TEST and not made.before:
            made.before = [Said(Mark("state", 0, 0, state=POSITIVE))]
            made.looks.append(NOT_SAID)
        self.excepting = self.of_all = False

    def _turn(self, made: Predication, mark: Mark, now: Predication) -> None:
        """'Phalen's and Tinel's were negative except Phalen's on the right': the contrary, and not what was said."""
        contrary = contrary_of(now, self.catalogue)
        if value_of(mark, self.catalogue) is ValueKind.TEST and contrary is not None:
            made.before = [Said(Mark("state", 0, 0, state=StateWord(contrary)))]
            made.looks.append(NOT_SAID)
