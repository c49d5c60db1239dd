"""'A mallet-type deformity', 'a cyst-like swelling', 'a painful-looking fissure': what something is only likened to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import DASHES, Mark
from letterkit.reading.phrases import Entry
from letterkit.reading.texts import Texts
from letterkit.reading.words import words


def likened(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks with a deformity named by its likeness as that one, and without what something else only looks like."""
    kinds, looks = words().sets["likening"], words().sets["looking"]
    if texts.isdisjoint(kinds) and texts.isdisjoint(looks):
        return marks
    made: list[Mark] = []
    at = 0
    while at < len(marks):
        mark = marks[at]
        at += 1
        made.append(mark)
        if mark.kind != "term":
            continue
        end = _past(marks, at, DASHES)
        said = marks[end].text if end < len(marks) else ""
        if said in looks and mark.text in words().sets["hurting"]:
            made[-1] = Mark("word", mark.start, mark.end, text=mark.text)
        elif said in kinds:
            end = _past(marks, end + 1, {"of"})
            noun = marks[end] if end < len(marks) else None
            if noun is None or noun.kind != "term":
                continue
            if noun.text in words().sets["shapes"]:
                made[-1] = _named(mark, noun, phrases)
                at = end + 1
            elif said in words().sets["only_like"]:  # but a 'degloving type of wound' is one
                made[-1] = Mark("word", mark.start, mark.end, text=mark.text)
    return made


def _past(marks: Sequence[Mark], at: int, passed: frozenset[str] | set[str]) -> int:
    """The index behind such a word, or the same where there is none."""
    return at + 1 if at < len(marks) and marks[at].text in passed else at


def _named(mark: Mark, noun: Mark, phrases: Mapping[str, Entry]) -> Mark:
    """'Popeye-type deformity' as 'Popeye deformity', where that has a name, and else as what it is likened to."""
    entry = phrases.get(f"{mark.text} {noun.text}")
    if entry is None or entry.term is None:
        return replace(mark, end=noun.end)
    text = f"{mark.text} {noun.text}"
    return Mark("term", mark.start, noun.end, entry.term, state=entry.state, text=text, word=text, cues=entry.cues)
