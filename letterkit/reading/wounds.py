"""Wounds by number, and what is told of their bed: 'Wound #2, R elbow: skin tear', 'a moist, red base'.

And where a patch of skin is that is told of with another finding.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.reading.marks import DASHES, NAMES_SIDE, Mark, items_of
from letterkit.reading.predication import BE
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_ATTRIBUTES = frozenset({"word", "certain", "severity", "joiner", "maybe"})
_OF_PLACE = NAMES_SIDE | {"filler"}
_COLONS = DASHES | {":"}
_LETTERS = frozenset({"no", "number", "a", "b", "c", "d", "(", ")"})
_LED = 4  # marks before the wound of a heading: 'a second'
_HEADED = 8  # marks behind its number: 'Wound #2, dorsum of the right hand:'


def wounds(marks: Sequence[Mark], texts: Texts) -> Sequence[Mark]:
    """The marks with the bed of a wound as no skin, and a wound's heading as none where the line says what it is."""
    sets = words().sets
    if not texts.isdisjoint(sets["wound_beds"]):
        marks = _beds(marks)
    if not texts.isdisjoint(sets["numbered"]):
        marks = _headings(marks)
    if "sweating" in texts.items and not sets["moist_wounds"].isdisjoint(texts.items):
        marks = [
            _as_word(mark) if _is_wet(marks, at) else mark for at, mark in enumerate(marks)
        ]  # 'the wound is moist'
    if "with" in texts and "piece" in texts.kinds and not sets["patches"].isdisjoint(texts.items):
        marks = _where_it_is(marks)
    return marks


def _is_wet(marks: Sequence[Mark], at: int) -> bool:
    """'Moist' of a wound, and 'pink' in 'a burn, pink and moist': how it looks, and nothing of the skin."""
    sets = words().sets
    if marks[at].text in sets["moist"]:
        return True
    of_hand = at > 1 and marks[at - 1].text in BE and marks[at - 2].kind == "piece"  # 'the hand is pink and moist'
    if of_hand or sets["of_beds"].isdisjoint(items_of(marks[at])):
        return False
    ways = (marks[at + 1 : at + 3], marks[max(at - 2, 0) : at][::-1])
    return any(len(way) > 1 and way[0].kind == "joiner" and way[1].text in sets["moist"] for way in ways)


def _where_it_is(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'A plaque with loss of sensation was seen on the left forearm': the plaque is there as well."""
    found = next((at for at, mark in enumerate(marks) if mark.kind == "term"), len(marks))
    rest = marks[found + 1 :]
    if not rest or rest[0].text != "with" or words().sets["patches"].isdisjoint(items_of(marks[found])):
        return marks
    parts = [at for at, mark in enumerate(rest) if mark.kind in NAMES_SIDE]
    if any(mark.kind in NAMES_SIDE for mark in marks[:found]) or not any(rest[at].kind == "piece" for at in parts):
        return marks
    place = rest[parts[0] : parts[-1] + 1]
    told = [at for at, mark in enumerate(rest) if mark.kind == "term"]
    parted = any(mark.kind in {"break", "joiner"} for mark in rest[1 : parts[-1]])
    if not told or told[-1] > parts[0] or parted or any(mark.kind not in _OF_PLACE for mark in place):
        return marks  # 'an ulcer with redness of the wrist and ...'
    end = marks[found].end
    again = [replace(mark, start=end, end=end) for mark in place]
    return [*marks[: found + 1], Mark("filler", end, end, text="on"), *again, *rest]


def _as_word(mark: Mark) -> Mark:
    return Mark("word", mark.start, mark.end, text=mark.text)


def _told(mark: Mark, bed: Mark) -> bool:
    """Whether the word is one of how a bed looks that said of skin would be a finding: 'red', 'pink', 'viable'.

    That a flap is dusky stays one.
    """
    if words().sets["of_beds"].isdisjoint(items_of(mark)):
        return False
    return bed.text != "flap" or (mark.term is not None and mark.term.state == "normal")


def _beds(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'A red, granular base', 'the bed is pink and moist', 'flap viable': nothing of the skin beside it."""
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text not in words().sets["wound_beds"] or (index + 1 < len(marks) and marks[index + 1].text == "of"):
            continue  # 'a red base of the thumb'
        for step in (-1, 1):
            at = index + step
            while 0 <= at < len(marks) and (
                _told(marks[at], mark) or marks[at].kind in _ATTRIBUTES or (step > 0 and marks[at].text in BE)
            ):  # fmt: skip
                if _told(marks[at], mark):
                    made[at] = _as_word(marks[at])
                elif marks[at].text in {"with", "comma"} and not _goes_on(marks, at, step, mark):
                    break
                at += step
    return made


def _goes_on(marks: Sequence[Mark], at: int, step: int, bed: Mark) -> bool:
    """'A red, moist base': whether a comma stands between two words of how the bed looks."""
    beyond = marks[at + step] if 0 <= at + step < len(marks) else None
    return marks[at].text == "comma" and beyond is not None and (_told(beyond, bed) or beyond.kind == "word")


def _headings(marks: Sequence[Mark]) -> Sequence[Mark]:
    """'Wound #1: L olecranon, a sinus', 'another lesion: a nodule': the heading is no wound beside what the line tells.

    Its number is no finger. 'Wound #1: left palm, 2 x 1 cm' is a wound of that size.
    """
    sets = words().sets
    at = next((index for index, mark in enumerate(marks[:_LED]) if mark.text in sets["numbered"]), None)
    if at is None or any(not _leads(mark) for mark in marks[:at]):
        return marks
    end = at + 1
    while end < len(marks) and _is_number(marks[end]):
        end += 1
    numbers = [*range(at), *range(at + 1, end)]
    colon = next((index for index in range(end, min(len(marks), end + _HEADED)) if marks[index].text in _COLONS), None)
    if not numbers or colon is None or any(not _is_of_heading(mark) for mark in marks[end:colon]):
        return marks
    made = list(marks)
    for index in numbers:
        made[index] = Mark("filler", marks[index].start, marks[index].end, text="number")
    if any(not sets["wounds"].isdisjoint(items_of(mark)) for mark in marks[end:]):
        made[at] = Mark("filler", marks[at].start, marks[at].end, text=marks[at].text)
    return made


def _leads(mark: Mark) -> bool:
    """'The second', 'another', 'a third': what may stand before the wound in a heading."""
    return mark.kind == "filler" or mark.text in words().sets["more"] or _is_number(mark)


def _is_of_heading(mark: Mark) -> bool:
    """'..., dorsum of the right hand', '... - R elbow', '..., L heel ulcer': where it is, and what."""
    return mark.kind in {"filler", "side", "piece", "term"} or mark.text in {"comma", "and"}


def _is_number(mark: Mark) -> bool:
    """'#2', '2', 'B': which of the wounds it is."""
    if mark.kind == "piece":
        return mark.piece is not None and mark.piece.kind == "ordinal"
    if mark.kind == "value":
        return mark.amount is not None and mark.amount.kind == "bare"
    return mark.text in _LETTERS
