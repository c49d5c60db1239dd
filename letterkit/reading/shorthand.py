"""Shorthand of nerve clinics: values for right and left in the order of a heading, signs in pairs, reflexes by company.

Each function takes the marks of a sentence and gives them with that shorthand written out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry, StateWord, Term
from letterkit.reading.values import Amount
from letterkit.reading.words import words

ORDERS = {
    "right / left": ("right", "left"), "r / l": ("right", "left"), "left / right": ("left", "right"),
    "l / r": ("left", "right"),
}  # fmt: skip
_TWINS = frozenset({"+ / +", "- / -", "− / −", "– / –"})
_MIXED = {"+ / -": ("positive", "negative"), "- / +": ("negative", "positive")}
_GRADED = frozenset({"grade", "pair"})
_ENDS_CONTRAST = frozenset({"joiner", "break", "value", "negator"})


def order_of(marks: Sequence[Mark]) -> tuple[str, str] | None:
    """'Power (R/L): ...', 'L/R': the order of the sides in the values that follow."""
    return next((ORDERS[mark.word] for mark in marks if mark.kind == "side" and mark.word in ORDERS), None)


def in_order(marks: Sequence[Mark], order: tuple[str, str] | None) -> list[Mark]:
    """'R/L: deltoid 5/5, triceps 4/5': under such a heading each value is one of right and one of left."""
    order = order_of(marks) or order
    if order is None or not _is_row_of_pairs(marks):
        return list(marks)
    look = "" if _is_plain_pair(marks) else "a pair is read as right and left, as the heading says"
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        amount = mark.amount
        if mark.kind == "side" and mark.word in ORDERS:
            continue
        unknown = index > 0 and marks[index - 1].kind in {"word", "ambiguous"}
        if amount is None or amount.kind not in _GRADED or unknown:
            made.append(mark)
            continue
        first, second = _halves(amount)
        after = marks[index + 1] if index + 1 < len(marks) else None
        made += _written_out(mark, (first, second), order, look)
        if after is not None and after.kind not in {"joiner", "break"}:
            made.append(Mark("joiner", mark.end, mark.end, text="comma"))
    return made


def _halves(amount: Amount) -> tuple[str, str]:
    """'4/5' as two grades, whatever it would be by itself."""
    return (amount.grade, amount.other or "5")


def _is_row_of_pairs(marks: Sequence[Mark]) -> bool:
    """Whether every graded value follows its own term: 'deltoid 5/5 4/5' has both sides written out already."""
    values = [index for index, mark in enumerate(marks) if mark.amount is not None and mark.amount.kind in _GRADED]
    if not values or any(mark.kind == "side" and mark.word not in ORDERS for mark in marks):
        return False
    return all(not _follows_value(marks, index) for index in values)


def _follows_value(marks: Sequence[Mark], index: int) -> bool:
    """Whether another value stands before this one, with nothing named in between."""
    for mark in reversed(marks[:index]):
        if mark.kind == "value":
            return True
        if mark.kind in {"term", "word", "piece", "break"} or mark.hints:
            return False
    return False


def _is_plain_pair(marks: Sequence[Mark]) -> bool:
    """Whether one value of the row can be nothing but a pair: '4+/4-', '5/4'."""
    return any(mark.amount is not None and mark.amount.kind == "pair" for mark in marks)


def _written_out(mark: Mark, grades: tuple[str, str], order: tuple[str, str], look: str) -> list[Mark]:
    """'5/4+' as 'right 5, left 4+', and '5/5' as 'both 5'."""
    assert mark.amount is not None
    values = [Mark("value", mark.start, mark.end, amount=replace(mark.amount, kind="signed", grade=each, other=""))
              for each in grades]  # fmt: skip
    if grades[0] == grades[1]:
        return [Mark("side", mark.start, mark.start, text="both", word="both"), values[0]]
    made: list[Mark] = []
    for side, value in zip(order, values, strict=True):
        made += [Mark("side", mark.start, mark.start, text=side, word=side, look=look), value]
        made.append(Mark("joiner", mark.end, mark.end, text="comma"))
    return made[:-1]


def twin_signs(marks: Sequence[Mark], order: tuple[str, str] | None) -> list[Mark]:
    """'Hoffmann -/-': a sign for each side; 'R/L: Hoffmann +/-' has one of each."""
    order = order_of(marks) or order
    if not any(mark.word in _TWINS or mark.word in _MIXED for mark in marks if mark.kind == "state"):
        return list(marks)
    sided = any(mark.kind == "side" and mark.word not in ORDERS for mark in marks)
    made: list[Mark] = []
    for mark in marks:
        if mark.kind == "state" and mark.word in _TWINS and not sided:
            made += [mark, Mark("side", mark.end, mark.end, text="both", word="both")]
        elif mark.kind == "state" and mark.word in _MIXED and order is not None and not sided:
            for side, state in zip(order, _MIXED[mark.word], strict=True):
                made.append(Mark("side", mark.start, mark.start, text=side, word=side))
                made.append(Mark("state", mark.start, mark.end, state=StateWord((state,)), text=state))
                made.append(Mark("joiner", mark.end, mark.end, text="comma"))
            made.pop()
        else:
            made.append(mark)
    return made


def reflexes(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Bi 2/2, Tri 2/2, Pat 3/3, Ach 1/1': muscles in one list with knees and ankles are tapped, not tested."""
    company = words().jerks
    if not any(mark.text in company for mark in marks) or any("power" in mark.hints for mark in marks):
        return list(marks)
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        slug = mark.term.items[0] if mark.kind == "term" and mark.term is not None and mark.term.items else ""
        name = words().reflexes.get(slug, "").replace("_", " ")
        entry = phrases.get(name)
        amount = next((each.amount for each in marks[index + 1 :] if each.kind in {"value", "term"}), None)
        if entry is None or entry.term is None or (amount is not None and amount.kind == "grade"):
            made.append(mark)
        else:
            made.append(Mark("term", mark.start, mark.end, term=entry.term, text=name))
    return made


def of_the_leg(marks: Sequence[Mark]) -> list[Mark]:
    """'LE: HF 4/4, DF 4-/4-': dorsiflexion beside other movements of the leg is of the foot."""
    shared, leg = words().shared_with_leg, words().leg
    if not any(mark.text in shared for mark in marks) or not any(mark.text in leg for mark in marks):
        return list(marks)
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        wrist = index > 0 and marks[index - 1].text in {"wrist", "wrists"}
        if mark.text in shared and mark.kind in {"term", "word"} and not wrist:
            made.append(Mark("term", mark.start, mark.end, term=Term(()), text=mark.text))
        else:
            made.append(mark)
    return made


def without_contrast(marks: Sequence[Mark]) -> list[Mark]:
    """'Myoclonic rather than tremulous', 'of the ulnar rather than the radial side': the second is what it is not."""
    made: list[Mark] = []
    dropping = False
    for mark in marks:
        if mark.kind == "instead":
            dropping = True
        elif dropping and mark.kind in _ENDS_CONTRAST:
            dropping = False
        if not dropping:
            made.append(mark)
        elif mark.kind in {"term", "state", "piece"}:
            dropping = False
    return made
