"""A fullness that is denied: 'lacks full extension', 'full flexion was lost'; or that is of one movement of two."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Stage, ValueKind
from letterkit.reading.marks import Mark, value_of
from letterkit.reading.phrases import INCOMPLETE, Entry
from letterkit.reading.predication import BE, is_asserted
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_SIGNS = frozenset({ValueKind.PRESENCE, ValueKind.TEST})
_SOFT = frozenset({"filler", "certain", "active_mode", "passive_mode", "severity"})
_PLACES = _SOFT | {"side", "piece", "joiner", "term"}
_KEPT = frozenset({"side", "piece", "certain"})
_ENDS = frozenset({"break", "negator", "unexamined"})
_OF_IT = _SOFT - {"severity"} | {"side", "piece"}
_AFTER_FREE = frozenset({"on", "in", "at", "and", "but", "comma", "there", "both", "bilaterally", "slash"})
_ONE = frozenset({"is", "was"})
_WELL = frozenset({"full", "normal"})
_OF_BOTH = _WELL | {"present", "able", "equal", "painful", "painless"}  # what 'is' may tell of two movements at once


def denied_fullness(
    marks: Sequence[Mark], texts: Texts, catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> Sequence[Mark]:  # fmt: skip
    """The marks of one sentence, whose words are `texts`, where a full movement that is denied is incomplete."""
    whole = words().sets["whole_movement"]
    if "fist" in texts:
        marks = _part_of_a_fist(marks)
    if "state" in texts.kinds:
        marks = _of_the_first(marks, phrases)
    if "\nfully " in texts.lines:
        marks = _not_fully(marks)
    if "only" in texts:
        marks = _only_so(marks, catalogue)
    if "state" in texts.kinds and any([_is_unable(mark) for mark in marks]):  # noqa: C419 - quicker than a generator
        marks = _not_beyond(marks)
    if texts.isdisjoint(whole):
        return marks
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.kind not in {"state", "word"} or mark.text not in whole:
            continue
        at = next((at for at in range(index + 1, len(marks)) if marks[at].kind not in _SOFT), len(marks))
        if at == len(marks) or value_of(marks[at], catalogue) in {None, *_SIGNS}:
            continue
        if marks[at].hints and any(mark.kind == "term" for mark in marks[:index]):
            continue  # 'APB was not of full strength'
        denial = _before(marks, index) or _after(marks, at + 1)
        if not denial or (denial[0] > at and is_asserted(marks, mark)):
            continue  # 'the index has normal sensation and the triceps reflex was absent'
        made[index] = replace(mark, kind="state", state=INCOMPLETE, text="incomplete")
        for each in denial:
            made[each] = replace(marks[each], kind="certain", state=None, text="is")
    return made


def _of_the_first(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Full flexion and extension lacks 15 degrees', '... and supination is 60': what is full is the first alone."""
    moved = [at for at, mark in enumerate(marks) if mark.kind == "term" and _movement(mark)]
    for at in moved:
        verb = _past(marks, at + 1)
        if verb is None or not _is_own_result(marks, verb) or not _is_full_before(marks, at):
            continue
        first, joined, second = marks[at].text.partition(" and ")
        if joined:
            return [*marks[:at], *_apart(marks[at], first, second, phrases), *marks[at + 1 :]]
    for before, at in pairwise(moved):
        verb = _past(marks, at + 1)
        between = [each for each in range(before + 1, at) if marks[each].kind not in _OF_IT]
        if len(between) != 1 or marks[between[0]].text != "and" or verb is None or not _is_own_result(marks, verb):
            continue
        if _is_full_before(marks, before):
            made = list(marks)
            made[between[0]] = replace(marks[between[0]], kind="break", text="but")
            return made
    return marks


def _movement(mark: Mark) -> bool:
    return mark.text.split(" ")[-1] in words().sets["bare_movements"]


def _past(marks: Sequence[Mark], start: int) -> int | None:
    """Where what is told of a movement begins, behind its place."""
    return next((at for at in range(start, len(marks)) if marks[at].kind not in _OF_IT or marks[at].text in BE), None)


def _is_own_result(marks: Sequence[Mark], at: int) -> bool:
    """'Lacks 15 degrees', 'is 60', 'was limited': of one movement, and no 'were noted' or 'is possible'."""
    if marks[at].text == "incomplete":
        return True
    if marks[at].text not in _ONE:
        return False
    told = next((mark for mark in marks[at + 1 : at + 5] if mark.kind not in _SOFT), None)
    if told is None or told.kind == "value":
        return told is not None
    return told.state is not None and set(told.state.classes).isdisjoint(_OF_BOTH)


def _is_full_before(marks: Sequence[Mark], at: int) -> bool:
    full = next((mark for mark in reversed(marks[:at]) if mark.kind not in _OF_IT), None)
    return full is not None and full.state is not None and not set(full.state.classes).isdisjoint(_WELL)


def _apart(mark: Mark, first: str, second: str, phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Flexion and extension' as two movements with a result each."""
    middle = mark.end - len(second)  # no word between the two is left over
    joint, _, _ = first.rpartition(" ")
    named = [phrases.get(first), phrases.get(f"{joint} {second}".strip()) or phrases.get(second)]
    if any(entry is None or entry.term is None for entry in named):
        return [mark]
    one, other = (entry.term for entry in named if entry is not None)
    return [
        replace(mark, end=middle, term=one, text=first),
        Mark("break", middle, middle, text="but"),
        replace(mark, start=middle, term=other, text=second),
    ]


def _not_fully(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Does not fully flex the elbow', 'cannot fully extend': it moves, and not all the way."""
    made = list(marks)
    for index, mark in enumerate(marks):
        denial = _before(marks, index) if mark.kind == "term" and mark.text.startswith("fully ") else []
        for each in denial:
            made[each] = replace(marks[each], kind="state", state=INCOMPLETE, text="incomplete")
    return made


def _part_of_a_fist(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Makes 3/4 fist', '80 % of a fist', 'about half a fist': a part, and no whole fist."""
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text != "fist" or mark.kind != "term":
            continue
        at = index - 1
        while at >= 0 and marks[at].kind == "filler":
            at -= 1
        share = marks[at].amount if at >= 0 else None
        parted = share is not None and (share.unit == "%" or share.kind in {"pair", "grade"})
        parted = parted and "100" not in (f"{number:g}" for number in (share.numbers if share else ()))
        if parted or (at >= 0 and marks[at].text in words().sets["parts"]):
            made[at] = replace(marks[at], kind="state", amount=None, state=INCOMPLETE, text="incomplete")
            for before in range(max(0, at - 3), at):
                state = marks[before].state
                if state is not None and "able" in state.classes:
                    made[before] = replace(marks[before], kind="filler", state=None)
    return made


def _only_so(marks: Sequence[Mark], catalogue: Catalogue) -> Sequence[Mark]:
    """'Could extend the wrist only in radial deviation', 'can only make a fist with difficulty': not fully."""
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.kind != "state" or mark.state is None or mark.state.classes != ("able",):
            continue
        parted = (each.kind in {"break", "value"} or each.text == "comma" for each in marks[index + 1 :])
        ends = (at for at, each in enumerate(parted, index + 1) if each)
        rest = marks[index + 1 : next(ends, len(marks))]
        only = next((at for at, each in enumerate(rest) if each.text == "only"), None)
        moved = next((at for at, each in enumerate(rest) if value_of(each, catalogue) not in {None, *_SIGNS}), None)
        if only is None or moved is None or any(each.kind == "negator" for each in rest):
            continue
        how = next((each for each in rest[max(only, moved) + 1 :] if each.kind not in _KEPT), None)
        if how is not None and how.text.partition(" ")[0] in words().sets["only_how"]:
            made[index] = replace(mark, state=INCOMPLETE, text="incomplete")
    return made


def _not_beyond(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Flexion beyond 90 degrees was not possible': up to there it moved."""
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text not in words().sets["beyond"] and (mark.amount is None or mark.amount.comparator != ">"):
            continue
        behind = next((at for at in range(index + 1, min(len(marks), index + 6)) if _is_unable(marks[at])), None)
        if behind is not None and {each.kind for each in marks[index + 1 : behind]} <= {"value", "filler"}:
            made[behind] = replace(marks[behind], state=INCOMPLETE, text="incomplete")
    return made


def _is_verb(mark: Mark) -> bool:
    return mark.text in words().sets["achieve"] or mark.text in words().sets["achieved"]


def _is_unable(mark: Mark) -> bool:
    return mark.kind == "state" and mark.state is not None and "unable" in mark.state.classes


def _before(marks: Sequence[Mark], index: int) -> list[int]:
    """The words of a denial right before: 'lacks', 'without', 'was unable to achieve'."""
    found: list[int] = []
    for at in range(index - 1, -1, -1):
        mark = marks[at]
        if mark.kind == "negator" or _is_unable(mark):
            return [at, *found]
        if _is_verb(mark):
            found.append(at)
        elif mark.kind not in _SOFT:
            return []
    return []


def _after(marks: Sequence[Mark], start: int) -> list[int]:
    """The words of a denial behind the movement and its places: 'was not possible', 'was lost'."""
    sets = words().sets
    for at in range(start, len(marks)):
        mark = marks[at]
        if (mark.kind == "negator" and mark.text in sets["denials"]) or _is_unable(mark):
            verbs = [each for each in range(at + 1, min(at + 4, len(marks))) if _is_verb(marks[each])]
            alone = _is_unable(mark) and mark.text not in sets["needs_a_verb"]
            return [at, *verbs[:1]] if verbs or alone else []
        if mark.text in sets["taken"]:
            adjective = at + 1 < len(marks) and marks[at + 1].kind in {"term", "ambiguous"}
            return [] if adjective else [at]  # 'normal tone, absent biceps reflex'
        if mark.kind not in _PLACES or mark.kind in _ENDS:
            return []
    return []


def freely(marks: Sequence[Mark], texts: Texts, catalogue: Catalogue, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Pronosupination was free on the right': a movement that is free, and not 'free of' something, is full.

    Only where nothing but small words stands between the movement and 'was free'.
    """
    if "free" not in texts:
        return marks
    made = list(marks)
    for at, mark in enumerate(marks):
        if mark.text != "free" or mark.kind != "word" or not at or marks[at - 1].text not in BE:
            continue
        behind = marks[at + 1 : at + 2]
        before = next((each for each in reversed(marks[: at - 1]) if each.kind not in _OF_IT), None)
        if before is None or before.term is None or (behind and behind[0].text not in _AFTER_FREE):
            continue
        if catalogue.items[before.term.items[0]].stage is Stage.MOVEMENT:
            made[at] = replace(mark, kind="state", state=phrases["full"].state, text="full")
    return made
