"""Short and running forms of nerve clinics: arm and leg with one grade, what the other hand does meanwhile, 'dec', 'B'.

Each function takes the marks of one sentence and gives them as they are meant; none finds anything of its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import Entry
from letterkit.reading.predication import BE
from letterkit.reading.words import words

_SOFT = frozenset({"filler", "certain", "side"})
_TOLD = frozenset({"state", "value", "term", "negator", "neither", "maybe", "except", "compared"})
_ENDS = frozenset({"joiner", "break"})
_OPPOSITE = {"left": {"right", "both"}, "right": {"left", "both"}}
_CLIPPED = {"dec": "decreased", "dec'": "decreased"}
_MODALITIES = {
    "to light touch": "light touch", "to touch": "light touch", "to pinprick": "pinprick", "to pin": "pinprick",
    "to vibration": "vibration", "to temperature": "temperature sensation",
}  # fmt: skip
_SENSES = 2


def nerve_notes(
    marks: Sequence[Mark], texts: frozenset[str], catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> Sequence[Mark]:  # fmt: skip
    """The marks of one sentence, which has these texts, with such forms settled."""
    sets = words().sets
    if not texts.isdisjoint(_CLIPPED):
        marks = _clipped(marks, catalogue, phrases)
    if "b" in texts:
        marks = _on_both(marks)
    if not texts.isdisjoint(words().legs):
        marks = _arm_and_leg(_arm_and_leg(marks, step=1), step=-1)
    if not texts.isdisjoint(sets["meanwhile"]):
        marks = _meanwhile(marks)
    if len(texts & _MODALITIES.keys()) == _SENSES:
        marks = _each_sense(marks, phrases)
    return marks


def _clipped(marks: Sequence[Mark], catalogue: Catalogue, phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Dec LT and PP R hand', 'tone dec': decreased, beside what is felt or tested; else it may be a month."""
    made = list(marks)
    for index, mark in enumerate(marks):
        full = _CLIPPED.get(mark.text) if mark.kind == "word" else None
        if full is None:
            continue
        after = next((each for each in marks[index + 1 :] if each.kind not in _SOFT), None)
        before = marks[index - 1] if index else None
        near = (after, before) if after is None or after.kind != "value" else ()
        if any(each is not None and _is_function(each, catalogue) for each in near):
            made[index] = replace(mark, kind="state", state=phrases[full].state, text=full)
    return made


def _is_function(mark: Mark, catalogue: Catalogue) -> bool:
    """Whether a mark names what is felt or tested, and may be less than it should be."""
    return any(catalogue.items[slug].scale or "movement" in slug for slug in items_of(mark))


def _on_both(marks: Sequence[Mark]) -> list[Mark]:
    """'Hoffman neg B', 'DTR 2+ B': a capital behind a result, and nothing behind it, means both sides."""
    made = list(marks)
    for index, mark in enumerate(marks):
        last = index + 1 == len(marks) or marks[index + 1].kind in _ENDS
        if (
            mark.text == "b"
            and mark.kind in {"word", "term"}
            and index
            and marks[index - 1].kind in {"state", "value"}
            and last
        ):
            made[index] = Mark("side", mark.start, mark.end, text="both", word="bilaterally")
    return made


def _arm_and_leg(marks: Sequence[Mark], *, step: int) -> list[Mark]:
    """'The left arm and leg 3/5', 'RUE/RLE 3/5': one result of an arm and a leg is the arm's as well.

    With `step` 1 the leg stands behind the arm, with -1 before it.
    """
    dropped: set[int] = set()
    for index, mark in enumerate(marks):
        if mark.kind != "piece" or mark.piece is None or mark.piece.slugs != ("upper_limb",):
            continue
        run = _to_the_leg(marks, index, step)
        if not run or _leads_on(marks, max(index, *run)):
            continue
        if step < 0 and (mark.piece.side or any(marks[each].kind == "side" for each in run)):
            run += [each for each in range(max(0, run[-1] - 2), run[-1]) if marks[each].kind == "side"]
        dropped.update(run)
    return [mark for index, mark in enumerate(marks) if index not in dropped]


def _to_the_leg(marks: Sequence[Mark], index: int, step: int) -> list[int]:
    """The marks from beside the arm up to the last leg that is joined to it; none where there is no such leg."""
    run: list[int] = []
    last = 0
    at = index + step
    while 0 <= at < len(marks) and marks[at].text not in BE:
        if not (marks[at].kind in _SOFT or _joins_limbs(marks[at]) or _is_leg(marks[at])):
            break
        run.append(at)
        last = len(run) if _is_leg(marks[at]) else last
        at += step
    run = run[:last]
    return run if any(_joins_limbs(marks[each]) for each in run) else []


def _is_leg(mark: Mark) -> bool:
    return mark.piece is not None and mark.piece.kind == "elsewhere" and mark.text in words().legs


def _joins_limbs(mark: Mark) -> bool:
    return mark.kind == "joiner" and mark.text in {"and", "slash"}


def _leads_on(marks: Sequence[Mark], index: int) -> bool:
    """'... the left arm and leg power is normal', '... and the legs were normal': the leg begins something else."""
    ahead = [mark for mark in marks[index + 1 :] if mark.kind not in {"side", "certain", "severity"}][:1]
    if not ahead:
        return False
    if ahead[0].kind in {"term", "negator"}:
        return True
    return ahead[0].text in BE and any(mark.kind in {"state", "value"} for mark in marks[:index])


def _meanwhile(marks: Sequence[Mark]) -> list[Mark]:
    """'Rigid on the left when the right hand opens and closes': what another hand does is no place of the finding."""
    made = list(marks)
    sets = words().sets
    for index, mark in enumerate(marks):
        if mark.text not in sets["meanwhile"]:
            continue
        end = index + 1
        while end < len(marks) and (
            marks[end].kind not in _ENDS or marks[end].text == "with" or _joins_verbs(marks, end)
        ):
            end += 1
        inside = marks[index + 1 : end]
        named = _sides(marks[:index])
        other = _sides(inside)
        if len(named) != 1 or not other or not other <= _OPPOSITE.get(next(iter(named)), set()):
            continue
        if any(each.kind in _TOLD for each in inside) or not any(each.kind in {"word", "ambiguous"} for each in inside):
            continue
        for at in range(index, end):
            if made[at].kind in {"piece", "side"}:
                made[at] = replace(made[at], kind="word", piece=None)
    return made


def _joins_verbs(marks: Sequence[Mark], at: int) -> bool:
    """'opens and closes': an 'and' between two verbs."""
    return marks[at].text == "and" and [each.kind for each in marks[at - 1 : at + 2 : 2]] == ["word", "word"]


def _sides(marks: Sequence[Mark]) -> set[str]:
    sides = {mark.text for mark in marks if mark.kind == "side"}
    return sides | {mark.piece.side for mark in marks if mark.piece is not None and mark.piece.side}


def _each_sense(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Reduced to pinprick over the thumb, intact to light touch': each sense has a result of its own."""
    at = [index for index, mark in enumerate(marks) if mark.text in _MODALITIES and mark.kind == "filler"]
    told = [marks[index - 1].kind == "state" for index in at]
    head = next((index for index, mark in enumerate(marks[: at[0]]) if "light_touch" in items_of(mark)), None)
    if len(at) != _SENSES or not all(told) or head is None:
        return list(marks)
    made = list(marks)
    for index in at:
        name = _MODALITIES[marks[index].text]
        sense = Mark("term", marks[index].start, marks[index].end, term=phrases[name].term, text=name)
        made[index - 1 : index + 1] = [sense, marks[index - 1]]
    made[head] = replace(marks[head], kind="filler", term=None, text="of")
    return made
