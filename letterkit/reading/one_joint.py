"""Movements of one joint in a list: 'Wrist ext 55, flex 50', 'Wrists (R/L): flexion 60/70, extension 55/65'.

'Wrist R/L: F 60/70, E 55/65' is read alike.
What bends is named once; a flexion without a joint, behind the movement of a wrist or elbow, is of that joint.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry
from letterkit.reading.places import OPPOSITE
from letterkit.reading.predication import DIGIT_NUMBERS
from letterkit.reading.texts import Texts
from letterkit.reading.values import BEST_GRADE

_BEND = frozenset({"flexion", "extension", "flex", "ext", "extn", "flexn"})
_LETTERS = frozenset({"f", "e"})  # of the wrist alone: an elbow's two ends are one arc
_JOINTS = ("wrist", "elbow")
_PARTED = frozenset({"joiner", "break"})
_RESULTS = frozenset({"negator", "state", "term"})
_PASSED = frozenset({"filler", "side", "active_mode", "passive_mode", "certain"})


def of_one_joint(marks: list[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> list[Mark]:
    """The marks of one sentence with the joint written before each such movement."""
    if texts.isdisjoint(_BEND) and texts.isdisjoint(_LETTERS):
        return marks
    made: list[Mark] = []
    joint = ""
    carried = False  # whether the reader would carry the joint to the next movement by itself
    for index, mark in enumerate(marks):
        if mark.kind == "piece":
            joint, carried = _joint_of(mark), True
        elif mark.kind == "term" and (named := _joint_of(mark)):
            joint, carried = named, False
        elif mark.kind == "side" and made and made[-1].kind not in {"filler", "piece"}:
            carried = False
        elif mark.kind == "break":
            joint = ""
        bends = mark.text in _BEND or (mark.text in _LETTERS and joint == "wrist")
        if mark.kind == "term" and bends and joint and not carried and _is_measured(marks, index):
            piece = phrases[joint].piece
            if made[-1].kind == "value":  # 'flex 60/70 ext 50/55'
                made.append(Mark("joiner", mark.start, mark.start, text="comma"))
            made.append(Mark("piece", mark.start, mark.start, piece=piece, text=joint))
        made.append(mark)
    return made


def joints_again(marks: Sequence[Mark], texts: Texts) -> Sequence[Mark]:
    """'Synovitis of the right MCP 2 and 3, left 2 and 4': the marks with the joints named again for the second side."""
    if not any([is_row(mark) for mark in texts.placed]):  # noqa: C419 - quicker than a generator
        return marks
    if "value" not in texts.kinds and not any([_is_ordinal(mark) for mark in texts.placed]):  # noqa: C419 - quicker
        return marks
    made: list[Mark] = []
    row: Mark | None = None  # the joints whose digits are being counted
    marks = _with_their_result(_on_the_other_side(marks))
    for index, mark in enumerate(marks):
        made.append(mark)
        if mark.kind == "piece":
            row = mark if is_row(mark) else None
        elif mark.kind == "side" and row is not None and index and marks[index - 1].kind == "joiner":
            counted = index > 1 and marks[index - 2].kind == "value" and is_digit(marks[index - 2])
            if counted and _is_digit_next(marks, index):
                made.append(replace(row, start=mark.end, end=mark.end))
        elif mark.kind == "side" and row is not None and marks[index - 1] is row and _is_digit_next(marks, index):
            made[-2:] = [mark, replace(row, start=mark.end, end=mark.end)]  # 'MCPs R 2, 3'
        elif mark.kind not in {"joiner", "filler"} and not is_digit(mark):
            row = None
    return made


def parts_of_both_sides(marks: list[Mark]) -> list[Mark]:
    """'Swelling: thumb R +, L -, index R -, L +': the part named again for its second side, and not the first part."""
    made: list[Mark] = []
    part: Mark | None = None
    for index, mark in enumerate(marks):
        if mark.kind == "piece":
            alone = index == 0 or marks[index - 1].text not in {"and", "slash", "or", "-"}
            part = mark if alone and marks[index + 1 : index + 2] and marks[index + 1].kind == "side" else None
        elif mark.kind == "term":
            part = None
        elif part is not None and mark.kind == "side" and marks[index - 1].kind in _PARTED:
            before, behind = marks[index - 3 : index - 1], marks[index + 1 : index + 2]
            other = [each.kind for each in before] in (["side", "state"], ["side", "value"])
            if other and before[0].text == OPPOSITE.get(mark.text) and behind and behind[0].kind in {"state", "value"}:
                made.append(replace(part, start=mark.start, end=mark.start))
        made.append(mark)
    return made


def _with_their_result(marks: Sequence[Mark]) -> list[Mark]:
    """'MCP 2 and 3 swollen, 4 tender, 5 not': the joints named again before digits that have a result of their own."""
    made: list[Mark] = []
    row: Mark | None = None  # the joints named last
    since = 0  # where what was said behind the last digit begins in `made`
    for index, mark in enumerate(marks):
        if mark.kind == "piece" and not _is_ordinal(mark):
            led = index + 1 < len(marks) and marks[index + 1].text == ":"  # 'MCPs: 2 swollen, 3 tender'
            row = mark if is_row(mark) and _is_digit_next(marks, index + led) else None
            since = len(made) + 1
        elif row is not None and is_digit(mark):
            if has_own_result(made[since:], marks, index):
                made.append(replace(row, start=mark.start, end=mark.start))
            since = len(made) + 1
        made.append(mark)
    return made


def has_own_result(between: Sequence[Mark], marks: Sequence[Mark], index: int) -> bool:
    """'... swollen, 4 tender': whether the digit at `index` begins a clause of its own, behind the result of others."""
    said = [mark for mark in between if mark.kind not in {"filler", "side", "certain"}]
    told = any(mark.kind in {"term", "state"} for mark in said) and all(
        mark.kind in {"term", "state", "severity", "negator"} for mark in said[:-1]
    )
    if not told or said[-1].kind not in _PARTED:
        return False
    at = index + 1
    while at + 1 < len(marks) and marks[at].kind == "joiner" and is_digit(marks[at + 1]):
        at += 2  # '4 and 5 tender'
    while at < len(marks) and marks[at].kind in {"filler", "severity", "certain"}:
        at += 1
    first = at
    while at < len(marks) and marks[at].kind in _RESULTS:
        at += 1
    beyond = marks[at].kind if at < len(marks) else "break"
    return at > first and beyond in _PARTED | {"filler", "side"}


def _on_the_other_side(marks: Sequence[Mark]) -> list[Mark]:
    """'MCP 2 and 3 on the right and 2 on the left', 'the third PIP on the left and the fourth on the right'."""
    made: list[Mark] = []
    row: Mark | None = None  # the joints named last
    side = ""  # and the one said of them
    for index, mark in enumerate(marks):
        again = row is not None and _parted_before(marks, index)
        if again and row is not None and is_digit(mark) and _side_behind(marks, index, side):
            made.append(replace(row, start=mark.start, end=mark.start))
        made.append(mark)
        if again and row is not None and _is_ordinal(mark) and _side_behind(marks, index + 1, side):
            made.append(replace(row, start=mark.end, end=mark.end))
        side = mark.text if mark.kind == "side" else side
        if mark.kind == "piece" and not (row is not None and _is_ordinal(mark)):
            ranked = index > 0 and _is_ordinal(marks[index - 1])
            row = mark if is_row(mark) and (ranked or _is_digit_next(marks, index)) else None
    return made


def _is_ordinal(mark: Mark) -> bool:
    return mark.piece is not None and mark.piece.kind == "ordinal"


def _parted_before(marks: Sequence[Mark], at: int) -> bool:
    before = next((mark for mark in reversed(marks[:at]) if mark.kind != "filler"), None)
    return before is not None and before.kind in _PARTED


def is_row(mark: Mark) -> bool:
    """Whether a mark names joints of which the digit is not said: 'MCP', 'PIP joints'."""
    return mark.kind == "piece" and mark.piece is not None and mark.piece.kind == "row"


def _side_behind(marks: Sequence[Mark], start: int, side: str) -> bool:
    """Whether digits and then the other side come from `start` on, and nothing else."""
    for mark in marks[start:]:
        if mark.kind == "side":
            return mark.text == OPPOSITE.get(side)
        if mark.kind not in {"filler", "joiner"} and not is_digit(mark):
            return False
    return False


def _is_digit_next(marks: Sequence[Mark], index: int) -> bool:
    return index + 1 < len(marks) and is_digit(marks[index + 1])


def is_digit(mark: Mark) -> bool:
    """Whether a number may be that of a finger, or of several: 'MCP 2', 'MCP 2-4'."""
    amount = mark.amount
    if mark.kind != "value" or amount is None or amount.unit or amount.kind not in {"bare", "trials", "arc"}:
        return False
    return bool(amount.numbers) and all(number in range(1, DIGIT_NUMBERS + 1) for number in amount.numbers)


def _joint_of(mark: Mark) -> str:
    """The joint that a mark names: 'wrists', 'wrist ROM', 'extension of the elbow'."""
    return next((joint for joint in _JOINTS if mark.text.startswith(joint) or mark.text.endswith(joint)), "")


def _is_measured(marks: Sequence[Mark], index: int) -> bool:
    """Whether degrees come next, and no grade of power."""
    ahead = next((mark for mark in marks[index + 1 : index + 5] if mark.kind not in _PASSED), None)
    amount = ahead.amount if ahead is not None else None
    if amount is None or amount.kind not in {"amount", "bare", "arc"}:
        return False
    return amount.unit == "deg" or (not amount.unit and any(abs(number) > BEST_GRADE for number in amount.numbers))
