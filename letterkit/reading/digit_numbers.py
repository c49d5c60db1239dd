"""Digits by their numbers behind a D: 'numb in D4-5', 'D2/3', 'D1, 2 and 3', 'D1 to 3', 'D1 and 2 numb, 3 normal'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import DASHES, Mark
from letterkit.reading.one_joint import has_own_result, is_digit
from letterkit.reading.phrases import Entry
from letterkit.reading.values import BEST_GRADE

COUNTED = frozenset({"d", "d 1", "d 2", "d 3", "d 4"})
_TO = frozenset({"to", "through", "thru"})
_AND = frozenset({"and", "+", "comma"})


def counted_digits(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """The marks of one sentence with each number of such a list as the digit that it counts."""
    marks = _slashed(marks, phrases)
    made: list[Mark] = []
    last = since = 0  # the number of the digit named last, and where in `made` begins what was said behind it
    for index, mark in enumerate(marks):
        numbers = [int(each) for each in mark.amount.numbers] if mark.amount is not None and is_digit(mark) else []
        between = made[since:]
        if not last or not numbers:
            told = []
        elif numbers[0] > last and _goes_on(between, mark) and not _is_of_next(marks, index):
            told = [*map(_joining, between), *_digits(mark, numbers, phrases)]
        elif has_own_result(between, marks, index):
            told = [*between, *_digits(mark, numbers, phrases)]
        else:
            told = []
        made[since:] = told or [*between, mark]
        if mark.kind == "piece":
            last, since = _number(mark), len(made)
        elif told:
            last, since = numbers[-1], len(made)
    return made


def _number(mark: Mark) -> int:
    """Which digit is named by its number; 0 where it is named otherwise."""
    return int(mark.text[2:]) if mark.text[:2] == "d " and mark.text[2:].isdecimal() else 0


def _digits(mark: Mark, numbers: Sequence[int], phrases: Mapping[str, Entry]) -> list[Mark]:
    """The digits of one or more numbers, of an arc its first and its last with a dash between."""
    between = Mark("joiner", mark.start, mark.start, text="and")
    if mark.amount is not None and mark.amount.kind == "arc":
        between = Mark("filler", mark.start, mark.start, text="-")
    made: list[Mark] = []
    for number in numbers:
        name = f"d {number}"
        made += [between, Mark("piece", mark.start, mark.end, piece=phrases[name].piece, text=name)]
    return made[1:]


def _slashed(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'D4/5 numb': two digits; a grade of power stands apart from its letter, or beside those of others."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        before = marks[index - 1] if index else None
        joined = before is not None and before.text == "d" and before.kind == "word" and before.end == mark.start
        amount = mark.amount
        if not joined or amount is None or amount.kind not in {"grade", "pair"} or not amount.grade.isdigit():
            made.append(mark)
            continue
        first, second = int(amount.grade), int(amount.other or BEST_GRADE)
        if not 0 < first < second or any("power" in each.hints for each in marks):
            made.append(mark)
            continue
        pair = _digits(mark, (first, second), phrases)
        made[-1:] = [replace(pair[0], start=made[-1].start), *pair[1:]]
    return made


def _goes_on(between: Sequence[Mark], mark: Mark) -> bool:
    """Whether nothing stands between two digits of a list but what joins them."""
    said = [each.text for each in between]
    if len(said) == 1 and said[0] in DASHES:
        return mark.start == between[0].end  # 'D1 - 2, D2 - 1' is a score of each
    if said == ["slash"]:
        return mark.start == between[0].end
    return said in (["comma"], ["and"], ["+"], ["comma", "and"], ["or"]) or (len(said) == 1 and said[0] in _TO)


def _joining(mark: Mark) -> Mark:
    """What stands between two digits of a list, as between any two parts."""
    if mark.text in _AND:
        return replace(mark, kind="joiner", state=None, text="and")
    return replace(mark, kind="filler", text="-") if mark.text in _TO else mark


def _is_of_next(marks: Sequence[Mark], index: int) -> bool:
    """'D2, 5 scars': whether the number counts what follows it."""
    after = marks[index + 1] if index + 1 < len(marks) else None
    return after is not None and after.kind == "word" and after.text not in {"and", "n"} | _TO
