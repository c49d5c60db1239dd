"""Units told apart from their figures, and colours that are names of filaments.

'Grip (lb): right 60, left 80', 'grip 80 mmHg', 'monofilaments: thumb purple 3.61'.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark, items_of
from letterkit.reading.texts import Texts
from letterkit.reading.values import BEST_GRADE, Amount
from letterkit.reading.words import words

_NO_UNIT = frozenset({"bare", "trials", "amount"})
_FROM = ("proximal to ", "distal to ")
_BEGINS_FROM = tuple(f"\n{text}" for text in _FROM)
_FROM_THERE = frozenset({"proximal", "distal"})
_IN_POUNDS, _IN_KILOGRAMS = "unit:lb", "unit:kg"
_COLOURS = frozenset({"skin_colour", "redness", "cyanosis"})
# Bands of markings share a colour: of each the one that a set of five holds (common practice, no source). Always asked.
_MARKINGS = {"green": 2.83, "blue": 3.61, "purple": 4.31, "red": 4.56}
PULLED = frozenset({"grip_strength", "grip_unmeasured", "key_pinch", "tip_pinch", "tripod_pinch", "pinch_unmeasured"})


def units(marks: list[Mark], texts: Texts, topic: Sequence[Mark] = ()) -> list[Mark]:
    """The marks of one sentence with its figures in their unit.

    `texts` are those of the marks, `topic` the terms above and before it.
    """
    sets = words().sets
    if {"left", "right"} <= texts:
        marks = _behind_letters(marks)
    if texts & sets["filament_colours"]:
        marks = _filaments(marks, topic)
    if texts & sets["not_recorded"]:
        marks = _not_recorded(marks)
    if texts & _FROM_THERE or any([text in texts.lines for text in _BEGINS_FROM]):  # noqa: C419 - quicker than a generator
        marks = _without_distances(marks)
    if texts & sets["pounds"] or (topic and any(_IN_POUNDS in mark.says for mark in topic)):
        marks = _in_pounds(marks)
    elif texts & sets["kilograms"] or (topic and any(_IN_KILOGRAMS in mark.says for mark in topic)):
        marks = _in_kilograms(marks)
    return marks


def _behind_letters(marks: list[Mark]) -> list[Mark]:
    """'Grip R20 L30': figures joined to the letters of both sides."""
    joined = [
        at
        for at, mark in enumerate(marks)
        if at and mark.kind == "word" and mark.text.isdecimal()
        and marks[at - 1].word in {"r", "l"} and marks[at - 1].end == mark.start
    ]  # fmt: skip
    if len({marks[at - 1].text for at in joined}) < 2:  # noqa: PLR2004 - 'L5' alone is a root
        return marks
    made = list(marks)
    for at in joined:
        mark = marks[at]
        made[at] = Mark("value", mark.start, mark.end, amount=Amount("bare", mark.start, mark.end, (float(mark.text),)))
    return made


def _without_distances(marks: list[Mark]) -> list[Mark]:
    """'A 4 cm laceration, 6 cm proximal to the wrist crease': how far from there it is, and not how long."""
    made = list(marks)
    for index, mark in enumerate(marks[:-1]):
        away = [each.text for each in marks[index + 1 : index + 3]]
        far = away[0].startswith(_FROM) or (away[0] in _FROM_THERE and away[-1] == "to")
        length = mark.amount is not None and mark.kind == "value" and mark.amount.unit in {"cm", "mm"}
        if (
            length
            and far
            and any(each.amount is not None and each.amount.unit in {"cm", "mm"} for each in marks[:index])
        ):
            made[index] = replace(mark, kind="filler", amount=None, text="at")
    return made


def _in_pounds(marks: list[Mark]) -> list[Mark]:
    """'Grip (lb): right 60': the figures of the sentence, and of what goes on with it, are pounds."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        amount = mark.amount
        counted = _is_no_weight(marks, index)
        if mark.kind == "value" and amount is not None and not amount.unit and amount.kind in _NO_UNIT and not counted:
            kind = "trials" if amount.kind == "trials" else "amount"
            made.append(replace(mark, amount=replace(amount, kind=kind, unit="lb")))
        elif mark.kind == "term" and PULLED & set(items_of(mark)):
            made.append(replace(mark, says=(*mark.says, _IN_POUNDS)))
        else:
            made.append(mark)
    return made


def _in_kilograms(marks: list[Mark]) -> list[Mark]:
    """'Grip (kg) R/L 5/4', 'strength (kg): grip R 20 L 30, APB 4': figures behind a grip are no grades of power."""
    made: list[Mark] = []
    pulled = not any(mark.kind == "term" for mark in marks)  # 'R 20, L 30' under a heading of a grip
    for index, mark in enumerate(marks):
        if mark.kind == "term":
            pulled = bool(PULLED & set(items_of(mark)))
            mark = replace(mark, says=(*mark.says, _IN_KILOGRAMS)) if pulled else mark  # noqa: PLW2901
        amount = mark.amount
        if _is_no_weight(marks, index):
            amount = None
        if mark.kind == "value" and pulled and amount is not None and not amount.unit:
            mark = replace(mark, amount=_of_kilograms(amount))  # noqa: PLW2901
        made.append(mark)
    return made


def _is_no_weight(marks: Sequence[Mark], at: int) -> bool:
    """'Jamar, setting 2, kilograms: R 38', '3 trials': which handle, and how often."""
    set_at = at > 0 and marks[at - 1].text in words().sets["meter_settings"]
    return set_at or any(mark.text in words().sets["times_tried"] for mark in marks[at + 1 : at + 2])


def _of_kilograms(amount: Amount) -> Amount:
    """The figure or figures as kilograms: of '5/4' one of each side."""
    if amount.kind in {"pair", "grade"} and amount.grade.isdigit() and amount.other in {"", *"012345"}:
        both = (float(amount.grade), float(amount.other or BEST_GRADE))
        return replace(amount, kind="arc", numbers=both, unit="kg", grade="", other="")
    if amount.kind in {"bare", "trials", "arc"}:
        return replace(amount, kind="amount" if amount.kind == "bare" else amount.kind, unit="kg")
    return amount


def _not_recorded(marks: list[Mark]) -> list[Mark]:
    """'Grip 80 mmHg': a pressure, and no force."""
    made = list(marks)
    told = False
    for index, mark in enumerate(marks[1:]):
        told = (told or mark.text in words().sets["not_recorded"]) and mark.kind != "term"
        if told and mark.amount is not None and not mark.amount.unit:
            made[index + 1] = Mark("ambiguous", mark.start, mark.end, look="in a unit that is not recorded")
        if mark.text in words().sets["not_recorded"] and made[index].kind == "value":
            made[index] = Mark("ambiguous", made[index].start, mark.end, look="in a unit that is not recorded")
    return made


def _filaments(marks: list[Mark], topic: Sequence[Mark]) -> list[Mark]:
    """'SWM: thumb purple 3.61, index red 4.56': the filament that was felt, and no colour of the skin."""
    if not any("monofilament" in items_of(mark) for mark in (*marks, *topic)):
        return marks
    colours = words().sets["filament_colours"]
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        if mark.text not in colours or (mark.kind == "term" and not _COLOURS & set(items_of(mark))):
            made.append(mark)
            continue
        numbered = any(each.kind == "value" for each in marks[index + 1 : index + 3])
        marking = None if numbered else _MARKINGS.get(mark.text)
        if marking is None:
            made.append(Mark("filler", mark.start, mark.end, text="filament"))
        else:
            amount = Amount("bare", mark.start, mark.end, (marking,), other=mark.text)
            made.append(Mark("value", mark.start, mark.end, amount=amount))
    return made
