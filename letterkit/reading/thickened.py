"""'The skin over the fingers is thickened', 'a thickened right ulnar nerve': what is thick is no nail."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from letterkit.reading.marks import Mark, without_place
from letterkit.reading.phrases import Entry
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_BETWEEN = frozenset({"filler", "side", "piece", "certain", "severity", "negator", "maybe"})
_NAME, _NERVE = "skin thickening", "thickened ulnar nerve"
_BEFORE_NERVE = frozenset({"filler", "side", "certain"})
_LISTED = frozenset({"and", "or", "comma"})


def thickened(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks with what is thick as the skin or the ulnar nerve, where one of them is spoken of."""
    if texts.isdisjoint(words().sets["thick"]):
        return marks
    return _thick_nerve(_thick_skin(marks, texts, phrases), phrases)


def _thick_nerve(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'A thickened right ulnar nerve at the elbow': the words behind it say only where that nerve lies.

    So it is in 'an enlarged, nodular ulnar nerve'.
    """
    how = words().sets["as_nerves_feel"]
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text not in words().sets["thick"]:
            continue
        at = index + 1
        while at < len(marks) and (marks[at].kind in _BEFORE_NERVE or marks[at].text in _LISTED | how):
            if marks[at].kind == "filler" and marks[at - 1].kind == "joiner":
                break  # 'the hand is thick, and the ulnar nerve is normal'
            at += 1
        if at < len(marks) and marks[at].kind == "piece" and marks[at].text.startswith("ulnar nerve"):
            made[index] = Mark("term", mark.start, mark.end, term=phrases[_NERVE].term, text=_NERVE)
            made[at] = without_place(marks[at])
    return made


def _thick_skin(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks with what makes the skin thick as that finding, where 'skin' is what is spoken of right before it."""
    if "skin" not in texts:
        return marks
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text in words().sets["thick"] and _is_of_skin(marks, index):
            made[index] = Mark("term", mark.start, mark.end, term=phrases["tight"].term, text=_NAME)
    return made


def _is_of_skin(marks: Sequence[Mark], index: int) -> bool:
    """Whether nothing is told between skin and word: 'skin shiny and thickened', not 'skin intact, nail thick'."""
    parted = False
    for mark in reversed(marks[:index]):
        if mark.text == "skin":
            return True
        parted = parted or mark.kind in {"piece", "filler"}
        if mark.kind not in _BETWEEN and (parted or not (mark.kind == "term" or mark.text in {"and", "comma"})):
            return False
    return False
