"""'She can touch the tip of the left thumb to the little finger': opposition of the thumb, and nothing that is felt."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry
from letterkit.reading.words import words

_ABLE = frozenset({"able", "unable"})
_TO = frozenset({"to", "with", "and"})
_BEFORE = 3  # marks between 'able to' and the verb
_THUMB = frozenset({"thumb", "pulp_thumb"})


def thumb_touch(marks: Sequence[Mark], texts: frozenset[str], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks with such a movement as a term of its own, and the part that is touched as no place."""
    verbs = words().sets["touches_with"]
    if texts.isdisjoint(verbs):
        return marks
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text not in verbs or not _is_asked(marks[max(0, index - _BEFORE) : index]):
            continue
        to = _behind_thumb(marks, index + 1)
        end = _behind_finger(marks, to + 1) if to else 0
        if not end:
            if mark.kind == "term" and marks[index - 1].state is not None:  # 'unable to touch the nose with the finger'
                made[index] = Mark("word", mark.start, mark.end, text=mark.text)
            continue
        kept = [each for each in marks[index + 1 : to] if each.kind == "side"]
        name = "thumb opposition"
        term = Mark("term", mark.start, marks[end - 1].end, term=phrases[name].term, text=name)
        passed = Mark("filler", term.end, term.end, text="to")
        made[index:end] = [term, *kept, *[passed] * (end - index - 1 - len(kept))]
    return made


def _is_asked(before: Sequence[Mark]) -> bool:
    """Whether it is told that somebody can or cannot do it."""
    return any(mark.state is not None and not _ABLE.isdisjoint(mark.state.classes) for mark in before)


def _behind_thumb(marks: Sequence[Mark], at: int) -> int:
    """Where 'to' stands behind 'the tip of the left thumb'; zero where no thumb is named."""
    thumb = False
    while at < len(marks):
        mark = marks[at]
        if thumb and mark.text in _TO:
            return at
        if mark.piece is not None and not _THUMB.isdisjoint(mark.piece.slugs):
            thumb = True
        elif mark.kind not in {"filler", "side"}:
            return 0
        at += 1
    return 0


def _behind_finger(marks: Sequence[Mark], at: int) -> int:
    """Behind the little finger, or behind all of them, whose tip or base it is; zero for another finger."""
    end = 0
    while at < len(marks) and (marks[at].kind in {"filler", "piece"} or marks[at].text in {"each", "every", "all"}):
        piece = marks[at].piece
        end = at + 1 if piece is not None and (piece.plural or _is_last(marks, at)) else end
        at += 1
    return end


def _is_last(marks: Sequence[Mark], at: int) -> bool:
    """'the little finger', 'the tip of the fifth finger', 'each finger'."""
    piece = marks[at].piece
    assert piece is not None
    every = any(mark.text in {"each", "every", "all"} for mark in marks[max(0, at - 2) : at])
    return (
        every or any(slug.endswith("little") for slug in piece.slugs) or marks[at].text in {"fingertip", "fingertips"}
    )
