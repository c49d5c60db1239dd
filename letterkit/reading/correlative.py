"""'Both the radial and ulnar aspects of the left index finger': two places of one hand, and not both hands.

So are 'either the index or the middle finger', and 'opposite the ring finger' is no place of the other hand.
"""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.reading.marks import Mark, side_of
from letterkit.reading.places import OPPOSITE
from letterkit.reading.predication import BE
from letterkit.reading.words import words

_WITHIN = 5  # marks from 'both' to its 'and'
_SIDES = frozenset({"both sides", "on both sides", "either side", "on either side", "each side", "on each side"})
_EITHER = frozenset({"both", "either", "each"})
_MODES = frozenset({"active_mode", "passive_mode"})
_JOINED = frozenset({"piece", "term", "hint", "word", "filler", "state"}) | _MODES
_AMPERSAND = frozenset({"and", "&", "+"})
_BESIDE_WOUNDS = frozenset({"filler", "certain", "severity"})
_CHOICE = frozenset({"or", "and", "slash", "nor"})


def both_of_two(marks: Sequence[Mark], texts: frozenset[str]) -> Sequence[Mark]:
    """The marks with the 'both' of 'both ... and ...' as a small word that names no side."""
    if "both" not in texts:
        return marks
    made: list[Mark] = []
    for index, mark in enumerate(marks):
        if mark.word == "both" and any(tells(marks, index) for tells in _COUNTING):
            made.append(Mark("filler", mark.start, mark.end, text="the"))
        elif mark.word == "both" and index and marks[index - 1].text in BE and not _is_parted(marks, index):
            _both_before(made)
        elif mark.word == "either" and _leads_choice(marks, index):
            made.append(Mark("filler", mark.start, mark.end, text="the"))
        elif (mark.word in _SIDES and _leads_one(marks, index)) or _is_of_borders(marks, index):
            made.append(Mark("filler", mark.start, mark.end, text="at"))
        else:
            made.append(mark)
    return made


def _counts_wounds(marks: Sequence[Mark], index: int) -> bool:
    """'Both scars are tender', 'the skin around both of the lesions': two of them, of whatever hand was spoken of.

    Not so 'both palmar scars', which name a part, nor where the sentence tells of the left and of the right.
    """
    several = words().sets["several_wounds"]
    ahead = next((mark for mark in marks[index + 1 :] if mark.kind not in _BESIDE_WOUNDS), None)
    if ahead is None or ahead.text not in several:
        return False
    return len({side_of(mark) for mark in marks} & OPPOSITE.keys()) < len(OPPOSITE)


def _is_parted(marks: Sequence[Mark], index: int) -> bool:
    """Whether 'both' has a part of its own behind it: 'Tinel's and Phalen's were both hands negative' and the like."""
    return index + 1 == len(marks) or marks[index + 1].kind in {"piece", "joiner", "break"}


def _both_before(made: list[Mark]) -> None:
    """'The thumb IP joints are both unstable': of both sides where no side is named, and still of these joints."""
    first = next((at for at, mark in enumerate(made) if mark.kind == "piece"), None)
    if first is None or any(side_of(mark) for mark in made):
        return
    plural = any(_is_plural(mark) or mark.text.endswith("s") for mark in made[first:] if mark.kind == "piece")
    if plural and not any(mark.kind == "joiner" for mark in made[first:]):
        start = made[first].start
        made.insert(first, Mark("side", start, start, text="both", word="both"))


def _is_of_two_tests(marks: Sequence[Mark], index: int) -> bool:
    """'Resisted pronation and resisted flexion with the elbow straight both aggravate his pain': both tests."""
    return bool(index) and index + 1 < len(marks) and marks[index + 1].text in words().provokes


def _leads_one(marks: Sequence[Mark], index: int) -> bool:
    """'On both sides of the left thumb', 'to both sides of the tip', '... of the scar': the two borders of one part."""
    if index + 1 == len(marks) or marks[index + 1].text != "of":
        return False
    near = marks[index + 2 : index + 6]
    bordered = words().sets["has_two_borders"]
    named = (at for at, mark in enumerate(near) if mark.kind not in {"filler", "side"} or mark.text in bordered)
    ahead = next((near[at] for at in named), None)
    if ahead is not None and ahead.text in bordered:
        return True
    return ahead is not None and ahead.piece is not None and ahead.kind == "piece" and not ahead.piece.plural


def _is_of_borders(marks: Sequence[Mark], index: int) -> bool:
    """'Intact along both borders of the thumb', 'the left index felt touch on either border': of one part."""
    if marks[index].word not in _EITHER or index + 1 == len(marks):
        return False
    if marks[index + 1].text not in words().sets["borders"]:
        return False
    if index + 2 < len(marks) and marks[index + 2].text == "of":
        return _leads_one(marks, index + 1)
    named = [mark.piece for mark in marks[:index] if mark.kind == "piece" and mark.piece is not None]
    if not named or named[-1].plural:
        return False
    return all(mark.kind != "piece" for mark in marks[index + 2 : index + 4])


def _leads_two(marks: Sequence[Mark], index: int) -> bool:
    """Whether two that are named in the singular follow, joined by 'and', of one hand as far as is told."""
    near = marks[index + 1 : index + 2 + _WITHIN]
    if near and near[0].kind == "term" and " and " in near[0].text:
        return True  # 'both flexion and extension'
    at = next((each for each, mark in enumerate(near) if mark.kind == "joiner"), 0)
    if not at or near[at].text not in _AMPERSAND or not near[at + 1 :]:
        return False
    first, second = near[:at], near[at + 1 :]
    if any(mark.kind not in _JOINED or _is_plural(mark) or mark.text in OPPOSITE for mark in first):
        return False
    if second[0].kind not in _JOINED or not _names(first[-1]):
        return False
    if first[0].text == "the" or _is_half(first[-1]) or _is_of_a_movement(first[-1]):
        return True
    return first[-1].kind == "piece" and len({side_of(mark) for mark in marks} & OPPOSITE.keys()) == 1


_COUNTING = (_leads_two, _is_of_two_tests, _counts_wounds)


def _leads_choice(marks: Sequence[Mark], index: int) -> bool:
    """'Either the thenar or the hypothenar eminence', 'either Tinel's or Phalen's': one and another of one hand.

    Not so 'either wrist or elbow', 'over either pulley or over the scar', 'either the right or the left hand'.
    """
    near = marks[index + 1 : index + 2 + _WITHIN]
    at = next((each for each, mark in enumerate(near) if mark.kind == "joiner"), 0)
    if not at or near[at].text not in _CHOICE or not near[at + 1 :]:
        return False
    first, second = near[:at], near[at + 1 :]
    if any(mark.kind not in _JOINED and mark.kind != "side" for mark in first) or not _names(first[-1]):
        return False  # of 'the right or the left hand' the first has no name
    if any(mark.word == "either" for mark in second):
        return False
    if first[0].text == "the" or first[0].kind == "side":
        return True
    if second[0].kind in {"filler", "side"} and first[0].kind != "filler":
        return False
    return first[0].kind == "term" or first[-1].text not in words().sets["of_two"]


def opposite_of(marks: Sequence[Mark], texts: frozenset[str]) -> Sequence[Mark]:
    """'Tender opposite the ring finger', 'a lump opposite to the styloid': where it is, and not the other side.

    So is 'the skin opposite is healthy', which lies over the lump that was told of.
    """
    if "other" not in texts:
        return marks
    made: list[Mark] = []
    passed = -1
    for index, mark in enumerate(marks):
        if index == passed:
            continue
        if mark.word == "opposite" and _leads_place(marks, index):
            passed = index + 1 if marks[index + 1].text == "to" else -1
            made.append(Mark("filler", mark.start, mark.end, text="over"))
        elif mark.word == "opposite" and _is_of_skin(marks, index):
            made.append(Mark("certain", mark.start, mark.end, text="overlying"))
        else:
            made.append(mark)
    return made


def _is_of_skin(marks: Sequence[Mark], index: int) -> bool:
    """'The skin opposite was normal', 'with healthy skin opposite', 'the opposite skin': what lies over it.

    Not so 'the skin of the opposite hand', 'the skin opposite hand'.
    """
    covers = words().sets["covers"]
    behind = marks[index + 1] if index + 1 < len(marks) else None
    if behind is not None and behind.text.split(" ")[0] in covers:
        return True
    if not index or covers.isdisjoint(marks[index - 1].text.split(" ")):
        return False
    return behind is None or behind.kind != "piece"


def _leads_place(marks: Sequence[Mark], index: int) -> bool:
    """Whether 'opposite' has a place behind it; not 'the opposite wrist', 'the hand opposite the injured one'."""
    if index and (marks[index - 1].text in words().sets["of_two"] or marks[index - 1].kind == "side"):
        return False
    near = marks[index + 1 : index + 6]
    if not near or near[0].text not in {"to", "the", "his", "her", "a"}:
        return False
    named = next((mark for mark in near if mark.kind not in {"filler", "side"}), None)
    return named is not None and named.kind == "piece" and named.text not in words().sets["of_two"]


def _names(mark: Mark) -> bool:
    return mark.kind in {"piece", "term"} or _is_half(mark) or _is_of_a_movement(mark)


def _is_of_a_movement(mark: Mark) -> bool:
    """'Both active and passive movements', 'both flexion and extension': two of one joint."""
    return mark.kind in _MODES or mark.text in words().sets["bare_movements"]


def _is_plural(mark: Mark) -> bool:
    return (mark.piece is not None and mark.piece.plural) or (mark.term is not None and mark.text.endswith("s"))


def _is_half(mark: Mark) -> bool:
    """'Radial', 'volar', 'medial': one of two that a hand, a finger or an elbow has by itself."""
    return mark.text in words().sets["halves"]
