"""What is told of one term and left out for the next: '..., and so is triceps', 'triceps the same', 'triceps is not'.

Without this the next term would be left without a result, or take that of the one behind it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, value_of
from letterkit.reading.parting import PARTS, break_at, part_begins, part_ends, said_at
from letterkit.reading.phrases import THERE
from letterkit.reading.predication import BE
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_PLACED = frozenset({"filler", "side", "piece"})
_TOLD = frozenset({"state", "value"})
_LISTED = frozenset({"term", "joiner"})
_REPEATED = _PLACED | _TOLD | _LISTED | {"severity", "certain"}
_DENIED = frozenset({"negator", "neither"})
_SHORTEST = 4  # a term, its result, the next term and the word for it


def likewise(marks: list[Mark], texts: Texts, catalogue: Catalogue) -> list[Mark]:
    """The marks of one sentence, which has these texts, with each such result said again."""
    cues = words().sets["likewise"]
    if texts.isdisjoint(cues):
        return marks
    at = next((at for at in range(_SHORTEST - 1, len(marks)) if marks[at].text in cues), None)
    while at is not None:
        made = _so_is(marks, at, catalogue) or _is_not(marks, at, catalogue) or _the_same(marks, at, catalogue)
        start = at + 1 + (len(made) - len(marks) if made is not None else 0)
        marks = marks if made is None else made
        at = next((each for each in range(start, len(marks)) if marks[each].text in cues), None)
    return marks


def _so_is(marks: list[Mark], at: int, catalogue: Catalogue) -> list[Mark] | None:
    """'Biceps is 4/5 on the right and so is triceps': triceps is 4/5 too."""
    if marks[at].text not in {"so", "as"} or at + 1 == len(marks) or marks[at + 1].text not in BE:
        return None
    end = part_ends(marks, at)
    behind = marks[at + 2 : end]
    term = _only_term(behind)
    begin = at - (marks[at - 1].kind in PARTS)
    if term is None:
        return _of_the_other(marks, begin, behind, end)
    told = _told_before(marks, begin, term, catalogue)
    if told is None:
        return None
    where = behind.index(term)
    again = [*behind[: where + 1], *said_at([told], term.end), *behind[where + 1 :]]
    return [*marks[:begin], break_at(marks[at].start), *again, *marks[end:]]


def _of_the_other(marks: list[Mark], begin: int, behind: Sequence[Mark], end: int) -> list[Mark] | None:
    """'The right wrist is swollen and so is the left': the left is swollen too."""
    before = marks[:begin]
    at = [at for at, mark in enumerate(before) if mark.kind == "term"]
    terms = before[at[0] : at[-1] + 1] if at else []  # 'swollen and bruised'
    told = [mark for mark in before if mark.kind in _TOLD]
    named = [mark for mark in before if mark.kind == "side"]
    if not terms or len(named) != 1 or any(mark.kind in _DENIED for mark in before):
        return None
    if any(mark.kind not in _PLACED for mark in behind) or not any(mark.kind == "side" for mark in behind):
        return None
    start = marks[begin].start
    if len(told) > (len(terms) == 1) or any(mark.kind not in _LISTED for mark in terms):
        return _all_of_it(marks, begin, behind, end)
    part = [] if any(mark.kind == "piece" for mark in behind) else [each for each in before if each.kind == "piece"]
    again = said_at([*part, *terms, *told], behind[-1].end)
    return [*before, break_at(start), *behind, *again, *marks[end:]]


def _all_of_it(marks: list[Mark], begin: int, behind: Sequence[Mark], end: int) -> list[Mark] | None:
    """'The right wrist is swollen and Phalen's is positive, and so is the left': what two clauses tell, of the left."""
    first = next(at for at, mark in enumerate(marks) if mark.kind in {"side", "piece"})
    told = marks[first:begin]
    if any(mark.kind not in _REPEATED for mark in told) or any(mark.kind == "term" for mark in marks[:first]):
        return None
    other = any(mark.kind == "piece" for mark in behind)
    left_out = {"side", "piece"} if other else {"side"}
    again = said_at([mark for mark in told if mark.kind not in left_out], behind[-1].end)
    return [*marks[:begin], break_at(marks[begin].start), *behind, *again, *marks[end:]]


def _is_not(marks: list[Mark], at: int, catalogue: Catalogue) -> list[Mark] | None:
    """'Flexion is limited on the right, extension is not': extension is not limited."""
    begin = part_begins(marks, at)
    ends = at + 1 == len(marks) or marks[at + 1].kind in PARTS
    if marks[at].kind != "negator" or not ends or not begin or marks[at - 1].text not in BE:
        return None
    told = _told_before(marks, begin - 1, _only_term(marks[begin:at]), catalogue)
    if told is None or told.kind != "state":
        return None
    parted = break_at(marks[begin - 1].start)
    not_so = [marks[at], *said_at([told], marks[at].end)]
    if told.state is not None and {"absent", "negative"} & set(told.state.classes):
        not_so = [replace(marks[at], kind="state", state=THERE)]  # 'the biceps jerk is absent, the triceps jerk is not'
    return [*marks[: begin - 1], parted, *marks[begin:at], *not_so, *marks[at + 1 :]]


def _the_same(marks: list[Mark], at: int, catalogue: Catalogue) -> list[Mark] | None:
    """'Biceps 5/5 on the right, 4/5 on the left, triceps the same': all of it, of triceps as well."""
    begin = part_begins(marks, at)
    ends = at + 1 == len(marks) or marks[at + 1].kind in PARTS
    term = _only_term(marks[begin:at])
    if marks[at].text not in words().sets["the_same"] or not ends or not begin or term is None:
        return None
    joiner = begin - 1
    while joiner and marks[joiner - 1].kind in PARTS:
        joiner -= 1
    first = next((each for each in range(joiner - 1, -1, -1) if marks[each].kind == "term"), None)
    if first is None or not _are_alike(marks[first], term, catalogue):
        return None
    told = marks[first + 1 : joiner]
    sides = sum(mark.kind == "side" for mark in told)
    results = sum(mark.kind in _TOLD for mark in told)
    if not results or (results > 1 and sides != results) or any(mark.kind == "word" for mark in told):
        return None
    return [*marks[:joiner], break_at(marks[begin].start), term, *said_at(told, marks[at].end), *marks[at + 1 :]]


def _told_before(marks: Sequence[Mark], end: int, term: Mark | None, catalogue: Catalogue) -> Mark | None:
    """The one result of the clause before `end`, where that is of a term of the same kind and is not denied."""
    begin = part_begins(marks, end)
    first = next((mark for mark in reversed(marks[begin:end]) if mark.kind == "term"), None)
    told = [mark for mark in marks[begin:end] if mark.kind in _TOLD]
    if term is None or first is None or len(told) != 1 or any(mark.kind in _DENIED for mark in marks[begin:end]):
        return None
    return told[0] if _are_alike(first, term, catalogue) else None


def _are_alike(first: Mark, second: Mark, catalogue: Catalogue) -> bool:
    """Whether two terms are recorded alike: two tests, two muscles, two movements; no two things that are there."""
    kind = value_of(first, catalogue)
    return kind is not ValueKind.PRESENCE and kind is value_of(second, catalogue)


def _only_term(marks: Sequence[Mark]) -> Mark | None:
    """The one term among places and small words; None where more is said."""
    terms = [mark for mark in marks if mark.kind == "term"]
    return terms[0] if len(terms) == 1 and all(mark.kind in _PLACED for mark in marks if mark is not terms[0]) else None
