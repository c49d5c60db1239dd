"""Nerve roots that stand alone as dermatomes where sensation is told of: 'pinprick reduced C6, C7 on the right'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from letterkit.catalogue import Catalogue
from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import Entry
from letterkit.reading.placenames import Piece
from letterkit.reading.words import words

_LETTERS = frozenset({"c", "t"})
_SHORT = {"lt": "light touch", "pp": "pinprick", "pin": "pinprick", "temp": "temperature sensation"}
_SPINE = frozenset({
    "disc", "disk", "radiculopathy", "vertebra", "vertebral", "fusion", "spine", "cervical", "foramen", "level", "root",
    "roots", "myotome", "myotomes", "myotomal", "prolapse", "stenosis", "injury", "tetraplegia", "discectomy", "acdf",
})  # fmt: skip  # of the neck, or of muscles
_TO = frozenset({"-", "–", "to", "through"})
_LARGEST = 8


def above_level(marks: Sequence[Mark]) -> list[Mark]:
    """'Pinprick is preserved through C6 and absent below': the second is of no place that is told."""
    made: list[Mark] = []
    at = 0
    while at < len(marks):
        below = any(mark.text in words().sets["below_level"] for mark in marks[at + 1 : at + 2])
        level = any("dermatome" in mark.text or mark.text in _LETTERS for mark in made)
        if marks[at].kind == "state" and below and level and _parted(marks, at + 2):
            at = next((end for end in range(at, len(marks)) if marks[end].kind in {"joiner", "break"}), len(marks))
            continue
        made.append(marks[at])
        at += 1
    return made


def _parted(marks: Sequence[Mark], at: int) -> bool:
    return at == len(marks) or marks[at].kind in {"joiner", "break", "side"} or marks[at].text in {"on", "that", "this"}


def roots(
    marks: Sequence[Mark], topic: Sequence[Mark], phrases: Mapping[str, Entry], catalogue: Catalogue
) -> list[Mark]:
    """The marks of one sentence with roots as places: 'LT: C7 decreased; C8 normal'.

    A root without a dermatome here is a place elsewhere, so that its result is nobody else's; a span such as 'C5-T1'
    stays as it is, for it means the whole arm.
    """
    found = {index: size for index in range(len(marks)) if (size := _size(marks, index))}
    if found and any("power" in mark.hints for mark in (*marks, *topic)):
        return _graded_roots(marks, found)
    if not found or any(mark.text in _SPINE for mark in (*marks, *topic)):
        return list(marks)
    levels = {index for index in found if _is_a_level(marks, index)}
    if len(levels) == len(found) or any(_is_span(marks, index, size) for index, size in found.items()):
        return list(marks)
    made = [_written_out(mark, phrases) if mark.text in _SHORT and mark.kind != "term" else mark for mark in marks]
    if not any(_is_felt(mark, catalogue) for mark in (*made, *topic)):
        return list(marks)
    kept: list[Mark] = []
    at = 0
    while at < len(made):
        if at not in found:
            kept.append(made[at])
            at += 1
            continue
        here = _places(made[at : at + found[at]], catalogue, bound=at in levels)
        at += found[at]
        beyond = all(each.piece is not None and each.piece.kind == "elsewhere" for each in here)
        if beyond and at + 1 in found and made[at].kind == "joiner" and at - found[at + 1] not in levels:
            at += 1  # 'diminished L C5, C6': the side is that of the other root as well
        else:
            kept += here
    return kept


def _graded_roots(marks: Sequence[Mark], found: Mapping[int, int]) -> list[Mark]:
    """'Motor: C5 5/5, C6 4/5': of a root, which is no one muscle and no whole arm; 'C5-T1 5/5' is of the arm."""
    made: list[Mark] = []
    ends = {at + size for at, size in found.items()}
    past = 0
    for index, mark in enumerate(marks):
        if index < past:
            continue
        size = found.get(index, 0)
        behind = marks[index + size] if size and index + size < len(marks) else None
        spans = index - 1 in ends and marks[index - 1].text in _TO
        told = behind is not None and behind.kind == "value" and not spans
        if told and not (index and marks[index - 1].kind == "term" and "power" not in marks[index - 1].hints):
            end = marks[index + size - 1].end
            made.append(Mark("piece", mark.start, end, piece=Piece("elsewhere", ()), text="root"))
            past = index + size
        else:
            made.append(mark)
    return made


def _size(marks: Sequence[Mark], index: int) -> int:
    """How many marks name the root that begins at `index`: 'c' and '6'; none where none begins."""
    if marks[index].text not in _LETTERS or index + 1 == len(marks) or marks[index].end != marks[index + 1].start:
        return 0
    return 2 if _levels(marks[index + 1]) else 0


def _levels(mark: Mark) -> list[int]:
    """The numbers behind the letter: 6 of 'C6', 6 and 7 of 'C6/7'."""
    amount = mark.amount
    if amount is None:
        return [int(mark.text)] if mark.text.isdecimal() and 1 <= int(mark.text) <= _LARGEST else []
    told = [amount.grade, amount.other] if amount.kind in {"pair", "span"} else [f"{each:g}" for each in amount.numbers]
    return [int(each) for each in told if each.isdecimal() and 1 <= int(each) <= _LARGEST]


def _is_span(marks: Sequence[Mark], index: int, size: int) -> bool:
    """'C5-T1', 'C5 to T1': from one root to another that is no neighbour by name."""
    joins = marks[index + size] if index + size < len(marks) else None
    return joins is not None and joins.text in _TO and bool(
        index + size + 1 < len(marks) and _size(marks, index + size + 1)
    )  # fmt: skip


def _is_a_level(marks: Sequence[Mark], index: int) -> bool:
    """'Intact to C6, absent below': how far down, and no dermatome alone."""
    return index > 0 and marks[index - 1].text in {"to", "below", "above", "from", "until", "down to", "up to"}


def _written_out(mark: Mark, phrases: Mapping[str, Entry]) -> Mark:
    entry = phrases.get(_SHORT[mark.text])
    if entry is None or entry.term is None:
        return mark
    return Mark("term", mark.start, mark.end, term=entry.term, text=_SHORT[mark.text])


def _is_felt(mark: Mark, catalogue: Catalogue) -> bool:
    items = items_of(mark)
    return bool(items) and catalogue.items[items[0]].scale == "sensation"


def _places(named: Sequence[Mark], catalogue: Catalogue, *, bound: bool) -> list[Mark]:
    """The dermatomes of one root or two, joined; a place elsewhere where it is how far up or down: 'to C6'."""
    letter, start, end = named[0].text, named[0].start, named[-1].end
    made: list[Mark] = []
    for level in _levels(named[-1]):
        slug = f"{letter}{level}_dermatome"
        if made:
            made.append(Mark("joiner", end, end, text="and"))
        known = slug in catalogue.plain_sites and not bound
        piece = Piece("site", (slug,)) if known else Piece("elsewhere", ())
        made.append(Mark("piece", start, end, piece=piece, text=f"{letter} {level} dermatome"))
    return made
