"""'Ulnar nerve intact, no wasting': a nerve called intact in a part of its own, beside something else found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark, items_of
from letterkit.reading.parting import PARTS, part_begins, part_ends
from letterkit.reading.phrases import Entry
from letterkit.reading.words import words

_BESIDE = frozenset({"filler", "side", "certain", "state"})
_WHOLE = ("full", "complete")
_NERVE = " nerve"
_FELT = "digital sensation"


def nerves_in_parts(marks: Sequence[Mark], names: Mapping[str, str], phrases: Mapping[str, Entry]) -> list[Mark]:
    """The marks with such a nerve as what it does; `names` are the nerves that have an item of their own.

    None where the sentence tells of sensation, which the nerve may be of, or of what was seen of it in a wound.
    """
    sets = words().sets
    felt, seen = sets["felt_by_nerves"], sets["seen_in_wounds"]
    if any(mark.text in seen or not felt.isdisjoint(items_of(mark)) for mark in marks):
        return list(marks)
    made = list(marks)
    for at, mark in enumerate(marks):
        base = mark.text.removesuffix(_NERVE)
        if mark.kind != "piece" or base == mark.text or base not in names:
            continue
        start, end = part_begins(marks, at), part_ends(marks, at)
        beside = [each for each in marks[start:end] if each is not mark]
        states = [each for each in marks[at + 1 : end] if each.kind == "state"]
        apart = start > 0 or end < len(marks)
        if apart and len(states) == 1 and _is_well(states[0]) and all(each.kind in _BESIDE for each in beside):
            name = f"{names[base]} nerve function"
            made[at] = Mark("term", mark.start, mark.end, term=phrases[name].term, text=name)
    return made


def short_nerves(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Ulnar n intact', 'median n ok': the nerve, where a result stands right behind its 'n'."""
    made: list[Mark] = []
    for at, mark in enumerate(marks):
        after = marks[at + 1] if at + 1 < len(marks) else None
        lead = made[-1] if made else None
        entry = phrases.get(f"{lead.text}{_NERVE}") if mark.text == "n" and lead is not None else None
        if lead is None or entry is None or entry.piece is None or after is None or after.kind != "state":
            made.append(mark)
        else:
            made[-1] = replace(lead, kind="piece", end=mark.end, piece=entry.piece, text=f"{lead.text}{_NERVE}")
    return made


def digital_nerves(marks: Sequence[Mark], topic: Sequence[Mark], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'RDN reduced, UDN intact', 'radial digital nerve numb': what is felt on that side of the digit."""
    sets = words().sets
    told = sets["felt_by_nerves"].union(sets["seen_in_wounds"])
    if any(mark.text in told or not told.isdisjoint(items_of(mark)) for mark in (*topic, *marks)):
        return marks
    made: list[Mark] = []
    for at, mark in enumerate(marks):
        after = marks[at + 1] if at + 1 < len(marks) else None
        begins = at == 0 or marks[at - 1].kind in {"side", *PARTS} or marks[at - 1].text in {":", "-"}
        named = mark.kind == "piece" and mark.text in sets["digital_nerves"]
        if named and begins and after is not None and after.kind == "state" and _is_felt(after):
            made.append(Mark("term", mark.start, mark.start, term=phrases[_FELT].term, text=_FELT))
        made.append(mark)
    return made


def _is_felt(mark: Mark) -> bool:
    """'Intact', 'reduced', 'absent': what sensation can be."""
    return mark.state is not None and not {"normal", "reduced", "absent"}.isdisjoint(mark.state.classes)


def _is_well(mark: Mark) -> bool:
    """'Intact', 'fine', 'ok', and no 'fully divided'."""
    return mark.state is not None and "normal" in mark.state.classes and not mark.text.startswith(_WHOLE)
