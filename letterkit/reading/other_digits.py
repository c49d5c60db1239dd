"""Digits told by those that were named before: 'the remaining fingers move fully', 'brisk refill in both digits'."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark, beside
from letterkit.reading.placenames import WHICH_LF, Piece
from letterkit.reading.places import DIGITS
from letterkit.reading.predication import NUMBERS
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_NO_FINGER = frozenset({"thumb"})
_WHICH = "which of them is not said"
_LED = 4  # marks before 'fingers' among which a count of them stands: 'several of the right fingers'
_TWO = 2  # digits of which 'both' is said


def digits_named(marks: Sequence[Mark]) -> set[str]:
    """The digits that a sentence names one by one: a finger, or a joint of it."""
    return {
        slug.rpartition("_")[2]
        for mark in marks if mark.piece is not None and mark.piece.kind != "digits" and mark.kind == "piece"
        for slug in mark.piece.slugs if slug.rpartition("_")[2] in DIGITS
    }  # fmt: skip


def by_its_company(marks: Sequence[Sequence[Mark]]) -> None:
    """'Reduced in IF and MF, LF normal': where the note names the middle finger in another way, LF is the little one.

    So the long finger where it names the little one; `marks` are those of the whole note, and are settled in place.
    """
    asked = [mark for own in marks for mark in own if mark.piece is not None and mark.look == WHICH_LF]
    if not asked:
        return
    others = [mark for own in marks for mark in own if mark.piece is not None and mark.look != WHICH_LF]
    named, meant = digits_named(others), digits_named(asked[:1])
    if ("middle" in named) if "little" in meant else ("little" in named and "middle" not in named):
        for mark in asked:
            mark.look = ""


def by_those_named(marks: list[Mark], texts: Texts, named: set[str]) -> list[Mark]:
    """The marks with 'the remaining fingers' as those that no sentence before has named, and 'both digits' as both."""
    sets = words().sets
    if texts.isdisjoint(sets["by_those_named"]):
        return marks
    marks = _counted_others(_other_joints(marks), named)
    if not named:
        return marks
    if len(named) == 1 and not named & _NO_FINGER:
        marks = _the_one_named(marks, named)
    made: list[Mark] = []
    told = False  # whether this sentence has named digits itself
    for index, mark in enumerate(marks):
        if mark.text in sets["both_digits"] and len(named) == _TWO and not told:
            slugs = tuple(digit for digit in DIGITS if digit in named)
            made.append(Mark("piece", mark.start, mark.end, piece=Piece("digits", slugs), text="digits"))
            continue
        led = index > 0 and marks[index - 1].text in sets["the_other"] and not told
        if led and mark.piece is not None and mark.piece.kind == "digits" and mark.kind == "piece":
            left = tuple(slug for slug in mark.piece.slugs if slug not in named)
            mark = replace(mark, piece=replace(mark.piece, slugs=left)) if left else mark  # noqa: PLW2901
        told = told or bool(digits_named([mark]))
        made.append(mark)
    return made


def _the_one_named(marks: list[Mark], named: set[str]) -> list[Mark]:
    """'A nodule of the ring finger and one of the forearm. The finger is stiff.': the only one that was named."""
    sets = words().sets
    if digits_named(marks):
        return marks
    made = list(marks)
    for before, mark, after in beside(marks):
        led = before is not None and before.text in sets["this_one"]
        if led and mark.text in sets["one_digit"] and mark.kind == "piece" and (after is None or after.kind != "word"):
            made[marks.index(mark)] = replace(mark, piece=Piece("digit", tuple(named)))
    return made


def some_of_them(marks: Sequence[Mark], texts: Texts) -> Sequence[Mark]:
    """'Several fingers are numb', 'pitting of two nails': of some of them, and it is not said of which."""
    if texts.isdisjoint(words().sets["not_all"]) or not any(_are_several(mark) for mark in texts.placed):
        return marks
    made = list(marks)
    for index, mark in enumerate(marks):
        if _are_several(mark) and _are_counted(marks[max(0, index - _LED) : index]):
            told = _are_told(marks, index + 1)
            made[index] = Mark("filler", mark.start, mark.end) if told else replace(mark, look=mark.look or _WHICH)
    return made


def _are_told(marks: Sequence[Mark], start: int) -> bool:
    """'Two fingers, the index and middle', 'several fingers (ring and little)': they are named right behind."""
    if start == len(marks) or marks[start].text not in {"comma", "(", ":"}:
        return False
    ahead = next((mark for mark in marks[start + 1 :] if mark.kind not in {"filler", "side"}), None)
    return ahead is not None and bool(digits_named([ahead]))


def _are_several(mark: Mark) -> bool:
    piece = mark.piece
    return mark.kind == "piece" and piece is not None and piece.plural and piece.kind in {"digits", "row"}


def _are_counted(before: Sequence[Mark]) -> bool:
    """'Several', 'a few', 'two of the right': right before what is counted; 'some' as it was written."""
    for mark in reversed(before):
        if mark.word == "some" or (mark.kind != "severity" and mark.text in words().sets["not_all"]):
            return True
        if mark.kind not in {"filler", "side"}:
            return False
    return False


def _counted_others(marks: list[Mark], named: set[str]) -> list[Mark]:
    """'Full in the index finger and 25 degrees short in the other three': those that are left, and no other side."""
    at = next(
        (at for at, mark in enumerate(marks[:-1]) if mark.text == "other" and marks[at + 1].text in NUMBERS), None
    )
    if at is None:
        return marks
    digits = marks[at + 2 : at + 3]
    end = at + 3 if digits and digits[0].piece is not None and digits[0].piece.kind == "digits" else at + 2
    gone = digits_named(marks[:at]) or named
    count = NUMBERS[marks[at + 1].text]
    left = tuple(digit for digit in DIGITS[1 if count + len(gone) < len(DIGITS) else 0 :] if digit not in gone)
    kind, slugs = ("digits", left) if len(left) == count else ("elsewhere", ())
    piece = Mark("piece", marks[at].start, marks[end - 1].end, piece=Piece(kind, slugs), text="digits")
    return [*marks[:at], piece, *marks[end:]]


def _other_joints(marks: list[Mark]) -> list[Mark]:
    """'All of the other joints move normally': those that were not named, and no other side."""
    joints = words().sets["joints"]
    return [
        Mark("word", mark.start, mark.end, text="other")
        if mark.kind == "side" and mark.text == "other" and after and after.text.partition(" ")[0] in joints else mark
        for _, mark, after in beside(marks)
    ]  # fmt: skip
