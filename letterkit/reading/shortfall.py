"""A movement that stops short: 'lacks the last 20 degrees of extension', 'an extension deficit of 40°'.

The movement is told as incomplete; the number is what is missing and no measure of it, and is shown as unread.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import Stage
from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import INCOMPLETE, Entry
from letterkit.reading.predication import BE
from letterkit.reading.words import words

_WHOLE = 100  # percent
_CLEARLY_LESS = 90  # percent of the other side, below which it is weaker; grips differ by a tenth by handedness
_AHEAD = 9  # marks in which the movement stands that 'lacks' is of
_KEPT = frozenset({"side", "piece", "active_mode", "passive_mode"})
_SOFT = frozenset({"filler", "certain", "severity", "maybe"})


def short_of(
    marks: Sequence[Mark], texts: frozenset[str], catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> Sequence[Mark]:
    """The marks of one sentence, whose words are `texts`, with each shortfall as a movement that is incomplete."""
    sets = words().sets
    if "normal" in texts:
        marks = _part_of_normal(marks, phrases)
    if "of" in texts and any([mark.amount is not None and mark.amount.unit == "%" for mark in marks]):  # noqa: C419
        marks = _part_of_the_other(marks, phrases)
    if not texts & sets["lacking"]:
        return marks
    made = list(marks)
    for index in range(len(made) - 1, -1, -1):
        if made[index].text not in sets["lacking"]:
            continue
        told = _ahead(made, index, catalogue, phrases) or _behind(made, index, catalogue, phrases)
        if told is not None:
            made = told
    return made


def _part_of_normal(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Sensation was 50% of normal', 'grip 8/10 of normal': less than normal."""
    made = list(marks)
    for index, mark in enumerate(marks):
        amount = marks[index - 2].amount if index > 1 and marks[index - 1].text == "of" else None
        if mark.text != "normal" or mark.kind != "state" or amount is None:
            continue
        share = amount.unit == "%" and bool(amount.numbers) and amount.numbers[0] < _WHOLE
        if share or amount.kind == "pair":
            made[index] = replace(mark, state=phrases["reduced"].state, text="reduced")
            made[index - 2] = replace(marks[index - 2], kind="filler", amount=None, text="part")
    return made


def _part_of_the_other(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Grip was 60% of that of the uninjured side', '75% of the left': less than there; nothing is told of there."""
    made: list[Mark] = []
    at = 0
    while at < len(marks):
        mark = marks[at]
        side = _side_of_which(marks, at) if mark.amount is not None and mark.amount.unit == "%" else None
        if side is None or mark.amount is None:
            made.append(mark)
            at += 1
            continue
        told = made[-1].text == "to" or any(_is_reduced(each) for each in made[-3:])  # 'is reduced, 60% of the left'
        if not told and mark.amount.numbers[0] < _CLEARLY_LESS:
            start, end = mark.start, marks[side].end
            made.append(Mark("state", start, end, state=phrases["reduced"].state, text="reduced"))
        elif not told:
            made.append(mark)
        at = side + 1
    return made


def _side_of_which(marks: Sequence[Mark], at: int) -> int | None:
    """Where the side stands in '60% of the strength of the other side', that begins with the share at `at`.

    'Of the left' behind a measure is a side that says nothing of its own, and has no text any more.
    """
    if at + 1 >= len(marks) or marks[at + 1].text != "of" or marks[at + 1].kind != "filler":
        return None
    for index in range(at + 2, min(len(marks), at + _AHEAD)):
        if marks[index].kind == "side" or (marks[index].kind == "filler" and not marks[index].text):
            hand = index + 1 < len(marks) and marks[index + 1].kind == "piece"
            return index + 1 if hand else index
        if marks[index].kind not in {"filler", "piece"} and marks[index].text not in words().sets["that_of"]:
            return None
    return None


def _is_reduced(mark: Mark) -> bool:
    return mark.kind == "state" and mark.state is not None and "reduced" in mark.state.classes


def _is_missing(mark: Mark) -> bool:
    """'20 degrees', 'the last degrees', '15': how much is missing."""
    amount = mark.amount
    if mark.kind == "value" and amount is not None:
        return amount.unit in {"deg", ""} and amount.kind in {"amount", "bare", "arc"}
    return mark.text in words().sets["last_of_it"]


def _is_length(mark: Mark) -> bool:
    return mark.amount is not None and mark.amount.unit in {"cm", "mm"}


def _moves(mark: Mark, catalogue: Catalogue) -> bool:
    items = items_of(mark)
    return mark.text.split(" ")[-1] in words().sets["bare_movements"] or (
        bool(items) and catalogue.items[items[0]].stage is Stage.MOVEMENT
    )


def _ahead(
    marks: Sequence[Mark], index: int, catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> list[Mark] | None:  # fmt: skip
    """'Lacks 20 degrees of extension', '40 degrees short of straight': the movement behind the word."""
    missing = index > 0 and _is_missing(marks[index - 1])
    begin = index - 1 if missing else index
    kept: list[Mark] = []
    for at in range(index + 1, min(len(marks), index + _AHEAD)):
        mark = marks[at]
        if "composite_fist" in items_of(mark):
            before = begin - (index > 0 and _is_length(marks[index - 1]))
            return [*marks[:before], _incomplete(marks[index]), *kept, *marks[at:]]  # '2 cm short of a full fist'
        straight = mark.text in words().sets["straight"]
        if straight or _moves(mark, catalogue):
            if not missing:
                return None
            term = phrases["extension"].term if straight else mark.term
            name = "extension" if straight else mark.text
            moved = replace(mark, kind="term", term=term, state=None, text=name)
            joint = [moved] if straight else of_the_joint(moved, phrases)  # 'of elbow extension'
            rest = _and_the_other(_with_own_verb(marks[at + 1 :]))
            return [*marks[:begin], _incomplete(marks[index]), *kept, *joint, *rest]
        full = mark.kind == "state" and mark.state is not None and "full" in mark.state.classes
        if _is_missing(mark):
            missing = True
        elif mark.kind in _KEPT:
            kept.append(mark)
        elif mark.kind not in _SOFT and not full and mark.text not in words().sets["of_the_end"]:
            return None
    return None


def _and_the_other(behind: list[Mark]) -> list[Mark]:
    """'... of extension on the right and 10 on the left': as much is missing there, and no measure either."""
    spoken = [(at, mark) for at, mark in enumerate(behind) if mark.kind not in {"filler", "certain"}]
    if [mark.kind for _, mark in spoken[:4]] != ["side", "joiner", "value", "side"] or spoken[1][1].text != "and":
        return behind
    return [*behind[: spoken[2][0]], *behind[spoken[2][0] + 1 :]]


def _with_own_verb(behind: Sequence[Mark]) -> list[Mark]:
    """'... of extension, and dorsiflexion of the wrist was weak': the next movement has its own verb."""
    made = list(behind)
    joined = next((at for at, mark in enumerate(made) if mark.kind != "joiner"), 0)
    verb = next((at for at, mark in enumerate(made) if at > joined and mark.text in BE), None)
    if joined == 0 or made[joined].kind != "term" or verb is None:
        return made
    if any(mark.kind in {"joiner", "break", "state", "value"} for mark in made[joined:verb]):
        return made
    made[joined - 1] = replace(made[joined - 1], kind="break", text="but")
    return made


def _behind(
    marks: Sequence[Mark], index: int, catalogue: Catalogue, phrases: Mapping[str, Entry]
) -> list[Mark] | None:  # fmt: skip
    """'Extension of the elbow lacks 20 degrees', 'an extension deficit of 40°': the movement before the word."""
    before = next((at for at in range(index - 1, max(-1, index - 6), -1) if marks[at].kind not in _SOFT | _KEPT), None)
    if before is None or not _moves(marks[before], catalogue):
        return None
    for at in range(index + 1, min(len(marks), index + 5)):
        if _is_missing(marks[at]):
            moved = of_the_joint(marks[before], phrases)
            return [*marks[:before], *moved, *marks[before + 1 : index], _incomplete(marks[index]), *marks[at + 1 :]]
        if marks[at].kind not in _SOFT and marks[at].text not in words().sets["of_the_end"]:
            return None
    return None


def of_the_joint(mark: Mark, phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Elbow extension' as the extension and the elbow: here how far it goes, and not its power."""
    joint, _, movement = mark.text.rpartition(" ")
    place, moved = phrases.get(joint), phrases.get(movement)
    if place is None or place.piece is None or moved is None or moved.term is None:
        return [mark]
    return [
        Mark("piece", mark.start, mark.start, piece=place.piece, text=joint),
        Mark("term", mark.start, mark.end, term=moved.term, text=movement),
    ]


def _incomplete(mark: Mark) -> Mark:
    return replace(mark, kind="state", term=None, state=INCOMPLETE, text="incomplete")
