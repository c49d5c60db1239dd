"""Whether a sentence is a finding of today, and under which heading, side and site it stands.

History, plan, advice, imaging, family, earlier and later examinations are recognised by their headings and by words in
the sentence; what they mention is kept apart and never reported as found.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from letterkit.catalogue.model import Stage
from letterkit.reading.begun_before import (
    began_then,
    heads_a_part,
    heads_columns,
    is_of_others,
    is_seen_there,
    opens_a_line,
    tells_who_came,
)  # fmt: skip
from letterkit.reading.fragments import has_gone
from letterkit.reading.labels import asked_for, goes_on_reviewing, headed, is_told_below, label_of, may_end
from letterkit.reading.marks import Mark, items_of
from letterkit.reading.note_sides import history_sides, only_side
from letterkit.reading.occasions import (
    after_what,
    comes,
    complaint,
    how_it_began,
    is_after_injury,
    is_of_another_day,
    is_of_before,
    of_somebody,
    opening,
    tells_time,
    times_in,
)
from letterkit.reading.reports import is_felt, is_report
from letterkit.reading.segments import Segment
from letterkit.reading.speakers import (
    another_examiner,
    brought,
    done_with_it,
    heads_other_side,
    in_general,
    is_seen,
    is_spoken,
    remark_of,
    seen_where,
    tells_examined,
    tested_after,
    were_tested,
)
from letterkit.reading.titles import names_its_part, told_by_patient, untold
from letterkit.reading.two_days import (
    OPENS,
    asks,
    begins_today,
    clause_begins,
    clause_ends,
    day_apart,
    is_found_then,
    is_now,
    is_of_discharge,
    is_present,
    is_reason,
    is_subject,
    is_whole,
    of_former_days,
    of_occasion,
    overtaken,
    reason_begins,
    tense,
    then_and_now,
)
from letterkit.reading.words import Words
from letterkit.reading.words import words as all_words

CURRENT = "current"
_NEXT_WORDS = 30  # characters within which 'previous' or 'known' speaks of the next term
_ALWAYS = frozenset({"denies", "denied", "deny"})
_EXAMINED = 2  # tests told of before 'on examination' that make what they stand in an examination
_NOT_TODAY = frozenset({"history", "later", "imaging", "family"})
_PASSING = frozenset({"plan", "earlier", "imaging"})  # sections that a sentence of today ends
_WHOLE = {
    "neurovascular", "nv", "neurovascular status", "look", "inspection",
    "on inspection", "feel", "palpation", "on palpation", "move", "movement", "movements", "function", "hand function",
    "special tests", "neurovascular examination", "the neurovascular examination", "functional",
}  # fmt: skip


@dataclass(slots=True)
class Setting:
    """Where one sentence stands.

    `status` is 'current' or why it is not; `ranges` are characters with another status; `stage` is that of the heading
    above; `whole_stage` whether the heading names the stage as a whole; `fresh` whether what was carried ends here.
    """

    status: str = CURRENT
    ranges: list[tuple[int, int, str]] = field(default_factory=list)
    stage: Stage | None = None
    whole_stage: bool = False
    fresh: bool = False
    staged: bool = False  # the heading of a stage: what a heading above it says still holds
    label: str = ""
    label_known: bool = False  # whether the label is a heading of the trade
    elsewhere: bool = False
    title: bool = False  # the first line, which names the part that the note is about: it heads what is found below
    history_side: str | None = None  # the one side that the history names
    only_side: str | None = None  # the one side that the whole note names

    def at(self, position: int) -> str:
        """The status of a mark at that character."""
        for start, end, status in self.ranges:
            if start <= position < end:
                return status
        return self.status

    def of_today(self, marks: Sequence[Mark]) -> list[Mark]:
        """The marks that are of this examination."""
        if self.ranges:
            return [mark for mark in marks if self.at(mark.start) == CURRENT]
        return list(marks) if self.status == CURRENT else []


def settings(text: str, segments: Sequence[Segment], marks: Sequence[Sequence[Mark]], words: Words) -> list[Setting]:
    """The setting of each segment, in order."""
    found: list[Setting] = []
    section, stage, whole = "imaging" if is_report(text, segments, marks) else CURRENT, None, False
    above = ""  # the section to which a line that is known by one word of its label gives way again
    lasting = ""  # a later or earlier occasion, or an image, that goes on to the end of its paragraph
    previous_line = 0
    reviewing = ""
    first_examined: int | None = None
    times = times_in(text)
    asked = ""  # whether the section is no more than why somebody was sent, or what somebody complains of
    for index, (segment, own) in enumerate(zip(segments, marks, strict=True)):
        setting = Setting()
        label = setting.label = label_of(text, segment)
        ends = section == "history" and asked != "" and _ends_asking(asked, label, segment, previous_line, own)
        section = CURRENT if ends else section
        kind, staged, by_word = headed(label, first_examined, marks, first=not index)
        if segment.line != previous_line:
            section, above = above or section, ""
            lasting = ""
            setting.fresh = segment.breaks
        previous_line = segment.line
        reviewing = goes_on_reviewing(text, reviewing, label, segment, found[-1].label if found else "")
        if reviewing:
            kind, staged = "history", None
        if staged and kind != "history":
            stage, whole = Stage(staged), label in _WHOLE
            setting.fresh, setting.staged, section = section != CURRENT, True, CURRENT
        if by_word:
            above, section = above or section, CURRENT if by_word == "examination" else by_word
        if section in _PASSING and not label and begins_today(segment, own):
            section = CURRENT  # 'STG: wrist extension 50. Today 30.'
        setting.label_known = bool(kind or staged)
        above = "" if setting.label_known else above
        setting.fresh = setting.fresh or bool(kind and not staged)
        asked = asked_for(label) if kind else asked
        setting.elsewhere = kind == "elsewhere"
        if kind and not setting.elsewhere:
            section = CURRENT if kind == "examination" else kind
            stage, whole = (stage, whole) if staged else (None, False)
        examines = kind == "examination" or bool(staged) or heads_columns(own)
        lasting = "" if examines else lasting  # '... six weeks later a wrist drop. Neurological examination: ...'
        if examines and first_examined is None and not heads_other_side(label, marks[:index]):
            first_examined = index
        setting.status, setting.stage, setting.whole_stage = section, stage, whole
        lasting, section = _sentence(text, setting, segment, own, lasting, section, words, times)
        found.append(setting)
        first_examined = _begun_at(found, segment, marks, words) if first_examined is None else first_examined
    _before_examination(text, found, segments, marks, first_examined, words.sets["only_examined"])
    _told_of_note(text, found, segments, marks, first_examined, words.sets["only_examined"])
    history_sides(found, marks, words.legs)
    only_side(found, marks, words.legs)
    return found


def _told_of_note(
    text: str, found: list[Setting], segments: Sequence[Segment], marks: Sequence[Sequence[Mark]],
    examined: int | None, tests: frozenset[str],
) -> None:  # fmt: skip
    """Takes out what is of today only as its own lines tell: titles, what a later visit overtakes, questions."""
    for why, which in (("history", untold), ("later", overtaken), ("asked", asks), ("history", told_by_patient)):
        for at in which(text, segments, marks):
            if found[at].status == CURRENT:
                found[at].status = why
                found[at].title = which is untold and names_its_part(text, segments[at], marks[: at + 1])
    if examined and opens_a_line(text, segments, examined):
        _before_examination(text, found, segments, marks, examined, tests, typed=True)


def _ends_asking(asked: str, label: str, segment: Segment, above: int, marks: Sequence[Mark]) -> bool:
    """Whether a sentence under a reason or a complaint tells what was found: a test, or what is there."""
    return (may_end(asked, label) and tells_examined(marks)) or is_told_below(segment, above, marks)


def _begun_at(found: Sequence[Setting], segment: Segment, marks: Sequence[Sequence[Mark]], words: Words) -> int | None:
    """Where the last sentence `found` says that an examination began: there, or where it had begun before.

    'The left wrist is swollen. Abdominal examination is normal.': it began with the first sentence of what can be seen.
    """
    at = len(found) - 1
    begins = next((mark for mark in marks[at] if mark.says and _begins_examination(segment, mark, words)), None)
    if begins is None:
        return None
    if not is_of_others(marks[at], begins):
        return at
    before = zip(found, marks[:at], strict=False)
    return next((n for n, (each, own) in enumerate(before) if each.status == CURRENT and is_seen_there(own)), at)


def _begins_examination(segment: Segment, mark: Mark, words: Words) -> bool:
    """'Clinically the wrist is swollen', and no 'the median nerve was clinically normal', which may stand anywhere."""
    opens = mark.start - max(segment.start, segment.label) < OPENS
    passing = {"clinically", "today"} if not opens else frozenset[str]()
    return "examined" in mark.says and mark.text not in words.sets["moments"] | passing


def _sentence(
    text: str, setting: Setting, segment: Segment, marks: Sequence[Mark], lasting: str, section: str, words: Words,
    times: Sequence[str],
) -> tuple[str, str]:  # fmt: skip
    """Reads the words of one sentence that say when or whose it is; gives what lasts after it."""
    timed = tells_time(text, segment.start, segment.end, times)  # asked first: the patterns are slow
    text, marks = _without_beginning(text, setting, segment, marks, timed=timed)
    telling = [mark for mark in marks if mark.says]
    today = any("today" in mark.says for mark in telling)
    if lasting in {"later", "imaging"} and today:
        lasting = ""
    if (lasting == "imaging" and is_felt(marks)) or (lasting == "later" and is_present(marks)):
        lasting = ""
    opened = opening(text, segment.start, segment.end) if setting.status == CURRENT else 0
    if opened:
        setting.ranges.append((segment.start, opened, "history"))
    begin = max(opened, segment.start)
    timed = timed and (not opened or tells_time(text, begin, segment.end, times))
    if timed and setting.status == CURRENT and not today:
        lasting = _occasion(text, setting, segment, marks, lasting, begin)
    examined = next((mark.start for mark in telling if "examined" in mark.says), None)
    if (
        setting.status == CURRENT
        and (told := _told(text, segment, marks, timed=timed)) is not None
        and examined is None
    ):
        setting.ranges.append((told, clause_ends(told, segment, marks, spoken=False), "history"))
    if setting.status == CURRENT:
        setting.ranges += brought(marks)
        setting.ranges += of_former_days(text, segment, marks)
    if timed and setting.status == CURRENT and not today and is_of_before(text, segment.start, segment.end):
        setting.ranges.append((segment.start, examined or segment.end, "history"))
    if examined is not None and not _only_label(marks, segment):
        lasting = ""
        if setting.status != CURRENT:
            setting.ranges.append((segment.start, examined, setting.status))
            setting.status = section = CURRENT
    if lasting and setting.status == CURRENT:
        setting.status = lasting
    for mark in telling:
        for cue in mark.says:
            lasting = _cue(text, setting, segment, marks, (mark, cue), lasting, words, begin=opened, examined=examined)
    return lasting, section


def _without_beginning(
    text: str, setting: Setting, segment: Segment, marks: Sequence[Mark], *, timed: bool
) -> tuple[str, Sequence[Mark]]:  # fmt: skip
    """'On examination a lump, which appeared a week ago, was tender': the sentence without how it began."""
    began = how_it_began(text, segment.label, segment.end) if timed and setting.status == CURRENT else None
    others = [mark for mark in marks if not began[0] < mark.start < began[1]] if began else []
    if began is None or not is_found_then(others, began[1]):
        return text, marks
    setting.ranges.append((*began, "history"))
    return text[: began[0]] + " " * (began[1] - began[0]) + text[began[1] :], others


def _occasion(
    text: str, setting: Setting, segment: Segment, marks: Sequence[Mark], lasting: str, begin: int
) -> str:  # fmt: skip
    """Takes a sentence of another day by its time out of the examination; gives what lasts after it."""
    if not is_of_another_day(text, begin, segment.end):
        return lasting
    of_then = of_occasion(after_what(text, begin, segment.end), segment, marks)
    if of_then is not None:
        setting.ranges.append((*of_then, "later"))
        return lasting
    setting.status = "later"
    planned = any("plan" in mark.says for mark in marks)  # 'to operate if it is stiff at six weeks'
    opens = _opens_note(text, segment, marks)
    return "" if planned or opens or comes(text, segment.start, segment.end) else "later"


def _opens_note(text: str, segment: Segment, marks: Sequence[Mark]) -> bool:
    """'Review at 3 months after a tendon repair.', at the head of a note: the visit that it is about."""
    if text[: segment.start].strip() or is_whole(marks):
        return False
    visits = all_words().sets["opening_visits"]
    return any(mark.text in visits or "history" in mark.says for mark in marks)


def _cue(
    text: str, setting: Setting, segment: Segment, marks: Sequence[Mark], said: tuple[Mark, str], lasting: str,
    words: Words, *, begin: int, examined: int | None,
) -> str:  # fmt: skip
    """Takes what one word says of time or speaker out of the examination; gives what lasts after the sentence."""
    mark, cue = said
    gone = mark.text in words.sets["gone_now"] and not tense(marks) and has_gone(marks, marks.index(mark)) >= 0
    if gone or (mark.text in words.sets["come_and_go"] and is_seen(marks, mark.start)):
        return lasting
    if cue in {"history", "later"} and (remark := remark_of(text, mark, segment, marks)):
        setting.ranges.append((*remark, cue))
        return lasting
    if cue in _NOT_TODAY and mark.start >= max(segment.label, begin) and (examined is None or examined < mark.start):
        apart = day_apart(mark, segment, marks, spoken=is_spoken(mark))
        if apart and apart[0] >= (examined or 0):
            setting.ranges.append((*apart, cue))
            return lasting
    if then := then_and_now(cue, mark, segment, marks, words):
        setting.ranges += then
    elif cue == "later" and (begins_today(segment, marks) or is_now(mark, marks) or is_of_discharge(text, mark)):
        return lasting  # 'seen today, five weeks after the operation'
    elif cue == "later" and examined is not None and is_after_injury(text, mark.end, segment.end):
        return lasting  # 'on examination, three months after the injury, the wrist was stiff'
    elif cue in {"imaging", "later", "family"} and mark.start >= max(segment.label, begin):
        return _of_another_day(text, setting, segment, marks, said, lasting, words)
    elif cue == "general" and mark.start >= max(segment.label, begin) and setting.at(mark.start) == CURRENT:
        setting.ranges.append(in_general(mark, segment, marks))
    elif cue == "doing" and (done := done_with_it(mark, segment, marks)):
        setting.ranges.append(done)
    elif (told := of_somebody(text, cue, mark, segment)) is not None:
        setting.ranges.append(told)
    elif stretch := _stretch(cue, mark, segment, marks, examined):
        setting.ranges.append(stretch)
    return lasting


def _told(text: str, segment: Segment, marks: Sequence[Mark], *, timed: bool) -> int | None:
    """Where a sentence begins to tell of a complaint, of what happened to somebody, or what another examiner found."""
    if (other := another_examiner(text, segment.start, segment.end, marks)) is not None:
        return other
    return complaint(text, segment.start, segment.label, segment.end, timed=timed)


def _of_another_day(
    text: str, setting: Setting, segment: Segment, marks: Sequence[Mark], said: tuple[Mark, str], lasting: str,
    words: Words,
) -> str:  # fmt: skip
    """Takes the sentence, or the clause with the cue, out of the examination; gives what lasts after it."""
    mark, cue = said
    setting.status = cue
    nobody = any({"general", "plan"} & set(each.says) for each in marks)  # 'a scan would have been done'
    if any(part in mark.text for part in words.affixes["recovery"]) and any(
        "examined" in each.says and each.start < mark.start for each in marks
    ):
        return lasting  # 'when I examined him he had recovered': what follows was found then
    if cue == "later" and not text[: segment.start].strip() and began_then(marks):
        setting.status = "history"
        return ""
    if cue == "later" and _opens_note(text, segment, marks):
        return ""  # 'Follow up after surgery. Grip 20 kg.': what brings the patient here
    nobody = nobody or mark.text.endswith(
        words.affixes["recurrence"]
    )  # 'there has been no recurrence': that sentence alone
    if cue == "family" or nobody or (cue == "later" and comes(text, segment.start, segment.end)):
        return ""  # 'he presents 4 months later': what follows is of that visit
    return cue


def _stretch(
    cue: str, mark: Mark, segment: Segment, marks: Sequence[Mark], examined: int | None
) -> tuple[int, int, str] | None:
    """The characters that a word takes out of the examination: from itself on, or back to where the sentence began."""
    if cue == "plan":
        return mark.start, reason_begins(mark, segment, marks), "plan"
    known = all_words()
    if cue == "history" and mark.text == "since" and is_reason(mark, segment, marks):
        return None
    if cue == "history_here":
        ahead = next((each for each in marks if each.start > mark.start and each.kind == "term"), None)
        ends = all(each.kind in {"filler", "word"} for each in marks if each.start >= mark.end)
        if ends and mark.text == "previously" and tense(marks) == "past":
            return clause_begins(mark, segment, marks, spoken=False), mark.end, "history"
        near = ahead is not None and ahead.start - mark.end < _NEXT_WORDS
        if not near or ahead is None or (mark.text.startswith(known.affixes["following"]) and is_subject(ahead, marks)):
            return None  # 'after a fall last week grip is 20 kg'
        return mark.start, ahead.end, "history"
    seen = examined is not None and any(each.start == examined and each.text in known.sets["seeing"] for each in marks)
    told = mark.text.endswith(("history", "history of")) or mark.text.startswith(known.affixes["to_be_seen"])
    if cue == "history" and mark.text.endswith(known.affixes["resolved"]) and examined is not None:
        terms = [each.start for each in marks if each.kind == "term" and each.start < mark.start]
        first = terms[-2:][0] if terms and mark.text.startswith("have") else terms[-1] if terms else 0
        return (first, mark.end, "history") if terms else None  # 'the redness seen on admission has resolved'
    if cue == "history" and seen and told:
        return mark.start, segment.end, "history"  # 'I saw her today with a two year history of thumb pain'
    always = mark.text in _ALWAYS or mark.text in known.sets["examined_for"]
    if cue != "history" or not (examined is None or mark.start < examined or always):
        return None
    if any(_goes_on(each, mark) for each in marks if each.start < mark.start):
        return mark.start, segment.end, "history"
    if examined is not None and examined > mark.start:
        return segment.start, examined, "history"
    after = always and examined is not None
    tested = mark.text in known.sets["complaining"]
    end = tested_after(mark, segment, marks) if tested else seen_where(mark, segment, marks)
    return mark.start if after else segment.start, end, "history"


def _goes_on(found: Mark, mark: Mark) -> bool:
    """'Tinel's positive, radiating into the thumb', 'tender, worse with pinch': what was found is of today."""
    items = items_of(found)
    if not items:
        return False
    if mark.text == "worse with":
        return items[0].endswith("tenderness")
    return mark.text.startswith("radiat") and items[0] in all_words().sets["shooting_tests"]


def _only_label(marks: Sequence[Mark], segment: Segment) -> bool:
    """Whether the sentence's only words of examination stand under an image or the like."""
    return any({"imaging"} & set(mark.says) for mark in marks if mark.start >= segment.label)


def _before_examination(
    text: str, found: list[Setting], segments: Sequence[Segment], marks: Sequence[Sequence[Mark]],
    examined: int | None, tests: frozenset[str], *, typed: bool = False,
) -> None:  # fmt: skip
    """What is told before the examination begins is history, if any of it is told as such, or all of it if `typed`.

    'Tone was normal. She has no weakness. Reflexes were equal. I could detect no ...' was examined from the start: it
    tells of several of the `tests` that only an examiner does.
    """
    if not examined or were_tested(marks[:examined]):
        return
    named = {
        slug
        for own, setting in zip(marks[:examined], found, strict=False) if setting.status == CURRENT
        for mark in own if mark.kind == "term" and mark.term is not None for slug in mark.term.items[:1]
    }  # fmt: skip
    if (typed or tells_who_came(text, segments, marks, examined)) and len(named & tests) < _EXAMINED:
        begun = next((at for at in range(examined) if heads_a_part(segments[at], marks[at])), examined)
        for at, setting in enumerate(found[:examined]):
            if at > begun and segments[at].line == segments[begun].line:
                continue  # 'Denies a fall. R wrist: no deformity. Tender snuffbox. Elbows: full range.'
            if setting.status == CURRENT and not (setting.label and not setting.label.startswith("h")):
                setting.status = "history"
                setting.title = typed and names_its_part(text, segments[at], marks[: at + 1])
