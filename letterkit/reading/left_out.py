"""A result that the second half of a sentence leaves out: 'biceps is weak on the right and triceps on the left'.

What was told of the first is said again of the second, behind a break, so that neither takes the other's side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import takewhile

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.besides import no_weakness, told_besides
from letterkit.reading.keeps_still import keeps_still
from letterkit.reading.less_so import less_so
from letterkit.reading.marks import Mark, value_of, without_side
from letterkit.reading.one_joint import is_digit
from letterkit.reading.parting import PARTS, as_break, break_at, part_begins, part_ends, said_at
from letterkit.reading.places import OPPOSITE
from letterkit.reading.predication import BE, THERE_IS, term_is_adjective
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_PLACED = frozenset({"filler", "side", "piece"})
_PASSED = frozenset({"filler", "certain", "severity"})
_TOLD = frozenset({"state", "value"})
_IT_IS = frozenset({"filler", "side", "piece", "state", "certain"})
_DENIED = frozenset({"negator", "neither"})
_AND = ("joiner", "and")
_NONE = frozenset({"neither", "none"})
_LEADS = frozenset({"value", "negator"})  # what may stand before its side and its term
_LINKS = frozenset({"filler", "severity", "certain", "negator", "side"})
_SAME_PART = frozenset({"filler", "severity", "certain", "negator", "side", "term"})


def left_out(marks: list[Mark], texts: Texts, catalogue: Catalogue) -> list[Mark]:
    """The marks of one sentence, which has these texts, with each such result said again."""
    if len(texts.sides) < 2:  # noqa: PLR2004 - one and the other
        return marks
    marks = keeps_still(marks, texts)
    made = less_so(told_besides(_as_is(marks) if "as" in texts else marks, texts, catalogue), texts, catalogue)
    made = made if texts.isdisjoint(words().sets["owns"]) else _owned_apart(made)
    made = _behind_lead(_the_other_one(made))
    at = 1
    while at < len(made) - 1:
        again = None
        if made[at].kind in PARTS:
            again = _said_again(made, at, catalogue) or _of_the_same_part(made, at, catalogue)
            again = again or _none_of_it(made, at, catalogue) or no_weakness(made, at)
            again = again or (_untested(made, at) if "unexamined" in texts.kinds else None)
            again = again or (_there_on_the_other(made, at) if "it" in texts else None)
        made, at = (made if again is None else again), at + 1
    return _of_next_place(made, catalogue)


def _untested(marks: list[Mark], at: int) -> list[Mark] | None:
    """'Pinch not tested on the right, strong on the left', 'strong on the left, right not tested': one side alone."""
    begin, end = part_begins(marks, at), part_ends(marks, at + 1)
    before, after = marks[begin:at], marks[at + 1 : end]
    terms = [mark for mark in before if mark.kind == "term"]
    sides = [{mark.text for mark in part if mark.kind == "side"} for part in (before, after)]
    apart = all(len(each) == 1 for each in sides) and sides[0] != sides[1]
    if not apart or len(terms) != 1 or any(mark.kind == "term" for mark in after):
        return None
    untested = [any(mark.kind == "unexamined" for mark in part) for part in (before, after)]
    told = [any(mark.kind in _TOLD | _DENIED for mark in part) for part in (before, after)]
    if untested == told or sum(untested) != 1 or sum(told) != 1:
        return None
    return [*marks[:at], as_break(marks[at]), *said_at(terms, marks[at + 1].start), *marks[at + 1 :]]


def _there_on_the_other(marks: list[Mark], at: int) -> list[Mark] | None:
    """'No swelling of the left wrist, on the right it was noted': denied of the first side alone."""
    begin = _behind(marks, at)
    before, after = marks[part_begins(marks, at) : at], marks[begin : part_ends(marks, begin)]
    terms = [mark for mark in before if mark.kind == "term"]
    sides = [{mark.text for mark in part if mark.kind == "side"} for part in (before, after)]
    told = [mark.state.classes for mark in after if mark.state is not None]
    denied = any(mark.kind in _DENIED for mark in before) and not any(mark.kind in _TOLD for mark in before)
    if not denied or len(terms) != 1 or told != [("present",)] or any(mark.kind not in _IT_IS for mark in after):
        return None
    if any(len(each) != 1 for each in sides) or sides[0] == sides[1] or all(mark.text != "it" for mark in after):
        return None
    parts = [] if any(mark.kind == "piece" for mark in after) else [mark for mark in before if mark.kind == "piece"]
    again = [without_side(mark) for mark in said_at([*terms, *parts], marks[begin].start)]
    return [*marks[:at], as_break(marks[at]), *again, *marks[begin:]]


def _of_next_place(marks: list[Mark], catalogue: Catalogue) -> list[Mark]:
    """'The wrist is swollen on the right and the elbow on the left': what was found is said again of the second part.

    Without this the second part and its side would stand for the first ones.
    """
    for at, mark in enumerate(marks):
        term = _subject_told(marks, at, catalogue) if mark.kind == "term" else None
        if term is None:
            continue
        subject, side, joiner = term
        begin = _behind(marks, joiner)
        end = _next_place(marks, begin, side)
        if end is None:
            continue
        parted = as_break(marks[joiner])
        start = marks[begin].start
        again = said_at([mark], start) if end == part_ends(marks, end) else []
        if not again and marks[end].text not in BE:
            continue
        named = max(each for each in range(begin, end) if marks[each].kind == "piece") + 1
        where = marks[named - 1].end
        row = said_at(_row_of(marks, subject, begin, end), where)
        rest = _of_next_place([*again, *marks[begin:named], *row, *marks[named:]], catalogue)
        return [*marks[:joiner], parted, *rest]
    return marks


def _subject_told(marks: Sequence[Mark], at: int, catalogue: Catalogue) -> tuple[int, str, int] | None:
    """Where the part stands that a term is told of, the side behind the term, and the joiner behind that."""
    if not _is_found(marks[at], catalogue):
        return None
    subject = next((each for each in range(at - 1, -1, -1) if marks[each].kind not in _PASSED), None)
    if subject is not None and subject and is_digit(marks[subject]):
        subject -= 1  # 'PIP 2-4 swollen'
    if subject is None or marks[subject].kind != "piece":
        return None
    behind = next((each for each in range(at + 1, len(marks)) if marks[each].kind != "filler"), None)
    if behind is None or marks[behind].kind != "side" or behind + 1 >= len(marks):
        return None
    parts = marks[behind + 1].kind == "break" or marks[behind + 1].text in {"and", "comma"}
    return (subject, marks[behind].text, behind + 1) if parts else None


def _next_place(marks: Sequence[Mark], start: int, side: str) -> int | None:
    """Where the words of another part with its own side end: 'the elbow on the left'."""
    at = start
    while at < len(marks) and (marks[at].kind in {"filler", "piece"} or is_digit(marks[at])):
        at += 1
    named = any(each.kind == "piece" for each in marks[start:at])
    other = named and at < len(marks) and marks[at].kind == "side" and marks[at].text != side
    return at + 1 if other else None


def _row_of(marks: Sequence[Mark], subject: int, begin: int, end: int) -> list[Mark]:
    """'The second MCP is swollen on the right, the third on the left': the joints, where only the digit is counted."""
    kinds = {mark.piece.kind for mark in marks[begin:end] if mark.piece is not None}
    row = marks[subject].piece
    return [marks[subject]] if row is not None and row.kind == "row" and kinds == {"ordinal"} else []


def _said_again(marks: list[Mark], at: int, catalogue: Catalogue) -> list[Mark] | None:
    """The marks with the result before the joiner `at` for the term behind it, where that has none of its own."""
    begin = _behind(marks, at)
    end = part_ends(marks, begin)
    if marks[at].kind != "joiner":
        return None
    named = [each for each in range(begin, end) if marks[each].kind == "term"]
    rest = [mark for mark in marks[begin:end] if mark.kind != "term"]
    if len(named) != 1 or any(mark.kind not in _PLACED for mark in rest) or not any(m.kind == "side" for m in rest):
        return None
    if _says_a_state(marks[named[0]]) or term_is_adjective(marks[named[0]]):
        return None  # 'its colour was normal on the right and pale on the left'
    kind = value_of(marks[named[0]], catalogue)
    first = next((each for each in range(at - 1, -1, -1) if marks[each].kind == "term"), None)
    alike = first is not None and kind not in {None, ValueKind.PRESENCE} and kind is value_of(marks[first], catalogue)
    if first is None or not alike or _has_result_ahead(marks, end):
        return None
    start = part_begins(marks, first)
    told = next((each for each in range(first + 1, at) if marks[each].kind in _TOLD), None)
    led = next((each for each in range(first - 1, start - 1, -1) if marks[each].kind in _TOLD), None)
    result = told if told is not None else led
    sided = any(mark.kind == "side" for mark in marks[start:at])
    if result is None or not sided or any(mark.kind in _DENIED for mark in marks[start : max(result, first)]):
        return None
    if any(mark.kind == "except" for mark in marks[result:first]):
        return None  # 'all muscles are 5/5 except biceps and triceps on the right': the grade is of the others
    where = marks[begin].start if result == led else marks[named[0]].end
    copy = replace(marks[result], start=where, end=where)
    split = begin if result == led else named[0] + 1
    parted = as_break(marks[at])
    return [*marks[:at], parted, *marks[begin:split], copy, *marks[split:]]


def _of_the_same_part(marks: list[Mark], at: int, catalogue: Catalogue) -> list[Mark] | None:
    """'The wrist is swollen on the right and bruised on the left', '..., the left is bruised': the wrist as well."""
    begin = _behind(marks, at)
    end = part_ends(marks, begin)
    behind = marks[begin:end]
    named = [mark for mark in behind if mark.kind == "term"]
    subject, verb = _subject(marks, at, catalogue)
    if len(named) != 1 or not subject or value_of(named[0], catalogue) is not ValueKind.PRESENCE:
        return None
    sides = [index for index, mark in enumerate(behind) if mark.kind == "side"]
    if len(sides) != 1 or any(mark.kind not in _SAME_PART or mark.text in THERE_IS for mark in behind):
        return None
    where = behind.index(named[0])
    led = sides[0] < where
    owns = words().sets["owns"]
    own_verb = led and any(mark.text in BE | owns for mark in behind[sides[0] : where])
    listed = not led and verb in owns and marks[at].text == "and"
    if not (term_is_adjective(named[0]) or own_verb or listed):
        return None
    split = begin + (sides[0] + 1 if led else 0)
    start = marks[split].start
    copies = [without_side(mark) for mark in said_at(subject, start)]
    return [*marks[:at], break_at(marks[at].start), *marks[begin:split], *copies, *marks[split:]]


def _none_of_it(marks: list[Mark], at: int, catalogue: Catalogue) -> list[Mark] | None:
    """'The right wrist has swelling and bruising, the left wrist has neither': both are denied of the second."""
    begin = _behind(marks, at)
    end = part_ends(marks, begin)
    behind = marks[begin:end]
    none = next((index for index, mark in enumerate(behind) if mark.text in _NONE), None)
    if none is None or any(mark.kind not in _PLACED for index, mark in enumerate(behind) if index != none):
        return None
    told = [mark for mark in marks[:at] if mark.kind == "term"]
    parts = _subject(marks, at, catalogue)[0]
    if not parts:
        return None
    found = all(value_of(mark, catalogue) is ValueKind.PRESENCE for mark in told)
    if not told or not found or not _names_place(behind) or any(mark.kind in _DENIED | _TOLD for mark in marks[:at]):
        return None
    start = behind[none].start
    listed = [
        each
        for mark in told
        for each in (Mark("joiner", start, start, text="or"), replace(mark, start=start, end=start))
    ]
    no = Mark("negator", start, behind[none].end, text="no")
    parts = [] if any(mark.kind == "piece" for mark in behind) else parts
    copies = [without_side(mark) for mark in said_at(parts, start)]
    denied = [*behind[:none], *copies, no, *listed[1:], *behind[none + 1 :]]
    return [*marks[:at], break_at(marks[at].start), *denied, *marks[end:]]


def _subject(marks: Sequence[Mark], at: int, catalogue: Catalogue) -> tuple[list[Mark], str]:
    """The parts that what was found before the joiner `at` is told of, where they stand before it, and their verb."""
    begin = next((each + 1 for each in range(at - 1, -1, -1) if marks[each].kind == "break"), 0)
    first = next((each for each in range(begin, at) if marks[each].kind == "term"), None)
    if first is None or not _is_found(marks[first], catalogue):
        return [], ""
    last = next((each for each in range(first - 1, begin - 1, -1) if marks[each].kind == "piece"), None)
    if last is None or not any(mark.kind == "side" for mark in marks[begin:at]):
        return [], ""
    if any(mark.kind in _TOLD for mark in marks[begin:last]) or any(mark.kind == "piece" for mark in marks[first:at]):
        return [], ""
    if any(mark.kind not in _LINKS for mark in marks[last + 1 : first]):
        return [], ""
    parts = [mark for mark in marks[begin : last + 1] if mark.kind == "piece" or (mark.kind, mark.text) == _AND]
    verb = next((mark.text for mark in marks[last + 1 : first] if mark.text in words().sets["owns"]), "")
    return parts, verb


def _is_found(mark: Mark, catalogue: Catalogue) -> bool:
    """'Swollen', 'numb': a term that tells by itself what was found."""
    return value_of(mark, catalogue) is ValueKind.PRESENCE or _says_a_state(mark)


def _says_a_state(mark: Mark) -> bool:
    return mark.term is not None and bool(mark.term.state)


def _behind(marks: Sequence[Mark], joiner: int) -> int:
    """Where what is joined begins: behind ', and' as behind 'and'."""
    return joiner + 1 + (joiner + 1 < len(marks) and marks[joiner + 1].kind == "joiner")


def _has_result_ahead(marks: Sequence[Mark], end: int) -> bool:
    """'..., triceps on the left and deltoid on the right 4/5': the result that stands last may be of both.

    '..., and right finger extensors, 4-/5': or it stands behind a comma.
    """
    if any(mark.kind in _DENIED for mark in marks[end : part_ends(marks, end + 1)]):
        return False  # '..., triceps on the left and deltoid on neither side'
    if end + 1 < len(marks) and marks[end].kind == "joiner" and marks[end + 1].kind in _TOLD:
        return True
    if end + 1 >= len(marks) or marks[end].text != "and" or marks[end + 1].kind == "joiner":
        return False
    behind = marks[end + 1 : part_ends(marks, end + 1)]
    told = next((index for index, mark in enumerate(behind) if mark.kind in _TOLD), None)
    return told is not None and not any(mark.text in {"is", "was"} for mark in behind[:told])


def _as_is(marks: list[Mark]) -> list[Mark]:
    """'The right wrist is swollen, as is the left elbow': what was found, of the second as well."""
    at = next((i for i in range(1, len(marks) - 2) if marks[i].text == "as" and marks[i + 1].text in BE), None)
    if at is None or any(mark.kind not in _PLACED for mark in marks[at:]) or not _names_place(marks[at:]):
        return marks
    term = next((each for each in range(at - 1, -1, -1) if marks[each].kind == "term"), None)
    if term is None or any(mark.kind in _DENIED | _TOLD for mark in marks[:at]):
        return marks
    start = marks[at].start
    again = replace(marks[term], start=start, end=start)
    return [*marks[: at - (marks[at - 1].kind == "joiner")], break_at(start), again, *marks[at + 2 :]]


def _names_place(marks: Sequence[Mark]) -> bool:
    return any(mark.kind in {"side", "piece"} for mark in marks)


def _behind_lead(marks: list[Mark]) -> list[Mark]:
    """'2+ left triceps, trace on the right', 'no left Hoffmann's, present on the right': each side its own result."""
    at = next((at for at in range(1, len(marks) - 1) if marks[at].kind in PARTS and marks[at + 1].kind == "state"), 0)
    if not at:
        return marks
    first = next((each for each in range(at) if marks[each].kind in _LEADS), at)
    before, behind = marks[first + 1 : at], list(takewhile(lambda mark: mark.kind not in PARTS, marks[at + 2 :]))
    sides = [mark.text for mark in before if mark.kind == "side"]
    other = [mark for mark in behind if mark.kind != "filler"]
    terms = [mark for mark in before if mark.kind == "term"]
    if not terms or len(sides) != 1 or any(mark.kind not in {*_PLACED, "term", "joiner"} for mark in before):
        return marks
    if [mark.kind for mark in other] != ["side"] or other[0].text != OPPOSITE.get(sides[0]):
        return marks
    side = next(each for each in range(first, at) if marks[each].kind == "side")
    if any(mark.kind == "term" for mark in marks[first:side]):
        return marks  # '2+ triceps on the left, trace on the right': in their order
    amount = marks[first].amount
    reflex = amount is not None and amount.kind == "signed"
    start = marks[at + 1].start
    again: list[Mark] = []
    for mark in (each for each in before if each.kind in {"term", "piece"}):
        joined = [Mark("joiner", start, start, text="and")] if again and mark.kind == "term" else []
        hints = ("reflex",) if reflex and mark.kind == "term" else mark.hints
        again += [*joined, replace(mark, start=start, end=start, hints=hints)]
    return [*marks[:at], break_at(start), *again, *marks[at + 1 :]]


def _the_other_one(marks: list[Mark]) -> list[Mark]:
    """'The left elbow was stiff, and the right one was swollen', '... the right could be bent': the right elbow."""
    subject = _led_by_side(marks)
    if len(subject) < 2 or any(mark.kind != "piece" for mark in subject[1:]):  # noqa: PLR2004 - a side and its part
        return marks
    for at in range(1, len(marks) - 2):
        second = _led_by_side(marks[at + 1 :]) if marks[at].kind in PARTS else []
        if len(second) != 1 or second[0].text != OPPOSITE[subject[0].text]:
            continue
        end = marks.index(second[0]) + 1
        if end < len(marks) and marks[end].text in {"one", *words().sets["could_be"]}:
            start = second[0].end
            parts = said_at(subject[1:], start)
            return [*marks[:end], *parts, *marks[end:]]
    return marks


def _led_by_side(marks: Sequence[Mark]) -> list[Mark]:
    """The side and the part that a clause begins with: 'the left elbow'; nothing where it begins with another word."""
    determiners = words().sets["determiners"]
    spoken = (mark for mark in marks if mark.kind not in PARTS and mark.text not in determiners)
    led = list(takewhile(lambda mark: mark.kind in {"side", "piece"}, spoken))
    return led if led and led[0].text in OPPOSITE else []


def _owned_apart(marks: list[Mark]) -> list[Mark]:
    """'The right side has a positive Phalen's and the left a positive Finkelstein's': each has its own."""
    verb = next((index for index, mark in enumerate(marks) if mark.text in words().sets["owns"]), None)
    if verb is None or not any(mark.kind == "side" for mark in marks[:verb]):
        return marks
    for at in range(verb + 1, len(marks) - 3):
        if marks[at].text != "and" or marks[at + 1].text not in words().sets["determiners"]:
            continue
        behind = marks[at + 2 : part_ends(marks, at + 2)]
        article = next((index for index, mark in enumerate(behind) if mark.text in {"a", "an", "no"}), 0)
        led = article and all(mark.kind in {"side", "piece"} for mark in behind[:article])
        if led and behind[0].kind == "side" and any(mark.kind == "term" for mark in behind):
            return [*marks[:at], as_break(marks[at]), *marks[at + 1 :]]
    return marks
