"""Where 'right' and 'left' say no side: 'was left open', 'right after', 'right-handed', 'a right angle'."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from itertools import takewhile

from letterkit.reading.words import words

# Words that this module may take out of the sides of a sentence.
NO_SIDES = frozenset({"left", "right", "r", "l", "rt", "lt", "hand"})
SMALL = {"r": "right", "rt": "right", "l": "left", "lt": "left"}  # sides in small letters, right before a part

_WHOLE = frozenset({"left", "right"})
_LEADS = frozenset({"", "\n", ".", ";", ",", ":"})  # what stands before the beginning of a clause
_RIGHTS = frozenset({"r", "rt", "right"})
_FELT_BEFORE = 12  # words of a sentence before 'lt' that may tell that it is of what is felt
_AHEAD = 7  # words in which the place that 'right at' leads to names its side


def says_both(lowers: Sequence[str], index: int) -> bool:
    """'Phalen's neg B', 'grip 5/5 B.': both sides, behind a result and at the end of what is said; 'B delt 4/5'."""
    before, after = _word(lowers, index - 1), _word(lowers, index + 1)
    if after in words().sets["after_b"] and not before[:1].isalpha():
        return True
    result = before in words().sets["before_b"] or before[:1].isdigit()
    return result and not after[:1].isalnum() and after not in {"-", "/", "&"}


def says_no_side(lowers: Sequence[str], index: int) -> bool:
    """Whether the word at `index`, given with all words of the note in small letters, says no side there."""
    word = lowers[index]
    if word == "r" and _word(lowers, index + 1) in {"1", "2"} and "tardieu" in lowers:
        return True  # the two angles of Tardieu's scale
    if _is_of_the_writing_hand(lowers, index) or (word in _WHOLE and _is_measure(lowers, index)):
        return True
    if word == "left":
        return _leaves(lowers, index)
    return word == "right" and _is_just(lowers, index)


def _leaves(lowers: Sequence[str], index: int) -> bool:
    """'The wound was left open', 'it left her with a stiff thumb', 'what is left of the nail': a verb."""
    sets = words().sets
    before, after = _word(lowers, index - 1), _word(lowers, index + 1)
    if before in sets["leaves_before"] and after in sets["leaves_after"]:
        return True
    beyond = _word(lowers, index + 2)
    if (before == "is" and after == "of") or (after == "over" and beyond == "from"):
        return True
    if after in sets["leaves_people"] or (after == "her" and beyond in sets["leaves_after"]):
        return True
    if after == "little" and beyond in sets["little_of_digit"]:
        return False  # 'numb left little finger'
    return before.isalpha() and before not in sets["never_leaves"] and after in sets["leaves_objects"]


def _is_just(lowers: Sequence[str], index: int) -> bool:
    """'Right after the fall', 'a right angle', 'right at the tip of the left thumb': at once, ninety degrees, just."""
    sets = words().sets
    after = _word(lowers, index + 1)
    if after in sets["right_angle"] or _word(lowers, index - 1) == "all":
        return True
    if _word(lowers, index - 1) in sets["on_the"]:
        return False  # 'positive on the right after 20 seconds'
    if after in sets["right_always"]:
        return True
    if after not in sets["right_at"]:
        return False
    ahead = lowers[index + 2 : index + 2 + _AHEAD]
    end = next((at for at, word in enumerate(ahead) if not word.isalnum()), len(ahead))
    return bool(_WHOLE & set(ahead[:end]))


def _is_measure(lowers: Sequence[str], index: int) -> bool:
    """'About half of the right', '60% that of the left': by which a movement is measured, and not what is spoken of."""
    if _word(lowers, index - 1) not in {"the", "of"}:
        return False
    near = lowers[max(0, index - 5) : index]
    if "of" not in near or words().sets["shares"].isdisjoint(near):
        return False
    behind = [word for word in near if word not in {"that", "the", "as", "on"}]
    if behind[-1:] != ["of"] or behind[-2:-1] == [] or behind[-2] not in words().sets["shares"]:
        return False
    return _word(lowers, index + 1) in {"", ".", ",", ";", ")", "side", "and", "but", "one"}


@cache
def _of_writing() -> frozenset[str]:
    """The words of which one stands near a side that is only of the hand somebody writes with."""
    sets = words().sets
    return sets["dominant"] | sets["handedness"] | {"handed", "dominant", "writes"}


def _is_of_the_writing_hand(lowers: Sequence[str], index: int) -> bool:
    """'Right-handed', 'left hand dominant', 'the left is dominant', 'dominance: right', 'writes with the right'."""
    sets = words().sets
    if _of_writing().isdisjoint(lowers[max(0, index - 4) : index + 6]):
        return False
    if "dominant" in lowers[index + 2 : index + 6] and _is_called_dominant(lowers[index + 1 : index + 6]):
        return True
    ahead = [word for word in lowers[index + 1 : index + 5] if word != "-"][:2]
    if ahead[:1] == ["handed"] or (ahead[1:] and ahead[0] == "hand" and ahead[1] in sets["dominant"]):
        return True
    if lowers[index] == "hand":
        return ahead[:1] != [] and ahead[0] in sets["dominant"]
    if _word(lowers, index + 1)[:1].isdigit():
        return False  # 'right hand dominant: right 62 lb, left 58'
    behind = [
        word for word in lowers[max(0, index - 4) : index] if word not in {":", "-", "the", "is", "hand", "his", "her"}
    ]
    return (
        bool(behind)
        and (
            behind[-1] in sets["handedness"]
            or (behind[-1] == "dominant" and _word(lowers, index - 1) != "dominant")  # no 'dominant right hand'
            or behind[-2:] == ["writes", "with"]
        )
    )


def _is_called_dominant(ahead: Sequence[str]) -> bool:
    """Whether a side goes on 'hand is dominant', 'is his dominant hand'."""
    told = [word for word in ahead if word not in {"hand", "side", "his", "her", "the", "their"}]
    return told[0] in {"is", "was"} and told[1] == "dominant"


def _word(lowers: Sequence[str], index: int) -> str:
    return lowers[index] if 0 <= index < len(lowers) else ""


def small_side(lowers: Sequence[str], at: int, led: str) -> str:
    """'rt thumb', 'l wrist', 'r swollen, l not' in small letters: a side, right before a part or where a clause begins.

    `led` is the character before it. 'Sens: lt thumb reduced' and 'lt intact' are left alone, and so is an 'l' that
    begins a line where no right is spoken of: it may be the dot of a list.
    """
    sets = words().sets
    after = _word(lowers, at + 1)
    if after not in sets["sided_parts"]:
        begins = led in _LEADS and (after[:1].isalpha() or after in {":", "="}) and after not in sets["felt_as"]
        if not begins or (lowers[at] == "l" and _RIGHTS.isdisjoint(lowers)):
            return ""
    before = list(takewhile(lambda word: word not in {".", ";"}, reversed(lowers[max(0, at - _FELT_BEFORE) : at])))
    if lowers[at] == "lt" and not sets["felt_nearby"].isdisjoint(before):
        return ""
    return SMALL[lowers[at]]
