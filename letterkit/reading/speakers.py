"""Whose words a sentence tells: what another examiner found, what is so in general, and labels that say whose it is."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import cache

from letterkit.reading.marks import Mark
from letterkit.reading.parting import PARTS
from letterkit.reading.predication import BE
from letterkit.reading.segments import Segment
from letterkit.reading.two_days import is_whole, tense
from letterkit.reading.words import words

_FOUND = frozenset({"term", "state", "value", "negator"})  # the kinds of mark that tell of something found
_OPEN = frozenset({"general", "plan"})


def _one_of(phrases: Iterable[str]) -> str:
    return "|".join(re.escape(phrase).replace(r"\ ", r"\s") for phrase in sorted(phrases, key=len, reverse=True))


@cache
def _another() -> re.Pattern[str]:
    sets = words().sets
    examiner = rf"(?:dr|doctor|prof|professor)\.?\s+[\w'-]+\.?|{_one_of(sets['examiners'])}"
    saw = rf"(?:(?:had|has|have|also|initially|then|first)\s)?(?:{_one_of(sets['examiner_saw'])})"
    own = r"(?<!our\s)(?<!my\s)"
    return re.compile(
        rf"\b{own}(?:{examiner})(?:\s(?:at|in|from|on)\s(?:\w+\s?){{1,3}}?|,[^,.;]{{1,60}},)?,?\s(?:who\s)?{saw}\b"
        rf"|\b(?:{_one_of(sets['examiner_did'])})\sby\s(?:(?:the|a|an|her|his|their|another)\s)?(?:\w+\s){{0,2}}?"
        rf"(?:{examiner})\b|\bwho\s{saw}\b",
        re.IGNORECASE,
    )


@cache
def _verbs() -> frozenset[str]:
    return words().sets["examiner_saw"] | words().sets["examiner_did"]


def another_examiner(text: str, start: int, end: int, marks: Sequence[Mark]) -> int | None:
    """Where a sentence begins to tell what another examiner found: 'the triage nurse recorded', 'noted by her GP'.

    A passive tells of what stands before it: then the sentence begins to.
    """
    verbs = _verbs()
    if verbs.isdisjoint([mark.text for mark in marks]) and "found " not in text[start:end].casefold():
        return None
    found = _another().search(text, start, end)
    if found is None:
        return None
    return start if found[0].casefold().startswith(tuple(words().sets["examiner_did"])) else found.start()


def is_spoken(mark: Mark) -> bool:
    """Whether a word of history tells what somebody says or feels: what follows may be said by him still."""
    return any(part.startswith(words().affixes["speaking"]) for part in mark.text.split())


def is_seen(marks: Sequence[Mark], end: int) -> bool:
    """'A tremor is seen, and comes and goes': whether what stands before was seen, and not only complained of."""
    return any(mark.state is not None and "present" in mark.state.classes and mark.start < end for mark in marks)


def in_general(mark: Mark, segment: Segment, marks: Sequence[Mark]) -> tuple[int, int, str]:
    """The clause that tells what is so in general, of nobody: 'whereas pallor would suggest ischaemia'."""
    clauses = [each for each in marks if each.kind == "break" and segment.label <= each.start]
    begin = max((each.start for each in clauses if each.start < mark.start), default=segment.label)
    behind = any(each.kind == "term" and each.start < mark.start for each in marks)
    if behind and mark.text in words().sets["expecting"]:
        return mark.start, mark.end, "general"  # 'no motor loss, as one would expect', 'the swelling one would expect'
    told = any(each.kind == "term" and begin <= each.start < mark.start for each in marks)
    before = [each for each in marks if segment.label <= each.start < begin]
    stands = is_whole(before) and tense(before) == "present"  # 'the wrist is swollen, which is common after it'
    if not told and begin > segment.label and mark.start - begin > 1 and not stands:
        begin = max((each.start for each in clauses if each.start < begin), default=segment.label)
    if told:
        begin = _own_clause(mark, begin, marks)
    end = min((each.start for each in clauses if each.start > mark.end), default=segment.end)
    return begin, end if any(each.kind == "term" and each.start < end for each in marks) else segment.end, "general"


def _own_clause(mark: Mark, begin: int, marks: Sequence[Mark]) -> int:
    """'The wrist is swollen, and | stiffness and numbness are a risk': where the clause begins that is so in general.

    What stands in its list are nouns: 'the wrist is swollen and red, and | infection is a risk'.
    """
    adjectives = words().affixes["adjectives"]
    inside = [each for each in marks if begin <= each.start < mark.start]
    found, named = begin, False
    for at in reversed(range(len(inside))):
        each = inside[at]
        if each.kind == "joiner" and each.text in {"and", "comma"} and (named or inside[at + 1 :]):
            before = inside[:at]
            if tense(before) and is_whole(before) and not any(_OPEN & {*part.says} for part in before):
                found = each.start
                if not named:  # '... is red and tender, and | treatment was explained'
                    break
        elif each.text in BE or (named and each.kind == "term" and each.text.endswith(adjectives)):
            break
        named = named or each.kind == "term"
    return found


def tested_after(mark: Mark, segment: Segment, marks: Sequence[Mark]) -> int:
    """'He complained of tingling, and Tinel's test was positive': where what was tested begins behind the complaint."""
    told = 0  # where the clause begins that a joiner opened
    named = verb = False
    for each in marks:
        if each.start < mark.end:
            continue
        if each.kind == "break" or (each.kind == "joiner" and each.text in {"and", "comma"}):
            told, named, verb = each.end, False, False
        elif told and each.kind == "term":
            named = True
        elif named and each.text in BE:
            verb = True
        elif verb and _is_of_a_test(each):
            return told
    return segment.end


def seen_where(mark: Mark, segment: Segment, marks: Sequence[Mark]) -> int:
    """'He was brought to our emergency department, where the hand was cold': where what was found there begins."""
    own = words().sets["own_places"]
    behind = [each for each in marks if each.start >= mark.end]
    at = next((at for at, each in enumerate(behind) if each.text == "where"), len(behind))
    return behind[at].start if any(each.text in own for each in behind[:at]) and is_whole(behind[at:]) else segment.end


def _is_of_a_test(mark: Mark) -> bool:
    """Whether a result is one that only a test gives: 'positive', '12 mm', '4/5', and no '3 days'."""
    if mark.amount is not None:
        return mark.amount.unit in {"mm", "kg", "lb", "deg"} or mark.amount.kind == "grade"
    return mark.state is not None and bool({"positive", "negative"} & set(mark.state.classes))


def done_with_it(mark: Mark, segment: Segment, marks: Sequence[Mark]) -> tuple[int, int, str] | None:
    """'..., and he reaches for the toy with the left': what somebody does, which is nothing that was found there.

    None where a finding or a result is told in the same clause: 'holds the cup without tremor'.
    """
    parts = (each.start for each in marks if each.kind in {"break", "joiner"} and each.text != "with")
    end = min((start for start in parts if start >= mark.end), default=segment.end)
    told = any(each.kind in {"term", "state", "value", "negator"} and mark.end <= each.start < end for each in marks)
    return None if told else (mark.start, end, "doing")


def remark_of(text: str, mark: Mark, segment: Segment, marks: Sequence[Mark]) -> tuple[int, int] | None:
    """'Triceps 5-/5 (was 3/5 pre op)': only what stands in brackets behind a result is of another day."""
    begin = text.rfind("(", segment.label, mark.start)
    end = text.find(")", mark.end, segment.end)
    if begin < 0 or end < 0 or text.find(")", begin, mark.start) >= 0:
        return None
    before = [each for each in marks if segment.label <= each.start < begin]
    return (begin, end + 1) if is_whole(before) else None


def tells_examined(marks: Sequence[Mark]) -> bool:
    """Whether a sentence tells what only an examiner does: 'Reason for consultation: numb hand. APB 5/5, Phalen +'."""
    if any({"history", "later", "imaging"} & set(mark.says) for mark in marks):
        return False
    graded = any(mark.amount is not None and mark.amount.kind == "grade" for mark in marks)
    told = [mark.state.classes for mark in marks if mark.kind == "state" and mark.state is not None]
    return graded or any({"positive", "negative"} & {*classes} for classes in told)


def heads_other_side(label: str, before: Sequence[Sequence[Mark]]) -> bool:
    """'Interossei grade 0. Froment positive. Right hand: normal.': the label turns to the other side, and begins none.

    What was graded or tested before it was examined too.
    """
    return label.startswith(("right ", "left ")) and were_tested(before)


def were_tested(before: Sequence[Sequence[Mark]]) -> bool:
    """'Tinel positive. Intrinsics 4+ right, 5 left. Cervical spine exam benign.': the examination began before."""
    graded = sum(mark.amount is not None and mark.amount.kind in {"grade", "signed"} for own in before for mark in own)
    tested = sum(
        mark.state is not None and bool({"positive", "negative"} & set(mark.state.classes))
        for own in before for mark in own if mark.kind == "state"
    )  # fmt: skip
    return graded + tested > 1


def brought(marks: Sequence[Mark]) -> list[tuple[int, int, str]]:
    """'I saw her today with tingling in the thumb': what brought somebody is no finding, though it stands beside some.

    What can be seen in the same list stays one: 'with pain, swelling and numbness of the thumb' is of a swelling.
    """
    complaints, seeing = words().sets["brings_to_clinic"], words().sets["seeing"]
    first, seen = 0, False
    while first < len(marks) and (marks[first].kind not in _FOUND or marks[first].text in seeing):
        if not seen and marks[first].kind == "piece":
            return []
        seen = seen or marks[first].text in seeing
        first += 1
    if not seen or first == len(marks) or marks[first].text not in complaints or not _is_brought(marks, first):
        return []
    found: list[tuple[int, int, str]] = []
    waits = False  # whether something seen before waits for its place: 'with swelling and numbness of the thumb'
    for part in _listed(marks, first):
        named = [each for each in part if each.kind in _FOUND]
        if any(each.text in BE for each in part) and named:
            break
        placed = any(each.kind == "piece" for each in part)
        felt = bool(named) and all(each.text in complaints for each in named)
        if felt:
            out = named if waits and placed else part
            found.append((out[0].start, out[-1].end, "history"))
        waits = not placed and (waits or (bool(named) and not felt))
    return found


def _is_brought(marks: Sequence[Mark], at: int) -> bool:
    """Whether 'with' or 'who has' stands before a complaint."""
    return marks[at].text.startswith("with ") or marks[at - 1].text in {"with", "has", "had"}


def _listed(marks: Sequence[Mark], at: int) -> list[list[Mark]]:
    """The parts of the list that begins there; 'numbness or tingling' and 'numbness/tingling' are one."""
    parts: list[list[Mark]] = [[]]
    for each in marks[at:]:
        if each.kind in PARTS and each.text not in {"or", "slash"}:
            parts.append([])
        else:
            parts[-1].append(each)
    return [part for part in parts if part]
