"""A fullness that is denied: 'lacks full extension', 'full flexion was lost'."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, value_of
from letterkit.reading.phrases import INCOMPLETE
from letterkit.reading.words import words

_SIGNS = frozenset({ValueKind.PRESENCE, ValueKind.TEST})
_SOFT = frozenset({"filler", "certain", "active_mode", "passive_mode", "severity"})
_PLACES = _SOFT | {"side", "piece", "joiner", "term"}
_CANNOT = frozenset({"unable to", "could not", "cannot", "can not", "not able to"})
_KEPT = frozenset({"side", "piece", "certain"})
_ENDS = frozenset({"break", "negator", "unexamined"})


def denied_fullness(marks: Sequence[Mark], texts: frozenset[str], catalogue: Catalogue) -> Sequence[Mark]:
    """The marks of one sentence, whose words are `texts`, where a full movement that is denied is incomplete."""
    whole = words().sets["whole_movement"]
    if "fist" in texts:
        marks = _part_of_a_fist(marks)
    if "only" in texts:
        marks = _only_so(marks, catalogue)
    if texts & words().sets["beyond"] or (texts & _CANNOT and any(mark.kind == "value" for mark in marks)):
        marks = _not_beyond(marks, catalogue)
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
        if not denial:
            continue
        made[index] = replace(mark, kind="state", state=INCOMPLETE, text="incomplete")
        for each in denial:
            made[each] = replace(marks[each], kind="certain", state=None, text="is")
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


def _not_beyond(marks: Sequence[Mark], catalogue: Catalogue) -> Sequence[Mark]:
    """'Could not flex the elbow beyond 90 degrees', 'unable to extend past neutral': up to there it moved."""
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text not in words().sets["beyond"] and (mark.amount is None or mark.amount.comparator != ">"):
            continue
        behind = [at for at in range(index + 1, min(len(marks), index + 6)) if _is_unable(marks[at])]
        if behind and {each.kind for each in marks[index + 1 : behind[0]]} <= {"value", "filler"}:
            made[behind[0]] = replace(marks[behind[0]], state=INCOMPLETE, text="incomplete")
            continue  # 'flexion beyond 90 degrees was not possible'
        for at in range(index - 1, max(-1, index - 9), -1):
            each = marks[at]
            if _is_unable(each):
                if any(value_of(one, catalogue) not in {None, *_SIGNS} for one in marks[at:index]):
                    made[at] = replace(each, kind="state", state=INCOMPLETE, text="incomplete")
                break
            if each.kind in {"joiner", "break", "negator", "value"}:
                break
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
