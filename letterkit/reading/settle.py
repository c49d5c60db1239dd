"""Meanings that a whole sentence settles: nerves that were tested, a trace of a reflex, numbers of right and left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry, StateWord
from letterkit.reading.values import Amount

_TRACE = StateWord(scales={"reflex": "reduced"})
_ORDERS = {
    "right / left": ("right", "left"), "r / l": ("right", "left"), "left / right": ("left", "right"),
    "l / r": ("left", "right"),
}  # fmt: skip
_BARE = frozenset({"flexion", "extension", "radial deviation", "ulnar deviation", "dorsiflexion", "palmar flexion"})
_JOINTS = frozenset({"wrist", "elbow"})
_NERVES = {
    "median": "median", "ulnar": "ulnar", "radial": "radial", "anterior interosseous": "anterior interosseous",
    "posterior interosseous": "posterior interosseous",
}  # fmt: skip


def _is_reflex(mark: Mark) -> bool:
    slugs = mark.term.items if mark.term is not None else ()
    return "reflex" in mark.hints or any(slug.endswith(("_reflex", "_reflexes")) for slug in slugs)


def _speaks_of_sensation(marks: Sequence[Mark]) -> bool:
    return any(
        mark.term is not None and bool({"light_touch", "pinprick_sensation"} & set(mark.term.items)) for mark in marks
    )


def traces(marks: Sequence[Mark], topic: Sequence[Mark]) -> list[Mark]:
    """'trace in the triceps': a grade, where reflexes are spoken of."""
    if not any(mark.text == "trace" or mark.word == "trace" for mark in marks):
        return list(marks)
    if not any(_is_reflex(mark) for mark in (*marks, *topic)):
        return list(marks)
    made: list[Mark] = []
    for mark in marks:
        if mark.word == "trace":
            made.append(Mark("state", mark.start, mark.end, state=_TRACE, text="trace"))
        elif not (made and made[-1].text == "trace" and mark.text == "positive"):
            made.append(mark)
    return made


def nerves(marks: Sequence[Mark], topic: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Median, ulnar and radial nerves intact': what the nerves do, where nothing else of theirs is named."""
    named = [mark for mark in marks if mark.piece is not None and mark.piece.kind == "nerve" and mark.kind == "piece"]
    called = any(mark.text.endswith(("nerve", "nerves")) for mark in named)
    if not called or any(mark.kind == "term" for mark in marks) or _speaks_of_sensation(topic):
        return list(marks)
    if not any(mark.kind == "state" for mark in marks):
        return list(marks)
    made: list[Mark] = []
    for mark in marks:
        base = mark.text.removesuffix(" nerves").removesuffix(" nerve")
        if mark in named and base in _NERVES:
            entry = phrases[f"{_NERVES[base]} nerve function"]
            made.append(Mark("term", mark.start, mark.end, term=entry.term, text=f"{base} nerve function"))
        else:
            made.append(mark)
    return made


def pairs(marks: Sequence[Mark]) -> list[Mark]:
    """'Grip R/L 70/65 lb': two numbers in the order that was said."""
    order = next((_ORDERS[mark.word] for mark in marks if mark.kind == "side" and mark.word in _ORDERS), None)
    if order is None:
        return list(marks)
    made: list[Mark] = []
    for mark in marks:
        amount = mark.amount
        if mark.kind == "side" and mark.word in _ORDERS:
            continue
        if amount is not None and amount.kind == "arc" and len(amount.numbers) == 2:  # noqa: PLR2004 - right and left
            made += _split(mark, amount, order)
        else:
            made.append(mark)
    has_pair = any(mark.kind == "value" and mark.amount and mark.amount.kind == "arc" for mark in marks)
    return made if has_pair else list(marks)


def _split(mark: Mark, amount: Amount, order: tuple[str, str]) -> list[Mark]:
    parts: list[Mark] = []
    for side, number in zip(order, amount.numbers, strict=True):
        parts.append(Mark("side", mark.start, mark.start, text=side, word=side))
        single = replace(amount, kind="amount" if amount.unit else "bare", numbers=(number,))
        parts.append(Mark("value", mark.start, mark.end, amount=single))
        parts.append(Mark("joiner", mark.end, mark.end, text="comma"))
    return parts[:-1]


def movements(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Wrist flexion 60 and extension 45': the second movement is of the joint of the first."""
    made: list[Mark] = []
    joint = ""
    for mark in marks:
        one = mark
        first, _, rest = mark.text.partition(" ")
        if mark.kind == "piece":
            joint = ""
        if mark.kind == "term" and rest in _BARE and first in _JOINTS:
            joint = first
        elif mark.kind == "term" and mark.text in _BARE and joint:
            entry = phrases.get(f"{joint} {mark.text}")
            if entry is not None and entry.term is not None:
                one = Mark("term", mark.start, mark.end, term=entry.term, text=f"{joint} {mark.text}", state=mark.state)
        made.append(one)
    return made
