"""'The hand is swollen up to the wrist': how far a finding goes, and not another part where it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, items_of, value_of, without_place
from letterkit.reading.predication import BE, term_is_adjective
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_BETWEEN = frozenset({"filler", "word", "certain", "side"})
_NEAR_BY = 7  # marks from the 'to' to the part: 'to just below the level of the left elbow'
_ENDS = frozenset({"break", "negator"})
_UP = frozenset({"up", "down", "far"})
_ALL_THE_WAY = "all the way"


def limits(marks: Sequence[Mark], texts: Texts, catalogue: Catalogue) -> Sequence[Mark]:
    """The marks without the parts that are how far a finding of another part goes; their side stays."""
    if _ALL_THE_WAY in texts and "term" in texts.kinds:
        marks = _all_the_way(marks, catalogue)
    if texts.isdisjoint(words().sets["limiting"]) or len(texts.placed) <= 1:
        return marks
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text not in words().sets["limiting"]:
            continue
        at, subject = _part(marks, index + 1), _subject(marks, index)
        if at is None or subject is None or not _goes_on(marks, subject, index, catalogue):
            continue
        begin = _from(marks, index)
        if begin is not None and _subject(marks, begin) is None:
            continue  # 'redness from the wrist to the elbow': it is in both
        for each in [at] if begin is None else range(begin, at + 1):
            made[each] = without_place(marks[each])
    return made


def _all_the_way(marks: Sequence[Mark], catalogue: Catalogue) -> Sequence[Mark]:
    """'The finger is swollen all the way to the tip': how far the swelling goes, and no movement that is full."""
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text == _ALL_THE_WAY:
            told = next((each for each in reversed(marks[:index]) if each.kind in {"term", "state", "value"}), None)
            if told is not None and value_of(told, catalogue) is ValueKind.PRESENCE:
                made[index] = replace(mark, kind="filler", state=None)
    return made


def _is_part(mark: Mark) -> bool:
    """Whether a part is named up to which something goes; 'swelling to the dorsum' is there, as 'to the thumb' is."""
    levels = words().sets["levels"]
    return mark.kind == "piece" and mark.piece is not None and bool(mark.piece.slugs) and levels >= {*mark.piece.slugs}


def _part(marks: Sequence[Mark], index: int) -> int | None:
    """Where the part stands to which the word before `index` leads."""
    for at in range(index, min(len(marks), index + _NEAR_BY)):
        if _is_part(marks[at]):
            return at
        if marks[at].kind not in _BETWEEN:
            return None
    return None


def _subject(marks: Sequence[Mark], index: int) -> int | None:
    """Where the last part is named before `index` in this clause; none where nothing but a side is."""
    verb = False
    for at in range(index - 1, -1, -1):
        if marks[at].kind == "piece":
            return at
        verb = verb or marks[at].text in BE
        if marks[at].kind in _ENDS or (verb and marks[at].text == "comma"):
            return None  # 'the palm oozes, and all of it is swollen to the elbow'
    return None


def _from(marks: Sequence[Mark], index: int) -> int | None:
    """Where the 'from' of 'from the wrist to the elbow' stands; none where no such word leads."""
    for at in range(index - 1, max(-1, index - _NEAR_BY), -1):
        if marks[at].text == "from":
            return at
        if marks[at].kind not in _BETWEEN and marks[at].text not in _UP and not _is_part(marks[at]):
            return None
    return None


def _goes_on(marks: Sequence[Mark], subject: int, index: int, catalogue: Catalogue) -> bool:
    """Whether a finding is told that may end somewhere, and the word at `index` says that it does."""
    sets = words().sets
    told = next((at for at in range(index - 1, -1, -1) if marks[at].kind in {"term", "break"}), None)
    if told is None or value_of(marks[told], catalogue) not in {ValueKind.PRESENCE, ValueKind.STATE}:
        return False
    bounded = not sets["bounded"].isdisjoint(items_of(marks[told]))
    said = {mark.text for mark in marks[told + 1 : index]}
    if marks[index].text == "to" and said.isdisjoint(sets["reaches"] | _UP):
        right_behind = told == index - 1 and term_is_adjective(marks[told])  # 'swelling to the wrist' is there
        return bounded and (right_behind or "from" in said or subject == index - 1)
    return bounded or value_of(marks[told], catalogue) is ValueKind.PRESENCE
