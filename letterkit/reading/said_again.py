"""'Decreased sensation in the index, but the middle finger is normal': the sensation of the middle finger.

Without this, both results would be told of both fingers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, items_of, value_of, without_side
from letterkit.reading.parting import as_break
from letterkit.reading.phrases import StateWord
from letterkit.reading.predication import BE, THERE_IS
from letterkit.reading.words import words

_WHOLE = frozenset({"full", "normal"})
_LESS = frozenset({"reduced", "absent"})
_PASSED = frozenset({"filler", "certain", "severity"})
_PLACE = frozenset({"piece", "side"})
_OF = frozenset({"of", "in", "at"})
_RESULTS = frozenset({"normal", "reduced", "absent", "full", "increased", "brisk", "abnormal", "positive", "negative"})


def own_results(marks: list[Mark]) -> list[Mark]:
    """'Full flexion, extension lacks 15 degrees', 'enlarged and tender, the axillary nodes not palpable'.

    A break stands before a second term that has its own result, where the first would take it or give its own.
    """
    for at in range(2, len(marks) - 2):
        if marks[at].kind != "joiner" or marks[at].text not in {"comma", "and"} or marks[at - 1].kind == "joiner":
            continue
        result = _own_result(marks, at)
        if result is None or _is_one_more_reflex(marks, at):
            continue
        if not (_has_told(marks, at) or _is_contrary(marks, at, result) or _is_denied_before(marks, at, result)):
            continue
        end = next(each for each in range(at, len(marks)) if marks[each].kind != "joiner")
        parted = as_break(marks[at])
        return [*marks[:at], parted, *own_results(marks[end:])]
    return marks


def _own_result(marks: Sequence[Mark], at: int) -> StateWord | None:
    """The result that stands right behind the term after a joiner, and at the end of its clause."""
    while at < len(marks) and (marks[at].kind in {"joiner", "side"} or marks[at].text in words().sets["determiners"]):
        at += 1
    if at >= len(marks) or marks[at].kind != "term":
        return None
    at = _past_its_part(marks, at + 1)
    at += at < len(marks) and marks[at].text in BE
    at += at < len(marks) and marks[at].kind == "negator"
    return marks[at].state if at < len(marks) and marks[at].kind == "state" and _ends_clause(marks, at + 1) else None


def _past_its_part(marks: Sequence[Mark], at: int) -> int:
    """'The mobility of the fingers was kept': where the verb stands behind a noun and the part it is of."""
    if at >= len(marks) or marks[at].text not in _OF:
        return at
    led = words().sets["determiners"]
    end = at + 1
    while end < len(marks) and (marks[end].kind in _PLACE or marks[end].text in led):
        end += 1
    told = end < len(marks) and (marks[end].text in BE or marks[end].kind == "state")
    return end if told and marks[end - 1].kind in _PLACE else at


def _ends_clause(marks: Sequence[Mark], at: int) -> bool:
    """Whether nothing follows but where, how much or more: 'absent in the left wrist', 'short by 10 degrees'."""
    if at < len(marks) and marks[at].text == "by":
        return True
    while at < len(marks) and marks[at].kind in {"filler", "side", "piece"}:
        at += 1
    if at + 1 < len(marks) and marks[at].text == "and":
        ahead = [each for each in marks[at + 1 : at + 4] if each.text not in words().sets["determiners"]]
        return marks[at + 1].text == "the" and ahead[0].kind == "term"  # '... was kept and the grip was weak'
    return at >= len(marks) or _parts(marks[at])


def _has_told(marks: Sequence[Mark], at: int) -> bool:
    """'The node is enlarged and tender,': a list of what was found that has ended."""
    listed = marks[at - 2].text == "and" or (marks[at - 2].text == "comma" and _has_own_verb(marks, at))
    if marks[at].text != "comma" or marks[at - 1].kind != "term" or not listed:
        return False
    before = marks[: at - 2]
    if any(mark.kind == "negator" for mark in before):
        return False
    if any(mark.state is not None and mark.state.classes for mark in before) and _is_subject(marks, at):
        return True  # 'loss of flexion and extension, the power of the fingers was normal'
    verbs = BE | THERE_IS | words().sets["owns"]
    if any(mark.text in verbs or mark.kind == "severity" for mark in before):
        return True
    named = next((each for each, mark in enumerate(before) if mark.kind in {"term", "piece"}), len(before))
    return any(mark.kind == "state" for mark in before[named + 1 :])


def _is_denied_before(marks: Sequence[Mark], at: int, result: StateWord) -> bool:
    """'No Tinel or Phalen, Durkan's was positive': a list that was denied has ended; 'was seen' may be said of it."""
    denied = marks[at].text == "comma" and marks[at - 2].text == "or" and marks[at - 1].kind == "term"
    denied = denied and any(mark.kind == "negator" for mark in marks[: at - 2])
    return denied and bool(set(result.classes) - {"present"}) and _is_subject(marks, at)


def _is_one_more_reflex(marks: Sequence[Mark], at: int) -> bool:
    """'Absent biceps and triceps reflexes, the brachioradialis was brisk': of its reflex, which the list tells."""
    if not marks[at - 1].text.endswith(words().affixes["reflex"]):
        return False
    following = next((items_of(mark) for mark in marks[at:] if mark.kind == "term"), ())
    return any(slug in words().reflexes for slug in following)


def _is_subject(marks: Sequence[Mark], at: int) -> bool:
    """', the power of the fingers was normal': a noun behind a joiner that has a verb of its own."""
    at += 1
    while at < len(marks) and (marks[at].kind == "side" or marks[at].text in words().sets["determiners"]):
        at += 1
    end = _past_its_part(marks, at + 1)
    return end < len(marks) and (marks[end].text in BE or end > at + 1)


def _has_own_verb(marks: Sequence[Mark], at: int) -> bool:
    """'The finger is swollen, tender, drainage is absent': the last has a verb of its own."""
    return any(mark.text in BE for mark in marks[at:])


def _is_contrary(marks: Sequence[Mark], at: int, result: StateWord) -> bool:
    """'Full pronation, and supination is limited': the result before the first is not that of the second."""
    led = at - 2 - (at > 2 and marks[at - 2].text in words().sets["determiners"])  # noqa: PLR2004 - 'loss of the pulses'
    before = marks[led].state if marks[led].kind == "state" else None
    if marks[at - 1].kind != "term" or before is None:
        return False
    first, second = set(before.classes), set(result.classes)
    return bool((first & _WHOLE and second & _LESS) or (first & _LESS and second & _WHOLE))


def told_of_another(marks: list[Mark], catalogue: Catalogue) -> list[Mark]:
    """The marks with the term once more before each second place that has its result behind it, parted by a break."""
    at = next((at for at in range(1, len(marks) - 2) if _parts(marks[at]) and _is_of_another(marks, at)), None)
    term = _term_before(marks, at) if at is not None else None
    if at is None or term is None or value_of(marks[term], catalogue) is ValueKind.PRESENCE:
        return marks
    again = [_without_state(marks[term])]
    if not any(each.kind == "piece" for each in marks[at : at + 4]):  # 'but the left is normal': of the same part
        again += [without_side(each) for each in marks[term + 1 : at] if each.kind == "piece"]
    start = marks[at + 1].start
    again = [replace(each, start=start, end=start) for each in again]
    parted = as_break(marks[at])
    return [*marks[:at], parted, *again, *told_of_another(marks[at + 1 :], catalogue)]


def _term_before(marks: Sequence[Mark], at: int) -> int | None:
    return next((each for each in range(at - 1, -1, -1) if marks[each].kind == "term"), None)


def _without_state(mark: Mark) -> Mark:
    """Of 'full motion' the motion."""
    return mark if mark.term is None else replace(mark, term=replace(mark.term, state=""))


def _parts(mark: Mark) -> bool:
    return mark.kind == "break" or (mark.kind == "joiner" and mark.text == "comma")


def _is_of_another(marks: Sequence[Mark], at: int) -> bool:
    """Whether a place with a result of its own follows, and what it is of has its own result and place before it."""
    term = _term_before(marks, at)
    start = at + (marks[at + 1].text in words().sets["determiners"])
    verb = next((each for each in range(start + 1, len(marks)) if not _names(marks[each], marks[at])), len(marks))
    if term is None or verb + 1 >= len(marks) or marks[verb].text not in BE or marks[verb - 1].kind not in _PLACE:
        return False
    behind = marks[term + 1 : at]
    if not any(each.kind in _PLACE for each in behind) or any(each.kind in {"value", "word"} for each in behind):
        return False
    told = any(each.kind == "state" for each in behind)
    led = _is_led_by_result(marks, term)
    bare = marks[verb - 1].kind == "piece" and start == at  # ', ulnar side is normal'
    return led != told and (led or bare) and _ends_in_result(marks, verb + 1)


def _names(mark: Mark, before: Mark) -> bool:
    """A part of what a clause is about; several of them are joined only where 'but' says that another clause begins."""
    return mark.kind in _PLACE or (before.kind == "break" and mark.text in {"and", "the"})


def _is_led_by_result(marks: Sequence[Mark], at: int) -> bool:
    """'Decreased sensation', 'no sensation', 'full motion': a result before what it is of."""
    term = marks[at].term
    near = marks[max(0, at - 2) : at]
    return bool(term is not None and term.state) or any(each.kind in {"state", "negator"} for each in near)


def _ends_in_result(marks: Sequence[Mark], at: int) -> bool:
    """Whether a result and nothing else of its own clause stands there."""
    while at < len(marks) and marks[at].kind in _PASSED:
        at += 1
    result = marks[at] if at < len(marks) else None
    if result is None or result.kind != "state" or result.state is None or not _RESULTS & set(result.state.classes):
        return False
    return at + 1 == len(marks) or _parts(marks[at + 1])
