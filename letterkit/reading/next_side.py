"""'Negative on the left and the right biceps jerk is absent': where the next clause begins, and no 'left and right'."""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.reading.marks import Mark
from letterkit.reading.parting import as_break
from letterkit.reading.places import OPPOSITE
from letterkit.reading.predication import BE, acts, term_is_adjective
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_RESULTS = frozenset({"state", "value", "negator"})
_NAMES = frozenset({"term", "piece", "hint", "severity"})
_ENDS = frozenset({"term", "state", "value"})
_OWN = frozenset({"value", "state"})
_VERBS = frozenset({"state", "value", "word", "term", "told", "no_longer"})


def next_side(marks: list[Mark], texts: Texts) -> list[Mark]:
    """The marks with 'left and the right' as two sides where the second one begins a clause of its own."""
    if "both" not in texts or texts.kinds.isdisjoint({"term", "state"}):
        return marks
    for index, mark in enumerate(marks):
        sides = _two_sides(mark)
        if sides and ((_is_told(marks[:index]) and _begins_clause(marks, index + 1)) or _are_two_notes(marks, index)):
            first, second = sides
            at = mark.start + len(first)
            second_at = mark.end - len(second)
            parted = [
                Mark("side", mark.start, at, text=first, word=first),
                Mark("joiner", at + 1, at + 4, text="and"),
                Mark("side", second_at, mark.end, text=second, word=second),
            ]
            return [*marks[:index], *parted, *next_side(list(marks[index + 1 :]), texts)]
    return marks


def _two_sides(mark: Mark) -> tuple[str, str] | None:
    """'Left and the right' as the two sides it names."""
    first, _, last = mark.word.replace(" and the ", " and ").partition(" and ")
    return (first, last) if mark.kind == "side" and OPPOSITE.get(first) == last else None


def _is_told(before: Sequence[Mark]) -> bool:
    """Whether what is told of the first side stands before it: 'was negative on the', 'there is no wasting on the'."""
    led = [mark.text for mark in before[-2:]]
    shortly = bool(before) and before[-1].kind in _ENDS  # 'negative left and right wrist swollen'
    if not shortly and (led[-1:] != ["the"] or led[0] not in {"on", "in", "at"}):
        return False
    return any(mark.kind in _RESULTS or (mark.term is not None and bool(mark.term.state)) for mark in before)


def _are_two_notes(marks: Sequence[Mark], at: int) -> bool:
    """'Phalen's negative left and right thenar wasting': a finding right before the two sides, and another behind."""
    before, behind = marks[:at], marks[at + 1 :]
    if not before or before[-1].kind not in _ENDS or not any(mark.kind == "term" for mark in before):
        return False
    kind = next((mark.kind for mark in behind if mark.kind != "piece"), "")
    parted = kind in _OWN and behind[0].kind == "piece" and _is_told(before)  # 'full fist left and right hand normal'
    return kind == "term" or parted


def _begins_clause(marks: Sequence[Mark], at: int) -> bool:
    """Whether a name follows with a verb of its own: 'biceps reflex was absent', 'ring finger triggers'."""
    named = at
    while at < len(marks) and marks[at].kind in _NAMES and marks[at].text not in BE:
        at += 1
    if at < len(marks) and marks[at].text in BE:
        return True
    if at == named:  # 'grip 20 kg left and right 30 kg'
        return at < len(marks) and marks[at].kind in _OWN and marks[at].text not in words().sets["remarked"]
    if at > named + 4:
        return False
    last = marks[at - 1]
    sets = words().sets
    told = at - named > 1 and last.kind == "term" and (last.text.endswith("s") or term_is_adjective(last))
    if told or acts(last) or last.text.rpartition(" ")[2] in sets["movement_verbs"]:
        return True
    verbs = sets["calling"] | sets["owns"] | sets["lacking"]
    return at < len(marks) and (marks[at].kind in _VERBS or marks[at].text in verbs)


def next_list(marks: list[Mark], texts: Texts) -> list[Mark]:
    """'The left wrist is painful, swelling and redness of the right wrist were absent': a list with a verb of its own.

    Without this the first of the list would be found beside what was told before, and its result lost.
    """
    if "state" not in texts.kinds or len(texts.terms) < 3 or texts.isdisjoint(BE):  # noqa: PLR2004 - one and a list
        return marks
    for at, mark in enumerate(marks[:-4]):
        if mark.text not in {"and", "comma"} or not at or not _is_called(marks, at):
            continue
        begin = at + 1 + (marks[at + 1].text == "and")
        if _is_told_list(marks, begin):
            return [*marks[:at], as_break(mark), *marks[begin:]]
    return marks


def _is_called(marks: Sequence[Mark], at: int) -> bool:
    """'The left wrist is painful |': a part, a verb and what it is called, and nothing more."""
    last = marks[at - 1]
    verb = next((each for each in range(at - 1, -1, -1) if marks[each].text in BE), -1)
    if verb < 1 or not (last.kind == "state" or (last.kind == "term" and term_is_adjective(last))):
        return False
    return marks[verb - 1].kind in {"piece", "side", "term"} and all(each.kind != "break" for each in marks[verb:at])


def _is_told_list(marks: Sequence[Mark], begin: int) -> bool:
    """'Swelling and redness were absent', '... of the right wrist were absent': two or more nouns and their verb."""
    at, listed = begin, 0
    while at < len(marks) and marks[at].kind in {"term", "joiner"}:
        if marks[at].kind == "term" and term_is_adjective(marks[at]):
            return False
        listed += marks[at].kind == "term"
        at += 1
    if marks[begin].kind != "term" or listed < len(("one", "another")):
        return False
    while at + 1 < len(marks) and marks[at].kind in {"filler", "side", "piece"} and marks[at].text not in BE:
        at += 1
    return at + 1 < len(marks) and marks[at].text in {"were", "are"} and marks[at + 1].kind == "state"
