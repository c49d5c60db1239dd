"""Places of a sentence: where a phrase of place ends, and what it belongs to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from letterkit.reading.extent import ExtentReading
from letterkit.reading.marks import Mark
from letterkit.reading.phrases import NOT_THERE
from letterkit.reading.places import OPPOSITE, Place, Places, lies_in, of_row, of_the_part, row_of, unsided, with_digits
from letterkit.reading.predication import (
    BE,
    COUNTS,
    CUT,
    INCLUDING,
    VERBS,
    Pending,
    Predication,
    Said,
    is_side_of,
    is_whole,
    term_is_adjective,
)
from letterkit.reading.sites import parse
from letterkit.reading.words import words

_BEHIND = "it is told behind an exception: of which place is not sure"
_LEADS = frozenset({"on", "of", "in", "at", "the"})
BEFORE = 3  # marks before a place that may count it: 'at all four'


class LocationReading(ExtentReading):
    """Reads phrases of place."""

    def _skip_comparison(self, index: int) -> int:
        at = index + 1
        while at < len(self.marks) and self.marks[at].kind not in {
            "term",
            "state",
            "break",
            "joiner",
            "negator",
            "value",
        }:
            if self.marks[at].kind == "word" and at > index + 8:
                break
            at += 1
        amount = self.marks[at].amount if at < len(self.marks) else None
        several = [mark.kind for mark in self.marks[at : at + 3]] == ["value", "joiner", "value"]
        if several or (amount is not None and amount.kind == "trials"):
            return len(
                self.marks
            )  # '40 degrees of one and 20 of the other, compared with 70 and 75': of which is not safe
        return at

    def _location(self, index: int) -> int:
        end = self._group_end(index)
        if self.lost or (self.unknown and self._is_of_an_unknown_noun(index)):
            self._keep_side(parse(self.marks[index:end], self.catalogue))
            self.lost = False
            return end
        led = [mark.text for mark in self.marks[max(0, index - 4) : index] if mark.text != "the"]
        if led[-2:] == ["in line", "with"]:
            return end  # 'a nodule of the palm in line with the ring finger'
        if self._is_how_far(led):
            return end
        if self.marks[index].text == "other" and index and self._is_instrument(index):
            return end  # 'has to be pulled straight with the other hand'
        start = index
        while (
            start > 0
            and index - start <= BEFORE
            and (
                self.marks[start - 1].text in {"all", "any", "each"}
                or (self.marks[start - 1].kind == "word" and self.marks[start - 1].text in COUNTS)
            )
        ):
            start -= 1
        group = self.marks[start:end]
        others = self._are_others(group) or self._led_by_other(start, index)
        group = [mark for mark in group if not (others and mark.text == "other")]
        places = parse([mark for mark in group if not self._is_bare_nerve(mark, group)], self.catalogue)
        if others:
            places = self._without_named(places)
        elif self.here and any(mark.text in {"that", "those"} for mark in self.marks[max(0, start - 3) : start]):
            places = of_row(places, row_of(self.here))  # 'the PIP joints ..., that of the ring finger'
        places = self._with_other(self._of_its_part(places, group), start)
        places = places if self._is_of_neither_side(places, end) else self._filled(places)
        ahead = self._next(end)
        member = places.elsewhere and self._is_member(index, end)
        if member or (places.elsewhere and self._ends_muscles(index, ahead)):
            places = Places(tuple(place for place in places.places if place.side), places.look)
        if member and not places.places:
            return end  # and not 'left ankle and hand swelling', of which the side is ours too
        if self._opens_clause(end):
            self.pending = Pending()  # 'absent ulnar flow and the ring finger was pale': what came before is another's
        self._locate(places, [mark for mark in group if mark.kind in {"piece", "side", "value"}], ahead, (start, end))
        self.joiner = ""
        return end

    def _is_of_an_unknown_noun(self, index: int) -> bool:
        """'Clinodactyly of both little fingers, and cryptorchidism on the left': the side is of what is not known."""
        tail = self.now.tail if self.now is not None else []
        if self.marks[index].kind != "side" or not any(isinstance(each, Places) and each.side for each in tail):
            return False
        at = index - 1
        while at > 0 and self.marks[at].text in _LEADS:
            at -= 1
        noun = self.marks[at]
        if at == index - 1 or noun.kind != "word" or noun.text in words().plain or not noun.text.isalpha():
            return False
        while at > 0 and self.marks[at].kind == "word":
            at -= 1
        return self.marks[at].kind == "joiner"

    def _is_instrument(self, index: int) -> bool:
        led = next((mark for mark in reversed(self.marks[:index]) if mark.text != "the"), None)
        return led is not None and led.kind == "joiner" and led.text == "with"

    def _is_subject(self, end: int, places: Places) -> bool:
        """'redness over the elbow has settled, the wrist is still tender': after a comma a place, a verb and a term."""
        now = self.now
        if now is None or self.joiner not in {"comma", "and", "break"} or end >= len(self.marks):
            return False
        itself = any(each.term is not None and bool(each.term.state) for each in now.terms)  # 'numb'
        if not (itself or self._is_presence(now) or any(isinstance(each, Said) for each in (*now.before, *now.tail))):
            return False
        verb = self.marks[end]
        apart = now.places is not None and (not now.carried or OPPOSITE.get(now.places.side or "") == places.side)
        told = apart or bool(now.tail) or now.negated
        ahead = self._next(end + 1)
        subject = self._is_adjective_next(end + 1) or (ahead is not None and ahead.kind == "term")
        return told and verb.kind == "filler" and verb.text in BE and subject

    def _opens_clause(self, end: int) -> bool:
        """'The ring finger is normal, the thumb numb': a subject, while what came before still waits for its noun."""
        if self.pending.empty or self.joiner not in {"comma", "and", "break"}:
            return False
        if self.pending.said and self.pending.places is not None and self.pending.places.has_site:
            at = self._next_at(end)
            term = self.marks[at].term if at is not None and self.marks[at].kind == "term" else None
            if term is not None and term.state:
                return True
        if not self.unknown:
            return False
        verb = self.marks[end] if end < len(self.marks) else None
        return verb is not None and verb.kind == "filler" and verb.text in BE and self._is_adjective_next(end + 1)

    def _keep_side(self, places: Places) -> None:
        """'A positive Froment's sign and inability to sew on the left': the side of what is not known is of all."""
        now = self.now
        if not self.lost and self.here is not None and self.here.side != places.side:
            self.here = unsided(self.here)  # 'swelling of the right wrist, bracelet on the left, and redness of ...'
        if now is None or not now.terms or places.side not in {"left", "right", "both"} or now.places is not None:
            return
        if not any(isinstance(each, Places) for each in now.tail):
            now.tail.append(Places((Place(places.side),), ("the side stands at the end of the sentence",)))

    def _locate(self, places: Places, used: list[Mark], ahead: Mark | None, span: tuple[int, int]) -> None:
        """Gives a place to the term it belongs to, or keeps it for the term that comes."""
        end = span[1]
        now = self.now
        if self._is_contrary(places, ahead, end, used):
            return
        leads = ahead is not None and ahead.kind in {"term", "negator", "neither", "value", "state", "maybe"}
        apart = ahead is not None and ahead.kind in {"negator", "neither", "unexamined", "declined"}
        fresh = now is None or not now.terms
        between = self.marks[end : self._next_at(end)]
        direct = ahead is not None and ahead.kind == "term" and not any(
            (each.kind == "filler" and each.text in VERBS) or each.text in INCLUDING for each in between
        )  # fmt: skip
        if self.excepting and now is not None and not (leads and ahead is not None and ahead.kind == "term"):
            now.without.append(places)
            now.used += used
            self.excepting = False
            several = any(mark.piece is not None and mark.piece.plural for mark in used) or places.side == "both"
            looks = (*places.look, _BEHIND) if several else places.look  # '... except the thumbs, which were tender'
            self.here = replace(places, look=looks)  # '... except the ring finger, which is stiff'
        elif (
            fresh
            or not self.pending.empty
            or (leads and direct and self._apart())
            or self._is_subject(end, places)
            or self._is_owner(end)
            or (self.joiner == "break" and ahead is not None and ahead.kind == "term" and self.pending.empty)
            or self._value_then_term(end)
            or (apart and (self.joiner or self.broken))
        ):
            if self._is_side_of_it(places):
                places = replace(places, elsewhere=True)
            self.pending.places = places
            self.pending.used += used
            if fresh or not places.elsewhere:
                self.here = places
            if fresh and not places.elsewhere and not self.found:
                self.first = places
        else:
            assert now is not None
            self._append(places, now, used, ahead, span)

    def _append(
        self, places: Places, now: Predication, used: list[Mark], ahead: Mark | None, span: tuple[int, int]
    ) -> None:  # fmt: skip
        """Gives a place to the term before it."""
        start, end = span
        if self._stays_elsewhere(places, now):
            places = replace(places, elsewhere=True)
        places = self._of_the_part_before(places, now, ahead)
        if self.implied is not None and now.tail[-1:] == [self.implied] and places.has_site:
            now.tail.pop()  # 'pain with resisted wrist extension at the left elbow'
        other = self._is_of_other_side(places, now, ahead, end) or self._is_of_other_site(places, now, ahead, end)
        if other or self._is_of_spared_site(places, now, ahead, end):
            now.tail.append(CUT)
        elif self._is_told_otherwise(now, start, end):
            self._pass_over(places, now)
            return
        if (
            self.joiner
            and ahead is not None
            and ahead.kind in {"state", "value"}
            and (
                any(isinstance(each, Said) for each in now.tail)
                or self._said_by_itself(now)
                or (isinstance(now.tail[-1] if now.tail else None, Places) and self._is_unlike_the_list(ahead))
            )
        ):
            now.tail.append(CUT)
        told = [each for each in now.tail if isinstance(each, Said)]
        if told and not (self.joiner or other or told[-1].joined) and self._is_of_the_opposite(places, now):
            now.looks.append("two sides are named, and nothing joins them")  # 'left grip was weak set beside the right'
        if places.elsewhere and len(told) > 1 and now.tail[-1] is told[-1] and told[-1].joined:
            now.tail.insert(-1, CUT)  # 'reflexes are 1+, 2+ at the knees'
        if self._is_one_more(places, now) or self._is_other_side_too(places, now, ahead):
            assert now.places is not None
            now.tail.append(now.places)  # 'the left wrist was swollen, as was the elbow'
        both = now.negated and now.carried and places.side == "both" and not places.has_site
        if both and self.told_several_places():
            now.places = None  # 'swelling of the right wrist, bruising of the left elbow, no redness on either side'
        now.part_left_out = not places.has_site and self._is_led_by_of(start)
        now.tail.append(self._with_its_doubt(places, now, self.marks[end : end + 1]))
        if self.excepted_next:
            now.apart.append(places)
            self.excepted_next = False
        if other and self._is_called_normal(ahead):
            now.tail.append(Said(Mark("state", 0, 0, state=NOT_THERE)))
        now.listing = False
        now.used += used
        self.here = places if places.places or places.elsewhere else self.here  # 'over the ulnar aspect': no new place

    def _of_the_part_before(self, places: Places, now: Predication, ahead: Mark | None) -> Places:
        """A place; where it is the whole of a part named before, that part: 'MCPs 2 and 3 swollen on both hands'."""
        before: object = None
        if self._is_carrier_behind(places, now, ahead):
            before = now.tail.pop()  # '5 mm in all digits, right hand'
        elif not self.joiner and (ahead is None or ahead.kind not in {"state", "value"}) and is_whole(now, places):
            before = now.tail.pop(-2)  # 'swelling of the index finger was noted in the left hand'
        elif not (now.tail or self.joiner or now.carried) and is_side_of(now.places, places):
            before = now.places
        if not isinstance(before, Places):
            return places
        return Places(tuple(replace(each, side=places.side) for each in before.places), before.look)

    def _pass_over(self, places: Places, now: Predication) -> None:
        """'Swelling of the right wrist, a crease on the left, and redness': the last is of neither side for sure."""
        now.looks.append("what is said of the other place is not known")
        if self.here is not None and places.side and places.side != self.here.side:
            self.here = unsided(self.here)

    def _is_one_more(self, places: Places, now: Predication) -> bool:
        """Whether the place is joined to that before the term, and is no part of it."""
        if self.joiner not in {"and", "comma", "or"} or now.places is None or now.carried or now.tail:
            return False
        wholes = {place.site for place in now.places.places}
        parts = {place.site for place in places.places}
        if None in wholes | parts or places.elsewhere or now.places.elsewhere or wholes & parts:
            return False
        inside = any(
            lies_in(part, whole or "") or (part.site or "").endswith(f"_{whole}")
            for part in places.places for whole in wholes
        )  # fmt: skip
        return not inside

    @staticmethod
    def _is_of_the_opposite(places: Places, now: Predication) -> bool:
        """Whether one side stands before the term and the other one behind its result."""
        before = now.places.side if now.places is not None and not now.carried else None
        return before in OPPOSITE and places.side == OPPOSITE[before or ""]

    def _is_side_of_it(self, places: Places) -> bool:
        """'The legs show left sided weakness': a bare side behind another part of the body is a side of that part."""
        before = self.pending.places
        bare = not (places.has_site or places.elsewhere)
        return before is not None and before.elsewhere and bare and not (self.joiner or self.pending.said)

    @staticmethod
    def _stays_elsewhere(places: Places, now: Predication) -> bool:
        """'Legs R 5/5, L 3/5': a bare side behind another part of the body is a side of that part."""
        last = next((each for each in reversed(now.tail) if isinstance(each, Places)), None)
        last = now.places if last is None and not now.carried else last
        return last is not None and last.elsewhere and not places.has_site and places.side in OPPOSITE

    def _said_by_itself(self, now: Predication) -> bool:
        """'Radial nerve insensate, ulnar nerve normal': a word that is a result itself, with its own place."""
        last = now.terms[-1].term
        there = last is not None and last.adjective and self._is_presence(now) and not now.before and not now.negated
        told = last is not None and (bool(last.state) or there)  # 'the left wrist was swollen, of the elbows neither'
        return told and now.places is not None and not now.carried

    def _is_carrier_behind(self, places: Places, now: Predication, ahead: Mark | None) -> bool:
        """Whether a whole hand or arm with its side comes last, after a place of it that has none."""
        last = now.tail[-1] if now.tail else None
        whole = len(places.places) == 1 and places.places[0].site in {"hand", "upper_limb", None}
        sided = places.side in {"left", "right", "both"}
        return self.joiner == "comma" and ahead is None and whole and sided and (
            isinstance(last, Places) and last.has_site and not any(each.side for each in last.places)
        )  # fmt: skip

    def _is_member(self, index: int, end: int) -> bool:
        """'dorsalis pedis and radial pulses': another part of the body in one list with ours, and not where it is.

        It is so in 'swelling of the left knee and tenderness of the wrist'.
        """
        if (
            end + 1 >= len(self.marks)
            or self.marks[end].kind != "joiner"
            or self.marks[end].text not in {"and", "or", "slash"}
        ):
            return False
        led = [mark for mark in self.marks[max(0, index - 3) : index] if mark.text != "the"][-2:]
        told = len(led) > 1 and led[0].kind == "term" and led[1].text in words().sets["where"]
        term = self.marks[end + 1]
        return term.kind == "term" and (not told or self._is_a_muscle(term))

    def _ends_muscles(self, index: int, ahead: Mark | None) -> bool:
        """'biceps, triceps and trapezius': a muscle of another part, last in a list of ours, and not where they are."""
        if index < 2 or self.now is None or self.marks[index - 1].kind != "joiner":  # noqa: PLR2004 - a joiner and a muscle
            return False
        return self.marks[index - 2].kind in {"term", "joiner"} and self._are_muscles(self.now) and (
            ahead is None or ahead.kind != "term"
        )  # fmt: skip

    def _value_then_term(self, end: int) -> bool:
        """'MCPJ 40 FFD', 'RUE 5/5, LUE 4/5 deltoid' after another finding: place and number belong to what follows."""
        at = self._next_at(end)
        if at is None or self.marks[at].kind != "value" or not self.joiner:
            return False
        beyond = self._next(at + 1)
        if beyond is None or beyond.kind != "term" or self.now is None:
            return False
        told = any(isinstance(each, Said) for each in self.now.tail)
        return self._is_presence(self.now) or (told and bool(self.now.hints) and self._is_a_muscle(beyond))

    def _apart(self) -> bool:
        return (
            bool(self.joiner)
            or self.broken
            or any(isinstance(each, Said) for each in (self.now.tail if self.now else []))
        )

    @staticmethod
    def _are_others(group: Sequence[Mark]) -> bool:
        """'The other fingers': those that were not named, and no other side."""
        return any(
            mark.kind == "side"
            and mark.text == "other"
            and after.kind == "piece"
            and after.text in words().sets["many"]
            for mark, after in pairwise(group)
        )

    def _led_by_other(self, start: int, index: int) -> bool:
        """'4 mm in all other fingers', 'remaining digits normal'."""
        led = any(mark.text in {"other", "remaining"} for mark in self.marks[max(0, start - 1) : index])
        return led and self.marks[index].kind == "piece" and self.marks[index].text in words().sets["many"]

    def _without_named(self, places: Places) -> Places:
        """The other fingers: without those that the sentence named before."""
        told = self.now.tail if self.now is not None else []
        named = [each for each in (self.here, self.now.places if self.now else None) if each is not None]
        named += [each for each in told if isinstance(each, Places)]
        gone = {(place.site or "").rpartition("_")[2] for each in named for place in each.places}
        left = tuple(place for place in places.places if (place.site or "").rpartition("_")[2] not in gone)
        if len(left) == len(places.places) or not left:
            return Places(places.places, (*places.look, "which the others are stands elsewhere"), places.elsewhere)
        return Places(left, places.look, places.elsewhere)

    def _with_other(self, places: Places, start: int) -> Places:
        """'positive on the right and negative on the other side'; not 'pulled straight with the other hand'."""
        side = self.here.side if self.here is not None else None
        if side not in OPPOSITE or not any(place.side == "other" for place in places.places):
            return places
        led = next((mark.text for mark in reversed(self.marks[:start]) if mark.text != "the"), "")
        if led not in words().sets["where"]:
            return places
        known = (replace(each, side=OPPOSITE[side]) if each.side == "other" else each for each in places.places)
        return Places(tuple(known), places.look, places.elsewhere)

    def _of_its_part(self, places: Places, group: Sequence[Mark]) -> Places:
        """'The left wrist had a mass on its dorsum': not of the hand."""
        pieces = [mark.text for mark in group if mark.kind == "piece"]
        if self.here is None or len(pieces) != 1 or pieces[0] not in words().sets["faces"]:
            return places
        return of_the_part(places, self.here)

    def _filled(self, places: Places) -> Places:
        """A site without a side has the side said before it in the sentence, a joint without a digit the digit."""
        if self.here is not None:
            places = with_digits(places, self.here)
        side = self.here.side if self.here is not None else None
        if side is None and self.here is not None and self.here.places and any(place.side for place in places.places):
            side = self.here.places[-1].side  # 'both arms, the left elbow, wrist and hand and both index fingers'
        if side == "both" and self.here is not None and self.here.has_site and self._is_another(places, self.here):
            return places  # 'swelling of the wrists, redness of the hand'
        if side is None or not places.places or places.places[0].side or (
            any(place.side for place in places.places) and not (self.joiner and side in OPPOSITE)
        ):  # fmt: skip
            return places
        bare = next((at for at, place in enumerate(places.places) if place.side), len(places.places))
        filled = [replace(place, side=side) for place in places.places[:bare]]  # ', hand and palm and of both thumbs'
        return Places((*filled, *places.places[bare:]), places.look, places.elsewhere)

    def _is_of_neither_side(self, places: Places, end: int) -> bool:
        """'Wrist swollen on the right, elbow swollen on the left, thumb not swollen': the thumb of no one side."""
        ahead = self.marks[end] if end < len(self.marks) else None
        told = ahead is not None and (ahead.kind == "negator" or ahead.text in BE or term_is_adjective(ahead))
        bare = bool(self.joiner) and not any(place.side for place in places.places)
        return told and bare and self.sides_behind() == OPPOSITE.keys()

    def _is_another(self, places: Places, here: Places) -> bool:
        """Whether other sites are named, each of them in the singular, after some in the plural."""
        known = {place.site or place.row for place in here.places}
        plural = any(place.plural for place in here.places)
        plural = plural and all(place.site in self.catalogue.plain_sites for place in places.places)
        return plural and not known & {place.site or place.row for place in places.places}

    def _is_bare_nerve(self, mark: Mark, group: Sequence[Mark]) -> bool:
        if mark.piece is None or mark.piece.kind != "nerve":
            return False
        if any(each.piece and each.piece.kind == "site" and each.piece.slugs[0].endswith("_area") for each in group):
            return False
        near = [*self.found[-1:]]
        terms = [each for found in near for each in found.terms] + [each for each in self.marks if each.kind == "term"]
        return not any(each.term and "light_touch" in each.term.items for each in terms)
