"""Tests and movements told by what they brought on: 'Phalen's test reproduced tingling', 'supination caused pain'.

The test is positive and the movement painful; the tingling is no finding of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import dropwhile, takewhile

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Stage, ValueKind
from letterkit.reading.marks import NAMES_SIDE, Mark, value_of
from letterkit.reading.phrases import StateWord
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_SOFT = frozenset({"filler", "word", "severity", "certain", "negator", "say", "maybe", "side"})
_AS_VERBS = frozenset({":", "without"})
_NEAR = 5  # marks of one noun phrase, of which two may stand between a test, what it did and the symptom


def provoked(marks: list[Mark], texts: Texts, catalogue: Catalogue) -> list[Mark]:
    """The marks with the result of such a test in place of what it brought on, and of where that was felt."""
    verbs = words().provokes
    if texts.isdisjoint(verbs) and texts.isdisjoint(_AS_VERBS):
        return marks
    made: list[Mark] = []
    marks = _held(_on_the_other(marks) if "side" in texts.kinds else marks, catalogue)
    could_not = words().sets["could_not"]
    at = 0
    while at < len(marks):
        made.append(marks[at])
        named = marks[at].kind == "term"
        moves = named and _is_movement(marks[at], catalogue)
        found = _symptom(marks, at) if moves or (named and _is_test(marks[at], catalogue)) else None
        at += 1
        if found is None:
            continue
        verb, end = found
        between = [mark for mark in marks[at:verb] if mark.kind != "negator" and mark.text not in could_not]
        made += [
            mark for before, mark in zip([marks[at - 1], *between], between, strict=False) if _is_onset(before, mark)
        ]
        made += [each for mark in marks[verb:end] if mark.kind in NAMES_SIDE for each in _without_site(mark)]
        negated = any(mark.kind == "negator" or mark.text in could_not for mark in marks[at:end])
        made.append(_result(marks[verb:end], moves=moves, negated=negated))
        at = end
        while at < len(marks) and marks[at].kind in {"piece", "side", "filler", "joiner", "value", "certain"}:
            if marks[at].kind == "joiner" and (end := _again(marks, at)):
                no = any(mark.kind == "negator" for mark in marks[at:end])
                made += [marks[at], _result(marks[at + 1 : end], moves=moves, negated=no)]
                at = end
                continue
            if marks[at].kind == "joiner" and not _goes_on(marks, at):
                break
            made += _without_site(marks[at])
            at += 1
    return _of_the_unknown(made)


def _on_the_other(marks: list[Mark]) -> list[Mark]:
    """'..., on the left it caused tingling', '..., on the left nothing': what the test before did on the other side."""
    for joiner, mark in enumerate(marks[1:], 1):
        lead = list(takewhile(lambda each: each.kind in {"filler", "side"}, marks[joiner + 1 :]))
        if mark.kind not in {"joiner", "break"} or not any(each.kind == "side" for each in lead):
            continue
        start = joiner + 1 + len(lead)
        told = list(takewhile(lambda each: each.kind in _SOFT, marks[start:]))
        end = start + len(told)
        did = any(each.text in words().provokes for each in marks[:joiner])
        begun = [*marks[:joiner], replace(mark, kind="break", text="but"), *lead]
        if did and [each.text for each in told] == ["nothing"] and end == len(marks):
            return [*begun, _result(told, moves=False, negated=True)]
        end = next((at for at in range(start, min(len(marks), end + 1)) if _is_symptom(marks[at])), 0)
        verb = any(each.text in words().provokes for each in marks[start:end])
        if verb and any(each.text == "it" for each in lead):
            no = any(each.kind == "negator" for each in told)
            rest = dropwhile(lambda each: each.kind in {"filler", "piece"}, marks[end + 1 :])  # where it was felt
            return [*begun, _result(marks[start : end + 1], moves=False, negated=no), *rest]
    return marks


def _result(marks: Sequence[Mark], *, moves: bool, negated: bool) -> Mark:
    """What a test or a movement brought on, told in `marks`, as its result."""
    told = ("painless", "painful") if moves else ("negative", "positive")
    state = StateWord((told[0] if negated else told[1],))
    return Mark("state", marks[0].start, marks[-1].end, state=state, text=state.classes[0])


def _again(marks: Sequence[Mark], joiner: int) -> int:
    """'... produced no tingling on the left and numbness on the right': where what it did on the other side ends.

    0 where no symptom with a side follows.
    """
    for at in range(joiner + 1, min(len(marks), joiner + _NEAR)):
        if _is_symptom(marks[at]):
            behind = (mark for mark in marks[at + 1 :] if mark.kind not in {"filler", "certain"})
            after = next(behind, None)
            return at + 1 if after is not None and after.kind == "side" else 0
        if marks[at].kind not in {"negator", "severity", "filler", "certain", "joiner"}:
            return 0
    return 0


def _is_symptom(mark: Mark) -> bool:
    return mark.text in words().symptoms or (mark.term is not None and mark.term.pain and mark.text.startswith("pain"))


def _is_test(mark: Mark, catalogue: Catalogue) -> bool:
    return value_of(mark, catalogue) is ValueKind.TEST


def _is_movement(mark: Mark, catalogue: Catalogue) -> bool:
    """'Passive supination caused pain': a movement that hurts, which is told as one that is painful."""
    items = mark.term.items if mark.kind == "term" and mark.term is not None and not mark.term.pain else ()
    return any(catalogue.items[slug].stage is Stage.MOVEMENT for slug in items) and "pain" not in items[0]


def _held(marks: Sequence[Mark], catalogue: Catalogue) -> list[Mark]:
    """'Resisted wrist extension in ulnar deviation reproduced': how the wrist is held, and not what is done."""
    made = list(marks)
    for index in range(2, len(marks) - 1):
        test, lead, held, after = marks[index - 2 : index + 2]
        if _is_test(test, catalogue) and lead.text == "in" and after.text in words().provokes:
            made[index] = replace(held, kind="certain", term=None) if _is_movement(held, catalogue) else held
    return made


def _of_the_unknown(marks: list[Mark]) -> list[Mark]:
    """'Percussion of it produced tingling': brought on by what is not known, and not how the skin feels."""
    made = list(marks)
    for index, mark in enumerate(marks):
        felt = mark.kind == "term" and mark.term is not None and mark.term.items[:1] == ("light_touch",)
        if not felt or mark.text not in words().symptoms:
            continue
        verb = next((each for each in reversed(marks[:index]) if each.kind not in _SOFT - {"word"}), None)
        verb = marks[index - 1] if verb is None else verb
        if verb.text not in words().provokes:
            continue
        made[index] = Mark("word", mark.start, mark.end, text=mark.text)
        for at in range(index + 1, len(marks)):
            if marks[at].kind not in {"filler", "piece", "side", "word"}:
                break
            made[at] = Mark("word", marks[at].start, marks[at].end, text=marks[at].text)  # and where it was felt
    return made


def _is_onset(before: Mark, mark: Mark) -> bool:
    """'at 20 seconds' tells when it came on, 'for 60 seconds' how long it was looked for."""
    return mark.kind != "value" or before.text != "for"


def _is_verb(mark: Mark) -> bool:
    """'reproduced'; 'without' and a colon, which 'no tingling' may follow."""
    return mark.text in words().provokes or mark.text in _AS_VERBS


def _denies_symptom(marks: Sequence[Mark], at: int) -> bool:
    """'Phalen's: no tingling', and no 'Phalen's: tingling in the thumb, Tinel's: none'."""
    after = next((mark for mark in marks[at + 1 :] if mark.kind not in {"filler", "side"}), None)
    return after is not None and after.kind == "negator"


def _symptom(marks: Sequence[Mark], test: int) -> tuple[int, int] | None:
    """Where the verb stands, and where the symptoms that follow it end."""
    soft = range(test + 1, min(len(marks), test + 1 + 2 * _NEAR))
    passed = _SOFT | {"piece", "value"}
    could_not = words().sets["could_not"]
    verb = next(
        (
            at
            for at in soft
            if _is_verb(marks[at]) or (marks[at].kind not in passed and marks[at].text not in could_not)
        ),
        None,
    )
    if verb is None or not _is_verb(marks[verb]) or (marks[verb].text == ":" and not _denies_symptom(marks, verb)):
        return None
    end = None
    for at in range(verb + 1, min(len(marks), verb + 1 + 2 * _NEAR)):
        mark = marks[at]
        if _is_symptom(mark):
            end = at + 1
        elif mark.kind == "joiner" and end and any(each.kind == "side" for each in marks[end:at]):
            break  # '... pain on the right and no pain on the left'
        elif mark.text in words().sets["kinds_of_pain"]:
            continue
        elif mark.kind == "piece" and end is None:
            continue  # 'reproduced her radial wrist pain'
        elif mark.kind not in _SOFT and not (end and mark.kind == "joiner") and mark.kind != "state":
            break
    return None if end is None else (verb, end)


def _goes_on(marks: Sequence[Mark], joiner: int) -> bool:
    """'in the thumb and index finger': more of where it was felt, and then no result of its own."""
    at = joiner + 1
    while at < len(marks) and marks[at].kind in {"piece", "filler"}:
        at += 1
    felt = any(mark.kind == "piece" for mark in marks[joiner + 1 : at])
    return felt and (at == len(marks) or marks[at].kind in {"side", "joiner", "break"} or _is_time(marks[at]))


def _is_time(mark: Mark) -> bool:
    """'... in the ring and small fingers within 30 seconds': when it came on."""
    return mark.amount is not None and mark.amount.unit == "s"


def _without_site(mark: Mark) -> list[Mark]:
    if mark.kind != "piece" or mark.piece is None:
        return [mark] if mark.kind != "joiner" else []
    if mark.piece.kind == "digit" and mark.piece.side == "both":
        return []  # 'numbness in the ring and small fingers': two digits of one hand
    return [Mark("side", mark.start, mark.end, text=mark.piece.side)] if mark.piece.side else []
