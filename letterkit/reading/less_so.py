"""'The left hand is swollen, the right less so', '..., the right hardly': how much of it there is on the other side.

Without this the other side would take the place of the first one, or be lost.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, value_of, without_side
from letterkit.reading.parting import PARTS, as_break, part_begins, part_ends, said_at
from letterkit.reading.places import OPPOSITE
from letterkit.reading.predication import BE, THERE_IS, term_is_adjective
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_SUBJECT = frozenset({"filler", "side", "piece"})
_DEGREES = frozenset({"severity", "maybe", "certain"})
_BETWEEN = frozenset({"filler", "severity", "certain", "negator"})
_DENIED = frozenset({"negator", "neither"})
_FINDING = frozenset({"term", "state", "value", "severity", "negator", "word"})
_LOOK = "only how much of it there is was said of this side"


def less_so(marks: list[Mark], texts: Texts, catalogue: Catalogue) -> list[Mark]:
    """The marks of one sentence, which has these texts and two sides, with what is found said again of the other."""
    if texts.kinds.isdisjoint(_DEGREES) and texts.isdisjoint(words().sets["of_the_other_too"]):
        return marks
    for at, mark in enumerate(marks):
        again = _of_the_other(marks, at, catalogue) if mark.kind in PARTS and at else None
        if again is not None:
            return again
    return marks


def _of_the_other(marks: list[Mark], at: int, catalogue: Catalogue) -> list[Mark] | None:
    """'..., | the right only slightly': the marks with the finding before the joiner `at` behind it once more."""
    begin = next((each for each in range(at, len(marks)) if marks[each].kind not in PARTS), len(marks))
    end = part_ends(marks, begin)
    behind = marks[begin:end]
    side, degrees = _side_and_degree(behind)
    named = _found_before(marks, at, catalogue)
    if not degrees or named is None or not _ends(marks, end):
        return None
    first, terms = named
    start = _subject_begins(marks, first)
    before = marks[start:at]
    sides = [mark.text for mark in before if mark.kind == "side"]
    denied = any(mark.kind in _DENIED for mark in before)
    if sides != [OPPOSITE[side]] or (denied and not all(mark.kind in {"severity", "maybe"} for mark in degrees)):
        return None
    where = [each for each in behind if each.kind in {"side", "piece"}]
    if not any(mark.kind == "piece" for mark in where):
        pieces = [without_side(each) for each in before if each.kind == "piece" or each.text == "and"]
        where += said_at(_listed(pieces), where[-1].end)
    told = said_at([replace(mark, look=_LOOK) if denied else mark for mark in terms], behind[-1].end)
    kept = _DEGREES | _DENIED
    degrees = [each if each.kind in kept else replace(each, kind="filler", state=None) for each in degrees]
    if term_is_adjective(terms[0]):
        verb = Mark("filler", where[-1].end, where[-1].end, text="is")
        again = [*where, verb, *degrees, *told]
    else:
        of = Mark("filler", behind[0].start, behind[0].start, text="of")
        again = [*said_at([*degrees, *told, of], behind[0].start), *where]
    return [*marks[:at], as_break(marks[at]), *again, *marks[end:]]


def _side_and_degree(behind: Sequence[Mark]) -> tuple[str, list[Mark]]:
    """'The right wrist only slightly', 'the right is less so': the side, and the marks that tell how much."""
    too = words().sets["of_the_other_too"]
    at = next((at for at, mark in enumerate(behind) if mark.kind == "side"), len(behind))
    if at == len(behind) or behind[at].text not in OPPOSITE or any(mark.kind != "filler" for mark in behind[:at]):
        return "", []
    rest = [mark for mark in behind[at + 1 :] if mark.kind != "piece"]
    if any(mark.text in THERE_IS for mark in behind) or any(mark.text in OPPOSITE for mark in rest):
        return "", []
    not_at_all = [mark.text for mark in rest if mark.text not in BE] == ["not", "at", "all"]
    kinds = _DEGREES | {"negator"} if not_at_all else _DEGREES
    degrees = [mark for mark in rest if mark.kind in kinds or mark.text in too]
    others = [mark for mark in rest if mark not in degrees and mark.kind != "filler"]
    return (behind[at].text, degrees) if all(mark.text in {"so", "more"} for mark in others) else ("", [])


def _found_before(marks: Sequence[Mark], at: int, catalogue: Catalogue) -> tuple[int, list[Mark]] | None:
    """'Swollen and tender | , the right less so': where what was found of the first side begins, and its marks."""
    last = next((each for each in range(at - 1, -1, -1) if marks[each].kind == "term"), None)
    if last is None or any(mark.kind not in _SUBJECT | {"joiner"} for mark in marks[last + 1 : at]):
        return None
    first = last
    while first > 1 and marks[first - 1].text == "and" and marks[first - 2].kind == "term":
        first -= 2
    terms = list(marks[first : last + 1])
    for mark in terms:
        itself = mark.term is not None and bool(mark.term.state)
        if mark.kind == "term" and value_of(mark, catalogue) is not ValueKind.PRESENCE and not itself:
            return None
    return first, terms


def _subject_begins(marks: Sequence[Mark], first: int) -> int:
    """'The left wrist and hand are | swollen': where the words begin that tell whose finding it is."""
    start = part_begins(marks, first)
    while start > 1 and marks[start - 1].text == "and" and marks[start - 2].kind == "piece":
        start = part_begins(marks, start - 1)
    return start


def _listed(pieces: Sequence[Mark]) -> list[Mark]:
    """The parts with the 'and' between two of them, and no other."""
    return [
        mark
        for at, mark in enumerate(pieces)
        if mark.kind == "piece" or [each.kind for each in pieces[max(0, at - 1) : at + 2 : 2]] == ["piece", "piece"]
    ]


def _ends(marks: Sequence[Mark], end: int) -> bool:
    """Whether nothing more is told of that side: 'the right slightly, and bruised' tells more."""
    if end == len(marks) or marks[end].kind == "break":
        return True
    ahead = next((mark for mark in marks[end:] if mark.kind not in PARTS), None)
    return ahead is None or ahead.kind not in _FINDING
