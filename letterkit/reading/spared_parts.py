"""'A burn of the dorsum with the palm spared', 'numb thumb, palm spared': a part that a finding leaves out."""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.reading.marks import Mark
from letterkit.reading.parting import PARTS
from letterkit.reading.predication import BE
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_IS = BE | {"being"}
_LED = frozenset({"with", "comma"})


def spared_parts(marks: list[Mark], texts: Texts) -> list[Mark]:
    """The marks with 'but the palm is spared' for 'with the palm spared', ', the palm being spared'."""
    spared = words().sets["spared"]
    if texts.isdisjoint(spared):
        return marks
    for index, mark in enumerate(marks):
        if mark.text not in spared or mark.kind != "state" or not _ends(marks, index + 1):
            continue
        start = _part_begins(marks, index)
        lead = start
        while lead and marks[lead - 1].text in _LED and marks[lead - 1].kind == "joiner":
            lead -= 1
        before = marks[:lead]
        if lead == start or not any(each.kind == "term" for each in before) or _has_own_result(before):
            continue
        but, verb = marks[lead], Mark("filler", mark.start, mark.start, text="is")
        part = [each for each in marks[start:index] if each.text not in _IS]
        turned = Mark("break", but.start, marks[start - 1].end, text="but")
        return [*before, turned, *part, verb, *marks[index:]]
    return marks


def _part_begins(marks: Sequence[Mark], at: int) -> int:
    """Where the name of a part without a side begins that ends before `at`; `at` itself where there is none."""
    start = at - (marks[at - 1].text in _IS) if at else at
    named = start
    while start and (
        _is_part(marks[start - 1])
        or marks[start - 1].text in words().sets["determiners"]
        or (start < named and marks[start - 1].text == "and" and start > 1 and _is_part(marks[start - 2]))
    ):
        start -= 1
    return start if start < named and any(_is_part(each) for each in marks[start:named]) else at


def _is_part(mark: Mark) -> bool:
    return mark.kind == "piece" and mark.piece is not None and not mark.piece.side


def _has_own_result(marks: Sequence[Mark]) -> bool:
    """'No swelling, palm clear', 'swelling was absent, palm clear': what was found is no more than denied."""
    return any(
        mark.kind in {"negator", "neither"} or (mark.state is not None and "absent" in mark.state.classes)
        for mark in marks
    )


def _ends(marks: Sequence[Mark], at: int) -> bool:
    return at == len(marks) or marks[at].kind in PARTS
