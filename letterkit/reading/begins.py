"""Where a term begins something of its own, and the result it brings with it: by 'a', by 'there is', by an 'and'."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection
from itertools import takewhile

from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, value_of
from letterkit.reading.phrases import POSITIVE
from letterkit.reading.predication import (
    BE,
    MODIFIERS,
    THERE_IS,
    Predication,
    Said,
    acts,
    is_asserted,
    is_called_so,
    is_told_of_a_part,
    term_is_adjective,
)
from letterkit.reading.results import ResultReading
from letterkit.reading.said import amounts_of
from letterkit.reading.words import words

_ARTICLES = frozenset({"a", "an"})
_POWER = ("weak", "not weak", "strong")


class BeginningReading(ResultReading):
    """Asks whether a term stands alone, and what is said of it before it is read."""

    def _is_of_its_own(self, mark: Mark, now: Predication, index: int) -> bool:
        """'Not draining, and smaller tophi of the thumb'; 'clubbing, a tender nodule of the pad': each has its own."""
        if now.negated and self.joiner == "and" and term_is_adjective(now.terms[0]) and not term_is_adjective(mark):
            return True
        if now.negated or not self.joiner or now.before or now.tail or not index:
            return False
        at = index - 1
        while at > 0 and self.marks[at].kind in {"severity", "certain", "side"}:
            at -= 1
        first = bisect_left(self.marks, now.terms[0].start, key=lambda each: each.start)
        led = any(each.text in _ARTICLES for each in self.marks[max(0, first - 3) : first])
        led = led or (
            self.joiner == "and" and any(each.text in THERE_IS for each in self.marks[max(0, first - 3) : first])
        )
        shared = any(each.text in {"were", "are"} for each in self._to_the_joiner(index + 1))
        return self.marks[at].text in _ARTICLES and not led and not now.places and not shared

    def _is_denied_no_more(self, index: int) -> str:
        """'Not red and slightly swollen', 'not red and was warm': behind 'and', a degree or a verb tells what is there.

        Gives what tells so, '?' where it is a word that a denial may share ('no swelling and obvious redness'), or ''.
        """
        if self.joiner in {"and", "comma"} and self.pending.negator is None and self._tells_itself(index):
            return "sign"
        if self.joiner != "and" or self.pending.negator is not None:
            return ""
        told = ""
        for mark in reversed(self.marks[max(0, index - 7) : index]):
            if mark.kind == "joiner":
                return told if mark.text == "and" else ""
            if mark.kind == "severity":
                told = "?" if mark.word in words().sets["also_denied"] else "severity"
            elif mark.text in BE | THERE_IS | words().sets["owns"]:
                told = "verb"
            elif mark.text in words().sets["also_denied"]:
                told = told or "?"
            elif mark.kind not in {"side", "piece", "filler", "certain"}:
                return ""
        return ""

    def _is_begun(self, index: int, now: Predication) -> bool:
        """'No swelling, mild tenderness', 'no clawing, early wasting': a degree behind a denial and a comma.

        What has begun is there, unless the first one is denied in such words too; 'no swelling, obvious wasting' may be
        meant either way: for a look.
        """
        if not now.negated or self.joiner != "comma" or self.list_end[index]:
            return False
        if self.pending.severity:
            return True
        led = self.marks[index - 1] if index and self.marks[index - 1].kind == "certain" else None
        if led is None:
            return False
        sets = words().sets
        first = bisect_left(self.marks, now.terms[0].start, key=lambda each: each.start)
        same = any(each.kind == "certain" for each in self.marks[max(0, first - 2) : first])
        if not same and led.word in sets["begun"]:
            return True
        if not same and led.word in sets["also_denied"]:
            now.looks.append(f"{led.word!r} after a denial")
        return False

    def _tells_itself(self, index: int) -> bool:
        """'No swelling, tenderness ++', 'no tremor, tone up': a sign or a word of its own behind its noun."""
        after = self.marks[index + 1] if index + 1 < len(self.marks) else None
        sign = after is not None and after.kind == "state" and after.text.startswith("+")
        return sign or self.marks[index].text.endswith(words().affixes["told_behind"])

    def _is_one(self, now: Predication) -> bool:
        """Whether an article leads what is spoken of: 'with a prominent ulnar head'."""
        first = bisect_left(self.marks, now.terms[0].start, key=lambda each: each.start)
        return any(each.text in _ARTICLES for each in self.marks[max(0, first - 3) : first])

    def _to_the_joiner(self, index: int) -> list[Mark]:
        """'Itching and a vein of the wrist were present': what follows up to the next joiner."""
        return list(takewhile(lambda each: each.kind not in {"joiner", "break", "term"}, self.marks[index:]))

    def _has_own_subject(self, index: int) -> bool:
        """'oozing blood, the limb was swollen': after a comma a subject not known, and a verb before the term."""
        before = [each for each in self.marks[max(0, index - 6) : index] if each.kind not in {"certain", "severity"}]
        if not before or before[-1].kind != "filler" or before[-1].text not in {"is", "was", "are", "were"}:
            return False
        for mark in reversed(before[:-1]):
            if mark.kind == "joiner":
                return mark.text == "comma" and any(each.kind == "word" and each.start > mark.start for each in before)
            if mark.kind not in {"word", "filler"}:
                return False
        return False

    def _shared_result(self, mark: Mark, now: Predication | None, index: int) -> list[Said]:
        """'4/5 in the left biceps and left wrist extensors': muscles with a side each, and one result for both."""
        at = index - 1
        while at > 0 and self.marks[at].kind in {"side", "filler", "certain"}:
            at -= 1
        joined = self.marks[at].kind == "joiner" and self.marks[at].text in {"and", "or"}
        if now is None or not joined or self.pending.places is None or self.pending.negator:
            return []
        if not self._is_a_muscle(mark) or not self._are_muscles(now) or now.negated:
            return []
        ahead = self._next(index + 1, MODIFIERS | {"side", "piece"})
        if ahead is not None and ahead.kind in {"state", "value", "negator"}:
            return []
        told = now.before or [each for each in now.tail if isinstance(each, Said)]
        told_first = bool(now.before) or now.listing
        return list(told) if told_first else []

    def _called_there(self, mark: Mark, index: int) -> list[Said]:
        """'There is a Tinel's sign at the elbow': a sign of a test that is there is positive."""
        if value_of(mark, self.catalogue) is not ValueKind.TEST or self.pending.maybe:
            return []
        at = index - 1
        while at >= 0 and self.marks[at].kind in {"side", "severity", "certain"}:
            at -= 1
        article = at >= 0 and self.marks[at].text in {"a", "an"}
        at -= article
        there = at >= 0 and self.marks[at].text in THERE_IS
        behind = list(takewhile(lambda each: each.kind != "break", self.marks[index + 1 :]))
        hurts = mark.text.startswith(words().affixes["pain"]) and not any(
            each.kind in {"state", "value", "maybe"} for each in behind
        )  # 'pain on ulnar deviation'
        several = (
            mark.text.endswith("signs") and at >= 0 and self.marks[at].text == "with"
        )  # 'with bilateral ... signs'
        sign = (there or article or several) and mark.text.endswith(("sign", "signs"))
        had = there or article or (at >= 0 and self.marks[at].text in words().sets["owns"])
        told = any(each.kind in {"state", "value", "maybe", "negator"} for each in behind)
        bare = had and not told and mark.text.startswith("tinel") and bool(self.marks[index + 1 :])
        if not (hurts or sign or bare):
            return []
        return [Said(Mark("state", 0, 0, state=POSITIVE))]

    def _is_graded_itself(self, now: Predication, index: int) -> bool:
        """'4/5 in the interossei and biceps, grip is 5/5', '... and the grip was normal': no more of that list."""
        if self.joiner not in {"comma", "and"} or not amounts_of(now.before):
            return False
        verb, result = self._verb_and_result(index, {"filler", "piece", "side"})
        if result is None or result.kind == "value":
            return result is not None
        return verb and result.state is not None and bool(set(result.state.classes) - {"present"})

    def _has_own_result(self, index: int) -> bool:
        """Whether a result stands right behind the term."""
        return index + 1 < len(self.marks) and self.marks[index + 1].kind in {"state", "value"}

    def _verb_and_result(self, index: int, inside: Collection[str]) -> tuple[bool, Mark | None]:
        """Whether a verb of being comes behind the term with only such marks between, and what follows it or them."""
        ahead = self.marks[index + 1 : index + 9]
        at = next((at for at, each in enumerate(ahead) if each.text in BE or each.kind not in inside), len(ahead))
        return (
            at < len(ahead) and ahead[at].text in BE,
            next((each for each in ahead[at:] if each.kind not in {"filler", "certain"}), None),
        )

    def _has_own_verb(self, index: int) -> bool:
        """Whether the term at `index` is led by 'and the' or ', the', and a verb with a result of its own follows."""
        led = [each.text for each in self.marks[max(0, index - 2) : index]]
        if led not in (["and", "the"], ["comma", "the"]) and led[-1:] != ["and"]:
            return False
        verb, result = self._verb_and_result(index, {"filler", "piece", "side", "word", "certain"})
        if result is not None and result.kind == "term":
            return verb and term_is_adjective(result)  # 'no wasting and the scar was tender'
        told = {"state", "severity", "value"} if led[-1:] == ["the"] else {"severity"}  # 'and tenderness was slight'
        return verb and result is not None and result.kind in told

    def _is_told(self, mark: Mark, now: Predication) -> bool:
        """'The wrist was swollen and sensation was lost': what is said of the wrist is no noun of a list."""
        if not self.joiner or now.negated:
            return False
        if term_is_adjective(mark):
            return self._is_before_its_part(mark, now)
        last = now.terms[-1]
        if acts(last):
            return not acts(mark)  # 'the nerve subluxes and the triceps reflex was absent', and no 'clicks and locks'
        if self._is_told_of_its_place(mark, now):
            return True
        return is_told_of_a_part(self.marks, last) or is_called_so(self.marks, last)

    def _is_before_its_part(self, mark: Mark, now: Predication) -> bool:
        """'Left wrist nontender and numb little finger': a word right before another part, behind one of the first."""
        at = bisect_left(self.marks, mark.end, key=lambda each: each.start)
        behind = self.marks[at] if at < len(self.marks) else None
        placed = now.places is not None and not now.carried and now.places.has_site
        return placed and mark.start < mark.end and behind is not None and behind.kind == "piece"

    def _is_told_of_its_place(self, mark: Mark, now: Predication) -> bool:
        """'Left wrist swollen and radial pulse absent', 'left thenar wasting, triceps jerk absent': a finding behind
        its place, and no more of a list with a function.
        """
        if now.before or now.places is None or now.carried or now.places.elsewhere:
            return False
        if value_of(mark, self.catalogue) is ValueKind.PRESENCE or (mark.term is not None and mark.term.state):
            return False
        last = now.terms[-1]
        itself = term_is_adjective(last) or (last.term is not None and bool(last.term.state))  # 'pale', 'cold'
        return itself or value_of(last, self.catalogue) is ValueKind.PRESENCE

    def _is_called_apart(self, mark: Mark, now: Predication, index: int) -> bool:
        """Whether a result behind the term at `index` is its own: of another kind, or behind what is there at all."""
        verb, result = self._verb_and_result(index, {"filler", "piece", "side", "certain"})
        lacks = now.negated and any(each.text in words().sets["lacking"] for each in now.used)
        if lacks and value_of(mark, self.catalogue) is ValueKind.TEST:
            return True  # 'the elbow lacks extension and percussion of the nerve brought on tingling'
        if not self.joiner or not verb or result is None or result.kind not in {"state", "value"}:
            return False
        if now.negated:
            return lacks  # 'the elbow lacks extension and grip was weak'
        first = now.before[0].mark if now.before else None
        if first is not None and is_asserted(self.marks, first):
            return True  # 'there was weakness of the triceps and the triceps reflex was lost'
        noted = result.state is not None and "present" in result.state.classes
        other = value_of(mark, self.catalogue) is not value_of(now.terms[-1], self.catalogue)
        return bool(now.before) and not noted and other

    def _is_of_power(self, made: Predication, index: int) -> bool:
        """'The biceps reflex was absent, the triceps was weak', '... there was weakness of the triceps': no reflex."""
        passed = {"filler", "certain", "severity", "side", "piece", "negator"}
        behind = next((each for each in self.marks[index + 1 :] if each.kind not in passed), None)
        said = [
            *[each.mark for each in made.before if each.mark is not None],
            *([behind] if behind is not None else []),
        ]
        return any(mark.kind == "state" and mark.text.startswith(_POWER) for mark in said)
