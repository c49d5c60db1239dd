"""'The small finger lacks 2 cm to the DPC', '1 cm short of the palm': how far a fingertip stays from the palm."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from functools import cache

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import INCOMPLETE, Entry
from letterkit.reading.placenames import Piece
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_PALM = frozenset({"palmar_crease", "palm"})
_FIST = "composite_fist"
_GAP = "pulp to palm"
_LENGTHS = frozenset({"cm", "mm"})
_BY = frozenset({"by", "about", "some"})
_BEHIND = 5  # marks from the palm back to the length
_SMALL = frozenset({"to", "of", "from", "the", "his", "her", "reaching", "touching", "away"})


def from_the_palm(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks with each gap between finger and palm as the distance that is measured there."""
    if texts.isdisjoint(_stops()) or any(mark.kind == "term" and _is_told(mark) for mark in marks):
        return marks
    made: list[Mark] = []
    fist = _FIST in texts.items
    for index, mark in enumerate(marks):
        made.append(mark)
        if mark.amount is not None and mark.amount.unit in _LENGTHS and (off := _missed(made, fist=fist)) is not None:
            made[off:] = [_distance(made[off], phrases), mark]
            _not_full(made, off)
            continue
        if fist and mark.text in words().sets["stays_off"] and _ends_there(marks[index + 1 :]):
            _short(made, phrases)
            continue
        length = _length(made) if mark.kind == "piece" and _is_palm(mark.piece) else None
        off = _off(made, length) if length is not None else None
        if length is None or off is None:
            continue
        term = _distance(made[off], phrases)
        there = Mark("filler", mark.start, mark.end, text="there")
        made[min(off, length) :] = [term, made[length], there]
        _not_full(made, min(off, length))
    return made


def _not_full(made: list[Mark], at: int) -> None:
    """'Full fist lacks 2 cm to the palm', 'full fist, lacks 2 cm': a fist that is looked for, and none he makes."""
    before = at - 1
    while before >= 0 and (made[before].text == "comma" or made[before].kind == "filler"):
        before -= 1
    fist = made[before].term if before >= 0 else None
    if fist is not None and fist.state and fist.items[:1] == (_FIST,):
        made[before] = Mark("filler", made[before].start, made[before].end, text=made[before].text)


@cache
def _stops() -> frozenset[str]:
    """The words of which one must stand in a sentence that tells of a finger short of the palm."""
    return words().sets["stays_off"] | words().sets["comes_near"]


def _distance(at: Mark, phrases: Mapping[str, Entry]) -> Mark:
    """What says that a finger does not come to the palm, as the distance that is measured."""
    return Mark("term", at.start, at.end, term=phrases[_GAP].term, text=_GAP)


def _ends_there(after: Sequence[Mark]) -> bool:
    """Whether neither a length nor the palm is told behind a word, before the next part of the sentence."""
    own = itertools.takewhile(lambda mark: mark.kind not in {"joiner", "break"}, after)
    return not any(_is_palm(mark.piece) or mark.kind in {"value", "term", "state"} for mark in own)


def _short(made: list[Mark], phrases: Mapping[str, Entry]) -> None:
    """'... is 1 cm short on the right', '... but misses on the right', behind a fist: told of that side."""
    first = next((at for at, mark in enumerate(made) if mark.term is not None and _FIST in mark.term.items), len(made))
    if not any(mark.kind in {"joiner", "break"} for mark in made[first:]):
        return
    last, before = made[-1], made[-2]
    if before.amount is not None and before.amount.unit in _LENGTHS:
        made[-1] = _distance(last, phrases)
    elif last.kind != "filler" and before.kind != "negator":
        fist = Mark("term", last.start, last.start, term=phrases["fist"].term, text="fist")
        made[-1:] = [fist, Mark("state", last.start, last.end, state=INCOMPLETE, text="reduced")]


def _missed(made: Sequence[Mark], *, fist: bool) -> int | None:
    """Where 'misses the palm by 1 cm' begins, whose length is the last mark, and 'lacks 1 cm' behind a fist."""
    at = len(made) - 2
    while at >= 0 and (made[at].text in _BY or made[at].kind == "certain"):
        at -= 1
    if at >= 0 and _is_palm(made[at].piece):
        at -= 1
        while at >= 0 and made[at].text in _SMALL:
            at -= 1
    elif not fist or not any(mark.kind == "term" for mark in made):
        return None
    misses = at >= 0 and made[at].kind != "term" and made[at].text in words().sets["stays_off"]
    return at if misses else None


def _is_palm(piece: Piece | None) -> bool:
    return piece is not None and bool(piece.slugs) and _PALM.issuperset(piece.slugs)


def _is_told(mark: Mark) -> bool:
    return mark.term is not None and "pulp_to_palm_distance" in mark.term.items


def _length(made: Sequence[Mark]) -> int | None:
    """Where the length stands from which only small words lead to the palm, which is the last mark."""
    for index in range(len(made) - 2, max(-1, len(made) - 2 - _BEHIND), -1):
        amount = made[index].amount
        if amount is not None and amount.unit in _LENGTHS:
            return index
        if made[index].text not in _SMALL | words().sets["stays_off"]:
            return None
    return None


def _off(made: Sequence[Mark], length: int) -> int | None:
    """Where the word stands that says a finger does not come to the palm, just before the length or behind it."""
    before = length - 1
    while before > 0 and made[before].kind in {"filler", "certain"}:
        before -= 1  # 'lacks about 2 cm'
    near = [index for index in (before, *range(length + 1, len(made) - 1)) if index >= 0]
    off = next((index for index in near if made[index].text in words().sets["stays_off"]), None)
    comes = before >= 0 and made[before].text in words().sets["comes_near"] and made[length].text != "there"
    return before if off is None and comes else off
