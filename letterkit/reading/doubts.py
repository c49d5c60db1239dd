"""What makes a finding uncertain, compares it with another day, or says that it was not looked for."""

from __future__ import annotations

from bisect import bisect_left

from letterkit.reading.marks import Mark
from letterkit.reading.predication import CUT, Predication, Said
from letterkit.reading.sentence import SentenceState
from letterkit.reading.words import words

BEFORE_ONLY = frozenset({"?", "possible", "query", "probable", "whether"})


class DoubtReading(SentenceState):
    """Reads doubts, comparisons and what was not examined."""

    def _is_late(self) -> bool:
        """Whether what comes now still speaks of the term before."""
        return self.now is not None and self.pending.empty and not self.joiner

    def _ends_with(self, mark: Mark) -> bool:
        """'..., possibly': a doubt after all that was said is about what was said last."""
        told = self.pending.empty and self.now is not None and bool(self.now.terms)
        return told and not any(
            each.kind in {"term", "state", "value", "negator", "piece", "side", "word"} and each.start > mark.start
            for each in self.marks
        )

    def _doubt(self, mark: Mark) -> None:
        """Reads what makes a finding uncertain, a comparison, or none at all."""
        now = self.now
        match mark.kind:
            case "maybe":
                self._maybe(now, mark)
            case "unexamined" | "declined" if now is not None and self._is_of_what_is_unknown(now):
                pass
            case "unexamined" | "declined" if now is not None and not self._leads_on(now, mark):
                if now.terms and self._is_of_another_side(now, mark):
                    now = self._another_place(now)  # 'positive on the right, not tested on the left'
                now.unexamined = True
                now.declined = now.declined or mark.kind == "declined"
                now.used.append(mark)
            case "unexamined" | "declined":
                self.pending.unexamined = True
                self.pending.used.append(mark)
            case "double":
                if now is not None:
                    now.looks.append("a double negation")
                self.pending.maybe = True
            case "pseudo" if now is not None and now.terms and self._is_late():
                now.looks.append(f"{mark.text!r} compares with an earlier time")  # 'the swelling has gone down'
                self.broken = True  # 'bruising improved, redness settled'
            case _:
                if mark.text != "not only":
                    self.pending.looks.append(f"{mark.text!r} compares with an earlier time")
                if mark.kind == "no_longer":
                    self.pending.negator = mark

    def _maybe(self, now: Predication | None, mark: Mark) -> None:
        """Gives a doubt to the place after it, to what was said before, or to the term that comes."""
        if now is not None and self._doubts_a_place(now, mark):
            now.tail += [CUT, Said(mark)]  # 'blunted in the index, questionable in the middle, normal in the thumb'
            now.used.append(mark)
        elif now is not None and ((self._is_late() and mark.text not in BEFORE_ONLY) or self._ends_with(mark)):
            now.maybe = True
            now.used.append(mark)
        else:
            self.pending.maybe = True
            self.pending.used.append(mark)

    def _doubts_a_place(self, now: Predication, mark: Mark) -> bool:
        """Whether the doubt is about the place right after it, where results were given for others before."""
        if not self.joiner or not self.pending.empty or not any(isinstance(each, Said) for each in now.tail):
            return False
        at = bisect_left(self.marks, mark.end, key=lambda each: each.start)
        kinds = [each.kind for each in self.marks[at:]]
        run = next((i for i, kind in enumerate(kinds) if kind not in {"filler", "side", "piece"}), len(kinds))
        return "piece" in kinds[:run] and (run == len(kinds) or kinds[run] in {"joiner", "break"})

    def _leads_on(self, now: Predication, mark: Mark) -> bool:
        """'Bends the index, but could not test sensation': of what comes, and not of the term before."""
        if not self.joiner and not now.before and not any(isinstance(each, Said) for each in now.tail):
            return False
        if mark.text.rpartition(" ")[2] not in words().sets["tests_what"]:
            return False
        at = bisect_left(self.marks, mark.end, key=lambda each: each.start)
        ahead = next((each for each in self.marks[at:] if each.kind not in {"filler", "side", "piece"}), None)
        return ahead is not None and ahead.kind == "term"

    def _is_of_what_is_unknown(self, now: Predication) -> bool:
        """'Hoffmann's negative, xyz not done': of a word that is not known, and not of the term that has its result."""
        return bool(self.joiner and self.unknown) and any(isinstance(each, Said) for each in now.tail)
