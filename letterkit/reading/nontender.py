"""'NT distal radius', 'ASB NT', 'tender 5th MC neck, 4th MC NT': a place that is not tender, no test left undone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import Entry
from letterkit.reading.words import words

_WHICH = "NT beside a place is non-tender or not tested"
_ENDS = frozenset({"joiner", "break"})
_LEADS = frozenset({"over", "at", "on", "to", "in"})


def not_tender(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'R wrist: ASB NT, grip 20': non-tender beside a bone that is only pressed, or where something else is tender."""
    made: list[Mark] = []
    asked = False  # whether the place that comes next is asked about
    for index, mark in enumerate(marks):
        made.append(mark)
        if mark.text != "nt" or mark.kind != "ambiguous":
            if asked and mark.piece is not None:
                made[-1], asked = _asked(mark), False
            continue
        placed = index > 0 and marks[index - 1].kind in {"piece", "side"}
        told = any(slug.endswith("tenderness") for each in marks[:index] for slug in items_of(each)[:1])
        term = phrases["nontender"].term
        if _behind_bone(marks, index):
            at = _first_bone(made)
            made.insert(at, Mark("term", mark.start, mark.end, term=term, text="nontender"))
            made[-1:] = []
            made[at + 1 :] = made[at + 1 :] if told else [_asked(each) for each in made[at + 1 :]]
        elif (placed and told) or _before_bone(marks, index):
            made[-1] = Mark("term", mark.start, mark.end, term=term, text="nontender")
            asked = _before_bone(marks, index) and not told
    return made


def _asked(mark: Mark) -> Mark:
    """The place of a lone 'ASB NT', which a clinician should look at: it may not have been tested."""
    return replace(mark, look=_WHICH) if mark.piece is not None else mark


def _first_bone(made: Sequence[Mark]) -> int:
    """'Wrist: tubercle and ASB NT': where the bones begin of which it is said, and not the wrist that they are in."""
    at = len(made) - 2
    while at > 1 and made[at - 1].text in {"and", "slash"} and _is_pressed(made[at - 2]):
        at -= 2
    return at


def _is_pressed(mark: Mark) -> bool:
    """Whether a mark is of a place where nothing but tenderness is looked for: 'scaphoid tubercle'."""
    slugs = mark.piece.slugs if mark.piece is not None else ()
    return bool(slugs) and words().sets["pressed_places"].issuperset(slugs)


def _behind_bone(marks: Sequence[Mark], index: int) -> bool:
    """'ASB NT', where the place begins its part of the sentence and no test is named before it."""
    if not index or not _is_pressed(marks[index - 1]):
        return False
    ahead = marks[index + 1].kind if index + 1 < len(marks) else "break"
    for mark in reversed(marks[: index - 1]):
        if mark.kind in _ENDS or mark.text == ":":
            break
        if mark.kind not in {"piece", "side", "filler"}:
            return False  # 'Finkelstein styloid NT'
    return ahead in _ENDS | {"side", "filler"}


def _before_bone(marks: Sequence[Mark], index: int) -> bool:
    """'NT over distal radius', '..., NT distal radius': what begins a part of the sentence, its place behind it."""
    if index and not (marks[index - 1].kind in _ENDS or marks[index - 1].text in {":", "-"}):
        return False
    behind = [mark for mark in marks[index + 1 : index + 5] if mark.kind != "side" and mark.text not in _LEADS]
    return bool(behind) and _is_pressed(next((mark for mark in behind if mark.kind != "filler"), behind[0]))
