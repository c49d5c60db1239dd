"""What became of every character of the text: read, recognised but not of today, unread, or plain."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise, starmap

from letterkit.reading.marks import Mark
from letterkit.reading.result import Kind, Span
from letterkit.reading.texts import Texts
from letterkit.reading.vocabulary import Vocabulary
from letterkit.reading.words import words

_NAMED = frozenset({"test", "tests", "sign", "signs", "manoeuvre", "maneuver"})  # what a name stands before
_CLINICAL = frozenset({"term", "ambiguous", "unexamined", "double", "state", "word", "value"})  # or it may be
_SAYING_NOTHING = frozenset({"joiner", "piece", "side", "negator"})  # by themselves, whatever became of them
_TELLING = frozenset({"positive", "negative", "absent", "reduced", "abnormal", "unable"})
_RANK: dict[Kind, int] = {"plain": 0, "unread": 1, "not_current": 2, "read": 3}


class Cover:
    """Collects stretches of one text; the stronger kind wins where two overlap."""

    def __init__(self, text: str, vocabulary: Vocabulary) -> None:
        self._text = text
        self._vocabulary = vocabulary
        self._found: list[tuple[int, int, Kind, str]] = []

    def add(self, start: int, end: int, kind: Kind, why: str = "") -> None:
        """Says what became of the characters `start` to `end`."""
        if end > start:
            self._found.append((start, end, kind, why))

    def leftovers(self, marks: Sequence[Mark], texts: Texts, used: set[int], start: int = 0) -> None:
        """Marks of a current sentence from `start` on that no finding used and that look clinical are unread."""
        alike = words().sets["alike"]
        left = [
            mark for mark in marks
            if (mark.kind in _CLINICAL or (mark.text in alike and mark.kind not in _SAYING_NOTHING))
            and mark.start >= start and id(mark) not in used
        ]  # fmt: skip
        of_it = "it" in texts and "term" not in texts.kinds
        for mark in left:
            if used and mark.text in words().sets["motor_exams"]:
                continue  # 'On motor exam, the deltoid is 4/5': it says what was done, and no more
            if mark.kind in {"term", "ambiguous", "unexamined", "double"}:
                self.add(mark.start, mark.end, "unread", mark.look or "no safe result")
            elif self._is_result(mark, marks, of_it=of_it):
                self.add(mark.start, mark.end, "unread", "a result without a finding")
            elif mark.text in alike and any(each.kind in {"side", "piece"} for each in marks):
                self.add(mark.start, mark.end, "unread", "what it is like stands elsewhere")
            elif mark.kind == "word" and self._names_a_test(mark, marks):
                self.add(mark.start, mark.end, "unread", "a test or sign that is not in the catalogue")
            elif mark.kind == "value" or (mark.kind == "word" and mark.text in self._vocabulary.clinical):
                self.add(mark.start, mark.end, "unread", "not part of any finding read")

    @staticmethod
    def _is_result(mark: Mark, marks: Sequence[Mark], *, of_it: bool) -> bool:
        """Whether a result that no finding took says something by itself: 'Left: NAD', 'the left hand was normal'."""
        if mark.kind != "state" or mark.state is None:
            return False
        classes = set(mark.state.classes)
        if classes & _TELLING or of_it:
            return True
        before = [each for each in marks if each.end <= mark.start]
        while before and before[-1].kind == "filler":
            before.pop()
        return bool(classes & {"normal", "full"}) and bool(before) and before[-1].kind in {"side", "piece"}

    def _names_a_test(self, mark: Mark, marks: Sequence[Mark]) -> bool:
        """'Yergason's test': an unknown word before 'test' or 'sign'."""
        if mark.text in self._vocabulary.plain or len(mark.text) < 3:  # noqa: PLR2004 - no name is so short
            return False
        named = [each for each in marks if each.text in _NAMED]
        return any(0 < each.start - mark.end <= 1 and each.kind in {"filler", "word"} for each in named)

    def spans(self) -> tuple[Span, ...]:
        """Spans that cover the text exactly, in order; neighbours of one kind and reason are one span."""
        apart = sorted(set(self._found))
        if all([first[1] <= second[0] for first, second in pairwise(apart)]):  # noqa: C419 - quicker than a generator
            return self._apart(apart)
        borders = {0, len(self._text)}
        starts: dict[int, list[int]] = {}
        ends: dict[int, list[int]] = {}
        for number, (start, end, _, _) in enumerate(self._found):
            borders |= {start, end}
            starts.setdefault(start, []).append(number)
            ends.setdefault(end, []).append(number)
        ordered = sorted(borders)
        made: list[Span] = []
        alive: set[int] = set()
        for at, following in pairwise(ordered):
            alive.difference_update(ends.get(at, ()))
            alive.update(starts.get(at, ()))
            kind, why = self._strongest(alive)
            if made and made[-1].kind == kind and made[-1].why == why and made[-1].end == at:
                made[-1] = Span(made[-1].start, following, kind, why)
            else:
                made.append(Span(at, following, kind, why))
        return tuple(made)

    def _apart(self, found: Sequence[tuple[int, int, Kind, str]]) -> tuple[Span, ...]:
        """The spans where no stretch lies on another, with what is plain between them."""
        made: list[tuple[int, int, Kind, str]] = []
        at = 0
        for start, end, kind, why in found:
            if start > at:
                made.append((at, start, "plain", ""))
            elif made and made[-1][2:] == (kind, why):
                start = made.pop()[0]  # noqa: PLW2901 - goes on
            made.append((start, end, kind, why))
            at = end
        if len(self._text) > at:
            made.append((at, len(self._text), "plain", ""))
        return tuple(starmap(Span, made))

    def _strongest(self, alive: set[int]) -> tuple[Kind, str]:
        if not alive:
            return "plain", ""
        if len(alive) == 1:
            (only,) = alive
            return self._found[only][2], self._found[only][3]
        _, _, kind, why = self._found[max(alive, key=lambda number: (_RANK[self._found[number][2]], number))]
        return kind, why
