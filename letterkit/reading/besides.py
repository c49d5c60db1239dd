"""What is told of one side beside another finding, or not at all: 'with some cogwheeling and is normal on the left'."""

from __future__ import annotations

from collections.abc import Sequence

from letterkit.catalogue import Catalogue
from letterkit.catalogue.model import ValueKind
from letterkit.reading.marks import Mark, value_of
from letterkit.reading.parting import PARTS, as_break, part_ends, said_at
from letterkit.reading.places import OPPOSITE
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_PLACED = frozenset({"filler", "side", "piece"})
_TOLD = frozenset({"state", "value"})
_AFTER = frozenset({"filler", "side", "state", "value", "certain", "severity"})


def told_besides(marks: list[Mark], texts: Texts, catalogue: Catalogue) -> list[Mark]:
    """'Tone is raised on the right with some cogwheeling and normal on the left': the tone is normal.

    What stands behind 'with' goes along with the first result and has no part in that of the other side.
    """
    if "with" not in texts:
        return marks
    led = next((at for at, mark in enumerate(marks) if mark.kind == "joiner" and mark.text == "with"), 0)
    at = next((at for at in range(led + 1, len(marks)) if marks[at].kind in PARTS), len(marks))
    named = [mark for mark in marks[:led] if mark.kind == "term"]
    if len(named) != 1 or value_of(named[0], catalogue) is ValueKind.PRESENCE or not _told(marks[:led]):
        return marks
    behind = marks[at + 1 : part_ends(marks, at + 1)]
    if not any(mark.kind == "term" for mark in marks[led:at]) or not {mark.kind for mark in behind} <= _AFTER:
        return marks
    first, second = _only_side(marks[:at]), _only_side(behind)
    if not second or first != OPPOSITE[second] or not _told(behind):
        return marks
    return [*marks[:at], as_break(marks[at]), *said_at(named, behind[0].start), *marks[at + 1 :]]


def no_weakness(marks: list[Mark], at: int) -> list[Mark] | None:
    """'Weakness of thumb abduction on the right, none on the left': no weakness of it there."""
    behind = marks[at + 1 : part_ends(marks, at + 1)]
    none = next((mark for mark in behind if mark.text == "none"), None)
    if none is None or not _only_side(behind) or any(mark.kind not in _PLACED for mark in behind if mark is not none):
        return None
    weak = next((index for index, mark in enumerate(marks[:at]) if mark.text in words().sets["weakness_of"]), at)
    named = [mark for mark in marks[:at] if mark.kind == "term"]
    if len(named) != 1 or weak == at or marks[weak].kind != "state" or marks[weak].start > named[0].start:
        return None
    if any(mark.kind in {"negator", "neither"} for mark in marks[:at]):
        return None
    again = [Mark("negator", none.start, none.end, text="no"), *said_at([marks[weak], *named], none.start)]
    rest = [each for mark in behind for each in (again if mark is none else [mark])]
    return [*marks[:at], as_break(marks[at]), *rest, *marks[at + 1 + len(behind) :]]


def _told(marks: Sequence[Mark]) -> bool:
    return any(mark.kind in _TOLD for mark in marks)


def _only_side(marks: Sequence[Mark]) -> str:
    """The one side that the marks name; empty where they name none or more."""
    sides = {mark.text for mark in marks if mark.kind == "side"}
    only = sides.pop() if len(sides) == 1 else ""
    return only if only in OPPOSITE else ""
