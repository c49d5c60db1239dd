"""Signs of which so many are there: 'all four Kanavel signs', 'Kanavel 2/4', 'none of Kanavel's signs was present'."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark
from letterkit.reading.texts import Texts
from letterkit.reading.values import Amount
from letterkit.reading.words import words

_FAR = 7  # marks between the signs and their number
_NUMBERS = {"one": 1, "two": 2, "three": 3, "four": 4, "single": 1}
_ENDS = frozenset({"joiner", "break", "term", "maybe", "unexamined"})
_STAYS = frozenset({"side", "piece"})


def counted(marks: Sequence[Mark], texts: Texts) -> Sequence[Mark]:
    """The marks of one sentence with how many of such signs were found as their value."""
    return marks if texts.items.isdisjoint(words().counted) else _counted(marks)


def _counted(marks: Sequence[Mark]) -> list[Mark]:
    made = list(marks)
    for index, mark in enumerate(marks):
        total = words().counted.get(mark.term.items[0], 0) if mark.term is not None and mark.term.items else 0
        if not total or mark.kind != "term":
            continue
        first, last = _reach(marks, index)
        before, after = marks[first:index], marks[index + 1 : last]
        number = _number(before, after, total)
        if number is None:
            continue
        amount = Amount("bare", mark.start, mark.end, (float(number),))
        told = [each for each in (*before, *after) if each.kind not in _STAYS]
        start, end = min([mark.start, *(each.start for each in told)]), max([mark.end, *(each.end for each in told)])
        value = Mark("value", mark.end, end, amount=amount)
        kept = [each for each in before if each.kind in _STAYS]
        made = [
            *marks[:first],
            *kept,
            replace(mark, start=start),
            value,
            *(each for each in after if each.kind in _STAYS),
        ]
        return [*made, *_counted(marks[last:])]
    return made


def _reach(marks: Sequence[Mark], index: int) -> tuple[int, int]:
    """Between which marks the number of the signs may stand."""
    first, last = index, index + 1
    while first > max(0, index - _FAR) and marks[first - 1].kind not in _ENDS:
        first -= 1
    while last < min(len(marks), index + 1 + _FAR) and marks[last].kind not in _ENDS:
        last += 1
    return first, last


def _number(before: Sequence[Mark], after: Sequence[Mark], total: int) -> int | None:
    """How many are told: 'three of four', '3/4', 'all present', 'none of the four'; None where that is not clear."""
    marks = [*before, *after]
    ahead = [*marks[1:], None][: len(marks)]
    numbers = [
        number
        for mark, after_it in zip(marks, ahead, strict=True)
        if (number := _count(mark)) is not None and not _counts_fingers(mark, after_it)
    ]
    told = {name for mark in marks if mark.kind == "state" and mark.state is not None for name in mark.state.classes}
    denied = any(mark.kind in {"negator", "neither"} for mark in marks)
    whole = any(mark.text == "all" for mark in marks)
    lacking = bool(told & {"negative", "absent", "normal"})
    if denied or lacking:
        partly = any(number not in {0, total} for number in numbers) or (denied and (whole or lacking))
        return None if partly or told & {"equivocal", "reduced"} else 0
    if numbers:
        return numbers[0] if numbers[0] <= total else None
    return total if whole and told & {"positive", "present"} else None


def _counts_fingers(mark: Mark, ahead: Mark | None) -> bool:
    """'The signs in all four fingers': so many are the fingers."""
    return mark.amount is None and ahead is not None and ahead.kind == "piece"


def _count(mark: Mark) -> int | None:
    amount = mark.amount
    if amount is None:
        return _NUMBERS.get(mark.text)
    if amount.unit or (amount.grade and not amount.grade.isdigit()):
        return None
    if amount.grade:
        return int(amount.grade)
    whole = bool(amount.numbers) and amount.numbers[0].is_integer()
    return int(amount.numbers[0]) if whole and amount.kind in {"bare", "pair", "score"} else None
