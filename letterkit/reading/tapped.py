"""Where Tinel's sign was looked for: 'over the right superficial radial nerve', 'over the scar', 'at the plexus'.

Without a place it is the carpal tunnel; over another nerve it says nothing of that one. Where it shot to is no place.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import Entry
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_FAR = 9  # marks between the sign and where it was looked for
_PASSED = frozenset({"filler", "side", "certain", "severity", "value", "state"})
_OVER = frozenset({"over", "at", "along", "in", "around", "behind", "about", "on"})
_TO = frozenset({"to", "into", "in", "down"})
_UNKNOWN = "where the nerve was tapped is not known"
_WHERE = {"scar": "tinel's over the scar", "palpable_neuroma": "tinel's over the scar"}
_LUMPS = frozenset({"lump", "palpable_lump", "swelling", "ganglion", "nodule", "dorsal_wrist_ganglion"})

_TINEL = ("tinel_carpal_tunnel",)
_NOT_SAID = "where the nerve was tapped is not said"
_NERVES = {
    "ulnar": ("tinel_elbow", _NOT_SAID), "radial": ("tinel_elsewhere", _NOT_SAID),
    "superficial radial": ("tinel_superficial_radial_nerve", ""),
    "posterior interosseous": ("tinel_elsewhere", ""), "anterior interosseous": ("tinel_elsewhere", ""),
}  # fmt: skip
_TOLD_SITES = frozenset({"elbow", "cubital_tunnel", "guyon_canal"})


def is_tinel(mark: Mark) -> bool:
    """Whether the mark names Tinel's sign, wherever it was looked for."""
    items = items_of(mark)
    return bool(items) and items[0].startswith("tinel_")


def tapped(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks of one sentence with each Tinel's sign as that of its place."""
    if not any([slug.startswith("tinel_") for slug in texts.items]):  # noqa: C419 - quicker than a generator
        return marks
    made = _of_a_nerve(_without_spread(marks))
    for index, mark in enumerate(made):
        if items_of(mark)[:1] == _TINEL:
            at, name = _place(made, index)
            if name:
                made[index] = replace(mark, term=phrases[name].term)
            elif at:
                made[index] = replace(mark, look=_UNKNOWN)
            if name and (made[at].kind == "term" or "superficial radial" in made[at].text):
                made[at] = _only_side(made[at])
    return made


def _of_a_nerve(marks: Sequence[Mark]) -> list[Mark]:
    """'Tinel's positive over the ulnar nerve': which nerve was tapped says which test it was, unless a place does."""
    at = next((index for index, mark in enumerate(marks) if items_of(mark)[:1] == _TINEL), None)
    if at is None:
        return list(marks)
    named = [
        mark.text.removesuffix(" nerve")
        for before, mark in pairwise([mark for mark in marks if mark.kind != "side"])
        if before.text in {"over", "along", "the", "for", "of"} and mark.text.endswith(" nerve")
    ]
    sites = {slug for mark in marks if mark.kind == "piece" and mark.piece is not None for slug in mark.piece.slugs}
    if len(named) != 1 or named[0] not in _NERVES or sites & _TOLD_SITES:
        return list(marks)
    slug, look = _NERVES[named[0]]
    if named[0] == "ulnar" and "wrist" in sites:
        slug, look = "tinel_guyon_canal", ""
    term = marks[at].term
    assert term is not None
    return [*marks[:at], replace(marks[at], term=replace(term, items=(slug,), look=look)), *marks[at + 1 :]]


def _only_side(mark: Mark) -> Mark:
    """What is left of a place that the name of the sign has in it."""
    side = (mark.piece.side if mark.piece is not None else "") or ""
    return Mark("side" if side else "filler", mark.start, mark.end, text=side or "over", word=side)


def _place(marks: Sequence[Mark], index: int) -> tuple[int, str]:
    """Where the place of the sign stands and the name of the sign there; 0 where it is the usual one."""
    sets = words().sets
    for at in range(index + 1, min(len(marks), index + 1 + _FAR)):
        mark = marks[at]
        if mark.kind == "piece" and mark.piece is not None:
            if "stump" in [each.text for each in marks[at + 1 : at + 2]]:
                return at + 1, _WHERE["scar"]
            if "superficial radial" in mark.text:
                return at, "tinel's over the superficial radial nerve"
            if "digital nerve" in mark.text or sets["tapped_elsewhere"] & set(mark.piece.slugs):
                return at, "tinel's over the lump"
        elif mark.kind not in _PASSED:
            led = next((each for each in reversed(marks[:at]) if each.kind != "side" and each.text != "the"), None)
            if led is None or led.text not in _OVER:
                break
            item = mark.term.items[0] if mark.term is not None and mark.term.items else ""
            item = "scar" if mark.text == "stump" else item
            name = _WHERE.get(item) or ("tinel's over the lump" if item in _LUMPS else "")
            return (at, name) if name or mark.kind in {"word", "ambiguous", "term"} else (0, "")
    return 0, ""


def _without_spread(marks: Sequence[Mark]) -> list[Mark]:
    """'... positive with radiation to the little finger': where it was felt, and not where it was looked for."""
    made: list[Mark] = []
    told = spreads = False
    for index, mark in enumerate(marks):
        told = told or is_tinel(mark)
        after = marks[index + 1] if index + 1 < len(marks) else None
        if told and mark.text in words().sets["spreads"] and after is not None and after.text in _TO:
            spreads = True
        elif spreads and mark.kind == "piece" and mark.piece is not None:
            if mark.piece.side:
                made.append(Mark("side", mark.start, mark.end, text=mark.piece.side, word=mark.piece.side))
            continue
        elif spreads and mark.kind == "joiner" and mark.text == "and" and after is not None and after.kind != "term":
            continue
        spreads = spreads and mark.kind in {"filler", "word", "side", "certain"}
        made.append(mark)
    return made
