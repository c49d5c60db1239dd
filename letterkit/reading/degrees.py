"""How much of it there is: 'weak but present', 'less so on the left', 'tremor, moderate', 'slow but accurate'."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise, takewhile

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, value_of
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_TOLD = frozenset({"term", "state", "value"})
_HOW_MUCH = frozenset({"severity", "certain", "filler"})
_OF_TIME = frozenset({"say", "joiner", "break"})  # behind 'than', where no side stands
_MORE_OF_IT = frozenset({"but", "though", "less", "more", "present"})


def degrees(marks: Sequence[Mark], texts: Texts, catalogue: Catalogue) -> Sequence[Mark]:
    """The marks of one sentence, which has these texts, without what only says how much of the finding there is."""
    if "less" in texts:
        marks = _less_than_it_was(_less_there(marks, catalogue))
    if "comma" in texts and "severity" in texts.kinds:
        marks = _how_severe(marks)
    if "comma" in texts and "and" in texts and "side" in texts.kinds:
        marks = _set_off(marks)
    return marks if texts.isdisjoint(_MORE_OF_IT) else _still_there(marks, catalogue)


def _less_there(marks: Sequence[Mark], catalogue: Catalogue) -> Sequence[Mark]:
    """'Tenderness over the radial styloid, less so at the snuffbox': tender there too."""
    made = list(marks)
    for index in range(2, len(marks) - 1):
        joined = marks[index].text == "less" and marks[index - 1].kind == "joiner"
        term = next((mark for mark in reversed(marks[:index]) if mark.kind in _TOLD), None) if joined else None
        if term is None or value_of(term, catalogue) is not ValueKind.PRESENCE or term.kind != "term":
            continue
        so = marks[index + 1].text == "so"
        behind = list(takewhile(lambda mark: mark.kind == "filler", marks[index + 1 + so :]))
        place = marks[index + 1 + so + len(behind) :][:1]
        if place and place[0].kind in {"piece", "side"} and not any(mark.text == "than" for mark in behind):
            for at in range(index, index + 1 + so):
                made[at] = replace(marks[at], kind="filler", state=None)
    return made


def _less_than_it_was(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Less tender than last time', 'less swollen now': still so, and no 'less tender than the left'."""
    seen = words().sets["less_of_it"]
    made = list(marks)
    for at, (mark, after) in enumerate(pairwise(marks)):
        if mark.text != "less" or mark.kind != "state" or after.kind != "term" or after.text not in seen:
            continue
        if at and marks[at - 1].text.startswith("there"):
            continue  # 'there is less swelling than last time' tells of the change alone
        than = next((n for n in range(at + 2, len(marks)) if marks[n].text == "than"), None)
        ahead = () if than is None else [each.kind for each in marks[than + 1 :] if each.kind != "filler"][:1]
        if not ahead or ahead[0] in _OF_TIME:
            made[at] = replace(mark, kind="pseudo", state=None)
    return made


def _set_off(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'At the right wrist and, slightly, at the left': how much of it there is, between commas."""
    for at, mark in enumerate(marks[:-4]):
        if mark.text != "and" or marks[at + 1].text != "comma":
            continue
        told = list(takewhile(lambda each: each.kind in _HOW_MUCH, marks[at + 2 :]))
        end = at + 2 + len(told)
        behind = list(takewhile(lambda each: each.kind == "filler", marks[end + 1 :]))
        ahead = marks[end + 1 + len(behind) :][:1]
        if told and marks[end : end + 1] and marks[end].text == "comma" and ahead and ahead[0].kind == "side":
            return [*marks[: at + 1], *marks[end + 1 :]]
    return marks


def _how_severe(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Right hand rest tremor, moderate, left slight': how severe it is, set off by a comma."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        near = [each.kind for each in marks[index - 1 : index + 4]] if index else []
        own = near[4:] in (["side"], ["joiner"])  # the other side, with what it has, or another finding
        ends = near[3:4] in ([], ["joiner"], ["break"])
        if mark.text != "comma" or near[:1] + near[2:3] != ["term", "severity"] or not ends or own:
            made.append(mark)
    return made


def _more_so(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Both arms drift but the left more so': which is worse, and no other result of it."""
    at = next((at for at, (one, two) in enumerate(pairwise(marks)) if one.text == "more" and two.text == "so"), 0)
    begin = at - 1
    while begin > 0 and marks[begin].kind in {"side", "filler"}:
        begin -= 1
    sided = any(mark.kind == "side" and mark.text != "both" for mark in marks[begin:at])
    both = any(mark.text == "both" or (mark.piece is not None and mark.piece.plural) for mark in marks[: max(0, begin)])
    if not (at and sided and both) or marks[begin].kind not in {"break", "joiner"}:
        return marks
    return [*marks[:begin], *marks[at + 2 :]]


def _less_so(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Brisk on the right and less so on the left': brisk there too; 'full on the left, less so on the right': less."""
    told: Mark | None = None
    made = list(marks)
    for index, (mark, after) in enumerate(pairwise(marks)):
        if mark.text == "less" and after.text == "so" and told is not None and told.state is not None:
            made[index + 1] = Mark("filler", after.start, after.end, text="there")
            off = {"reduced", "abnormal", "increased"} & {*told.state.classes}
            if off or not told.state.classes or told.text.startswith("brisk"):
                made[index] = replace(told, start=mark.start, end=mark.end)
        told = mark if mark.kind == "state" else told
    return made


def _still_there(marks: Sequence[Mark], catalogue: Catalogue) -> Sequence[Mark]:
    """'Weak but present', 'sluggish though obtainable': that it is there at all says no more than what it is."""
    made = list(_less_so(_more_so(marks)))
    for index in range(len(marks) - 1, 1, -1):
        told, but, first = marks[index], marks[index - 1], marks[index - 2]
        if but.kind != "break" or told.state is None or told.kind != "state" or first.state is None:
            continue
        less = {"reduced", "abnormal"} & {*first.state.classes}
        if first.kind == "state" and less and "present" in told.state.classes:
            made[index - 1 : index + 1] = []
        elif first.kind == "state" and "present" in first.state.classes and {"reduced"} & {*told.state.classes}:
            term = next((mark for mark in reversed(marks[:index]) if mark.kind == "term"), None)
            if term is not None and value_of(term, catalogue) is not ValueKind.PRESENCE:
                made[index - 2 : index] = []  # 'present but weak', of a pulse
    return _there_and_more(_slow_but(made))


def _slow_but(marks: list[Mark]) -> list[Mark]:
    """'A little slow on the left but accurate': slow, and no 'slow on the left but accurate on the right'."""
    at = next(
        (at for at, mark in enumerate(marks) if mark.text in words().sets["true"] and marks[at - 1].kind == "break"), 0
    )
    last = next((mark for mark in reversed(marks[: max(0, at - 1)]) if mark.kind == "state"), None)
    after = next((mark for mark in marks[at + 1 :] if mark.kind != "filler"), None)
    placed = after is not None and after.kind in {"side", "piece"} and marks[at - 2].kind != "state"
    if last is None or placed or not last.text.startswith("slow"):
        return marks
    return [*marks[: at - 1], *marks[at + 1 :]]


def _there_and_more(marks: list[Mark]) -> list[Mark]:
    """'Present and brisker on the left': how they are, and no more than that they are there."""
    return [mark for index, mark in enumerate(marks) if not any(_is_there_and(marks, at) for at in (index, index - 1))]


def _is_there_and(marks: Sequence[Mark], index: int) -> bool:
    said = [mark.state for mark in marks[index : index + 3 : 2]] if index >= 0 else []
    if len(said) < len(("present", "brisk")) or marks[index + 1].text != "and":
        return False
    first, second = said
    there = first is not None and marks[index].kind == "state" and "present" in first.classes
    return there and second is not None and marks[index + 2].text.startswith("brisk")
