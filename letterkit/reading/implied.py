"""What a sentence without any term is about: a joint with two angles moves, a hand called normal was examined."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

from letterkit.reading.marks import Mark
from letterkit.reading.placenames import Piece
from letterkit.reading.values import Amount
from letterkit.reading.vocabulary import Vocabulary
from letterkit.reading.words import words

_NERVOUS = frozenset({"neuro", "neurological", "neurologic", "neurology"})
_NERVES = "neurological status"
_UNHARMED = frozenset({"intact", "grossly intact", "nonfocal", "non-focal"})
_JOINTS = frozenset({"wrist", "wrists", "elbow", "elbows"})
_ROUND = frozenset({"upper arm", "arm", "forearm", "upper arms", "arms", "forearms"})
_PLAIN = frozenset({"piece", "side", "value", "filler", "joiner"})
_DAYS_OF_A_WEEK = 7  # as in '5/7'
_WHOLE = "overall examination"
_SIDE_ALONE = frozenset({"side", "state", "filler"})
_FINGERS = frozenset({"fingers", "digits", "thumb", "thumbs"})
_OF_A_JOINT = frozenset({"piece", "side", "state", "filler", "joiner", "active_mode", "passive_mode"})
_IT = frozenset({"it", "this", "these", "they", "which"})


def calls_normal(mark: Mark) -> bool:
    """'Normal', 'within normal limits', 'entirely normal': words that a part is called by, of which no more is told."""
    if mark.text in words().sets["called_normal"]:
        return True
    return mark.kind == "state" and (mark.text.startswith("normal") or mark.text.endswith(" normal"))


def implied(current: Sequence[Mark], label: str, vocabulary: Vocabulary, *, bare: bool) -> list[Mark]:
    """What a line without any term is about: a joint with two angles moves, a hand called normal was examined.

    `bare` where the sentence before only named a place: 'The left elbow was examined. It is normal.'
    """
    pieces = [mark for mark in current if mark.piece is not None and mark.kind == "piece"]
    calm = any(mark.statement == "heading" or calls_normal(mark) for mark in current)
    kinds = {mark.kind for mark in current}
    unharmed = calm or any(mark.text in _UNHARMED for mark in current)
    beyond = any(mark.text in words().sets["of_the_head"] for mark in current)
    named = next((mark for mark in current if mark.kind == "word"), None)
    named = named if named is not None and named.text in _NERVOUS else None  # 'Neuro NAD'
    nervous = label in _NERVOUS or named is not None
    if nervous and unharmed and not beyond and kinds <= {"word", "filler", "state", "joiner", "side"}:
        start, end = (named.start, named.end) if named is not None else (0, 0)
        return [Mark("term", start, end, term=vocabulary.phrases[_NERVES].term, text=_NERVES)]
    if label in _sides() and not pieces and calm and kinds <= _SIDE_ALONE:
        look = "of which part it is said is not told"
        return [Mark("term", 0, 0, term=vocabulary.phrases[_WHOLE].term, text=_WHOLE, look=look)]
    if bare and not pieces and calm and current[0].text in _IT and kinds <= {"filler", "state", "joiner"}:
        pass
    elif not pieces:
        return []
    elif _is_graded(current, pieces):
        look = "that the grade is of power is not said"
        term = vocabulary.phrases["strength"].term
        return [Mark("term", 0, 0, term=term, text="strength", look=look, hints=("power",))]
    elif _is_girth(current, pieces):
        return [Mark("term", 0, 0, term=vocabulary.phrases["girth"].term, text="girth")]
    if calm and pieces and all(mark.piece is not None and mark.piece.slugs == ("nail",) for mark in pieces[:1]):
        name = "appearance of the nails"
        return [Mark("term", 0, 0, term=vocabulary.phrases[name].term, text=name)]
    arcs = (at for at, mark in enumerate(current) if mark.amount is not None and _is_arc(mark.amount))
    moves = any(not at or current[at - 1].kind != "ambiguous" for at in arcs)  # and no 'SJC 3/28: right wrist'
    if moves or _is_called_full(current, pieces):
        name = "range of movement"
    elif calm and all(_only_examines(mark) for mark in current):
        name = _WHOLE
    elif _is_called_stable(current):
        stable = vocabulary.phrases["joint instability"].term
        assert stable is not None
        return [Mark("term", 0, 0, term=replace(stable, state="absent"), text="joint instability")]
    else:
        return []
    return [Mark("term", 0, 0, term=vocabulary.phrases[name].term, text=name)]


@cache
def _sides() -> frozenset[str]:
    """'R', 'left side': labels that are a side alone."""
    return frozenset((*words().lists["right"], *words().lists["left"]))


def _is_arc(amount: Amount) -> bool:
    """'L wrist 10/70': what a joint goes through, and no 'L wrist 10/7', which is so many days."""
    days = amount.kind == "arc" and not amount.unit and amount.numbers[0] > 0 and amount.numbers[1] == _DAYS_OF_A_WEEK
    return amount.kind == "arc" and not days


def _is_called_full(current: Sequence[Mark], pieces: Sequence[Mark]) -> bool:
    """'Elbows full', 'PIPJ full': how far a joint moves, of which no more is told."""
    states = [mark for mark in current if mark.kind == "state"]
    full = bool(states) and all(mark.text == "full" for mark in states)
    joints = [mark for mark in pieces if mark.text in _JOINTS or mark.text in _FINGERS or _is_joint(mark.piece)]
    others = [mark.piece for mark in pieces if mark not in joints]  # 'L LF: PIPJ full'
    digits = all(piece is not None and piece.kind == "digit" for piece in others)
    return full and bool(joints) and digits and all(mark.kind in _OF_A_JOINT for mark in current)


def _is_joint(piece: Piece | None) -> bool:
    """'PIPJ', 'thumb MCPJ', 'DIPJs of all fingers'."""
    return piece is not None and piece.kind == "row"


def _is_called_stable(current: Sequence[Mark]) -> bool:
    """'The elbow is stable to valgus stress': a joint and that it holds, and no other finding."""
    states = [mark.state for mark in current if mark.state is not None]
    held = bool(states) and all("stable" in state.classes for state in states)
    joints = any(mark.text in _JOINTS or _is_joint(mark.piece) for mark in current if mark.piece is not None)
    return held and joints and not any(mark.kind in {"term", "value", "negator"} for mark in current)


def _only_examines(mark: Mark) -> bool:
    """Whether a word of 'the left elbow was examined as well and is normal' names nothing but the look at it."""
    if mark.kind in {"piece", "side", "state", "filler", "joiner", "statement"}:
        return mark.piece is None or mark.piece.kind != "elsewhere"
    return mark.kind in {"word", "say"} and (mark.text in words().sets["examining"] or "examined" in mark.says)


def _is_graded(current: Sequence[Mark], pieces: Sequence[Mark]) -> bool:
    """'LUE 4/5 throughout', 'RUE and RLE 4/5', 'left arm 1/5, left leg 0/5': whole limbs, an arm among them, graded."""
    arms = [mark for mark in pieces if mark.piece is not None and mark.piece.slugs == ("upper_limb",)]
    limbs = all(mark in arms or mark.text in words().legs for mark in pieces)
    grades = [mark for mark in current if mark.amount is not None and mark.amount.kind == "grade"]
    counted = 1 <= len(grades) <= len(pieces)
    kinds = {mark.kind for mark in current if mark.text not in _NERVOUS}  # 'Neuro: left arm 1/5'
    return bool(arms) and limbs and counted and kinds <= _PLAIN


def _is_girth(current: Sequence[Mark], pieces: Sequence[Mark]) -> bool:
    """'Upper arm 31 cm/30 cm': the measure round a limb, right and left."""
    round_it = all(mark.text in _ROUND for mark in pieces)
    sizes = [mark for mark in current if mark.amount is not None and mark.amount.unit == "cm"]
    return (
        round_it
        and bool(sizes)
        and {mark.kind for mark in current if mark.text not in words().sets["measures"]} <= _PLAIN
    )
