"""'The lightest touch of the palm is painful', 'he does not tolerate the softest brush': a touch that hurts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_PASSED = frozenset({"filler", "side", "piece", "word", "negator"})
_HURTS = "allodynic"  # what a part is where a soft touch hurts


def soft_touch(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks with the pain of a soft touch as that, and with such a touch as no sense of touch."""
    touches = words().sets["soft_touches"]
    if texts.isdisjoint(touches):
        return marks
    made = list(marks)
    for at, mark in enumerate(marks):
        if mark.text not in touches or mark.kind not in {"term", "word", "filler"}:
            continue
        if (lead := _borne(made, at)) is not None:
            least = any(each.text in words().sets["no_more_than_this"] for each in made[lead:at])
            denied = any(each.kind in {"negator", "state"} for each in made[lead:at])
            made[lead:at] = [_silent(each) for each in made[lead:at]]
            made[at] = _silent(mark) if least or not denied else _allodynic(mark, phrases)
            made[at + 1 :] = [_found(each) for each in made[at + 1 :]]
        elif (hurts := _hurts(made, at)) is not None:
            made[at], made[hurts] = _silent(mark), _allodynic(made[hurts], phrases)
    return made


def _borne(marks: Sequence[Mark], at: int) -> int | None:
    """Where 'does not tolerate', 'allows only' begins, right before a touch."""
    sets = words().sets
    before = at - 1
    while before >= 0 and (
        marks[before].kind in {"filler", "state", "negator"} or marks[before].text in sets["no_more_than_this"]
    ):
        before -= 1
    if before < 0 or marks[before].text not in sets["tolerates"]:
        return None
    return before - 1 if before and marks[before - 1].kind in {"negator", "state"} else before


def _hurts(marks: Sequence[Mark], at: int) -> int | None:
    """Where a touch is said to hurt, behind the part that is touched."""
    hurts = words().sets["hurts_at_touch"]
    for index in range(at + 1, len(marks)):
        mark = marks[index]
        if mark.text in hurts:  # and no 'light touch, pain and temperature were normal'
            told = index > at + 1 and marks[index - 1].kind in {"filler", "word", "negator"}
            return index if told else None
        if mark.kind not in _PASSED and mark.text != "with":
            return None
    return None


def _found(mark: Mark) -> Mark:
    """'... because of hypersensitivity': what was found, and no cause that somebody thinks of."""
    return replace(mark, says=()) if "opinion" in mark.says else mark


def _silent(mark: Mark) -> Mark:
    return Mark("filler", mark.start, mark.end, text=mark.text)


def _allodynic(mark: Mark, phrases: Mapping[str, Entry]) -> Mark:
    return replace(mark, kind="term", term=phrases[_HURTS].term, state=None, text=_HURTS)
