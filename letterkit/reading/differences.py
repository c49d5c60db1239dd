"""Numbers that are no measure: what something came from, and how far it is from something else."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from letterkit.reading.marks import Mark, beside, items_of
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_HELD = frozenset({"in", "at", "and"})
_HELD_FOR = frozenset({"at", "for"})


@cache
def _differing() -> frozenset[str]:
    """The words beside a number that is how far something is from something else."""
    sets = words().sets
    return sets["differs_before"] | sets["differs"] | sets["shares"] | sets["other_measures"]


def differing(marks: list[Mark], texts: Texts) -> list[Mark]:
    """The marks of one sentence in which such numbers are not read."""
    sets = words().sets
    changed = _without_change(marks) if "state" in texts.kinds else marks
    changed = _changed(changed) if "from" in texts else changed
    if not texts.isdisjoint(sets["totals"]):
        changed = _totals(changed)
    if "carrying_angle" in texts.items:
        changed = _varus(changed)
    if not texts.isdisjoint(_HELD_FOR):
        changed = _held_for(changed)
    if not texts.isdisjoint(sets["measurements"] | sets["measuring"]):
        changed = _of_its_own(changed)
    if not texts.isdisjoint(_differing()):
        changed = _differences(changed)
    if "against" in texts:
        changed = _against(changed)
    if "against" in texts or "compared" in texts.kinds:
        changed = _beside_part(changed)
    if "stress" in texts or any([_is_stress(slug) for slug in texts.items]):  # noqa: C419 - quicker than a generator
        changed = stressed_at(changed)
    return changed


def _without_change(marks: list[Mark]) -> list[Mark]:
    """'Has gone from 10 to 6 mm': the change is no result by itself."""
    return [
        replace(mark, kind="filler", state=None)
        if mark.kind == "state" and after is not None and _comes(after) and _is_change(mark) else mark
        for _, mark, after in beside(marks)
    ]  # fmt: skip


def _of_its_own(marks: list[Mark]) -> list[Mark]:
    """'Oedema of the hand, with figure-of-eight measurements of 42 cm left and 40 right': no size of the oedema."""
    at = next((index for index, mark in enumerate(marks) if mark.text in words().sets["measurements"]), None)
    at = _part_measured(marks) if at is None else at
    if at is None:
        return marks
    begin = next((index for index in range(at - 1, 0, -1) if marks[index].kind in {"joiner", "break", "term"}), 0)
    if not begin or marks[begin].kind == "term":
        return marks
    if not any(mark.kind in {"word", "ambiguous", "piece"} for mark in marks[begin:at]):
        return marks  # 'a mass, and its measurements are 2 x 3 cm'
    end = next((index for index in range(at, len(marks)) if marks[index].kind in {"term", "break"}), len(marks))
    unread = [Mark("ambiguous", mark.start, mark.end) for mark in marks[begin:end] if mark.kind == "value"]
    return [*marks[:begin], *unread, *marks[end:]]


def _changed(marks: list[Mark]) -> list[Mark]:
    """'Had fallen from 30 kg to 20 kg': the number it came from is of another day."""
    for index, mark in enumerate(marks[:-3]):
        kinds = [each.kind for each in marks[index + 1 : index + 4]]
        change = any(each.text in words().sets["changes"] for each in marks[max(0, index - 3) : index])
        if mark.text == "from" and change and kinds == ["value", "filler", "value"] and marks[index + 2].text == "to":
            look = Mark("pseudo", mark.start, marks[index + 2].end, text="from ... to")
            return [*marks[:index], look, *marks[index + 3 :]]
    return marks


def _part_measured(marks: list[Mark]) -> int | None:
    """'No atrophy, the arms measuring 27 cm': where the verb stands of a part that is measured itself."""
    for index, mark in enumerate(marks):
        if mark.text not in words().sets["measuring"]:
            continue
        at = index - 1
        while at > 0 and marks[at].kind in {"filler", "piece", "side"}:
            at -= 1
        if marks[at].kind == "joiner" and any(each.kind == "piece" for each in marks[at:index]):
            return index
    return None


def _is_change(mark: Mark) -> bool:
    return bool(set(mark.text.split()) & words().sets["changes"])


def _comes(after: Mark) -> bool:
    """'... from 20 kg to 30 kg', '... from 10 to 6 mm' as one."""
    return after.text == "from" or (after.amount is not None and after.amount.kind == "arc")


def _differences(marks: list[Mark]) -> list[Mark]:
    """'7 kg weaker than', 'short by 15', 'reduced by 20 degrees': how far from another number, which is not read."""
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        if mark.kind != "value":
            made.append(mark)
            continue
        after = marks[index + 1] if index + 1 < len(marks) else None
        before = marks[index - 1] if index else None
        less = before is not None and before.text in words().sets["differs_before"]
        of_full = any(each.text in {"full", "extension"} for each in marks[index + 2 : index + 5])  # 'short of full'
        less = less or (after is not None and after.text in words().sets["differs"] and not of_full)
        share = after is not None and after.text in words().sets["shares"]
        less = less or (share and any(items_of(each)[:1] == ("subungual_haematoma",) for each in marks[:index]))
        other = [each.text for each in marks[index + 1 : index + 3]]  # '15 degrees of hyperextension'
        less = less or (other[:1] == ["of"] and other[-1] in words().sets["other_measures"])
        if less:
            made.append(Mark("ambiguous", mark.start, mark.end, look="a difference, and no measure"))
        else:
            made.append(mark)
    return made


def _varus(marks: list[Mark]) -> list[Mark]:
    """'The carrying angle is 5 degrees of varus', 'varus of 5': below nought, as the item counts it."""
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text != "varus":
            continue
        beside = (index - 1, index - 2, index + 1, index + 2)
        at = next((each for each in beside if 0 <= each < len(marks) and marks[each].kind == "value"), None)
        amount = marks[at].amount if at is not None else None
        if at is not None and amount is not None and all(number > 0 for number in amount.numbers):
            less = replace(amount, numbers=tuple(-number for number in amount.numbers))
            made[at] = replace(marks[at], amount=less)
    return made


def _held_for(marks: list[Mark]) -> list[Mark]:
    """'Phalen's at 60 seconds and Tinel's are negative': how long the first was held, in a list with one result."""
    for index in range(1, len(marks) - 3):
        before, at, value, joiner, after = marks[index - 1 : index + 4]
        held = value.amount is not None and value.amount.unit == "s" and at.text in _HELD_FOR
        if held and before.kind == after.kind == "term" and joiner.text in {"and", "comma"}:
            told = next((mark for mark in marks[index + 4 :] if mark.kind in {"state", "joiner", "break"}), None)
            if told is not None and told.kind == "state":
                unread = Mark("ambiguous", value.start, value.end)
                return [*marks[:index], *marks[index + 2 :], unread]
    return marks


def _totals(marks: list[Mark]) -> list[Mark]:
    """'Total active motion is 235 degrees for the index finger': a sum over three joints, and no arc of one."""
    made: list[Mark] = []
    total = False
    for mark in marks:
        total = mark.text in words().sets["totals"] or (total and mark.kind not in {"term", "break"})
        unread = total and mark.kind == "value"
        made.append(Mark("ambiguous", mark.start, mark.end, look="a sum over joints") if unread else mark)
    return made


def _beside_part(marks: list[Mark]) -> list[Mark]:
    """'8 mm in the ring finger compared with 4 mm in the index finger': a figure of its own, where both are placed."""
    at = next((index for index, mark in enumerate(marks) if mark.kind == "compared"), len(marks))
    after = marks[at + 1 : at + 8]
    place = next((index for index, mark in enumerate(after[1:], 1) if mark.kind not in {"filler", "certain"}), 0)
    if not place or after[0].kind != "value" or after[place].kind != "piece":
        return marks
    if not any(mark.kind == "value" for mark in marks[:at]) or any(mark.kind == "side" for mark in after):
        return marks
    if any(mark.kind == "piece" for mark in marks[:at]):
        also = replace(marks[at], kind="joiner", text="and")
        last = next(mark for mark in reversed(marks[:at]) if mark.kind in {"piece", "value"})
        if last.kind == "piece":
            return [*marks[:at], also, *marks[at + 1 :]]  # '5 mm in the thumb, versus 8 mm in the ring finger'
        return [*marks[:at], also, after[place], after[0], *after[place + 1 :], *marks[at + 8 :]]
    lost = range(at + 1, at + 2 + place)
    return [
        replace(mark, kind="word", piece=None, amount=None) if index in lost else mark
        for index, mark in enumerate(marks)
    ]


def stressed_at(marks: list[Mark]) -> list[Mark]:
    """'Stable to stress in extension and in 30 degrees of flexion': how the joint is held, and no movement of it."""
    texts = {mark.text for mark in marks}
    if "stress" in texts and texts & words().sets["opens"]:
        return [_unmoved(mark) for mark in marks]
    at = next((index for index, mark in enumerate(marks) if any(map(_is_stress, items_of(mark)[:1]))), len(marks))
    made = list(marks)
    for index in range(at + 1, len(marks) - 2):
        value, of, term = marks[index : index + 3]
        if value.kind == "value" and of.text == "of" and term.kind == "term" and marks[index - 1].text in _HELD:
            made[index : index + 3] = [
                Mark("ambiguous", value.start, term.end),
                *[Mark("filler", of.start, of.end)] * 2,
            ]
    return made


def _unmoved(mark: Mark) -> Mark:
    """'With radial stress in full extension and in 30 degrees of flexion the joint opens': how it is held."""
    moved = mark.kind == "term" and mark.text.rpartition(" ")[2] in words().sets["bare_movements"]
    return Mark("ambiguous", mark.start, mark.end, text=mark.text) if moved or mark.kind == "value" else mark


def _is_stress(slug: str) -> bool:
    return any(part in slug for part in words().sets["stressed"])


def _against(marks: list[Mark]) -> list[Mark]:
    """'4/5 against 5/5 opposite': before a number it compares."""
    return [
        replace(mark, kind="compared")
        if mark.text == "against" and after is not None and after.kind == "value" else mark
        for _, mark, after in beside(marks)
    ]  # fmt: skip
