"""'A dorsal prominence of the distal ulna', 'the left olecranon is prominent': a bone that stands out is a finding."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry
from letterkit.reading.predication import BE
from letterkit.reading.texts import Texts
from letterkit.reading.words import words

_AHEAD = 7  # marks between the word and its bone
_SMALL = frozenset({"filler", "side", "certain", "severity"})
_DENIALS = frozenset({"negator", "maybe"})
_TOLD = frozenset({"term", "state", "value", "word"})  # before which the word told how much of that there is
_ENDS = frozenset({"joiner", "break", "filler", "side"}) | _DENIALS  # what may stand behind a bone that is all
# by the site of the bone, the phrase that names its prominence; every other bone is swollen
_NAMED = {"cmc_thumb": "step at the thumb base", "metacarpal_head": "prominent metacarpal heads"}
_SWOLLEN, _ULNA = "bony prominence", "prominent ulnar head"


def prominences(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """The marks with a bone's prominence, and a bone that is prominent, as the finding that this is."""
    nouns = words().sets["prominences"]
    if texts.isdisjoint(nouns) and "severe" not in texts:
        return marks
    made = list(marks)
    for index, mark in enumerate(marks):
        if mark.text in nouns:
            bone = _ahead(marks, index, led=True) or _bone(marks, index - 1)
        elif mark.kind == "severity" and mark.word == "prominent":
            bone = _ahead(marks, index, led=False) or _behind(marks, index)
        else:
            continue
        if bone:
            made[index] = Mark("term", mark.start, mark.end, term=phrases[bone].term, text=bone, word=mark.word)
    return made


def _bone(marks: Sequence[Mark], at: int) -> str:
    """The phrase for the prominence of the bone that stands here; none where there is no bone."""
    piece = marks[at].piece if 0 <= at < len(marks) else None
    if piece is None or len(piece.slugs) != 1 or piece.slugs[0] not in words().sets["bones"]:
        return ""
    if marks[at].text.endswith("bursa"):
        return ""  # 'a prominent olecranon bursa'
    if marks[at].text in words().sets["ulnar_heads"]:
        return _ULNA
    return _NAMED.get(piece.slugs[0], _SWOLLEN)


def _ahead(marks: Sequence[Mark], index: int, *, led: bool) -> str:
    """'A prominent right olecranon', and where a small word may lead, 'prominence of the right olecranon'.

    'Prominent olecranon tenderness' is that of the tenderness.
    """
    for at in range(index + 1, min(len(marks), index + _AHEAD)):
        if bone := _bone(marks, at):
            after = marks[at + 1] if at + 1 < len(marks) else None
            return bone if led or after is None or after.kind in _ENDS else ""
        if marks[at].kind not in _SMALL or (not led and marks[at].kind == "filler"):
            break
    return ""


def _behind(marks: Sequence[Mark], index: int) -> str:
    """'The left olecranon is prominent', 'both olecranons prominent'; but 'swelling of the olecranon is prominent'."""
    after = marks[index + 1] if index + 1 < len(marks) else None
    if after is not None and after.kind in _TOLD | {"piece"}:
        return ""
    at = index - 1 - (index > 0 and marks[index - 1].text in words().sets["oddly"])  # 'is abnormally prominent'
    at -= at >= 0 and marks[at].kind in _DENIALS
    while at >= 0 and marks[at].kind in _SMALL and (marks[at].text not in BE or at >= index - 3):
        at -= 1
    bone = _bone(marks, at)
    while at >= 0 and marks[at].kind in _SMALL | {"piece"}:
        at -= 1
    return bone if at < 0 or marks[at].kind in {"joiner", "break"} else ""
