"""'Able to give a thumbs up, make an OK sign and cross her fingers': three signs of the hand, one for each nerve."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry
from letterkit.reading.words import words

_SMALL = frozenset({"a", "an", "the", "his", "her", "their"})
# each sign as it is told by somebody who can and by somebody who cannot
_TOLD = {
    "thumb": ("able to give a thumbs up", None),
    "circle": ("able to make an ok sign", "unable to make an ok sign"),
    "crossing": ("able to cross the fingers", "unable to cross the fingers"),
}


def hand_signs(marks: Sequence[Mark], texts: frozenset[str], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks with each sign of a list as what somebody can, or cannot, do by the verb that leads the list."""
    sets = words().sets
    if texts.isdisjoint(sets["hand_signs"]) and texts.isdisjoint(sets["beside_hand_signs"]):
        return marks
    made: list[Mark] = []
    able: bool | None = None
    at = 0
    while at < len(marks):
        able = _ability(marks[at], able)
        name, end = _sign(marks, at) if able is not None and made and made[-1].kind == "joiner" else ("", at)
        told = _TOLD[name][0 if able else 1] if name in _TOLD else None
        if name == "movement":
            verb, start = "able to" if able else "unable to", marks[at].start
            made += [Mark("state", start, start, state=phrases[verb].state, text=verb), marks[at]]
            at = end
        elif told is not None:
            made.append(Mark("term", marks[at].start, marks[end - 1].end, term=phrases[told].term, text=told))
            at = end
        else:
            made.append(marks[at])
            at += 1
    return made


def _ability(mark: Mark, before: bool | None) -> bool | None:  # noqa: FBT001 - a fact of the sentence
    """Whether the verb that holds here says that something can be done; None where there is no such verb."""
    if mark.text.startswith(words().affixes["unable_to"]):
        return False
    if mark.text.startswith(words().affixes["able_to"]) and mark.kind in {"term", "state"}:
        return True
    return None if mark.kind in {"break", "negator", "value"} else before


def _sign(marks: Sequence[Mark], at: int) -> tuple[str, int]:
    """Which sign stands here, with its verb, and where it ends; no name where there is none."""
    if at < len(marks) and marks[at].kind == "term" and marks[at].text in words().sets["beside_hand_signs"]:
        return "movement", at + 1  # '... and spread the fingers'
    while at < len(marks) and (marks[at].text in words().sets["makes_a_sign"] or marks[at].text in _SMALL):
        at += 1
    ahead = [mark.text for mark in marks[at : at + 4]]
    if ahead[:1] in (["thumbs up"], ["thumbs - up"]):
        return "thumb", at + 1
    if ahead[:1] == ["ok sign"]:
        return "circle", at + 1
    if ahead[:1] and ahead[0] in words().sets["ok_sign"] and ahead[1:2] == ["sign"]:
        return "circle", at + 2
    if ahead[:1] == ["cross"]:
        end = at + 1 + (ahead[1:2] != [] and ahead[1] in _SMALL)
        piece = marks[end].piece if end < len(marks) else None
        if piece is not None and piece.kind == "digits":
            return "crossing", end + 1
    return "", at
