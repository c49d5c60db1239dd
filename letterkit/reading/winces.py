"""Pain that nobody names, told by what somebody does when a part is moved: 'cries when I bend the elbow'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Stage
from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import Entry
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_LED = 7  # marks from the answer to the pain that is given
_FAR = 12  # marks between what somebody does and what was moved
_ON = frozenset({"when", "whenever", "as", "if", "on", "upon", "with", "at", "during", "to"})
_PASSED = frozenset({"filler", "word", "side", "piece", "certain", "severity", "active_mode", "passive_mode"})
_PLACES = frozenset({"side", "piece", "active_mode", "passive_mode"})
_MAKES = frozenset({"makes", "made", "make", "making", "causes", "caused", "cause"})


class Wincing:
    """Reads what somebody does when a part is moved as that this movement hurts."""

    def __init__(self, catalogue: Catalogue, phrases: Mapping[str, Entry]) -> None:
        self._catalogue = catalogue
        self._phrases = phrases

    def read(self, marks: Sequence[Mark], texts: Texts) -> Sequence[Mark]:
        """The marks of one sentence, which has these texts, with such a pain as pain on that movement."""
        if not texts.isdisjoint(words().sets["responds"]):
            marks = _inflicted(marks)
        winces = words().sets["winces"]
        if texts.isdisjoint(winces):
            return marks
        made = list(marks)
        for index in range(len(made) - 1, -1, -1):  # what stands before is not moved by what is put in behind
            if index < len(made) and made[index].text in winces and _is_away(made, index):
                made = self._made_to(made, index) or self._when_moved(made, index) or made
        return made

    def _when_moved(self, marks: list[Mark], index: int) -> list[Mark] | None:
        """'She cried when the left elbow was bent', 'did not flinch on pronation of the forearm'."""
        led = False
        for at in range(index + 1, min(len(marks), index + _FAR)):
            mark = marks[at]
            led = led or mark.text in _ON
            if led and mark.text in words().sets["stretches"]:
                return self._stretched(marks, index, at)
            moved = self._movement(mark) if led else None
            if moved is not None:
                between = [each for each in marks[index + 1 : at] if each.kind in _PLACES]
                if not between:
                    return [*marks[:index], self._term(marks[index], "pain on"), moved, *marks[at + 1 :]]
                first = index - 1 if index and marks[index - 1].kind == "negator" else index
                painful = self._painful(marks[index].start, mark.end)
                return [*marks[:first], *between, moved, *marks[first:index], painful, *marks[at + 1 :]]
            if mark.kind not in _PASSED and mark.text not in _ON | {"out"} and not mark.text.startswith("if"):
                return None
            if led and mark.text in words().sets["presses"]:
                return None
        return None

    def _stretched(self, marks: list[Mark], index: int, at: int) -> list[Mark]:
        """'Did not wince with passive stretch of the fingers': the pain that is looked for in a tense compartment."""
        between = [each for each in marks[index + 1 : at] if each.kind in {"side", "piece"}]
        pain = replace(self._term(marks[index], "passive stretch pain"), end=marks[at].end)
        return [*marks[:index], pain, *between, *marks[at + 1 :]]

    def _made_to(self, marks: list[Mark], index: int) -> list[Mark] | None:
        """'Passive extension of the right thumb made him wince': what was moved stands before it."""
        verb = next((at for at in range(index - 1, max(-1, index - 4), -1) if marks[at].text in _MAKES), None)
        if verb is None or any(each.kind not in _PASSED for each in marks[verb + 1 : index]):
            return None
        end = _end_of_wince(marks, index)
        for at in range(verb - 1, max(-1, verb - _FAR), -1):
            if marks[at].text in words().sets["presses"]:
                denied = [each for each in marks[at:verb] if each.kind == "negator"]
                over = Mark("filler", marks[at].start, marks[at].end, text="over")
                pressed = [over, *(each for each in marks[at + 1 : verb] if each.kind != "negator")]
                return [*marks[:at], *denied, self._term(marks[at], "tenderness"), *pressed, *marks[end:]]
            if marks[at].text in words().sets["stretches"]:
                denied = [each for each in marks[at:verb] if each.kind == "negator"]
                places = [each for each in marks[at + 1 : verb] if each.kind in _PLACES]
                return [*marks[:at], *denied, self._term(marks[at], "passive stretch pain"), *places, *marks[end:]]
            moved = self._movement(marks[at])
            if moved is not None:
                painful = self._painful(marks[verb].start, marks[end - 1].end)
                return [*marks[:at], moved, *marks[at + 1 : verb], painful, *marks[end:]]
            if marks[at].kind not in _PASSED | {"negator"}:
                return None
        return None

    def _movement(self, mark: Mark) -> Mark | None:
        """'Supination', 'bent', 'move': as the term of the movement; None where the mark is none."""
        name = words().movements.get(mark.text, "")
        name = "movement" if mark.text in words().sets["moves"] else name
        if name:
            return self._term(mark, name)
        items = items_of(mark)
        if mark.term is None or mark.term.pain or not items or "pain" in items[0]:
            return None
        return mark if self._catalogue.items[items[0]].stage is Stage.MOVEMENT else None

    def _painful(self, start: int, end: int) -> Mark:
        return Mark("state", start, end, state=self._phrases["hurts"].state, text="hurts")

    def _term(self, mark: Mark, name: str) -> Mark:
        return replace(mark, kind="term", state=None, term=self._phrases[name].term, text=name)


def _end_of_wince(marks: Sequence[Mark], index: int) -> int:
    """Where 'withdraw his hand', 'pull her hand away', 'cry out' ends: the hand is no place of the pain."""
    at = index + 1
    if at + 1 < len(marks) and marks[at].text in words().sets["determiners"] and marks[at + 1].kind == "piece":
        at += 2
    return at + (at < len(marks) and marks[at].text in {"away", "back", "out"})


def _is_away(marks: Sequence[Mark], index: int) -> bool:
    """'Pulled the hand away'; no pull of a tendon, no 'pull with both hands'."""
    if marks[index].text not in words().sets["pulls"]:
        return True
    end = _end_of_wince(marks, index)
    return marks[end - 1].text == "away"


def _inflicted(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Withdraws the left arm to pain', 'no response to painful stimuli': a pain that is given, no finding."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        led = marks[index - 1 - (index > 1 and marks[index - 1].text in {"deep", "central"})] if index else mark
        given = (
            mark.kind == "term" and mark.text.partition(" ")[0] in {"pain", "painful"} and led.text in {"to", "from"}
        )
        near = marks[max(0, index - _LED) : index]
        if not given or not any(each.text in words().sets["responds"] for each in near):
            made.append(mark)
            continue
        end = mark.start + len(mark.text.partition(" ")[0])
        made.append(Mark("word", mark.start, end, text="pain"))
        if mark.text.endswith(" on"):
            made.append(Mark("filler", mark.end - len("on"), mark.end, text="on"))
    return made
