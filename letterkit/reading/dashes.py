"""'Left thumb numb - right hand cold': a dash between two findings parts them as a comma does."""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, side_of, value_of
from letterkit.reading.places import OPPOSITE
from letterkit.reading.predication import term_is_adjective
from letterkit.reading.texts import Texts

_DASHES = frozenset({"-", "–", "—", "--"})
_JOINS = frozenset({"joiner", "break"})
_RESULTS = frozenset({"state", "value", "negator"})


def parted_by_dashes(marks: list[Mark], texts: Texts, catalogue: Catalogue) -> list[Mark]:
    """The marks with a comma for each dash that has a finding with its result on both sides.

    No comma stands for the dash of 'Phalen's - negative', 'right wrist - swollen', 'grip - 20 kg right'.
    """
    at = [index for index, mark in enumerate(marks) if mark.text in _DASHES and _parts(marks, index)]
    if not at or not texts.terms:
        return marks
    made = list(marks)
    for before, index, after in zip([-1, *at[:-1]], at, [*at[1:], len(marks)], strict=True):
        first, second = marks[before + 1 : index], marks[index + 1 : after]
        if _is_whole(first, catalogue) and (_is_whole(second, catalogue) or _is_of_the_other_side(first, second)):
            made[index] = Mark("joiner", marks[index].start, marks[index].end, text="comma")
    return made


def _parts(marks: Sequence[Mark], index: int) -> bool:
    """Whether a dash stands between two words, apart from both: no 'Popeye-like', and no minus of '- warmth'."""
    mark = marks[index]
    if mark.kind != "filler" or not 0 < index < len(marks) - 1 or marks[index - 1].kind in _JOINS:
        return False
    return marks[index - 1].end < mark.start and mark.end < marks[index + 1].start


def _is_of_the_other_side(first: Sequence[Mark], second: Sequence[Mark]) -> bool:
    """'Left grip 20 kg - right 30 kg': the same of the other side, with its own result."""
    sides = [side for mark in second if (side := side_of(mark)) in OPPOSITE]
    plain = all(mark.kind in {"side", "value", "state", "filler"} for mark in second)
    told = any(mark.kind in _RESULTS for mark in second)
    return plain and told and len(sides) == 1 and any(side_of(mark) == OPPOSITE[sides[0]] for mark in first)


def _is_whole(part: Sequence[Mark], catalogue: Catalogue) -> bool:
    """Whether a finding and its result are told there, or a finding at its place: 'left thenar wasting'."""
    terms = [mark for mark in part if mark.kind == "term" and mark.term is not None]
    if [mark.kind for mark in part if mark.kind != "side"] == ["piece", "state"]:
        return True  # 'left hand normal'
    if any(value_of(mark, catalogue) is ValueKind.PRESENCE for mark in terms) and any(map(side_of, part)):
        return True
    itself = any(term_is_adjective(mark) or (mark.term is not None and bool(mark.term.state)) for mark in terms)
    return itself or (bool(terms) and any(mark.kind in _RESULTS for mark in part))
