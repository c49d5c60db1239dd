"""A movement that is told once for two parts: 'extension of the fingers (2/5) and of the thumb (1/5)'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry
from letterkit.reading.texts import Texts

_MOVEMENTS = ("flexion", "extension", "abduction", "adduction")
_BEGINS = tuple(f"\n{movement} of the " for movement in _MOVEMENTS)
_PART = 2  # marks behind the joiner: 'of the', and then the part


def movement_again(marks: Sequence[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'Flexion of the wrist 3/5 and of the fingers 4/5': the marks with the flexion named again for the second part."""
    if "of" not in texts or "piece" not in texts.kinds or not any([text in texts.lines for text in _BEGINS]):  # noqa: C419
        return marks
    made: list[Mark] = []
    movement = ""
    at = 0
    while at < len(marks):
        mark = marks[at]
        if mark.kind == "term":
            movement = _movement_of(mark)
        elif mark.kind == "break":
            movement = ""
        ahead = marks[at + 1 : at + 2 + _PART]
        made.append(mark)
        at += 1
        if not movement or mark.kind != "joiner" or [each.text for each in ahead[:_PART]] != ["of", "the"]:
            continue
        if len(ahead) <= _PART or ahead[_PART].kind != "piece":
            continue
        part = ahead[_PART]
        whole, alone = phrases.get(f"{movement} of the {part.text}"), phrases.get(movement)
        if whole is not None and whole.term is not None:
            made.append(Mark("term", part.start, part.end, term=whole.term, text=f"{movement} of the {part.text}"))
            at += _PART + 1
        elif alone is not None and alone.term is not None:
            made.append(Mark("term", ahead[0].start, ahead[0].start, term=alone.term, text=movement))
    return made


def _movement_of(mark: Mark) -> str:
    movement, _, part = mark.text.partition(" of the ")
    return movement if part and movement in _MOVEMENTS else ""
