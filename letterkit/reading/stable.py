"""Joints that are called stable: in which positions, and beside what else is found of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry
from letterkit.reading.predication import BE
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_STABLE = frozenset({"elbow", "wrist"})


def stable_in(marks: Sequence[Mark], texts: frozenset[str]) -> Sequence[Mark]:
    """'The DRUJ is stable in neutral, pronation and supination': how it is held, and no movement that is told."""
    if "in" not in texts or texts.isdisjoint(words().sets["stabilities"]):
        return marks
    at = next((at for at, mark in enumerate(marks) if mark.text in words().sets["stabilities"]), len(marks))
    if [mark.text for mark in marks[at + 1 : at + 2]] not in (["in"], ["throughout"]):
        return marks
    end = 0
    for index in range(at + 2, len(marks)):
        mark = marks[index]
        subject = [each.text for each in marks[index + 1 : index + 2] if each.text in BE]  # 'and supination is full'
        if mark.kind == "term" and mark.text.rpartition(" ")[2] in words().sets["bare_movements"] and not subject:
            end = index + 1
        elif mark.kind not in {"joiner", "word", "filler"} or mark.text == "with":
            break
    return [*marks[: at + 1], *marks[end:]] if end else marks


def stable_too(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'The left elbow was stable and not tender': of the joint itself, beside what else is found of it."""
    if "stable" not in texts or "and" not in texts or not texts.placed:
        return marks
    made = list(marks)
    for index in range(2, len(marks) - 2):
        part, verb, mark, joiner = marks[index - 2 : index + 2]
        joint = part.kind == "piece" and part.piece is not None and set(part.piece.slugs) <= _STABLE
        told = verb.text in BE and mark.kind == "state" and mark.text == "stable" and joiner.text == "and"
        more = next((each for each in marks[index + 2 :] if each.kind not in {"filler", "negator", "severity"}), joiner)
        if joint and told and more.kind == "term":
            name = "stable to stress testing"
            made[index] = Mark("term", mark.start, mark.end, term=phrases[name].term, text=name)
    return made
