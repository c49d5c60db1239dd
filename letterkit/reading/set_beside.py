"""Two figures beside each other, each with its own side: '60 (R 70)', '60 compared with 70 on the right'."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, beside, items_of, side_of, value_of
from letterkit.reading.phrases import Entry
from letterkit.reading.places import OPPOSITE
from letterkit.reading.texts import Texts
from letterkit.reading.values import BEST_GRADE
from letterkit.reading.words import words

_BENDS = frozenset({"wrist", "elbow"})  # joints of which flexion is
_BEND = frozenset({"flexion", "extension"})
_RANGE = "range of movement"
_EITHER = "'on the other hand' may be a turn of speech"
_LED = 8  # marks of 'the figures for the left side are given in brackets'
_CLOSING = frozenset({")", "]"})
_SINGLE = frozenset({"bare", "amount"})
_TWO = frozenset({"arc", "pair"})
_BOTH = 2  # figures of 'ext 70 flex 75 (L 75/80)'
IN_BRACKETS = "a figure in brackets behind another is read as that of the other side"
_WEIGHTS = frozenset({"kg", "lb"})


def the_other_one(marks: Sequence[Mark], texts: frozenset[str]) -> Sequence[Mark]:
    """'Other elbow 0-140', first in its sentence, and 'the uninjured wrist': the one of the other side."""
    first = [mark.text for mark in marks[:2]]
    if first[:1] == ["other"] and first[-1] in words().sets["of_two"]:
        return [_other(marks[0]), *marks[1:]]
    if "other" in texts and not texts.isdisjoint(words().sets["of_two"]):
        marks = [
            _other(mark) if mark.text == "other" and _is_told_beside(before, after) else mark
            for before, mark, after in beside(marks)
        ]
    if "same" in texts and "as" in texts:
        marks = _the_same_as(marks)
    if "other" in texts and "hand" in texts:
        marks = _on_the_other_hand(marks)
    if texts.isdisjoint(words().sets["sound_part"]):
        return marks
    return [
        _other(mark) if mark.text in words().sets["sound_part"] and _leads_one_of_two(before, after) else mark
        for before, mark, after in beside(marks)
    ]


def _the_same_as(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'MP motion is 0 to 40, the same as on the left': that side is compared with, and was not measured here."""
    valued = False
    for index, (mark, after) in enumerate(itertools.pairwise(marks)):
        valued = valued or mark.kind == "value"
        if valued and mark.text == "same" and after.text == "as":
            return [*marks[:index], replace(mark, kind="compared"), *marks[index + 1 :]]
    return marks


def _on_the_other_hand(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Finkelstein's, on the other hand, is positive': a turn of speech; where it comes first, either."""
    for at in range(len(marks) - 2):
        if [mark.text for mark in marks[at : at + 3]] != ["on", "other", "hand"]:
            continue
        closed = [mark.text for mark in marks[at + 3 : at + 4]] == ["comma"]
        if closed and at and marks[at - 1].text == "comma":
            return [*marks[: at - 1], *marks[at + 4 :]]
        if closed and not at:
            return [marks[0], replace(marks[1], look=_EITHER), *marks[2:]]
    return marks


def _other(mark: Mark) -> Mark:
    return Mark("side", mark.start, mark.end, text="other", word="other")


def _is_told_beside(before: Mark | None, after: Mark | None) -> bool:
    """'Grip is 20 kg on the right, other hand 30 kg'."""
    parted = before is not None and before.kind in {"joiner", "break"} and before.text not in {"or", "slash"}
    return parted and after is not None and after.text in words().sets["of_two"]


def _leads_one_of_two(before: Mark | None, after: Mark | None) -> bool:
    """'The uninvolved wrist', and neither 'the uninjured left wrist' nor 'uninvolved wrists'."""
    if after is None or after.kind != "piece" or after.text not in words().sets["of_two"]:
        return False
    return before is None or before.kind != "side"


def sides_in_brackets(marks: Sequence[Mark]) -> list[Mark]:
    """'(left in brackets): extension 50 (70), flexion 55 (75)': the marks with that side written in each bracket."""
    sets = words().sets
    at = next((at for at, mark in enumerate(marks) if mark.text in sets["brackets"]), 0)
    begins = max(0, at - _LED)
    led = next((led for led in range(at - 1, begins - 1, -1) if _side_told(marks[led])), None)
    if led is None:
        return list(marks)
    side = _side_told(marks[led])
    made = [*marks[:led], *marks[at + 1 :]]
    opened = led
    while (opened := _bare_bracket(made, opened)) >= 0:
        start = made[opened].end
        made.insert(opened + 1, Mark("side", start, start, text=side, word=side))
        opened += 1
    return made


def in_brackets(marks: list[Mark], catalogue: Catalogue) -> list[Mark]:
    """'Grip 22 (48)', 'wrist ext 70, flex 75 (L 75/80)': figures of the other side, each behind its own."""
    made = marks
    opened = 0
    while opened + 3 < len(made):
        opened += 1
        inside = made[opened + 1 : opened + 4]
        if made[opened].text not in {"(", "["} or made[opened - 1].kind != "value":
            continue
        kinds = [mark.kind for mark in inside]
        figure = inside[0].amount
        measured = _is_measured(made[:opened], catalogue)
        if kinds[:2] == ["value", "filler"] and inside[1].text in _CLOSING and measured and figure is not None:
            if figure.kind in _SINGLE:
                start = made[opened].end
                other = Mark("side", start, start, text="other", word="other", look=IN_BRACKETS)
                made = [*made[: opened + 1], other, *inside[:2], *_back_again(made[:opened], made[opened + 3 :])]
        elif kinds == ["side", "value", "filler"] and inside[2].text in _CLOSING and measured:
            made = _one_of_each(made, opened)
    return made


def has_bare_figure(marks: Sequence[Mark]) -> bool:
    """Whether a bracket behind a figure holds no more than another: 'grip 22 (48)'."""
    kinds = [mark.text if mark.text in {"(", "[", *_CLOSING} else mark.kind for mark in marks]
    return any(kinds[at : at + 4] == ["value", "(", "value", ")"] for at in range(len(kinds) - 3))


def _back_again(before: Sequence[Mark], behind: list[Mark]) -> list[Mark]:
    """'F 50 (75), pro full, sup 60': what comes behind a bracket is of the side before it."""
    at = next((at for at, mark in enumerate(behind) if mark.kind != "joiner"), len(behind))
    if at == len(behind) or behind[at].kind not in {"term", "negator"} or any(mark.kind == "side" for mark in behind):
        return behind
    start = behind[at].start
    named = [mark.text for mark in before if mark.kind == "side" and mark.text in OPPOSITE]
    side = named[0] if len({*named}) == 1 else "same"
    return [*behind[:at], Mark("side", start, start, text=side, word=side), *behind[at:]]


def _is_measured(before: Sequence[Mark], catalogue: Catalogue) -> bool:
    """Whether the figure that ends these marks is one figure of something that is measured."""
    amount = before[-1].amount
    term = next((mark for mark in reversed(before) if mark.kind == "term"), None)
    single = amount is not None and amount.kind in _SINGLE
    return single and term is not None and value_of(term, catalogue) is ValueKind.QUANTITY


def _one_of_each(marks: list[Mark], opened: int) -> list[Mark]:
    """'Ext 70 flex 75 (L 75/80)' as 'ext 70 (L 75) flex 75 (L 80)'."""
    side, pair, closing = marks[opened + 1 : opened + 4]
    amount = pair.amount
    told = [at for at in range(opened) if marks[at].kind == "value"]
    if len(told) != _BOTH or amount is None or len(amount.numbers) != _BOTH or amount.unit or amount.kind not in _TWO:
        return marks
    if marks[told[0] - 1].kind != "term" or any(mark.kind == "side" for mark in marks[told[0] : opened]):
        return marks
    figures = [
        replace(pair, amount=replace(amount, kind="bare", numbers=(number,))) for number in amount.numbers
    ]  # fmt: skip
    bracket = marks[opened]
    comma = Mark("joiner", closing.end, closing.end, text="comma")
    first = [bracket, side, figures[0], closing, comma]
    second = [bracket, side, figures[1], closing]
    behind = _back_again(marks[:opened], marks[opened + 4 :])
    return [*marks[: told[0] + 1], *first, *marks[told[0] + 1 : opened], *second, *behind]


def _side_told(mark: Mark) -> str:
    """'Left', 'the other', 'the normal side'."""
    if mark.kind == "side":
        return mark.text if mark.text in {*OPPOSITE, "other"} else ""
    return "other" if mark.text in words().sets["sound_side"] else ""


def _bare_bracket(marks: Sequence[Mark], begin: int) -> int:
    """Where the next bracket opens that holds a figure and no side; -1 where none does."""
    for at in range(begin, len(marks) - 1):
        if marks[at].text in {"(", "["}:
            inside = [
                mark.kind for mark in itertools.takewhile(lambda mark: mark.text not in _CLOSING, marks[at + 1 :])
            ]
            if inside == ["value"]:
                return at
    return -1


def versus(marks: list[Mark], texts: Texts) -> list[Mark]:
    """'Grip 24 kg v 50 kg on the left': compared with; and no 'v' for 'very', nor the fifth digit."""
    if "v" not in texts or "value" not in texts.kinds:
        return marks
    made = list(marks)
    for at, (before, mark, after) in enumerate(beside(marks)):
        behind = [after.kind] if after is not None else []
        behind += [each.kind for each in marks[at + 2 : at + 3] if behind == ["side"]]
        told = before is not None and before.kind == "value"
        told = told or ([each.kind for each in marks[max(0, at - 2) : at]] == ["value", "side"])
        if mark.text == "v" and told and behind[-1:] == ["value"]:
            made[at] = replace(mark, kind="compared")
    return made


def beside_each_other(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Left wrist flexion 60 (R 70)', '60 compared with 70 on the right': two figures, each with its own side."""
    made = list(marks)
    at = 0
    while (found := _second(made, at)) is not None:
        begins, ends, side, figure = found
        first = next(index for index in range(begins - 1, -1, -1) if made[index].kind == figure.kind)
        term = max((index for index in range(first) if made[index].kind == "term"), default=-1)
        since = max(term + 1, at)  # what a pair before it says is of that pair: 'MCP 0-45 (R 0-60), IP 0-70 (R 0-80)'
        sided = any(mark.kind == "side" for mark in made[since:begins])
        own = [] if sided else [_side_of(made[:begins], side)]
        led = any(mark.kind == "side" for mark in made[since:first]) or bool(own)
        leads = made[term - 1 : term] if term > 0 and made[term - 1].kind == "side" else made[:begins]
        side = _opposite(leads, _opposite(made[since:begins], side))
        comma = Mark("joiner", side.start, side.start, text="comma")
        figure = _in_the_unit_of(made[first], figure, made[term] if term >= 0 else None)
        pair = [side, figure] if led else [figure, side]  # in the order in which the first is told
        behind = _of_the_same(made[:begins], made[ends:], phrases)
        made = [*made[:first], *own, *made[first:begins], comma, *pair, *behind]
        at = begins + len(own) + 3
    return _led(marks, made, phrases)


def _opposite(before: Sequence[Mark], side: Mark) -> Mark:
    """'20 kg on the right (other hand 30)': the other one of the side named before."""
    told = {each for each in map(side_of, before) if each}
    if side.text != "other" or len(told) != 1 or not told < OPPOSITE.keys():
        return side
    named = OPPOSITE[told.pop()]
    return replace(side, text=named, word=named)


def _led(marks: Sequence[Mark], made: list[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Right index: MCP 0-80 (L 0-90), PIP 0-95': where the second joint got a name for what is measured, the first."""
    if any(mark.kind == "term" for mark in marks) or not any(mark.kind == "term" for mark in made):
        return made
    at = next((at for at, mark in enumerate(made) if mark.piece is not None and mark.piece.kind == "row"), 0)
    return [*made[:at], _range(phrases, made[at].start), *made[at:]]


def _range(phrases: Mapping[str, Entry], start: int) -> Mark:
    return Mark("term", start, start, term=phrases[_RANGE].term, text=_RANGE)


def _in_the_unit_of(first: Mark, second: Mark, term: Mark | None) -> Mark:
    """'Extension -20 (left 0)', '28 kg (right 46)': two figures of one thing, and the second no grade of power."""
    one, two = first.amount, second.amount
    if one is None or two is None or two.unit or two.kind != "bare" or one.kind not in {"amount", "bare"}:
        return second
    if one.unit in _WEIGHTS:
        return replace(second, amount=replace(two, kind="amount", unit=one.unit))
    if term is not None and any(item.endswith(("_strength", "_pinch")) for item in items_of(term)):
        return second  # 'grip 28 (right 46)'
    unit = one.unit or ("deg" if one.numbers and not 0 <= one.numbers[0] <= BEST_GRADE else "")
    return replace(second, amount=replace(two, kind="amount", unit=unit)) if unit == "deg" else second


def _of_the_same(before: Sequence[Mark], behind: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Left wrist: extension 50 (R 70), flexion 55', 'ROM MCP 0-45 (R 0-60), IP 0-70': what was named once leads on."""
    at = next((index for index, mark in enumerate(behind) if mark.kind not in {"joiner", "break", "filler"}), None)
    if at is None or at == 0:
        return list(behind)
    start, ahead = behind[at].start, behind[at]
    joint = next((mark for mark in reversed(before) if mark.piece is not None and mark.kind == "piece"), None)
    again: list[Mark] = []
    if ahead.kind == "term" and joint is not None and joint.text in _BENDS and ahead.text in _BEND:
        again = [joint]
    elif ahead.kind == "piece" and [mark.kind for mark in behind[at + 1 : at + 2]] == ["value"]:
        amount = behind[at + 1].amount
        moved = [_range(phrases, start)] if amount is not None and amount.kind == "arc" else []
        again = [mark for mark in before if mark.kind == "term"][-1:] or moved
        if ahead.piece is not None and ahead.piece.kind == "row":
            again += [mark for mark in before if mark.piece is not None and mark.piece.kind == "digit"][-1:]
    return [*behind[:at], *(replace(mark, start=start, end=start) for mark in again), *behind[at:]]


def _second(marks: Sequence[Mark], at: int) -> tuple[int, int, Mark, Mark] | None:
    """Where the figure of the other side begins and ends, in brackets or after a word that compares.

    So for a result in brackets: 'Phalen's positive (right negative)'.
    """
    for begins in range(max(at, 1), len(marks)):
        mark = marks[begins]
        bracket = mark.text in {"(", "["}
        before = [each.kind for each in marks[max(0, begins - 5) : begins] if each.kind != "filler"]
        if not (bracket or mark.kind == "compared") or not before:
            continue
        while before[-1:] == ["piece"] and "side" in before[-2:]:
            before.pop()  # '20 kg in the right hand ('
        told = before[-2:] if before[-2:] in (["value", "side"], ["value", "joiner"]) else before[-1:]
        if not {"value", "state"} & {*told}:
            continue
        ends = _end_of(marks, begins, bracket=bracket)
        inside = [
            _other(each) if each.text == "other" and each.kind != "side" else each
            for each in marks[begins + 1 : ends]
            if each.kind not in {"filler", "compared"} and each.text not in words().sets["of_two"] | {"comma"}
        ]  # '(other hand 30)'
        if bracket and told[-1:] == ["state"] and [each.kind for each in inside] == ["side", "state"]:
            if inside[0].text in OPPOSITE:
                return begins, ends, inside[0], inside[1]
        elif sorted(each.kind for each in inside) == ["side", "value"] and "state" not in told:
            side, figure = sorted(inside, key=lambda each: each.kind)
            if side.text in {*OPPOSITE, "other"}:
                return begins, ends, side, figure
    return None


def _end_of(marks: Sequence[Mark], begins: int, *, bracket: bool) -> int:
    """The mark behind the bracket, or behind the side and the figure that are compared."""
    stop = min(len(marks), begins + 9)
    if bracket:
        closing = (
            end for end in range(begins + 1, stop) if marks[end].text in {")", "]"} or marks[end].word[-1:] == ")"
        )
        return next(closing, begins - 1) + 1  # 'L)' is one word
    at = begins + 1
    while at < stop and marks[at].kind in {"filler", "side", "value"}:
        at += 1
    return at


def _side_of(before: Sequence[Mark], side: Mark) -> Mark:
    """The side of a figure beside which another is named: the one said before, or else the opposite of the other."""
    place = before[-1].start
    told = [
        each for each in map(side_of, before) if each in {*OPPOSITE, "both"} and each != side.text
    ]  # not 'on the sound side'
    if told:
        return Mark("side", place, place, text=told[-1], word=told[-1])
    look = "" if side.text == "other" else "the side is the other one than that beside it"
    return Mark("side", place, place, text=OPPOSITE.get(side.text, "same"), look=look)
