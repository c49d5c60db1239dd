"""Sides told by one another: 'on that side', 'the ipsilateral elbow', 'the left hand more than the right'."""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.reading.marks import NAMES_SIDE, Mark, beside, side_of
from letterkit.reading.places import OPPOSITE
from letterkit.reading.predication import BE
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_OPENS = frozenset({"(", "-", "–"})
_AT = frozenset({"at", "on", "in", "the"})
_TO = frozenset({"to", "with"})
_OF_THAT = frozenset({"the", "that", "on", "of"})
_CLOSES = frozenset({")"})
_COMPARES = "it compares the sides and gives no figure of its own"
_MORE = frozenset({"than", ">", "<", ">>", "<<"})


def last_side(marks: Sequence[Mark], texts: Texts, before: str = "") -> str:
    """The one side that a sentence names, or that was named `before` it; 'both' where it names both."""
    if texts.kinds.isdisjoint(NAMES_SIDE):
        return before
    sides = {side_of(mark) for mark in marks if mark.kind in NAMES_SIDE} & {*OPPOSITE, "both", "other"}
    if not sides:
        return before
    only = sides.pop()
    return only if not sides and only in OPPOSITE else "both"


def on_that_side(marks: list[Mark], texts: Texts, before: str) -> list[Mark]:
    """'Grip is 20 kg on the right, with wasting on the same side': the side named last, here or `before`."""
    if "same" not in texts:
        return marks
    made: list[Mark] = []
    named = before
    for _, mark, after in beside(marks):
        same = mark.text == "same" and (mark.kind == "side" or _leads_one_of_two(after))
        if same and named in OPPOSITE:
            made.append(Mark("side", mark.start, mark.end, text=named, word=mark.word))
        else:
            made.append(mark)
            named = side_of(mark) or named
    return made


def equal_to(marks: Sequence[Mark]) -> tuple[int, int] | None:
    """Where 'equal' and the side stand in 'grip is equal to the right', 'symmetrical with that on the other side'."""
    for index, mark in enumerate(marks):
        if mark.state is None or "equal" not in mark.state.classes:
            continue
        at = next((at for at in range(index + 1, min(len(marks), index + 5)) if marks[at].kind == "side"), index)
        between = {each.text for each in marks[index + 1 : at]}
        if between & _TO and between <= _TO | _OF_THAT:
            return index, at
    return None


def more_on_one(marks: list[Mark], texts: Texts) -> list[Mark]:
    """'Swelling of the knuckles, left hand more than right', '..., left worse': on both sides, and more on one."""
    if "value" in texts.kinds and "both" in texts:
        marks = [
            _compared(mark, mark.end) if _compares(mark) and _is_measured(marks[:at]) else mark
            for at, mark in enumerate(marks)
        ]
    if texts.isdisjoint(words().sets["more_on_one"]) or "side" not in texts.kinds:
        return marks
    for index, mark in enumerate(marks):
        begin, end = index, 0
        if mark.text in words().sets["more_on_one"]:
            end = _there_behind(marks, index)
        elif mark.kind == "side" and mark.text in OPPOSITE:
            before = [at for at in range(max(0, index - 2), index) if marks[at].text != "the"]
            opened = bool(before) and (marks[before[-1]].kind == "joiner" or marks[before[-1]].text in _OPENS)
            begin, end = (before[-1] + 1, _more_than_the_other(marks, index)) if opened else (index, 0)
        if end and _is_measured(marks[:begin]):
            return [*marks[:begin], _compared(marks[begin], marks[end - 1].end), *marks[end:]]
        if end:
            both = Mark("side", mark.start, marks[end - 1].end, text="both", word="both")
            return [*marks[:begin], both, *marks[end:]]
    return marks


def _compares(mark: Mark) -> bool:
    """'Left worse than right' as words of one meaning: both sides, and more on one."""
    return mark.kind == "side" and mark.text == "both" and not _MORE.isdisjoint(mark.word.split(" "))


def _compared(first: Mark, end: int) -> Mark:
    """Words that compare the sides and tell neither, for the clinician to see."""
    return Mark("ambiguous", first.start, end, text="than", look=_COMPARES)


def _is_measured(before: Sequence[Mark]) -> bool:
    """'Right grip 20 kg, left more than right': the figure is that of one side, and what the other has is not told."""
    measured = any(mark.kind == "value" for mark in before)
    return measured and any(side_of(mark) in OPPOSITE for mark in before)


def _there_behind(marks: Sequence[Mark], index: int) -> int:
    """Where 'more marked at the right' ends that begins at `index`; nothing before 'the right index finger'."""
    at = index + 1
    while at < len(marks) and (marks[at].kind in {"severity", "certain"} or marks[at].text in _AT):
        at += 1
    sided = at > index + 2 and at < len(marks) and marks[at].kind == "side" and marks[at].text in OPPOSITE
    ends = at + 1 == len(marks) or (at + 1 < len(marks) and marks[at + 1].kind in {"joiner", "break"})
    return at + 1 if sided and ends else 0


def _more_than_the_other(marks: Sequence[Mark], index: int) -> int:
    """Where 'left hand more than the right' ends that begins with a side at `index`; nothing where it does not."""
    sets = words().sets
    at = _after_side(marks, index)
    told = at
    while at < len(marks) and (
        marks[at].kind in {"severity", "certain"} or marks[at].text in sets["more_on_one"] | sets["more_so"] | BE
    ):
        at += 1
    if not any(mark.text in sets["more_on_one"] for mark in marks[told:at]):
        return 0
    if at == len(marks) or marks[at].kind in {"joiner", "break"} or marks[at].text in _CLOSES:
        return at
    at += 2 if [mark.text for mark in marks[at : at + 2]] == ["than", "the"] else 1
    other = marks[at - 2].kind == "compared" or marks[at - 1].kind == "compared"
    other = other and at < len(marks) and marks[at].text == OPPOSITE[marks[index].text]
    return _after_side(marks, at) if other else 0


def _after_side(marks: Sequence[Mark], index: int) -> int:
    """Where a side ends with the part of which there are two: 'left', 'left hand'."""
    return index + 2 if _leads_one_of_two(marks[index + 1] if index + 1 < len(marks) else None) else index + 1


def _leads_one_of_two(after: Mark | None) -> bool:
    """'In the same hand'; not 'the same as before', 'the same digit'."""
    return after is not None and after.kind == "piece" and after.text in words().sets["of_two"]
