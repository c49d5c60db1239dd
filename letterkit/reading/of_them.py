"""'Both', 'all three', 'they', 'neither': the tests, muscles or movements named before, where another side follows.

'Phalen's and Tinel's were negative on the right; both were positive on the left': the two tests, and not both sides.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, value_of
from letterkit.reading.parting import PARTS, break_at, listed_at, part_begins
from letterkit.reading.phrases import Entry
from letterkit.reading.places import OPPOSITE
from letterkit.reading.predication import BE, NUMBERS
from letterkit.reading.result import ReadFinding
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_SOFT = frozenset({"filler", "side", "state", "value", "joiner", "certain", "severity", "negator", "neither", "piece"})
_TOLD = frozenset({"state", "value"})
_PLACES = frozenset({"filler", "side", "piece"})
_DENIED = frozenset({"negator", "neither"})
_FIGURES = frozenset({"filler", "side", "value", "joiner"})
_GRADES = frozenset({"grade", "signed", "span"})
_JOINTS = frozenset({"wrist", "elbow"})
_BETWEEN = frozenset({"filler", "side", "certain"})
_TWO = 2
_JUST_TOLD = 6  # findings back to which a movement without its joint may have been told


def of_them(marks: list[Mark], texts: frozenset[str], catalogue: Catalogue) -> list[Mark]:
    """The marks of one sentence with the names that such a word stands for; `texts` are those of the marks."""
    if any([mark.amount is not None and len(mark.amount.numbers) > 1 for mark in marks[-1:]]):  # noqa: C419
        marks = _figures_last(marks, catalogue)
    if texts.isdisjoint(words().sets["of_them"]):
        return marks
    at = next((at for at in range(len(marks) - 1, 0, -1) if _stands_for_them(marks, at)), None)
    if at is None:
        return marks
    begin, before = _before_part(marks, at)
    made = named(marks[begin:], before, catalogue)
    if made is None:
        ahead = next((mark for mark in marks[at + 1 :] if mark.kind != "filler"), None)
        counts = marks[at].word == "both" and ahead is not None and ahead.kind == "side"
        return [*marks[:at], *marks[at + 1 :]] if counts else marks  # 'A positive and B negative, and both on the left'
    return [*before, break_at(marks[begin].start), *made]


def _figures_last(marks: list[Mark], catalogue: Catalogue) -> list[Mark]:
    """'On the right grip is 20 kg and pinch 6 kg, on the left 30 and 7 kg': each its own, and no trials of the last."""
    begin, before = _before_part(marks, len(marks))
    made = named_by_figures(marks[begin:], before, catalogue)
    return marks if made is None else [*before, break_at(made[0].start), *made]


def _before_part(marks: list[Mark], at: int) -> tuple[int, list[Mark]]:
    """Where the part before `at` begins, and what was told before it, without what joins the two."""
    begin = end = part_begins(marks, at)
    while end and marks[end - 1].kind in PARTS:
        end -= 1
    return begin, marks[:end]


def named_by_figures(clause: Sequence[Mark], before: Sequence[Mark], catalogue: Catalogue) -> list[Mark] | None:
    """A clause of one side and as many figures as terms were told `before`, each of which had one: with these terms."""
    terms = list({mark.text: mark for mark in before if mark.kind == "term"}.values())
    figures = [mark for mark in clause if mark.kind == "value"]
    count = sum(max(1, len(mark.amount.numbers)) for mark in figures if mark.amount is not None)
    sides = {mark.text for mark in clause if mark.kind == "side"}
    told = [mark.amount for mark in before if mark.kind == "value" and mark.amount is not None]
    if len(terms) < _TWO or not len(terms) == count == len(told) or any(len(each.numbers) > 1 for each in told):
        return None
    alike = len({value_of(mark, catalogue) for mark in terms}) == 1
    if not alike or len(sides) != 1 or any(mark.kind not in _FIGURES for mark in clause):
        return None
    first = clause.index(figures[0])
    return [*clause[:first], *listed_at(terms, figures[0].start), *clause[first:]]


def named(clause: Sequence[Mark], before: Sequence[Mark], catalogue: Catalogue) -> list[Mark] | None:
    """A clause without a term of its own, with those told `before`; None where it speaks of nothing of the kind."""
    at = next((at for at in range(len(clause)) if _stands_for_them(clause, at)), None)
    if at is not None and (stop := _next_term(clause, at)) is not None:
        made = named(clause[:stop], before, catalogue)  # 'both are present on the left, as is the third'
        return None if made is None else [*made, *clause[stop:]]
    terms = list({mark.text: mark for mark in before if mark.kind == "term"}.values())
    if at is None or len(terms) < _TWO or not _are_alike(terms, [*before, *clause], catalogue):
        return None
    end = _end_of_name(clause, at)
    rest = [mark for mark in clause[at + 1 : end] if mark.text in NUMBERS]
    count = NUMBERS[rest[0].text] if rest else _TWO if clause[at].text in {"both", "neither"} else len(terms)
    around = [*clause[:at], *clause[end:]]
    sides = {mark.text for mark in around if mark.kind == "side"}
    if count != len(terms) or len(sides) != 1 or not sides < OPPOSITE.keys():
        return None
    if any(mark.kind not in _SOFT or mark.kind == "neither" for mark in around):
        return None
    result = _left_out(clause, at, end, before)
    if result is None or (value_of(terms[0], catalogue) is ValueKind.PRESENCE and not _is_there(around, result)):
        return None
    where = end + (end < len(clause) and clause[end].text in BE)
    return [*clause[:at], *listed_at(terms, clause[at].start), *clause[end:where], *result, *clause[where:]]


def _are_alike(terms: Sequence[Mark], told: Sequence[Mark], catalogue: Catalogue) -> bool:
    """Whether one kind of result may be that of all: 'EPL' names a tendon, but 'EPL 4/5, APB 5/5' two muscles."""
    grades = [mark.amount is not None and mark.amount.kind in _GRADES for mark in told if mark.kind == "value"]
    return len({value_of(mark, catalogue) for mark in terms}) == 1 or (len(grades) > 1 and all(grades))


def _stands_for_them(marks: Sequence[Mark], at: int) -> bool:
    """Whether a word stands by itself, before a verb, a result or a place: no 'both hands', no 'on both sides'."""
    mark = marks[at]
    if mark.text not in words().sets["of_them"] or (mark.kind == "side" and mark.word != "both"):
        return False
    end = _end_of_name(marks, at)
    ahead = marks[end] if end < len(marks) else None
    if any(each.kind not in _SOFT for each in marks[end : _next_term(marks, at)]) or ahead is None:
        return False
    led = next((each for each in reversed(marks[:at]) if each.text != "the"), None)
    if led is not None and led.text in words().sets["where"] | {"for"}:
        return False  # 'on both'
    bare = mark.text == "both" or end > at + 1
    return ahead.text in BE or ahead.kind in _TOLD or (bare and ahead.text in words().sets["where"])


def _next_term(marks: Sequence[Mark], at: int) -> int | None:
    """Where the clause that the word at `at` stands in ends, if another term is told of behind it."""
    term = next((each for each in range(at, len(marks)) if marks[each].kind == "term"), None)
    return next((each for each in range(at, term or 0) if marks[each].kind in PARTS), None)


def _end_of_name(marks: Sequence[Mark], at: int) -> int:
    """Behind 'all three', 'both of them', 'all of these'."""
    end = at + 1
    while end < len(marks) and (marks[end].text in NUMBERS or marks[end].text in words().sets["small_of_them"]):
        end += 1
    return end


def _left_out(clause: Sequence[Mark], at: int, end: int, before: Sequence[Mark]) -> list[Mark] | None:
    """What the clause needs besides: nothing where it has its own result, else that of those before, or its contrary.

    'Neither was positive on the right; both were on the left', 'both were positive on the right; neither was ...'.
    """
    denied = any(mark.kind in _DENIED for mark in before)
    told = [mark for mark in before if mark.kind in _TOLD]
    no = [Mark("negator", clause[at].start, clause[at].end, text="not")] if clause[at].kind == "neither" else []
    if any(mark.kind in _TOLD for mark in clause[end:]):
        return no
    if any(mark.kind == "negator" for mark in clause) or any(mark.kind == "joiner" for mark in clause):
        return None
    if len({(mark.text, mark.amount.numbers if mark.amount else ()) for mark in told}) != 1:
        return None
    verb = end < len(clause) and clause[end].text in BE
    if bool(denied or no) != verb or (denied and no):
        return None  # 'both in the left ring finger' is so too, 'both were' where it was denied, 'neither was'
    return [*no, replace(told[0], start=clause[at].end, end=clause[at].end)]


def _is_there(around: Sequence[Mark], result: Sequence[Mark]) -> bool:
    """Whether what is told is that a finding is there or not, and not that a part is normal."""
    told = [mark.state for mark in (*around, *result) if mark.kind == "state" and mark.state is not None]
    return bool(told) and all({"present", "absent"} & set(state.classes) for state in told)


def of_joint_before(
    marks: list[Mark], texts: Texts, findings: Sequence[ReadFinding], phrases: Mapping[str, Entry], *, goes_on: bool
) -> list[Mark]:  # fmt: skip
    """The marks of a sentence that leaves out of which joint its movements are; `goes_on` where it is on one line."""
    if marks[0].kind == "side":
        return _of_the_same_joint(marks, texts, findings)
    return _next_movement(marks, texts, findings, phrases) if goes_on and marks[0].kind == "term" else marks


def _next_movement(
    marks: list[Mark], texts: Texts, findings: Sequence[ReadFinding], phrases: Mapping[str, Entry]
) -> list[Mark]:  # fmt: skip
    """'Right wrist flexion 60; extension 50': what begins with another movement is of the joint told of before."""
    told = findings[-1] if findings else None
    joint = told.item.partition("_")[0] if told is not None and told.state == "measured" else ""
    moved = marks[0].text in words().sets["bare_movements"] and f"{joint} {marks[0].text}" in phrases
    if not moved or joint not in _JOINTS or "piece" in texts.kinds or len(texts.terms) > 1:
        return marks
    figure = next((mark for mark in marks[1:] if mark.kind not in _BETWEEN), None)
    amount = figure.amount if figure is not None else None
    if amount is None or amount.kind not in {"amount", "bare", "arc"} or amount.unit not in {"", "deg"}:
        return marks
    name = f"{joint} {marks[0].text}"
    angle = replace(amount, unit="deg", kind="amount" if amount.kind == "bare" else amount.kind)
    rest = [replace(mark, amount=angle) if mark is figure else mark for mark in marks[1:]]
    return [replace(marks[0], term=phrases[name].term, text=name), *rest]


def _of_the_same_joint(marks: list[Mark], texts: Texts, findings: Sequence[ReadFinding]) -> list[Mark]:
    """'Wrist motion, left: extension 55, flexion 48. Right: extension 70, flexion 72': of the joint told of before."""
    if "piece" in texts.kinds or not any(mark.term is not None and mark.term.near for mark in texts.terms):
        return marks
    before = {each.item for each in findings[-_JUST_TOLD:]}
    return [
        replace(mark, term=replace(mark.term, near=()))
        if mark.term is not None and mark.term.near and before & set(mark.term.items)
        else mark
        for mark in marks
    ]
