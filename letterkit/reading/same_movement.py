"""A movement told once for two parts: 'extension of the fingers (2/5) and of the thumb', 'of the neck and elbows'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import Entry
from letterkit.reading.texts import Texts

_MOVEMENTS = ("flexion", "extension", "abduction", "adduction")
_RESULTS = frozenset({"state", "value"})
_LED = frozenset({"side", "filler"})
_PARTS = frozenset({"joiner", "side", "piece"})
_NEAR = 5  # marks in which the second part stands: 'of the left wrist'


def movement_again(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Flexion of the wrist 3/5 and of the thumb 4/5': the marks with the flexion named again for the second part."""
    if "of" not in texts or "piece" not in texts.kinds or not any([each in texts.lines for each in _MOVEMENTS]):  # noqa: C419
        return marks
    made: list[Mark] = []
    movement, told = "", False  # and whether the first part has a result of its own
    at = 0
    while at < len(marks):
        mark = marks[at]
        if mark.kind == "term":
            movement, told = _movement_of(mark, marks[at + 1 : at + 2]), False
        elif mark.kind == "break":
            movement = ""
        told = told or mark.kind in _RESULTS
        made.append(mark)
        at += 1
        part = _second_part(marks, at) if movement and mark.kind == "joiner" else None
        if part is None:
            continue
        name = f"{movement} of the {marks[part].text}"
        whole, alone = phrases.get(name), phrases[movement].term
        if told and whole is not None and whole.term is not None and marks[part - 1].kind == "filler":
            made.append(Mark("term", marks[part].start, marks[part].end, term=whole.term, text=name))
            at = part + 1
        else:
            made.append(Mark("term", marks[at].start, marks[at].start, term=alone, text=movement))
    return made


def neck_and_more(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Full range of motion of the neck and both elbows': the movement is of the elbows too."""
    if "neck_movement" not in texts.items:
        return marks
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        name, of_it, part = mark.text.partition(" of the ")
        neck, led = phrases.get(part), "painless " * (made[-1:] != [] and made[-1].text == "painless")
        movement = phrases.get(led + name)
        if (
            items_of(mark)[:1] == ("neck_movement",) and of_it and movement is not None and movement.term is not None
            and neck is not None and neck.piece is not None and (led or _goes_on_to_parts(marks, index + 1))
        ):  # fmt: skip
            start = made.pop().start if led else mark.start  # no 'painless' of a movement that is not there
            made += [
                Mark("term", start, mark.end, term=movement.term, text=led + name),
                Mark("filler", mark.end, mark.end, text="of"),
                Mark("piece", mark.end, mark.end, piece=neck.piece, text=part),
            ]
        else:
            made.append(mark)
    return made


def _goes_on_to_parts(marks: Sequence[Mark], at: int) -> bool:
    """Whether a list of parts stands here, and nothing that is found there: no '..., and the elbow is swollen'."""
    end = at
    while end < len(marks) and (marks[end].kind in _PARTS or marks[end].text in {"the", "of"}):
        end += 1
    listed = {"joiner", "piece"} <= {mark.kind for mark in marks[at:end]}
    if not listed or end == len(marks):
        return listed
    ahead = [mark for mark in marks[end : end + 3] if mark.kind not in {"filler", "certain"}][:1]
    return marks[end].kind not in {"term", "negator"} and not any(mark.kind == "term" for mark in ahead)


def _movement_of(mark: Mark, behind: Sequence[Mark]) -> str:
    """'Flexion of the wrist', and 'active flexion' before an 'of': which movement it is; none of what is resisted."""
    movement, _, part = mark.text.partition(" of the ")
    movement = movement.rpartition(" ")[2]
    of_it = bool(part) or [each.text for each in behind] == ["of"]
    return movement if of_it and movement in _MOVEMENTS and not mark.text.startswith("resisted") else ""


def _second_part(marks: Sequence[Mark], at: int) -> int | None:
    """Where the part stands in 'of the left wrist', that begins here."""
    if at >= len(marks) or marks[at].text != "of":
        return None
    part = next((each for each in range(at + 1, min(len(marks), at + _NEAR)) if marks[each].kind not in _LED), at)
    return part if marks[part].kind == "piece" else None
