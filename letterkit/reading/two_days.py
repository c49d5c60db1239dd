"""What is of another day beside what is of today, in one sentence or in the one that follows.

'In March the left wrist was swollen, today the right is', 'the wrist is stiff, although it was not in March': where the
one ends and the other begins, and which results are of the other day where both are told of one thing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import takewhile

from letterkit.reading.labels import section_by_word
from letterkit.reading.marks import Mark
from letterkit.reading.occasions import aside, in_a_year, is_condition, is_dated, is_of_past, was_then
from letterkit.reading.predication import BE, THERE_IS
from letterkit.reading.segments import Segment
from letterkit.reading.words import Words, words

_PRESENT = frozenset({"is", "are", "there is", "there are", "remains", "remain", "lacks", "lack"})
_HAS = frozenset({"has", "have", "shows"})
_NOW = _PRESENT | _HAS
_PAST = frozenset({"was", "were", "had", "there was", "there were"})
_VERBS = BE | THERE_IS | _PRESENT | {"has", "have", "had", "shows", "showed"}
_RESULTS = frozenset({"state", "value", "negator"})
_TELLS = frozenset({"term", "state", "value"})
_ALSO = frozenset({"and", "comma"})
_PASSED = frozenset({"filler", "joiner", "break"})
_NEAR = 3  # marks within which a word opens its clause
_BRACKET = "("
OPENS = 12  # characters within which a word opens its sentence
_TITLE = 60  # characters of a title


def day_apart(cue: Mark, segment: Segment, marks: Sequence[Mark], *, spoken: bool) -> tuple[int, int] | None:
    """The clause of `cue`, which is of another day, where the sentence has a whole clause of today before or behind it.

    `spoken`: what somebody complains of goes on where only another verb follows: 'she says ..., but ... is'.
    """
    begin = clause_begins(cue, segment, marks, spoken=spoken)
    end = clause_ends(cue.end, segment, marks, spoken=spoken)
    apart = begin > segment.label or end < segment.end
    if apart or spoken:
        return (begin, end) if apart else None
    if stands_before(cue.start, segment, marks) and (_is_after_event(cue) or _is_compared(cue, marks)):
        return cue.start, cue.end
    if _is_less_than_then(cue, segment, marks):
        return cue.start, cue.end
    if _is_after_event(cue):
        end = occasion_ends(cue.end, segment, marks)
    return (begin, end) if end < segment.end else None


def clause_begins(cue: Mark, segment: Segment, marks: Sequence[Mark], *, spoken: bool) -> int:
    """Where the clause of a cue begins behind a whole clause of today: 'A is swollen, | whereas in March B was'."""
    contrasts = words().sets["contrasts"]
    for at in reversed(range(len(marks))):
        part = marks[at]
        if part.start >= cue.start or part.start < segment.label or not (_parts(part) or _likens(marks, at)):
            continue
        before = [each for each in marks[:at] if each.start >= segment.label]
        if not is_whole(before) or _is_of_another(before):
            continue
        behind = [each for each in marks[at + 1 :] if each.start < segment.end]
        if part.text in contrasts:
            return part.start
        turns = any({"today", "examined"} & {*each.says} for each in before) or (
            tense(before) == "present" != tense(behind)
        )
        if part.text == "which":
            turned = turns
        elif any(each.kind == "term" for each in behind):
            opens = not any(each.end <= cue.start and each.kind not in _PASSED for each in behind)
            turned = (opens or (turns and tense(behind) == "past")) and is_whole(behind)
        else:
            turned = _is_remark(marks, at, cue, segment, spoken=spoken) and (spoken or tense(before) == "present")
        if turned or (part.text == "which" and _is_dated(cue) and tense(before) == "present"):
            return part.start
    return segment.label


def _likens(marks: Sequence[Mark], at: int) -> bool:
    """'..., as it was in March', '..., as he told me'."""
    likened = words().sets["as_then"]
    return marks[at].text == "as" and at + 1 < len(marks) and marks[at + 1].text in likened


def _is_remark(marks: Sequence[Mark], at: int, cue: Mark, segment: Segment, *, spoken: bool) -> bool:
    """Whether what follows tells of no other finding: '..., but he has no complaints', '... and has been so since'."""
    if spoken:
        conceded = marks[at].text == "comma" and _concedes(segment, marks)  # 'although it is swollen, he has no ...'
        return conceded or marks[at].kind == "break" or _likens(marks, at)
    goes_on = at + 1 < len(marks) and marks[at + 1].text in {"has", "have", "has been", "have been"}
    conceded = marks[at].text == "comma" and _concedes(segment, marks)
    return conceded or (_is_dated(cue) and (_likens(marks, at) or (marks[at].text == "and" and goes_on)))


def _is_compared(cue: Mark, marks: Sequence[Mark]) -> bool:
    """'..., unchanged since March', 'worse than at the last visit': what compares with another day is of today."""
    compares = words().sets["compares"]
    near = [mark for mark in marks if mark.end <= cue.start][-_NEAR:]
    return any(mark.text in compares or mark.word in compares for mark in near)


def _is_less_than_then(cue: Mark, segment: Segment, marks: Sequence[Mark]) -> bool:
    """'Less tender than last time', 'better than at last visit': a day that a finding of today is compared with."""
    before = [mark for mark in marks if segment.label <= mark.start and mark.end <= cue.start]
    compared = bool(before) and before[-1].text in words().sets["beside_then"]
    return compared and not tense(before) and not _is_of_another(before)


def is_present(marks: Sequence[Mark]) -> bool:
    """'The wrist is swollen', behind what was on another day: no more of that."""
    return tense(marks) == "present" and is_whole(marks) and not _is_of_another(marks)


def is_found_then(marks: Sequence[Mark], at: int) -> bool:
    """'On examination a lump, which appeared a week ago, ...', '..., is tender': what is found beside how it began."""
    if any("examined" in mark.says and mark.start < at for mark in marks):
        return True
    behind = [mark for mark in marks if mark.start >= at]
    return tense(marks) == tense(behind) == "present" and any(mark.kind in _TELLS for mark in behind)


def reason_begins(cue: Mark, segment: Segment, marks: Sequence[Mark]) -> int:
    """Where a plan comes to its reason: 'I would advise an operation, | because the wrist is swollen'."""
    if cue.text in words().sets["conditions"]:
        return segment.end
    because = next((mark for mark in marks if mark.start >= cue.end and mark.text in {"because", "as", "since"}), None)
    if because is None or not is_present([mark for mark in marks if mark.start >= because.end]):
        return segment.end
    return because.start


def is_reason(cue: Mark, segment: Segment, marks: Sequence[Mark]) -> bool:
    """'Since the wrist is swollen, ...', and no 'since the operation the wrist is swollen'."""
    behind = [mark for mark in marks if mark.start >= cue.end and mark.kind != "filler"]
    opens = not any(segment.label <= mark.start < cue.start for mark in marks)
    named = bool(behind) and behind[0].kind in {"term", "piece", "side"}
    return opens and named and tense(marks) == "present"


def _is_dated(cue: Mark) -> bool:
    """Whether a word of another day says since when, or before what, it was."""
    known = words().affixes
    return cue.text.startswith((*known["before"], "since")) or cue.text.endswith(known["ago"])


def of_occasion(named: tuple[int, int], segment: Segment, marks: Sequence[Mark]) -> tuple[int, int] | None:
    """What tells only when it is so: 'six weeks after the operation | the wrist is swollen'; None for what was then."""
    if named[1] and stands_before(named[0], segment, marks):
        return named
    end = occasion_ends(named[1], segment, marks)
    return (segment.label, end) if end < segment.end else None


def of_former_days(text: str, segment: Segment, marks: Sequence[Mark]) -> Iterator[tuple[int, int, str]]:
    """'In 2019 the wrist was stiff', 'the wrist was fused in 2019', 'compared with March, when it was red, ...', 'until
    it is stiff, no lifting'."""
    begin = segment.label
    if was_then(text, begin, segment.end):
        yield begin, clause_ends(begin, segment, marks, spoken=False), "history"
    if then := aside(text, begin, segment.end):
        yield *then, "history"
    if year := in_a_year(text, begin, segment.end):
        begins, ends = _around(year, segment, marks)
        if any(mark.kind == "term" and begins <= mark.start < ends for mark in marks):  # and no 'it was plated in 2015'
            yield begins, ends, "history"
    if is_condition(text, begin, segment.end):
        yield begin, segment.end, "plan"


def _around(year: tuple[int, int], segment: Segment, marks: Sequence[Mark]) -> tuple[int, int]:
    """'The left wrist, | which was broken in 2012, | is swollen', 'the elbow was fused in 2012 | and has a scar'."""
    breaks = [each.start for each in marks if each.kind == "break" and segment.label <= each.start < year[0]]
    parts = (at for at, each in enumerate(marks) if each.start >= year[1] and _parts(each))
    ends = (marks[at].start for at in parts if is_whole(marks[at:]) and any(m.text in _NOW for m in marks[at:]))
    return breaks[-1] if breaks else segment.label, next(ends, segment.end)


def occasion_ends(at: int, segment: Segment, marks: Sequence[Mark]) -> int:
    """Where 'after a fall last week', 'six weeks after the operation' ends before what is: 'the wrist is swollen'.

    What is allowed or begun then is no finding: 'six weeks after the operation full flexion is allowed'.
    """
    here = [mark for mark in marks if segment.label <= mark.start]
    told = next((mark for mark in here if mark.kind in {"term", "piece", "side"}), None)
    now = tense(here) == "present" or (not tense(here) and any(mark.text in _HAS for mark in here))
    if not at or told is None or told.start < at or not now or not is_whole(here):
        return segment.end
    planned = any(mark.text in words().sets["allowed"] for mark in here)
    tells = _RESULTS | {"term", "piece", "side"}
    return segment.end if planned else min(mark.start for mark in here if mark.start >= at and mark.kind in tells)


def stands_before(at: int, segment: Segment, marks: Sequence[Mark]) -> bool:
    """Whether what is so stands before an occasion: 'the wrist is swollen six weeks after the operation'."""
    before = [mark for mark in marks if segment.label <= mark.start < at]
    return is_whole(before) and tense(before) == "present" and not _is_of_another(before)


def is_subject(term: Mark, marks: Sequence[Mark]) -> bool:
    """Whether what a term names 'is' something: 'after a fall grip is 20 kg'."""
    behind = [mark for mark in marks if mark.start >= term.end][:_NEAR]
    return any(mark.text in _PRESENT for mark in behind)


def _is_after_event(cue: Mark) -> bool:
    """'After the operation', 'last week', 'in March', and no 'at the last visit', 'over the next', 'since'."""
    return cue.text.startswith(words().affixes["after_event"])


def clause_ends(at: int, segment: Segment, marks: Sequence[Mark], *, spoken: bool) -> int:
    """Where a clause that is `at` of another day ends before one of today: 'in March A was swollen, | today B is'."""
    last = segment.end
    concedes = _concedes(segment, marks)
    for index, part in enumerate(marks):
        if part.start < at or not _parts(part):
            continue
        rest = marks[index + 1 :]
        if not is_whole(rest):
            continue
        before = [each for each in marks[:index] if each.start >= segment.label]
        today = any(_is_today(each) for each in rest[:_NEAR] if each.kind != "break")
        adverse = part.kind == "break" and part.text not in {"which", "who"}
        if (today and (adverse or not spoken)) or (concedes and part.text == "comma" and _is_whole_clause(rest)):
            return part.start
        if spoken:
            continue
        if tense(rest) == "present" and tense(before) != "present" and (adverse or not _tells(before)):
            return part.start
        if any(_is_today(each) for each in rest) and is_whole(before):
            last = part.start
    return last


def is_whole(marks: Sequence[Mark]) -> bool:
    """Whether marks tell something of a finding by themselves: a term, and a verb or a result."""
    return any(mark.kind == "term" for mark in marks) and any(
        mark.text in _VERBS or mark.kind in _RESULTS for mark in marks
    )


def tense(marks: Sequence[Mark]) -> str:
    """The tense of the first verb; nothing where there is none."""
    verb = next((mark.text for mark in marks if mark.text in _PRESENT | _PAST), "")
    return "present" if verb in _PRESENT else "past" if verb else ""


def _is_whole_clause(marks: Sequence[Mark]) -> bool:
    """'..., the wrist is swollen, red and hot', and no ', numbness, and the wrist is swollen'."""
    clause = list(takewhile(lambda mark: not _parts(mark), marks))
    return is_whole(clause) and any(mark.text in _VERBS for mark in clause)


def _tells(marks: Sequence[Mark]) -> bool:
    """Whether marks speak of a finding: 'he fell in March and', 'the splint was removed in March and' do not."""
    return any(mark.kind in {"term", "piece"} and mark.text not in words().sets["supports"] for mark in marks)


def overtaken(text: str, segments: Sequence[Segment], marks: Sequence[Sequence[Mark]]) -> Iterator[int]:
    """The sentences that are of another day since one behind them is of today: 'on admission ... was red. Today ...'.

    'On admission', and a label with a date, hold until then; 'on the ward', 'when the plaster was removed' are of
    another day only where the very next sentence is of today. A letter of discharge tells of an admission as of before.
    """
    discharged = is_discharge(text)
    begun = {at for at, own in enumerate(marks) if begins_today(segments[at], own)}
    begun |= {at for at, own in enumerate(marks) if discharged and any(is_of_discharge(text, mark) for mark in own[:3])}
    if not begun and not discharged:
        return
    last, held, told = len(segments) if discharged else max(begun), False, False
    for at, (segment, own) in enumerate(zip(segments[:last], marks, strict=False)):
        label = text[segment.start : segment.label]
        if at in begun or segment.breaks:
            held = False
        held = held or _is_arrival(segment, own) or (bool(label) and _is_earlier(label))
        told = told or any("examined" in mark.says for mark in own)
        overtakes = at + 1 in begun and (_was_elsewhere(text, segment, own) or _was(own, marks[at + 1], told=told))
        if held or overtakes:
            yield at


def _is_earlier(label: str) -> bool:
    """'March 2021:', 'initial visit:', where a later line is of today."""
    return is_dated(label) or section_by_word(label.strip(" :").casefold()) == "earlier"


def _was(marks: Sequence[Mark], following: Sequence[Mark], *, told: bool) -> bool:
    """'The elbow was red. Today the wrist is stiff.': what was, where nothing was `told` of an examination before.

    'Now' does not always speak of a day, nor 'today' of a finding: 'Phalen's was positive. Today the plan is a splint.'
    """
    found = [mark for mark in following if mark.text not in words().sets["supports"]]
    return not told and tense(marks) == "past" and is_present(found) and following[0].text != "now"


def is_discharge(text: str) -> bool:
    """Whether a text is a letter of discharge by its title."""
    title = text[:_TITLE].partition("\n")[0].casefold()
    return "discharge" in title and any(word in title for word in words().sets["letters"])


def is_of_discharge(text: str, mark: Mark) -> bool:
    """'On discharge the hand was soft', in a letter of discharge: what was found last."""
    return mark.text.endswith("discharge") and is_discharge(text)


def is_now(mark: Mark, marks: Sequence[Mark]) -> bool:
    """'On discharge today the wrist is swollen': an occasion that is of today."""
    return any(_is_today(each) and 0 <= each.start - mark.end <= 1 for each in marks)


def begins_today(segment: Segment, marks: Sequence[Mark]) -> bool:
    """Whether a sentence opens with 'today', 'now' or the like."""
    return any(_is_today(mark) and mark.start - segment.start < OPENS for mark in marks[:4])


def _is_arrival(segment: Segment, marks: Sequence[Mark]) -> bool:
    """'On admission the hand was swollen'."""
    arrivals = words().sets["arrivals"]
    return any(mark.text in arrivals and mark.start - segment.start < OPENS for mark in marks[:3])


def _was_elsewhere(text: str, segment: Segment, marks: Sequence[Mark]) -> bool:
    """'On the ward the wrist was swollen', 'on Monday', and no 'on the right' or 'on palpation'."""
    if not marks or marks[0].text.partition(" ")[0] not in words().sets["occasions"]:
        return False
    first = next((mark for mark in marks[1:] if mark.kind != "filler"), None)
    told = first is not None and (first.kind == "word" or first.text in words().sets["supports"])
    return told and "examined" not in marks[0].says and is_of_past(text, segment.start, segment.end)


def asks(text: str, segments: Sequence[Segment], marks: Sequence[Sequence[Mark]]) -> Iterator[int]:
    """The sentences that ask: 'Is the wrist swollen?', and no 'Phalen's positive?'."""
    if "?" not in text:
        return
    for at, (segment, own) in enumerate(zip(segments, marks, strict=True)):
        if own and text[segment.end - 1] == "?" and own[0].text.partition(" ")[0] in words().sets["asking"]:
            yield at


def _parts(mark: Mark) -> bool:
    """Whether a mark may part two clauses."""
    return mark.kind == "break" or (mark.kind == "joiner" and mark.text in _ALSO) or mark.text == _BRACKET


def _is_of_another(marks: Sequence[Mark]) -> bool:
    return any({"history", "later", "imaging", "family", "plan"} & set(mark.says) for mark in marks)


def _is_today(mark: Mark) -> bool:
    return "today" in mark.says


def _concedes(segment: Segment, marks: Sequence[Mark]) -> bool:
    """'Although he complains of ..., ...', 'as the GP noted, ...': a sentence that opens with what it sets aside."""
    first = next((mark for mark in marks if mark.start >= segment.label), None)
    return first is not None and (first.kind == "break" or first.text == "as")


def then_and_now(
    cue: str, mark: Mark, segment: Segment, marks: Sequence[Mark], words: Words
) -> list[tuple[int, int, str]]:  # fmt: skip
    """'Extension was 35 at the last visit and is now 55': the results of the other day alone are not of today."""
    timed = mark.text.startswith(words.affixes["before"]) or mark.text.endswith(words.affixes["ago"])
    if cue != "later" and not (cue == "history" and timed):
        return []
    now = next((each for each in marks if each.text in words.sets["now"] and each.start > mark.start), None)
    if now is None or any("history" in each.says for each in marks if each is not mark):
        return []
    kinds = {"state", "value"}
    pivot = now.start
    if not any(each.kind in kinds and each.start > pivot for each in marks):  # '... but is negative today'
        parts = [
            each.start for each in marks if each.kind in {"break", "joiner"} and mark.end <= each.start < now.start
        ]
        pivot = parts[-1] if parts else 0
    if not any(each.kind in kinds and each.start > pivot for each in marks):
        return []
    then = [each for each in marks if each.kind in kinds and segment.label <= each.start < pivot]
    return [(each.start, each.end, cue) for each in (*then, mark)] if then else []
