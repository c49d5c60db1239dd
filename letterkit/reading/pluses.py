"""Pluses counted, as reflexes and pulses are told: 'biceps +/++', 'radial pulse ++ right, + left'."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import StateWord
from letterkit.reading.words import words

_PAIR = re.compile(r"(0|[-−–]|\+{1,4})/(0|[-−–]|\+{1,4})")
_PARTS = re.compile(r"0|/|[-−–]|\++(?:/\++)*/?|[-−–]/[-−–+]|\+/[-−–]")
_BESIDE = {"reflex": "reduced", "pulse": "reduced"}  # what a single plus says where two are the rule
_MANY = {"reflex": "brisk", "pulse": "present"}
_TWO = {"reflex": "normal", "pulse": "present"}
_NONE = {"reflex": "absent", "pulse": "absent"}
_ONE_OF_TWO = "a single plus beside others with two is read as less"


def pluses(marks: Sequence[Mark], order: tuple[str, str] | None, orders: frozenset[str]) -> list[Mark]:
    """The marks of one sentence with pluses in their number, and an uneven pair on its sides.

    'R/L: biceps +/++' is less on the right; without an order the pair says nothing. `orders` are the words of an order.
    """
    found = list(marks)
    pairs = _pairs(found)
    sided = any(mark.kind == "side" and mark.word not in orders for mark in found)
    if any(first != second and (end - begin > 1 or "++" in first + second) for begin, end, first, second in pairs):
        found = _on_sides(found, pairs, None if sided else order, orders)
    if any(_count(mark) > 1 for mark in found):
        found = [_less(mark) if _count(mark) == 1 else mark for mark in found]
    return found


def _count(mark: Mark) -> int:
    """How many pluses the mark is: '+ +' is two; none where it is anything else."""
    sign = mark.text.replace(" ", "") if mark.kind == "state" else ""
    return len(sign) if sign and set(sign) == {"+"} else 0


def _less(mark: Mark) -> Mark:
    """A single plus where others have two: of a reflex or pulse that it is weaker, of a test that it is positive."""
    state = mark.state or StateWord()
    return replace(mark, state=StateWord(state.classes, {**state.scales, **_BESIDE}, state.items), text="less +")


def _pairs(marks: Sequence[Mark]) -> list[tuple[int, int, str, str]]:
    """Where signs stand without space between them, with a slash among them: '+/++', '0/++', '-/+'."""
    found: list[tuple[int, int, str, str]] = []
    at = 0
    while at < len(marks):
        end, text = at, ""
        while (
            end < len(marks) and (sign := _sign(marks[end])) and (end == at or marks[end - 1].end == marks[end].start)
        ):
            text += sign
            end += 1
        pair = _PAIR.fullmatch(text)
        if pair is not None and "+" in text:
            found.append((at, end, *(re.sub(r"[−–]", "-", each) for each in pair.groups())))  # type: ignore[arg-type]
        at = max(end, at + 1)
    return found


def _sign(mark: Mark) -> str:
    """The signs that a mark is, without spaces; empty where it is anything else."""
    if mark.kind == "joiner" and mark.text == "slash":
        return "/"
    if mark.amount is not None:
        return "0" if list(mark.amount.numbers) == [0] and not mark.amount.unit else ""
    text = (mark.word or mark.text).replace(" ", "")
    return text if mark.kind in {"state", "filler"} and text and _PARTS.fullmatch(text) else ""


def _on_sides(
    marks: Sequence[Mark], pairs: Sequence[tuple[int, int, str, str]], order: tuple[str, str] | None,
    orders: frozenset[str],
) -> list[Mark]:  # fmt: skip
    """The marks with each pair written out; of one whose sides are not known no more is told than both say."""
    made: list[Mark] = []
    last = 0
    for begin, end, first, second in pairs:
        made += marks[last:begin]
        last = end
        start, stop = marks[begin].start, marks[end - 1].end
        if order is None and end - begin == 1:
            made.append(marks[begin])  # '+/-' is a doubt
        elif first == second:
            made += [_state(first, start, stop, ""), Mark("side", stop, stop, text="both", word="both")]
        elif order is None:
            there = ("positive",) if "-" not in first + second and "0" not in first + second else ()
            made.append(Mark("state", start, stop, state=StateWord(there), text="+ / +"))  # of which side is not said
        else:
            for side, sign, beside in zip(order, (first, second), (second, first), strict=True):
                look = _ONE_OF_TWO if sign == "+" and beside.startswith("++") else ""
                made.append(Mark("side", start, start, text=side, word=side, look=look))
                made.append(_state(sign, start, stop, beside))
                made.append(Mark("joiner", stop, stop, text="comma"))
            made.pop()
    made += marks[last:]
    return [mark for mark in made if not (mark.kind == "side" and mark.word in orders and order is not None)]


def _state(sign: str, start: int, end: int, beside: str) -> Mark:
    """The result that so many pluses are."""
    if not sign.startswith("+"):
        return Mark("state", start, end, state=StateWord(("negative", "absent"), _NONE), text="-")
    scales = _MANY if len(sign) > 2 else _BESIDE if sign == "+" and beside.startswith("++") else _TWO  # noqa: PLR2004
    return Mark("state", start, end, state=StateWord(("positive",), scales), text=" ".join(sign))


def is_beside_ankles(marks: Sequence[Mark]) -> bool:
    """'Biceps trace and symmetric, absent ankles': of a joint of the leg only its jerk is absent, or a trace."""
    for index, mark in enumerate(marks):
        if mark.kind == "piece" and mark.text in words().sets["jerked"]:
            near = [*marks[max(0, index - 1) : index], *marks[index + 1 : index + 2]]
            if any(each.word == "trace" or each.text in {"absent", "trace"} for each in near):
                return True
    return False
