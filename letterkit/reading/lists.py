"""Terms of a sentence: which go on with a list, which take over from a mere heading, and which begin anew."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import replace

from letterkit.catalogue.model import ValueKind
from letterkit.reading.felt import FeelingReading
from letterkit.reading.marks import NAMES_SIDE, Mark, value_of
from letterkit.reading.parting import PARTS
from letterkit.reading.phrases import Term
from letterkit.reading.places import Place, Places
from letterkit.reading.predication import (
    BE,
    HEADS,
    Pending,
    Predication,
    Said,
    is_asserted,
    is_called_so,
    term_is_adjective,
)
from letterkit.reading.said import amounts_of
from letterkit.reading.words import words

_DENIED = frozenset({"stable", "absent", "negative"})
_PLURAL = frozenset({"are", "were"})
_GRIP = frozenset({"grip_strength", "grip_unmeasured"})


def _are_graded(now: Predication) -> bool:
    """'4/5 in the right triceps and reflexes 2+': a grade out of five is of power."""
    return any(each.kind == "grade" for each in amounts_of(now.before))


def _side_of_itself(mark: Mark) -> str:
    """'Generalised hypotonia': of both sides, as its own words say."""
    return (mark.term.side or "") if mark.term is not None else ""


class TermReading(FeelingReading):
    """Reads terms."""

    def _term(self, mark: Mark, index: int) -> None:
        term = mark.term
        assert term is not None
        now = self.now
        if now is not None and now.terms and self._absorbs(mark, now, index):
            return
        if "power" in mark.hints or "reflex" in mark.hints:
            self.pending.hints.update(mark.hints)
        heads = now is not None and not now.before and not self.excepting  # no '5/5 in both arms except in the triceps'
        if now is not None and heads and self._only_heads(now, mark) and self._leads_to(now, index):
            if self._is_of_the_legs(now):
                self.here = None
                self._start(mark, index)
            else:
                self._replace_head(now, mark)
        elif now is None or self._begins(mark, now, index):
            self._start(mark, index)
        else:
            if self._is_power_among_muscles(mark, now):
                now.hints.add("power")
            now.terms.append(mark)
            now.commas = self.joiner == "comma"
            now.used += [*self.pending.used, mark]
            now.hints |= self.pending.hints
            self.pending = Pending()
        self.pain = mark if term.pain else None
        self.broken = self.colon = False

    def _is_of_the_legs(self, now: Predication) -> bool:
        """'Reflexes are absent at the knees and 1+ at the biceps': what was told is of no arm."""
        told = any(isinstance(each, Said) for each in now.tail)
        legs = any(isinstance(each, Places) and each.elsewhere for each in now.tail)
        return told and legs and bool(self.pending.said)

    def _absorbs(self, mark: Mark, now: Predication, index: int) -> bool:
        """Whether the term is no finding of its own but part of what the one before says."""
        answered = any(isinstance(each, Said) for each in now.tail)
        open_to = not answered or (mark.state is not None and self._is_further_state(mark, now))
        last = now.terms[-1].term
        placed = index > 0 and self.marks[index - 1].kind in {"piece", "side"} and last is not None and bool(last.state)
        again = (now.negated or placed) and mark.term is not None
        again = again and bool(mark.term and mark.term.state)  # 'no numbness ..., right thumb numb'; 'sensate ... numb'
        if mark.state is not None and open_to and not again and self._is_result_of(mark, now):
            self._result(mark, index)
            return True
        if self._is_provoked(mark, now):
            assert mark.term is not None
            tested = replace(mark.term, state="positive")
            now.terms[-1] = Mark("term", now.terms[-1].start, mark.end, term=tested, text=mark.text)
            self.pain = None
        elif self.pain is not None and self._moves(mark) and self.pain in now.terms and not (
            self._pain_has_ended() or self._is_of_another(index) or (mark.term and mark.term.state) or self.pending.said
            or any(not isinstance(each, Places) for each in now.tail)
            or (now.tail and self.marks[index - 1].kind not in {"piece", "side"})
        ) and (
            not self._is_result_of_its_own(index) if self.joiner else now.terms[-1] is self.pain
        ):  # fmt: skip
            now.motions.append(mark.text)  # 'pain on supination': the movement is part of the term
            joint = next((name for name in ("wrist", "elbow") if mark.text.startswith(name)), "")
            joint = "wrist" if mark.text.endswith("of the wrist") else joint
            if joint and not now.tail:
                self.implied = Places((Place(self.here.side if self.here else None, joint),))
                now.tail.append(self.implied)
        elif mark.hints and now.tail and isinstance(now.tail[-1], Said) and not self.joiner and self._have_power(now):
            now.hints.update(mark.hints)  # 'biceps 5/5 power', 'wrist extensors were full strength'
        elif "reflex" in mark.hints and not (now.tail or _are_graded(now)) and self._are_muscles(now):
            now.hints.update(mark.hints)  # 'biceps, triceps reflexes'
        elif self._is_how_alone(mark, now, index):
            now.terms[-1] = self.felt = mark
        elif self.felt in now.terms and self._is_felt_too(mark, index):
            now.terms.append(mark)
        elif self._says_how(mark, now, index) or self._is_what_wasted(mark, now):
            pass
        elif now.terms[-1].hints and not mark.hints and index and self.marks[index - 1] is now.terms[-1]:
            now.terms[-1] = mark  # 'motor atrophy': the first word only says of what kind
        else:
            return False
        now.used.append(mark)
        return True

    def _pain_has_ended(self) -> bool:
        """'Left wrist painful, right wrist flexion 40': of a part, and on no movement that follows."""
        if self.pain is None or not term_is_adjective(self.pain):
            return False
        at = bisect_left(self.marks, self.pain.end, key=lambda each: each.start)
        return at < len(self.marks) and self.marks[at].kind in PARTS

    def _is_of_another(self, index: int) -> bool:
        """'Left wrist flexion painful, right wrist flexion 40': behind a joiner and a side, with its own result."""
        at = next((at for at in range(index - 1, 0, -1) if self.marks[at].kind not in NAMES_SIDE), index)
        joined = at < index - 1 and self.marks[at].kind in PARTS | {"filler"}
        return joined and (self._has_own_result(index) or self._is_result_of_its_own(index))

    def _is_result_of_its_own(self, index: int) -> bool:
        """'No pain on flexion, extension is full': the second movement has a verb and a result."""
        if self._pain_has_ended():
            return True
        after = self.marks[index + 1].amount if index + 1 < len(self.marks) else None
        if after is not None and after.unit == "deg" and self.joiner == "comma":
            return True
        verb, result = self._verb_and_result(index, {"filler", "piece", "side"})
        hurts = result is not None and result.state is not None and "painful" in result.state.classes
        return verb and result is not None and result.kind in {"state", "value"} and not hurts

    def _is_what_wasted(self, mark: Mark, now: Predication) -> bool:
        """'no wasting of the thenar bulk on either side': the bulk is what wasted, and nothing of its own."""
        last = now.terms[-1].term
        return (
            last is not None
            and mark.term is not None
            and "muscle_bulk" in mark.term.items
            and any(slug.endswith("_wasting") for slug in last.items)
            and not self.joiner
            and not any(isinstance(each, Said) for each in now.tail)
        )

    def _is_power_among_muscles(self, mark: Mark, now: Predication) -> bool:
        """'biceps, triceps and finger abduction': a movement in a list of muscles is its power."""
        if not self._are_muscles(now) or mark.term is None or "reflex" in now.hints:
            return False
        return any(self.catalogue.items[slug].stage.value == "movement" for slug in mark.term.items)

    def _is_called_itself(self, now: Predication, index: int) -> bool:
        """'The elbow had reduced extension, and extension of the wrist was weak': a result before, and one behind."""
        led = [each for each in self.marks[max(0, index - 6) : index] if each.kind not in {"side", "piece", "hint"}]
        texts = [each.text for each in led if each.text != "the"]
        said = texts[-1:] in (["and"], ["comma"]) and self._is_presence(now)
        said = said and is_asserted(self.marks, now.terms[-1])
        valued = texts[-1:] == ["and"] and bool(amounts_of(now.before))  # '4/5 in triceps, and biceps is 5/5'
        if not (said or valued or (now.before and texts[-2:] == ["comma", "and"])) or now.negated:
            return False
        verb, result = self._verb_and_result(index, {"filler", "piece", "side", "certain", "joiner", "term"})
        denied = result is not None and (result.kind == "negator" or result.text in words().sets["not_there"])
        plural = any(each.text in _PLURAL for each in self.marks[index + 1 : index + 9])
        if said and verb and denied and (texts[-2:] == ["comma", "and"] or plural):
            return True  # 'there is wasting, and clawing of the ring and little fingers is not present'
        verb, result = self._verb_and_result(index, {"filler", "piece", "side", "certain"})
        if valued and (result is None or result.kind != "value"):
            return False
        if result is None or result.kind not in {"state", "value"}:
            return False
        classes = set(result.state.classes) if result.state is not None else set()
        if said and "absent" in classes and not self._is_finding(self.marks[index]):
            return True  # 'the wrist shows some swelling and sensation lost'
        return verb and "present" not in classes

    def _is_parted(self, mark: Mark, lead: Mark, now: Predication, index: int) -> bool:
        """'There is a drift and the grip is weak': what is there, and a function with a result of its own."""
        if not self.joiner or now.negated or now.before or now.tail:
            return False
        if value_of(lead, self.catalogue) is not ValueKind.PRESENCE or self._is_finding(mark):
            return False
        ahead = self.marks[index + 1 : index + 8]
        verb = next((at for at, each in enumerate(ahead) if each.kind == "filler" and each.text in BE), len(ahead))
        result = next((each for each in ahead[verb:] if each.kind in {"state", "value"}), None)
        classes = set(result.state.classes) if result is not None and result.state is not None else set()
        led = [each.text for each in self.marks[max(0, index - 3) : index] if each.text != "the"]
        if led[-2:] == ["comma", "and"] and value_of(mark, self.catalogue) is not ValueKind.TEST:
            return result is not None  # 'caused pain, and touch was not felt'
        if self._is_one(now) and "present" not in classes:
            return result is not None  # 'a lump, and extension was lost'
        return result is not None and not classes & {"absent", "present", "negative", "positive"}

    def _is_told_apart(self, mark: Mark, lead: Mark, now: Predication, index: int) -> bool:
        """'no pain on pronation, pain on supination'; 'thenar wasting, Tinel's negative': each has its own result."""
        if mark.term is not None and mark.term.pain and now.negated and now.motions and self.joiner == "comma":
            return True
        if now.negated or self.joiner not in {"comma", "and"} or now.before:
            return False
        first, own = (each.term.state if each.term is not None else "" for each in (lead, mark))
        if self.joiner == "and" and first in _DENIED and not own:
            return True  # 'the nerve does not sublux and Tinel's is positive'
        if self.joiner == "and" and any(each.text in _PLURAL for each in self.marks[index + 1 : index + 4]):
            return False  # 'the tenderness and Finkelstein's were absent'
        kinds = (value_of(mark, self.catalogue), value_of(lead, self.catalogue))
        return kinds == (ValueKind.TEST, ValueKind.PRESENCE)

    def _have_power(self, now: Predication) -> bool:
        """Whether all that is spoken of are muscles, or movements with a power of their own."""
        return self._are_muscles(now) or all(each.term is not None and self._has_power(each.term) for each in now.terms)

    def _has_power(self, term: Term) -> bool:
        """Whether the movement has a power of its own: wrist extension, finger abduction."""
        powers = {f"{slug}_power" for slug in term.items}
        siblings = {other for group in words().siblings if set(group) & set(term.items) for other in group}
        return any(
            self.catalogue.items[slug].value is ValueKind.MRC
            for slug in powers | siblings
            if slug in self.catalogue.items
        )

    def _begins(self, mark: Mark, now: Predication, index: int) -> bool:
        """Whether the term begins a predication of its own."""
        if now.negated and self._is_denied_no_more(index):
            return True
        waits = not self.pending.empty and not (self.pending.only_maybe and now.maybe and self.joiner)
        if not now.terms or (now.tail and not now.listing) or self.broken or waits:
            return True
        if (self.opinion and not now.opinion) or self._has_own_side(now, index) or self._is_graded_itself(now, index):
            return True
        if self._is_placed_apart(mark, now):
            return True
        if self.joiner and self.pain in now.terms and self._moves(mark) and self._is_result_of_its_own(index):
            return True
        denied = not now.negated and self._is_finding(mark) and self._is_in_denied_list(index)
        if denied or self._has_own_subject(index) or self._is_called_itself(now, index) or self._is_told(mark, now):
            return True
        if now.places is not None and now.places.elsewhere and not now.carried:
            return True
        if _side_of_itself(now.terms[-1]) != _side_of_itself(mark):
            return True  # 'generalised hypotonia and a tremor of the left hand'
        return not self._continues(mark, now, index)

    def _is_provoked(self, mark: Mark, now: Predication) -> bool:
        """'pain on axial loading of the thumb': a test that hurts is positive."""
        if self.pain is None or now.tail or self.joiner or now.terms[-1] is not self.pain:
            return False
        return value_of(mark, self.catalogue) is ValueKind.TEST

    def _only_heads(self, now: Predication, mark: Mark) -> bool:
        """Whether the term before is only the kind of what comes: 'power: APB', 'reflexes: biceps'."""
        last = now.terms[-1] if now.terms else None
        if (
            last is not None
            and last.text in words().sets["movement_heads"]
            and not now.tail
            and not self.joiner
            and self._moves(mark)
        ):
            return True  # 'range of motion is flexion 135 degrees, extension 0 degrees'
        if last is not None and last.text in HEADS and self.pending.said and not now.tail and len(now.terms) == 1:
            return True  # 'sensory examination shows decreased pinprick'
        if last is None or not last.hints or mark.hints or self.joiner == "and" or mark.term is None:
            return False
        kinds = {self.catalogue.items[slug].value for slug in mark.term.items}
        kind = ValueKind.MRC if "power" in last.hints else None
        if kind is not None and not self.broken and (_GRIP & set(mark.term.items) or self._has_power(mark.term)):
            return True  # 'strength is 4/5 in the right hand grip', '... in wrist extension'
        return (kind in kinds) or (
            "reflex" in last.hints and any("reflex" in slug or "power" in slug for slug in mark.term.items)
        )

    def _leads_to(self, now: Predication, index: int) -> bool:
        """'reflexes: biceps', and with the result in between 'reflexes are 1+ at the biceps'."""
        if not now.tail:
            return not self.broken or self.colon
        return self.joiner in {"", "comma"} and any(
            mark.text in {"at", "in", "of", "only"} for mark in self.marks[max(0, index - 3) : index]
        )

    def _replace_head(self, now: Predication, mark: Mark) -> None:
        now.hints |= set(now.terms[-1].hints) | self.pending.hints
        now.terms[-1] = mark
        now.listing = bool(now.tail)
        self.broken = False
        now.before += self.pending.said
        now.used += [*self.pending.used, mark]
        if self.pending.places and now.tail:
            now.tail.append(self.pending.places)  # 'strength is 4/5 in the right grip and 5/5 in the left'
        elif self.pending.places:
            now.places = self.pending.places
        self.pending = Pending()

    def _is_result_of(self, mark: Mark, now: Predication) -> bool:
        """'sensation was numb', 'APB weakness': a word that is a term elsewhere and a result here."""
        assert mark.state is not None
        if not now.terms or mark.term is None or (self.joiner and not self._is_further_state(mark, now)):
            return False
        for each in now.terms:
            assert each.term is not None
            for slug in each.term.items:
                item = self.catalogue.items[slug]
                if (
                    slug in mark.state.items
                    or item.scale in mark.state.scales
                    or (item.value is ValueKind.MRC and mark.state.classes)
                ):
                    return True
        return False

    def _is_further_state(self, mark: Mark, now: Predication) -> bool:
        """'the colour was blue on the right and red on the left': after one state of a scale comes another of it."""
        assert mark.state is not None
        items = [self.catalogue.items[slug] for each in now.terms if each.term for slug in each.term.items]
        scales = {item.scale for item in items if item.scale} & set(mark.state.scales)
        told = [each.mark.state for each in now.tail if isinstance(each, Said) and each.mark and each.mark.state]
        return self.joiner == "and" and any(scales & set(state.scales) for state in told)

    def _continues(self, mark: Mark, now: Predication, index: int) -> bool:
        assert mark.term is not None
        lead = next((each for each in now.terms if each.term and each.term.items), now.terms[0])
        first = lead.term
        assert first is not None
        if now.negated and self.joiner and self._denies_lists(now):
            return True
        if self.joiner in {"slash", "and", "or"} and not (mark.term.items and first.items):
            return True  # 'FNF/HKS/RAM': a test of the legs among those of the arms
        if (now.negated or now.before) and self._is_finding(mark) != self._is_finding(lead):
            return False  # 'no foreign body, capillary refill 2 s', 'decreased movement and swelling'
        if self._is_of_its_own(mark, now, index) or self._is_parted(mark, lead, now, index):
            return False
        if self._is_called_apart(mark, now, index) or (now.negated and self._has_own_verb(index)):
            return False  # 'no deformity, and the swelling around the wound is only mild'
        if self.joiner == "comma" and (
            (self._is_finding(lead) and not self._is_finding(mark) and self._is_found_before(lead, now, index))
            or (now.before and not now.negated and self._has_own_result(index))
        ):
            return False  # 'hand swollen, grip reduced'; 'swelling, range full'; 'incomplete extension, flexion full'
        if now.negated and self._is_sound(mark) and not self._is_sound(lead):
            return False  # 'no effusion, full ROM', 'no deformity, skin intact'
        if self.unknown > 2 or self._is_told_apart(mark, lead, now, index):  # noqa: PLR2004 - more unknown words than a list has
            return False
        if not self.joiner:
            parted = self._is_a_muscle(lead) and not self._is_a_muscle(mark)  # 'the biceps had a Popeye deformity'
            return mark.term.adjective == first.adjective and not parted
        if self.joiner == "comma" and self._has_told(now, first) and not mark.term.state and not now.negated:
            return False  # 'full range, Spurling's negative': the first has said its result
        if self._is_begun(index, now):
            return False  # 'no swelling, mild tenderness'
        if now.negated and self.joiner == "comma":
            return mark.term.adjective == first.adjective and not (
                mark.term.state and not first.state and mark.term.adjective
            )
        return True

    def _is_found_before(self, lead: Mark, now: Predication, index: int) -> bool:
        """'Swollen, grip ...', 'swelling, range full': it is there, and the result is of the function behind it alone.

        'Swelling, power absent' may deny both, and in 'deformity, range normal' both may have been looked at.
        """
        if term_is_adjective(lead):
            return True
        if now.negated or not self._has_own_result(index):
            return False
        told = self.marks[index + 1].state
        both = self.marks[index + 1].text == "normal" or (told is not None and {"absent", "present"} & {*told.classes})
        return not both

    def _has_told(self, now: Predication, first: Term) -> bool:
        """'Full range, Spurling's negative', 'C spine full ROM, Spurling's negative': a result was said by a name."""
        return bool(first.state) or any(map(self._is_sound, now.terms))

    @staticmethod
    def _only_qualities(pending: Pending) -> bool:
        """'Blisters and superficial burns of the hand': what waits for the second term says how it is, and no more."""
        marks = [each.mark for each in pending.said if each.mark is not None]
        return bool(marks) and all(mark.state is not None and not mark.state.classes for mark in marks)

    def _start(self, mark: Mark, index: int) -> None:
        pending, now = self.pending, self.now
        if pending.negator is not None and self.joiner in {"and", "comma"} and self._is_sound(mark):
            pending.negator = None  # 'not bulky and nontender', 'not rotated and does not overlap'
        made = Predication(terms=[mark], used=[*pending.used, mark])
        adjoins = now is not None and now.negated and index > 0 and self.marks[index - 1] is now.terms[-1]
        made.negated = pending.negator is not None or adjoins  # 'no thumb flexion weakness'
        made.before = pending.said if made.negated or pending.said else self._called_there(mark, index)
        made.before = made.before or self._shared_result(mark, now, index)
        made.maybe, made.unexamined = pending.maybe, pending.unexamined
        made.severity, made.mode, made.fixed, made.hints = (
            pending.severity,
            pending.mode,
            pending.fixed,
            set(pending.hints),
        )
        made.opinion = self.opinion
        made.looks += pending.looks
        if now is not None and now.hints and not made.hints:
            made.hints |= now.hints
        if now is not None and not made.hints and self._are_reflexes(now) and not self._is_of_power(made, index):
            made.hints.add("reflex")  # 'triceps reflex absent, biceps 2+'
        self._reach(made, mark, index)
        self._place(made, mark, index)
        if self.excepting:
            self._excepted(made, mark, index, denied=pending.negator is not None)
        if (
            now is not None
            and self.joiner
            and not now.tail
            and not now.places
            and now.negated == made.negated
            and not is_called_so(self.marks, now.terms[-1])
            and not _side_of_itself(now.terms[-1])
            and (self._is_finding(mark) != self._is_finding(now.terms[0]) or self._only_qualities(pending))
        ):
            made.twin = now  # 'reduced movement and swelling of the wrist'
        elif (
            now is not None
            and now.terms
            and now.negated == made.negated  # no 'the left scar is red and there is no swelling of the right hand'
            and now.terms[0].term
            and now.terms[0].term.adjective
            and not (now.tail or self.joiner or self.unknown > 1 or term_is_adjective(mark) or pending.places)
            and (now.places is None or now.carried)
        ):
            made.twin = now  # 'erythematous rash on the wrist': both are there
        self.found.append(made)
        self.now = made
        self.pending = Pending()
