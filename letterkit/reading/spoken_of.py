"""Which side and place a sentence speaks of, where it names others: 'compared to the right', 'extends to the elbow'."""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.reading.marks import Mark
from letterkit.reading.words import words


def sides_of(marks: Sequence[Mark]) -> set[str]:
    """The sides that a sentence names of its own, left and right alone."""
    if any(mark.kind == "compared" or mark.text in {"other", "same"} for mark in marks):
        return set()
    sides = {mark.text for mark in marks if mark.kind == "side"}
    return (sides | {mark.piece.side for mark in marks if mark.piece is not None and mark.piece.side}) - {"both"}


def is_screened(marks: Sequence[Mark]) -> bool:
    """'The long finger does not trigger. There is no Dupuytren's cord.': looked for in the whole hand."""
    items = {mark.term.items[:1] for mark in marks if mark.kind == "term" and mark.term is not None}
    screened = words().sets["screened"]
    if not items or any(not each or each[0] not in screened for each in items):
        return False
    return any(mark.kind == "negator" for mark in marks) and not any(mark.kind == "piece" for mark in marks)


def reaches(marks: Sequence[Mark]) -> bool:
    """'Bruising over the wrist extends to the elbow': how far it goes, and not where what comes next is."""
    at = next((at for at, mark in enumerate(marks) if mark.text in words().sets["reaches"]), 0)
    return any(mark.kind == "term" for mark in marks[:at])


def compared_side(marks: Sequence[Mark]) -> str | None:
    """'Grip is 22 kg on the left, compared to 38 kg on the right': the left is spoken of."""
    at = next((at for at, mark in enumerate(marks) if mark.kind == "compared"), len(marks))
    before, after = sides_of(marks[:at]), sides_of(marks[at + 1 :])
    return next(iter(before)) if len(before) == 1 and len(after) == 1 and before != after else None
