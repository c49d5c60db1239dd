"""Numbers that are no measure: what something came from, and how far it is from something else."""

from __future__ import annotations

from dataclasses import replace

from letterkit.reading.marks import Mark, beside
from letterkit.reading.words import words


def differing(marks: list[Mark]) -> list[Mark]:
    """The marks of one sentence in which such numbers are not read."""
    changed = _changed(marks) if any(mark.text == "from" for mark in marks) else marks
    return _beside_part(_against(_differences(changed)))


def _changed(marks: list[Mark]) -> list[Mark]:
    """'Had fallen from 30 kg to 20 kg': the number it came from is of another day."""
    for index, mark in enumerate(marks[:-3]):
        kinds = [each.kind for each in marks[index + 1 : index + 4]]
        change = any(each.text in words().sets["changes"] for each in marks[max(0, index - 3) : index])
        if mark.text == "from" and change and kinds == ["value", "filler", "value"] and marks[index + 2].text == "to":
            look = Mark("pseudo", mark.start, marks[index + 2].end, text="from ... to")
            return [*marks[:index], look, *marks[index + 3 :]]
    return marks


def _differences(marks: list[Mark]) -> list[Mark]:
    """'7 kg weaker than', 'short by 15', 'reduced by 20 degrees': how far from another number, which is not read."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        after = marks[index + 1] if index + 1 < len(marks) else None
        before = marks[index - 1] if index else None
        less = before is not None and before.text in words().sets["differs_before"]
        of_full = any(each.text in {"full", "extension"} for each in marks[index + 2 : index + 5])  # 'short of full'
        less = less or (after is not None and after.text in words().sets["differs"] and not of_full)
        other = [each.text for each in marks[index + 1 : index + 3]]  # '15 degrees of hyperextension'
        less = less or (other[:1] == ["of"] and other[-1] in words().sets["other_measures"])
        if mark.kind == "value" and less:
            made.append(Mark("ambiguous", mark.start, mark.end, look="a difference, and no measure"))
        else:
            made.append(mark)
    return made


def _beside_part(marks: list[Mark]) -> list[Mark]:
    """'8 mm in the ring finger compared with 4 mm in the index finger': a figure of its own, where both are placed."""
    at = next((index for index, mark in enumerate(marks) if mark.kind == "compared"), len(marks))
    after = marks[at + 1 : at + 8]
    place = next((index for index, mark in enumerate(after[1:], 1) if mark.kind not in {"filler", "certain"}), 0)
    if not place or after[0].kind != "value" or after[place].kind != "piece":
        return marks
    if not any(mark.kind == "value" for mark in marks[:at]) or any(mark.kind == "side" for mark in after):
        return marks
    if any(mark.kind == "piece" for mark in marks[:at]):
        also = replace(marks[at], kind="joiner", text="and")
        last = next(mark for mark in reversed(marks[:at]) if mark.kind in {"piece", "value"})
        if last.kind == "piece":
            return [*marks[:at], also, *marks[at + 1 :]]  # '5 mm in the thumb, versus 8 mm in the ring finger'
        return [*marks[:at], also, after[place], after[0], *after[place + 1 :], *marks[at + 8 :]]
    lost = range(at + 1, at + 2 + place)
    return [
        replace(mark, kind="word", piece=None, amount=None) if index in lost else mark
        for index, mark in enumerate(marks)
    ]


def _against(marks: list[Mark]) -> list[Mark]:
    """'4/5 against 5/5 opposite': before a number it compares."""
    return [
        replace(mark, kind="compared")
        if mark.text == "against" and after is not None and after.kind == "value" else mark
        for _, mark, after in beside(marks)
    ]  # fmt: skip
