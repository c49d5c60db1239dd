"""How somebody holds a joint: 'holds the elbow in slight flexion', 'lies with the elbow extended'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from letterkit.reading.marks import Mark, items_of
from letterkit.reading.parting import part_begins
from letterkit.reading.phrases import Entry
from letterkit.reading.places import DIGITS
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_WHERE = frozenset({"filler", "side", "certain"})
_BEFORE = frozenset({"filler", "side", "certain", "piece", "joiner", "break", "say"})
_JOINTS = frozenset({"wrist", "elbow", "forearm", "upper_limb", "thumb"})
_POSTURES = frozenset({"held_posture", "kanavel_flexed_posture"})


def held(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks with a posture that somebody keeps as such, and no movement that was tested."""
    sets = words().sets
    if not texts.isdisjoint(sets["held_to_test"]):
        return _put_so(marks)
    if texts.isdisjoint(sets["postures"]):
        return marks
    marks = _parted(marks, phrases)
    made: list[Mark] = []
    at = 0
    open_to = False  # whether a posture of the same person was told right before
    while at < len(marks):
        mark = marks[at]
        lead = _lead(marks, at, open_to=open_to)
        found = _posture(marks, at + lead) if lead else None
        if found is None:
            made.append(mark)
            open_to = open_to and mark.kind in {"joiner", "filler", "value"}
            open_to = open_to or bool(_POSTURES.intersection(items_of(mark)[:1]))
            at += 1
            continue
        part, end, name = found
        first = mark if mark.kind == "joiner" and lead == 1 else Mark("filler", mark.start, mark.end, text="has")
        made += [first, *(each for each in marks[at + lead : part + 1] if each.kind != "joiner")]
        posture = marks[part + 1 : end]
        made.append(Mark("term", posture[0].start, posture[-1].end, term=phrases[name].term, text=name))
        open_to = True
        at = end
    return made


def _put_so(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'The elbow was held in extension during testing of the wrist': how a part is put for a test, and no posture."""
    sets = words().sets
    for index, mark in enumerate(marks):
        if not _POSTURES.isdisjoint(items_of(mark)[:1]) and mark.text.startswith("held"):
            when = next((at for at in range(index + 1, len(marks)) if marks[at].kind != "certain"), len(marks))
            tested = any(each.text in sets["held_to_test"] for each in marks[when + 1 :])
            if tested and marks[when].text in sets["while_tested"]:
                start = part_begins(marks, index)
                return [*marks[:start], Mark("filler", marks[start].start, mark.end, text="held"), *marks[when:]]
    return marks


def _parted(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Lies with the elbow extended': what is passed over elsewhere as the way a muscle is tested."""
    made: list[Mark] = []
    for before, mark in pairwise([Mark("filler", 0, 0), *marks]):
        lead, _, posture = mark.text.rpartition(" ")
        part = phrases.get(lead.rpartition(" ")[2])
        told = mark.kind == "filler" and before.text in words().sets["stays_so"] and mark.text.startswith("with ")
        if not told or part is None or part.piece is None or posture not in words().sets["postures"]:
            made.append(mark)
            continue
        end = mark.end - len(posture)
        made.append(Mark("joiner", mark.start, mark.start + len("with"), text="with"))
        made.append(Mark("piece", mark.start + len("with "), end, piece=part.piece, text=lead.rpartition(" ")[2]))
        made.append(Mark("word", end, mark.end, text=posture))
    return made


def _lead(marks: Sequence[Mark], at: int, *, open_to: bool) -> int:
    """How many marks lead to the part: 'holds', 'sits with', or an 'and' behind another posture; 0 where none does."""
    sets = words().sets
    if marks[at].kind == "joiner" and open_to:
        return 1
    who = sets["who"] | sets["people"]
    if any(mark.kind not in _BEFORE and mark.text not in who for mark in _of_clause(marks[:at], who)):
        return 0  # 'the splint holds the wrist in extension', 'no longer holds the elbow flexed'
    if marks[at].text.endswith("ing") and any(mark.kind in {"state", "value"} for mark in marks):
        return 0  # 'keeping the elbow flexed, pronation is full'
    if marks[at].text in sets["keeps_so"]:
        return 1
    if marks[at].text not in sets["stays_so"]:
        return 0
    return (
        next((far for far in range(1, 7) if [each.text for each in marks[at + far : at + far + 1]] == ["with"]), -1) + 1
    )


def _of_clause(before: Sequence[Mark], who: frozenset[str]) -> Sequence[Mark]:
    """'On examination she cries and holds the forearm pronated': behind 'and', where it is somebody who does both."""
    said = max((mark.end for mark in before if mark.kind == "say"), default=0)
    before = [mark for mark in before if mark.start >= said]
    last = next((at for at in range(len(before) - 1, -1, -1) if before[at].kind == "joiner"), 0)
    return before[last:] if any(mark.text in who for mark in before[:last]) else before


def _posture(marks: Sequence[Mark], start: int) -> tuple[int, int, str] | None:
    """Where the part stands behind `start`, where its posture ends, and the name of that: 'the left elbow flexed'."""
    part = next((at for at in range(start, len(marks)) if marks[at].kind not in _WHERE), len(marks))
    piece = marks[part].piece if part < len(marks) else None
    if piece is None or not piece.slugs:
        return None
    end = next((at for at in range(part + 1, len(marks)) if not _is_degree(marks[at])), len(marks))
    if end == len(marks) or not _is_posture(marks[end]):
        return None
    bent = marks[end].text in words().sets["bent_postures"]
    joint = piece.slugs[0] in _JOINTS
    if not joint and not (bent and set(piece.slugs) <= set(DIGITS)):
        return None
    return part, end + 1, "held pronated" if joint else "held flexed"


def _is_posture(mark: Mark) -> bool:
    return mark.text in words().sets["postures"]


def _is_degree(mark: Mark) -> bool:
    """'in slight', 'slightly', 'at about 40 degrees of': what stands before the name of a posture."""
    angle = mark.amount is not None and mark.amount.unit == "deg"
    return angle or mark.kind == "severity" or mark.text in words().sets["before_postures"]
