"""Grades of parts of an arm that name no muscle: '4/5 distally', 'normal proximally', 'otherwise 5/5'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import Entry
from letterkit.reading.words import words

_RESULTS = frozenset({"value", "state"})
_SOFT = frozenset({"filler", "severity"})
# The set of words.toml and the phrase that names the same muscles.
_NAMES = {"proximally": "power proximally", "distally": "power distally", "remainder": "all other muscles"}


@cache
def _named() -> Mapping[str, str]:
    """The words for parts of the limb, and the phrase that names the same muscles."""
    return {text: name for kind, name in _NAMES.items() for text in words().sets[kind]}


def limb_parts(
    marks: Sequence[Mark], texts: frozenset[str], catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> Sequence[Mark]:  # fmt: skip
    """The marks of one sentence, where a part of the limb or the remaining muscles stand as terms of their own."""
    sets, named = words().sets, _named()
    if not texts.isdisjoint(sets["weaknesses"]):
        marks = _confined(marks, catalogue, phrases)
    marks = _headed(marks, phrases)
    if not texts.isdisjoint(words().lists["hint_reflex"]):
        marks = _reflexes_apart(marks)
    if "in" in texts or "at" in texts:
        marks = _reflexes_at(marks)
    hand = "hand" in texts and any([mark.kind == "value" for mark in marks])  # noqa: C419 - quicker than a generator
    if texts.isdisjoint(named) and not hand:
        return marks
    made: list[Mark] = []
    told = reflex = False
    for index, mark in enumerate(marks):
        reflex = reflex or "reflex" in mark.hints
        told = _is_of_power(mark, catalogue) or (told and mark.kind != "term")
        name = named.get(mark.text, "") if mark.kind not in {"term", "piece"} else ""
        if mark.kind == "piece" and mark.text == "hand" and any(each.text in _NAMES.values() for each in made):
            name = "hand strength"  # '2/5 proximally and 1/5 in the hand'
        if told and not reflex and _is_hand_graded(marks, index):
            made.append(Mark("term", mark.start, mark.end, term=phrases["hand strength"].term, text="hand strength"))
            continue
        if not name or not told or reflex or not _is_graded(marks, index, named):
            made.append(mark)
            continue
        if mark.text in sets["remainder"]:
            _part(made)
        made.append(Mark("filler", mark.start, mark.start, text="in"))
        made.append(Mark("term", mark.start, mark.end, term=phrases[name].term, text=name))
    return made


def _is_hand_graded(marks: Sequence[Mark], index: int) -> bool:
    """'Biceps 3/5, triceps 5/5 and the hand is normal': the hand, behind muscles that are graded."""
    if marks[index].text != "hand":
        return False
    before = [mark for mark in marks[:index] if mark.kind != "filler"][-2:]
    after = [mark for mark in marks[index + 1 :] if mark.kind != "filler"]
    if [mark.kind for mark in before] != ["value", "joiner"] or len(after) != 1 or before[0].amount is None:
        return False
    if after[0].amount is not None:
        return after[0].amount.kind == before[0].amount.kind and not after[0].amount.unit  # 'wrist extensors 1, hand 0'
    normal = after[0].state is not None and "normal" in after[0].state.classes
    return before[0].amount.kind == "grade" and normal


def _confined(marks: Sequence[Mark], catalogue: Catalogue, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Weakness was confined to the left interossei', 'give-way weakness was seen in the deltoid': of these muscles."""
    sets = words().sets
    at = next((index for index, mark in enumerate(marks) if mark.text in sets["weaknesses"]), None)
    if at is None:
        return marks
    end = at + 1
    while end < len(marks) and (marks[end].kind == "filler" or marks[end].text in sets["confines"]):
        end += 1
    rest = end
    while rest < len(marks) and marks[rest].kind in {"side", "piece", "filler", "certain"}:
        rest += 1
    confined = any(mark.text in sets["confines"] for mark in marks[at + 1 : end])
    confined = confined or (marks[at].kind == "term" and [mark.text for mark in marks[at + 1 : end]][:1] == ["of"])
    if not confined or rest == len(marks) or not _is_a_muscle(marks[rest], catalogue, phrases):
        return marks
    weakness = phrases["weakness of"]
    said = Mark(
        "state", marks[at].start, marks[end - 1].end, state=weakness.state, text="weakness of", hints=("power",)
    )
    return [*marks[:at], said, *marks[end:]]


def _is_a_muscle(mark: Mark, catalogue: Catalogue, phrases: Mapping[str, Entry]) -> bool:
    if mark.kind != "term" or mark.term is None:
        return False
    known = phrases.get(f"{mark.text} power")
    items = (*mark.term.items, *(known.term.items if known is not None and known.term is not None else ()))
    return any(catalogue.items[slug].value is ValueKind.MRC for slug in items)


def _headed(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Power: RUE 4/5, LUE 5/5': the heading is what is graded, where no muscle is named."""
    first = marks[0] if marks else None
    if first is None or first.kind != "hint" or not first.text.endswith(":") or "power" not in first.hints:
        return marks
    graded = any(mark.amount is not None and mark.amount.kind == "grade" for mark in marks)
    if not graded or any(mark.kind in {"term", "ambiguous", "word"} for mark in marks):
        return marks
    term = phrases["power"].term
    return [Mark("term", first.start, first.end, term=term, text="power", hints=first.hints), *marks[1:]]


def _reflexes_at(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Reflexes are 1+ at the left biceps, 2+ at the right biceps and 2+ at both triceps': each of what follows."""
    values = [at for at, mark in enumerate(marks) if mark.kind in _RESULTS]
    head = next(
        (at for at, mark in enumerate(marks) if "reflex" in mark.hints or "upper_limb_reflexes" in items_of(mark)),
        len(marks),
    )
    led = [at for at in values if at > head and [each.text for each in marks[at + 1 : at + 2]] in (["at"], ["in"])]
    named = [mark.text for mark in marks[head + 1 :] if mark.kind == "term"]
    if len(set(named)) == len(named):
        return marks  # each is told of once, and takes the nearest grade
    if not values or led != values or any(mark.kind == "term" for mark in marks[head + 1 : values[0]]):
        return marks
    made = list(marks[: values[0]])
    for at, end in zip(values, [*values[1:], len(marks)], strict=True):
        group = [*marks[at + 1 : end]]
        while group and group[-1].kind in {"joiner", "break"}:
            group.pop()
        if not any(mark.kind == "term" for mark in group):
            return marks
        last = group[-1].end
        made += [*group[1:], replace(marks[at], start=last, end=last), *marks[at + 1 + len(group) : end]]
    return made


def _reflexes_apart(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Power 3/5 in the triceps, reflexes brisk': a grade of power is no result of the reflexes behind it."""
    graded = False
    made: list[Mark] = []
    for mark in marks:
        graded = graded or (mark.amount is not None and mark.amount.kind == "grade")
        if graded and mark.kind in {"term", "hint"} and "reflex" in mark.hints:
            _part(made)
        made.append(mark)
    return made if graded else marks


def _is_graded(marks: Sequence[Mark], index: int, named: Mapping[str, str]) -> bool:
    """Whether a result of just these muscles stands beside the words."""
    before = next((mark for mark in reversed(marks[:index]) if mark.kind not in _SOFT), None)
    after = [mark for mark in marks[index + 1 :] if mark.kind not in _SOFT]
    if marks[index].text in words().sets["remainder"]:
        grade = next((mark for mark in (before, *after[:1]) if mark is not None and mark.kind == "value"), None)
        return grade is not None and not any(mark.kind == "term" for mark in after)
    near = [*marks[max(0, index - 2) : index], *marks[index + 1 : index + 3]]
    whole = any(mark.text in named for mark in near) and any(mark.kind == "joiner" for mark in near)
    # 'proximally and distally': the whole limb
    return before is not None and before.kind in _RESULTS and not whole


def _part(made: list[Mark]) -> None:
    """'4/5 on the right, otherwise 5/5', '..., and 5/5 elsewhere': what is said of the rest stands by itself."""
    at = len(made) - 1
    while at >= 0 and made[at].kind in _RESULTS | _SOFT:
        at -= 1
    if at >= 0 and made[at].kind == "joiner":
        made[at] = replace(made[at], kind="break", text="but")


def _is_of_power(mark: Mark, catalogue: Catalogue) -> bool:
    if "power" in mark.hints or (mark.amount is not None and mark.amount.kind == "grade"):
        return True
    return any(catalogue.items[slug].value is ValueKind.MRC or slug.endswith("_strength") for slug in items_of(mark))
