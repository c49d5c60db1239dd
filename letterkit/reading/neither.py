"""'Neither': of two things, of two sides, of two places, or as the result of what stands before it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import NOT_THERE

_LEADS = frozenset({"at", "in", "on", "over", "of", "along", "around", "under", "from", "to"})


def neither(marks: Sequence[Mark]) -> list[Mark]:
    """'Thrill or bruit: neither': said last, it is the result of what stands before it. 'Neither side' is both."""
    marks = _neither_of_two(_neither_side(_neither_at(marks)))
    last = next((index for index in range(len(marks) - 1, -1, -1) if marks[index].kind != "filler"), None)
    if last is None or marks[last].kind != "neither" or not any(mark.kind == "term" for mark in marks[:last]):
        return list(marks)
    mark = marks[last]
    said = Mark("state", mark.start, mark.end, state=NOT_THERE, text="neither")
    return [*marks[:last], said, *marks[last + 1 :]]


def _neither_side(marks: Sequence[Mark]) -> list[Mark]:
    """'On neither side was it positive', 'positive on neither side', '... on neither': said of both, and not so."""
    at = next((i for i in range(len(marks)) if _is_of_sides(marks, i)), None)
    if at is None:
        return list(marks)
    end = at + 1 + (at + 1 < len(marks) and marks[at + 1].text == "side")
    told = [index for index, mark in enumerate(marks) if mark.kind == "state"]
    if told and told[-1] < at and any(mark.kind == "term" for mark in marks[told[-1] : at]):
        # 'Phalen's is positive on the right, Finkelstein's on neither side', '... limited on the right, ... on neither'
        both = Mark("side", marks[at].start, marks[end - 1].end, text="both", word="both")
        again = replace(marks[told[-1]], start=both.start, end=both.start)
        return [*marks[:at], Mark("negator", both.start, both.start, text="not"), again, both, *marks[end:]]
    both = Mark("side", marks[at].start, marks[end - 1].end, text="both", word="both")
    not_so = Mark("negator", both.start, both.start, text="not")
    if any(index > at for index in told):
        return [*marks[:at], both, replace(not_so, start=both.end, end=both.end), *marks[end:]]
    if told:
        state = marks[told[-1]]
        not_so = replace(not_so, start=state.start, end=state.start)
        return [*marks[: told[-1]], not_so, *marks[told[-1] : at], both, *marks[end:]]
    said = Mark("state", both.start, both.start, state=NOT_THERE, text="neither")
    return [*marks[:at], said, both, *marks[end:]]


def _is_of_sides(marks: Sequence[Mark], at: int) -> bool:
    """'Neither side'; and 'on neither', 'nowhere' where the clause ends with it, behind sides that were named."""
    nowhere = marks[at].text == "nowhere"
    if marks[at].kind != "neither" and not nowhere:
        return False
    if at + 1 < len(marks) and marks[at + 1].text == "side":
        return True
    ends = at + 1 == len(marks) or marks[at + 1].kind in {"joiner", "break"}
    return (
        ends
        and bool(at)
        and (nowhere or marks[at - 1].text == "on")
        and any(mark.kind == "side" for mark in marks[:at])
    )


def _neither_of_two(marks: Sequence[Mark]) -> list[Mark]:
    """'Neither wrist was swollen', 'neither arm drifts': of both, where no 'nor' names another."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        made.append(mark)
        ahead = marks[index + 1 :]
        if mark.kind == "neither" and ahead and ahead[0].kind in {"piece", "term"} and not (
            any(each.kind == "joiner" and each.text == "or" for each in ahead)
        ):  # fmt: skip
            made.append(Mark("side", mark.end, mark.end, text="both", word="both"))
    return made


def _neither_at(marks: Sequence[Mark]) -> list[Mark]:
    """'There was crepitus neither at the wrist nor at the elbow', 'swelling of neither wrist': the 'no' is of that
    which stands before it."""
    for index in range(1, len(marks) - 1):
        mark, ahead = marks[index], marks[index + 1 :]
        if mark.kind != "neither":
            continue
        led = marks[index - 1].text in _LEADS
        before = marks[index - (2 if led and index > 1 else 1)]
        if before.kind not in {"term", "state"} or not (ahead[0].text in _LEADS or (led and _is_place(ahead))):
            continue
        listed = any(each.kind == "joiner" and each.text == "or" for each in ahead)
        if not listed and not led:
            continue
        first = marks.index(before)
        while first > 0 and marks[first - 1].kind in {"state", "severity", "certain"}:
            first -= 1  # 'coarse crepitus neither at ...'
        no = Mark("negator", marks[first].start, marks[first].start, text="no")
        both = replace(mark, kind="filler") if listed else Mark("side", mark.start, mark.end, text="both", word="both")
        return [*marks[:first], no, *marks[first:index], both, *ahead]
    return list(marks)


def _is_place(ahead: Sequence[Mark]) -> bool:
    """Whether a part or a side is what 'neither' names, and nothing is told of it behind: 'on neither side'."""
    named = next((mark for mark in ahead if mark.kind != "filler"), None)
    return named is not None and (named.kind == "piece" or (named.kind == "side" and named.text == "both"))
