"""The side of the complaint and the one side that a note names: offers, which a clinician always sees."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from letterkit.reading.marks import NAMES_SIDE, Mark, side_of
from letterkit.reading.words import words

if TYPE_CHECKING:
    from letterkit.reading.context import Setting

_ONE = frozenset({"left", "right"})
_WRITES = frozenset({"handed", "dominant", "dominance"})
_OTHER_DAYS = frozenset({"history", "later"})


def history_sides(found: list[Setting], marks: Sequence[Sequence[Mark]], legs: frozenset[str]) -> None:
    """The side of the complaint, where the history names only one: an offer, always shown to the clinician."""
    sides: set[str] = set()
    begun = next((at for at, each in enumerate(found) if at and _begins_anew(each)), 0)
    for at, (setting, own) in enumerate(zip(found, marks, strict=True)):
        for mark in own if setting.ranges or setting.status in _OTHER_DAYS or at < begun else ():
            side = side_of(mark) if mark.kind in NAMES_SIDE else ""
            status = setting.at(mark.start)
            told = (
                status in _OTHER_DAYS
                or (status == "current" and at < begun)
                or (status == "plan" and _is_sent_for(own, mark))
            )
            if side and told and not (_is_of_no_hand(own, mark, legs) or (sides and _is_alike(own))):
                sides.add(side)
        if len(sides) == 1 and sides <= _ONE:
            setting.history_side = next(iter(sides))


def _is_alike(marks: Sequence[Mark]) -> bool:
    """'She had one aspirated on the right side in college': what was like the complaint, once, on another side."""
    texts = {mark.text for mark in marks}
    sets = words().sets
    return not sets["once_had"].isdisjoint(texts) and not sets["once_alike"].isdisjoint(texts)


def _begins_anew(setting: Setting) -> bool:
    """'R wrist pain since the fall. O/E: ...': the heading of the examination, before which the complaint is told."""
    return setting.fresh and setting.label_known and setting.status == "current" and not setting.elsewhere


def _is_sent_for(marks: Sequence[Mark], mark: Mark) -> bool:
    """'Was referred for numbness of the left hand': the complaint, though other referrals are planned."""
    sent = words().sets["sent_for"]
    return any(each.text in sent and each.start < mark.start for each in marks)


def only_side(found: list[Setting], marks: Sequence[Sequence[Mark]], legs: frozenset[str]) -> None:
    """The side of the note, where it names only one, or else that of its images: an offer as well."""
    named: list[set[str]] = [set(), set()]
    for setting, own in zip(found, marks, strict=True):
        sided = [mark for mark in own if mark.kind in NAMES_SIDE and setting.at(mark.start) != "doing"]
        sides = {side for mark in sided if (side := side_of(mark)) in _ONE and not _is_of_no_hand(own, mark, legs)}
        named[setting.status == "imaging"] |= sides
        if named[0] == _ONE:
            return  # both sides are spoken of
    sides = named[0] or named[1]
    if len(sides) == 1:
        only = sides.pop()
        for setting in found:
            setting.only_side = only


def _is_of_no_hand(marks: Sequence[Mark], mark: Mark, legs: frozenset[str]) -> bool:
    """'right handed', 'dragging her left leg', 'than the left': who writes, a leg, the other hand: not what hurts."""
    at = marks.index(mark)
    if any(each.kind == "compared" for each in marks[max(0, at - 3) : at]):
        return True
    if any(each.text in words().sets["references"] for each in marks[at + 1 : at + 6]):
        return True  # 'with the left hand taken as reference'
    after = next((each for each in marks[at + 1 : at + 4] if each.kind not in {"filler", "severity"}), None)
    if after is not None and after.text in legs:
        return True
    writes = [each.start for each in marks if each.text in _WRITES]
    return any(mark.start < start < mark.end + 16 for start in writes)
