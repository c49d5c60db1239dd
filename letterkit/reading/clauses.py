"""Clauses of one sentence that have a part as their subject: '..., the elbow clicks', '..., her elbow was in plaster'.

Without this, the part would be one more place of the finding before it. Each clause is read by itself.
"""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, value_of
from letterkit.reading.phrases import INCOMPLETE
from letterkit.reading.predication import BE
from letterkit.reading.words import words

_JOINS = frozenset({"comma", "and"})
_PASSED = frozenset({"filler", "certain", "severity"})
_SUBJECT = frozenset({"piece", "side"})


def clauses(marks: list[Mark], catalogue: Catalogue) -> list[list[Mark]]:
    """The marks of a sentence, parted before each part of the body that is the subject of a verb of its own."""
    starts = [0]
    told = False
    read = 0  # how far the subject of the clause before reaches
    for index, mark in enumerate(marks):
        told = told or mark.kind == "term"
        if index < read:
            continue
        joins = mark.kind == "break" or (mark.kind == "joiner" and mark.text in _JOINS)
        if told and joins and (verb := _verb_of_subject(marks, index + 1)) is not None:
            before = next(each for each in reversed(marks[:index]) if each.kind == "term")
            there = value_of(before, catalogue) is ValueKind.PRESENCE
            if _tells_of_subject(marks, verb, there=there):
                starts.append(index)
                read = verb
    return [marks[start:end] for start, end in zip(starts, [*starts[1:], len(marks)], strict=True)]


def _verb_of_subject(marks: Sequence[Mark], start: int) -> int | None:
    """Where the verb stands behind 'the left elbow', 'her wrist and hand'; None where no part is led by such a word."""
    determiners = words().sets["determiners"]
    at = start
    led = at < len(marks) and (marks[at].text in determiners or marks[at].kind == "side")
    at += led and marks[at].kind != "side"
    named = articles = False
    while led and at < len(marks):
        ahead = marks[at + 1 : at + 3]
        if marks[at].kind in _SUBJECT:
            named = named or marks[at].kind == "piece"
        elif not named or marks[at].text != "and" or not ahead:
            break
        elif ahead[0].text in determiners and ahead[-1].kind in _SUBJECT:
            articles = True
            at += 1
        elif ahead[0].kind not in _SUBJECT:
            break
        at += 1
    if not named or at >= len(marks):
        return None
    one = marks[at].text.partition(" ")[0].endswith("s") and marks[at].kind != "state"
    return None if articles and one else at  # 'swelling of the palm, the thumb and the wrist moves well'


def _tells_of_subject(marks: Sequence[Mark], verb: int, *, there: bool) -> bool:
    """Whether what follows is said of the part itself; `there` whether something was found to be there before it."""
    sets = words().sets
    mark = marks[verb]
    ahead = next((each for each in marks[verb + 1 :] if each.kind not in _PASSED), None)
    if mark.text in sets["verbs_of_parts"] or mark.text.partition(" ")[0] in sets["movement_verbs"]:
        return True
    if mark.kind == "word":
        return mark.text not in words().plain and mark.text.endswith(("s", "ed"))
    if ahead is None:
        return False
    if mark.kind == "state" and mark.state is not None:
        may = mark.state is INCOMPLETE or bool({"able", "unable"} & set(mark.state.classes))
        return may and ahead.kind == "term"  # 'the elbow could be flexed', 'the elbow lacks 20 degrees of extension'
    if mark.text in sets["owns"]:
        noted = ahead.state is not None and set(ahead.state.classes) == {"present"}
        return ahead.kind in {"term", "state", "word"} and not noted  # 'and the forearm has been noted'
    if mark.text not in BE:
        return mark.kind == "maybe" and ahead.kind == "word"
    normal = ahead.state is not None and set(ahead.state.classes) == {"normal"} and ahead.text not in sets["spared"]
    return ahead.kind in {"unexamined", "term"} or (there and (ahead.kind == "word" or normal))
