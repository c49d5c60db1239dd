"""Units told apart from their figures, and colours that are names of filaments.

'Grip (lb): right 60, left 80', 'grip 80 mmHg', 'monofilaments: thumb purple 3.61'.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark, items_of
from letterkit.reading.values import Amount
from letterkit.reading.words import words

_NO_UNIT = frozenset({"bare", "trials", "amount"})
_FROM = ("proximal to ", "distal to ")
_FROM_THERE = frozenset({"proximal", "distal"})
_IN_POUNDS = "unit:lb"
_COLOURS = frozenset({"skin_colour", "redness", "cyanosis"})
# Bands of markings share a colour: of each the one that a set of five holds (common practice, no source). Always asked.
_MARKINGS = {"green": 2.83, "blue": 3.61, "purple": 4.31, "red": 4.56}
_PULLED = frozenset({"grip_strength", "grip_unmeasured", "key_pinch", "tip_pinch", "tripod_pinch", "pinch_unmeasured"})


def units(marks: list[Mark], topic: Sequence[Mark] = ()) -> list[Mark]:
    """The marks of one sentence with its figures in their unit; `topic` are the terms above and before it."""
    sets = words().sets
    texts = {mark.text for mark in marks}
    if texts & sets["filament_colours"]:
        marks = _filaments(marks, topic)
    if texts & sets["not_recorded"]:
        marks = _not_recorded(marks)
    if texts & _FROM_THERE or any([text.startswith(_FROM) for text in texts]):  # noqa: C419 - quicker than a generator
        marks = _without_distances(marks)
    if texts & sets["pounds"] or any(_IN_POUNDS in mark.says for mark in topic):
        marks = _in_pounds(marks)
    return marks


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
    for mark in marks:
        amount = mark.amount
        if mark.kind == "value" and amount is not None and not amount.unit and amount.kind in _NO_UNIT:
            kind = "trials" if amount.kind == "trials" else "amount"
            made.append(replace(mark, amount=replace(amount, kind=kind, unit="lb")))
        elif mark.kind == "term" and _PULLED & set(items_of(mark)):
            made.append(replace(mark, says=(*mark.says, _IN_POUNDS)))
        else:
            made.append(mark)
    return made


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
