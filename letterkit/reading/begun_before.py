"""'Radial pulses are 2+. Abdominal examination is normal.': where an examination began that is named only later."""

from __future__ import annotations

import re
from collections.abc import Sequence

from letterkit.reading.marks import Mark
from letterkit.reading.occasions import brings_in
from letterkit.reading.segments import Segment
from letterkit.reading.shorthand import ORDERS
from letterkit.reading.titles import begins_in_short
from letterkit.reading.words import words

_OPENS = re.compile(r"(?:o/e|oe|o\.e\.|on exam(?:ination)?|exam|examination)(?![\w/])", re.IGNORECASE)
_TELLS = re.compile(r"(?:she|he|they|the patient|patient|this patient|pt|mr|mrs|ms)\b", re.IGNORECASE)
_NEXT = 4  # marks behind 'examination of' within which the part stands


def is_of_others(marks: Sequence[Mark], cue: Mark) -> bool:
    """Whether an examination is of another part of the body, or of the rest: 'the remainder of the examination'."""
    others = words().sets["examined_besides"]
    at = next(index for index, each in enumerate(marks) if each is cue)
    before = [each.text for each in marks[max(at - 3, 0) : at] if each.kind != "filler"]
    behind = [
        each.text for each in marks[at + 1 : at + 1 + _NEXT] if each.start >= cue.end and each.kind in {"piece", "word"}
    ]
    if before and before[-1] in others:
        return True
    return cue.text.endswith((" of", "exam", "examination")) and bool(behind) and behind[0] in others


def is_seen_there(marks: Sequence[Mark]) -> bool:
    """'The right wrist is swollen': a sentence without a person, of what can be seen or tested and not only felt."""
    sets = words().sets
    if any(mark.says for mark in marks) or not marks or marks[0].text in sets["who"]:
        return False
    terms = [mark.text for mark in marks if mark.kind == "term"]
    return any(text not in sets["brings_to_clinic"] for text in terms)


def began_then(marks: Sequence[Mark]) -> bool:
    """'Ten days after a fever she noticed that her thumb was weak', at the head of a note: how a complaint began."""
    noticing = words().sets["noticing"]
    return any(mark.text in noticing for mark in marks)


def heads_a_part(segment: Segment, marks: Sequence[Mark]) -> bool:
    """'R wrist: ...': a label that is a part with its side, behind which the examination is told."""
    label = {mark.kind for mark in marks if mark.end <= segment.label and mark.text != ":"}
    return label == {"side", "piece"}


def opens_a_line(text: str, segments: Sequence[Segment], examined: int) -> bool:
    """'Sore L wrist, RHD', and on a line further down 'O/E tender radial styloid': what stands above is a complaint."""
    here = segments[examined]
    first = segments[examined - 1].line < here.line
    return first and _OPENS.match(text, here.start) is not None


def heads_columns(marks: Sequence[Mark]) -> bool:
    """'R/L', a line of its own: what stands under it was examined, whatever heading follows further down."""
    return len(marks) == 1 and marks[0].kind == "side" and marks[0].word in ORDERS


def tells_who_came(
    text: str, segments: Sequence[Segment], marks: Sequence[Sequence[Mark]], examined: int
) -> bool:  # fmt: skip
    """'67F RHD.', 'She fell last week.', 'Referred with ...': whether what stands above tells of her."""
    told = any("history" in mark.says for own in marks[:examined] for mark in own)
    told = told or any(_TELLS.match(text, segment.start) for segment in segments[:examined])
    return told or brings_in(text, segments[0].label, segments[0].end) or begins_in_short(text)
