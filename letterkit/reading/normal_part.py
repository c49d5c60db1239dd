"""'The left elbow is normal, the right one is stiff': that a part is normal is no result of what stands beside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import takewhile

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.implied import calls_normal
from letterkit.reading.marks import Mark, side_of, value_of
from letterkit.reading.phrases import Entry
from letterkit.reading.placenames import CARRIERS
from letterkit.reading.places import OPPOSITE
from letterkit.reading.predication import BE, term_is_adjective
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_EXAMINATION = "overall examination"
_SOFT = frozenset({"side", "piece", "certain", "filler"})
_SOUND = ("normal",)  # and not 'absent', which may be said of the finding on both sides
_SIDED = 2  # marks at least that name a side, or a part with its side
_WITH = frozenset({"with", "without", "but", "and"})
_RESULTS = frozenset({"state", "negator"})
_ENDS = frozenset({"joiner", "break"})


def normal_part(
    marks: Sequence[Mark], texts: Texts, catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> Sequence[Mark]:
    """The marks with the examination of each part that a clause calls normal, where others follow or stand before."""
    if "state" not in texts.kinds or not texts.placed or texts.kinds.isdisjoint(_ENDS) or not texts.terms:
        return marks
    made = list(marks)
    for index in range(len(marks) - 1, -1, -1):
        if marks[index].kind != "state" or not calls_normal(marks[index]) or not _ends(marks, index):
            continue
        if (at := _part(marks, index)) is not None and not _takes_result(marks[:at], catalogue):
            term = Mark("term", marks[at].end, marks[at].end, term=phrases[_EXAMINATION].term, text=_EXAMINATION)
            made.insert(at + 1, term)
    return made


def sound_beside(marks: Sequence[Mark], texts: Texts, catalogue: Catalogue) -> Sequence[Mark]:
    """'Numbness of the left thumb and the right thumb is normal': another result, of the other side alone."""
    if "state" not in texts.kinds or "joiner" not in texts.kinds or len([*texts.sides, *texts.placed]) < _SIDED:
        return marks
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.kind == "joiner" and mark.text in {"and", "comma"} and _is_sound(marks, index + 1):
            before = list(takewhile(lambda each: each.kind != "break", reversed(made[:index])))
            sides = {side_of(each) for each in before} - {""}
            if sides == {OPPOSITE.get(_side_behind(marks, index + 1), "")} and _names_a_finding(
                before[::-1], catalogue
            ):
                made[index] = replace(mark, kind="break", text="but")
    return made


def _is_sound(marks: Sequence[Mark], start: int) -> bool:
    """'The right thumb is normal', 'his left hand was quiet': that nothing is amiss there, and no more."""
    clause = list(takewhile(lambda mark: mark.kind not in _ENDS, marks[start:]))
    last = clause[-1] if clause else None
    if last is None or last.state is None or last.kind != "state" or last.state.classes != _SOUND:
        return False
    verb = next((at for at, mark in enumerate(clause) if mark.text in BE), 0)
    led = clause[:verb]
    part = any(mark.kind == "piece" for mark in led) and all(mark.kind in _SOFT for mark in led)
    return part and all(mark.kind in {"filler", "certain"} for mark in clause[verb:-1])


def _side_behind(marks: Sequence[Mark], start: int) -> str:
    return next((side for mark in marks[start:] if (side := side_of(mark))), "")


def _names_a_finding(before: Sequence[Mark], catalogue: Catalogue) -> bool:
    """'Numbness of the left thumb', 'weakness of the hand': what is found is the noun that leads, and is not denied."""
    at = next((at for at, mark in enumerate(before) if mark.kind in {"term", "state", "negator"}), None)
    if at is None or any(mark.kind in {"state", "negator", "value", "break"} for mark in before[at + 1 :]):
        return False
    first = before[at]
    noun = first.kind == "state" and first.text.endswith((" of", " in"))
    there = first.term is not None and (bool(first.term.state) or value_of(first, catalogue) is ValueKind.PRESENCE)
    return noun or (there and first.term is not None and not first.term.adjective)


def _takes_result(before: Sequence[Mark], catalogue: Catalogue) -> bool:
    """'Touch is reduced in the hand, the elbow is normal': a result of what was spoken of, or of nobody knows what."""
    terms = [
        mark
        for at, mark in enumerate(before)
        if mark.kind == "term" and mark.term is not None and not _has_its_result(before, at)
    ]
    if {side_of(mark) for mark in before} >= OPPOSITE.keys() and side_of(before[-1]) not in OPPOSITE:
        return True  # '... red on the left and swollen on the right, the wrist is normal': on which side is not told
    return any(value_of(mark, catalogue) is not ValueKind.PRESENCE or mark.term.state for mark in terms if mark.term)


def _has_its_result(before: Sequence[Mark], at: int) -> bool:
    """'Tender with full supination, and the right elbow was normal': the supination is told of what stands before."""
    if at + 1 == len(before) or not (before[at + 1].kind in _ENDS or before[at + 1].text.startswith("without")):
        return False
    if term_is_adjective(before[at]):
        return before[at - 1].kind in {"filler", "negator", "joiner"}  # 'was not warm, and the right elbow was normal'
    told = False
    for mark in reversed(before[:at]):
        if told and mark.text in _WITH:
            return True
        if mark.text.startswith("without"):
            return True
        told = told or mark.kind in _RESULTS
        if mark.kind not in {"filler", "certain", "severity", *_RESULTS} and (told or not _is_listed(mark)):
            return False
    return False


def _is_listed(mark: Mark) -> bool:
    """'Full flexion and extension': a term before the last of a list, and what joins them."""
    return mark.kind == "term" or mark.text in {"and", "or", "comma"}


def _ends(marks: Sequence[Mark], index: int) -> bool:
    """Whether the clause ends there: not before 'normal in colour', nor 'normal and equal to the right'."""
    ahead = marks[index + 1 : index + 3]
    if not ahead:
        return True
    goes_on = ahead[-1].kind in {"state", "compared"} or ahead[-1].text in {"to", "with", "in"}
    return ahead[0].kind in _ENDS and not goes_on


def _part(marks: Sequence[Mark], index: int) -> int | None:
    """Where the part stands that the clause is of, of which nothing is told but that it is normal."""
    clause = list(takewhile(lambda mark: mark.kind not in _ENDS, reversed(marks[:index])))
    parts = [mark for mark in clause if mark.kind == "piece" and mark.piece is not None]
    if any(mark.kind not in _SOFT for mark in clause) or len(parts) != 1:
        return None
    part = parts[0].piece
    says = all(mark.kind != "filler" or mark.text in BE | words().sets["calling"] for mark in clause)
    if part is None or not part.slugs or not CARRIERS.issuperset(part.slugs) or not says:
        return None
    return next(at for at in range(index - 1, -1, -1) if marks[at] is parts[0])
