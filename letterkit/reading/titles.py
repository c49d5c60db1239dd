"""What the first line of a note, or a line of its own, says of the note: that it is of a call, or only its title."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache
from itertools import chain, pairwise

from letterkit.catalogue import catalogue
from letterkit.catalogue.model import Stage
from letterkit.reading.marks import Mark, items_of, side_of
from letterkit.reading.places import OPPOSITE
from letterkit.reading.segments import Segment
from letterkit.reading.words import words

_LONGEST = 50  # characters of a title
_IN_SHORT = re.compile(
    r"\s*\d{1,3}\s?(?:/12\s|/52\s|y/?o\s?|yrs?\s(?:old\s)?)?(?:f|m|female|male|lady|gent|man|woman|boy|girl)\b",
    re.IGNORECASE,
)
_WHO_TYPED = re.compile(r"(?<![\w./-])\d{1,3}\s?(?:yo|y/o|yr|y)?\s?[FM]\b(?!\s?(?:\d|CP|PJ))")  # '..., 46M electrician'
_SINCE = re.compile(
    r"\b(?:(?:day|wk|week|month)\s?\d{1,2}|\d{1,2}\s?/\s?(?:7|52|12)|this (?:am|pm|morning)|last night|yesterday)\b",
    re.IGNORECASE,
)  # how long ago it began, as it is typed
_WHO = ("he ", "she ", "they ", "the patient ", "patient ", "pt ")
_FACES = (("palm",), ("dorsum",))
_KINDS = frozenset({"term", "piece", "side", "word", "filler", "hint", "ambiguous"})


@cache
def _lived_with() -> re.Pattern[str]:
    """How somebody gets on with it, as a patient says it: 'not happy', 'at work', 'cant sleep'."""
    return re.compile(r"\b(?:" + "|".join(map(re.escape, words().sets["lived_with"])) + r")\b")


def untold(text: str, segments: Sequence[Segment], marks: Sequence[Sequence[Mark]]) -> Iterator[int]:
    """The segments that tell no finding of today: all of a call, and else those that are a title or a complaint."""
    if _is_of_a_call(text, segments, marks):
        return iter(range(len(segments)))
    brought = range(_is_brought_by(text, segments, marks))
    return chain(_titles(text, segments, marks), brought, _told_in_short(text, segments, marks) if segments else ())


def without_service(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Hand therapy review, tendon repair R LF', 'Elbow clinic post R radial head': the part is no second place."""
    served = words().sets["services"]
    named = [at for at, mark in enumerate(marks[:-1]) if mark.kind == "piece" and marks[at + 1].text in served]
    if not named or side_of(marks[named[0]]) or (named[0] and marks[named[0] - 1].kind == "side"):
        return marks
    behind = marks[named[0] + 1 :]
    sided = [after.kind == "piece" for mark, after in pairwise(behind) if mark.kind == "side" and mark.text in OPPOSITE]
    if not any(sided):
        return marks
    return [*marks[: named[0]], *behind]


def names_its_part(text: str, segment: Segment, marks: Sequence[Sequence[Mark]]) -> bool:
    """'R mallet finger wk 8': a first line without the patient, which names the part that the note is about.

    So for the second sentence of that line where none before names a part: 'Seen F2F. 4/52 post release R thumb'; what
    is said of a palm there is of a finger as well. The last of `marks` are those of the sentence.
    """
    if begins_in_short(text) or "\n" in text[: segment.start].strip():
        return False
    if not text[: segment.start].strip():
        return True
    named = any(mark.kind in {"side", "piece"} for own in marks[:-1] for mark in own)
    return not named and not any(mark.piece is not None and mark.piece.slugs[:1] in _FACES for mark in marks[-1])


def begins_in_short(text: str) -> bool:
    """'67F RHD.', '5/12 boy': who the patient is, at the head of a note as it is typed."""
    return _IN_SHORT.match(text) is not None


def _told_in_short(text: str, segments: Sequence[Segment], marks: Sequence[Sequence[Mark]]) -> Iterator[int]:
    """'24M joiner RHD. R wrist pain 14/12.', 'R mallet finger wk 8': what brings somebody, above what is found."""
    first = segments[0].line
    if not any(segment.line > first and any(map(items_of, own)) for segment, own in zip(segments, marks, strict=True)):
        return
    all_of_line = begins_in_short(text)
    introduced = -1 if all_of_line else _introduces(text, segments)
    for at, (segment, own) in enumerate(zip(segments, marks, strict=True)):
        if segment.line > first or segment.label > segment.start or any("examined" in mark.says for mark in own):
            return
        if any(map(_is_tested, own)):
            return
        complains = introduced >= 0 and (_is_felt_only(own) or not any(map(items_of, own)))
        if all_of_line or segment.start <= introduced or complains or _SINCE.search(text, segment.start, segment.end):
            yield at


def _introduces(text: str, segments: Sequence[Segment]) -> int:
    """'Ganglion R wrist, 19F student, aching': where the patient is told of in the first line of a note; -1 nowhere."""
    last = next((each for each in reversed(segments) if each.line == segments[0].line), segments[0])
    found = _WHO_TYPED.search(text, segments[0].start, last.end)
    return found.start() if found else -1


def told_by_patient(text: str, segments: Sequence[Segment], marks: Sequence[Sequence[Mark]]) -> Iterator[int]:
    """'Still sore at work.', 'doing well, tingling less': the segments of what only who lives with it tells of."""
    for at, (segment, own) in enumerate(zip(segments, marks, strict=True)):
        if not _is_felt_only(own) or any(mark.kind == "value" or "examined" in mark.says for mark in own):
            continue
        if any(side_of(mark) in OPPOSITE for mark in own):
            continue  # 'the right hand was sore so she did not sleep' may have been found so
        if _lived_with().search(text[segment.start : segment.end].casefold().replace("\u2019", "'")):
            yield at


def _is_felt_only(marks: Sequence[Mark]) -> bool:
    """'Tingling less', 'stiff fingers, burning pain': whether nothing is told of but what a patient feels."""
    felt = words().sets["felt_by_patient"]
    told = [mark.text in felt for mark in marks if mark.kind == "term" or mark.text in felt]
    return bool(told) and all(told)


def _is_tested(mark: Mark) -> bool:
    """Whether the word is of a test that only an examiner does."""
    items = items_of(mark)
    return bool(items) and catalogue().items[items[0]].stage is Stage.SPECIAL_TESTS


def _is_of_a_call(text: str, segments: Sequence[Segment], marks: Sequence[Sequence[Mark]]) -> bool:
    """'Telephone consultation. ... No numbness.': what somebody says of himself, where nothing tells who examined."""
    if not segments or text[segments[0].start : segments[0].start + 5].casefold() not in {"phone", "telep"}:
        return False
    first, _, second = text[segments[0].start : segments[0].end].casefold().partition(" ")
    called = first in {"phone", "telephone"} and second.startswith(tuple(words().sets["calls"]))
    return called and not any("examined" in mark.says for own in marks for mark in own)


def _titles(text: str, segments: Sequence[Segment], marks: Sequence[Sequence[Mark]]) -> Iterator[int]:
    """The segments that are a title, as 'Laceration note', 'Wound check': lines of which none tells a finding."""
    for at, (segment, own) in enumerate(zip(segments, marks, strict=True)):
        if segment.end - segment.start > _LONGEST or not own or text[segment.end - 1] == ".":
            continue
        last = text[segment.start : segment.end].rstrip(" :").casefold().rpartition(" ")[2]
        if last not in words().sets["titles"] or not {mark.kind for mark in own} <= _KINDS:
            continue
        beside = (*segments[max(0, at - 1) : at], *segments[at + 1 : at + 2])
        if all(each.line != segment.line for each in beside):
            yield at


def _is_brought_by(text: str, segments: Sequence[Segment], marks: Sequence[Sequence[Mark]]) -> bool:
    """'Left wrist pain. She slipped on a stair last week.': whether the first sentence is what brings somebody here."""
    first = marks[0] if len(segments) > 1 else ()
    named = [mark for mark in first if mark.kind in {"term", "state"}]
    if not named or segments[0].label > segments[0].start or not {mark.kind for mark in first} <= _KINDS | {"joiner"}:
        return False
    if not all(mark.text in words().sets["brings_to_clinic"] for mark in named):
        return False
    who = text[segments[1].start : segments[1].end].casefold().startswith(_WHO)
    return who and any("history" in mark.says for mark in marks[1])
