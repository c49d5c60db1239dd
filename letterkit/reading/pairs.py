"""Two movements in one with a figure for each: 'flex/ext 60/50', on one side or on both."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry

_PAIRED = {
    ("wrist_flexion", "wrist_extension"), ("wrist_extension", "wrist_flexion"), ("pronation", "supination"),
    ("supination", "pronation"), ("radial_deviation", "ulnar_deviation"), ("ulnar_deviation", "radial_deviation"),
}  # fmt: skip
_SHORT = {
    "f": "flexion", "e": "extension", "p": "pronation", "s": "supination", "rd": "radial deviation",
    "ud": "ulnar deviation", "flex": "flexion", "ext": "extension", "pro": "pronation", "pron": "pronation",
    "sup": "supination", "df": "dorsiflexion", "pf": "palmar flexion",
}  # fmt: skip
_SHORT_PAIRS = {
    ("f", "e"), ("e", "f"), ("p", "s"), ("s", "p"), ("rd", "ud"), ("ud", "rd"), ("pro", "sup"), ("df", "pf"),
}  # fmt: skip
_HEADS = {
    "flexion / extension": ("flexion", "extension"), "extension / flexion": ("extension", "flexion"),
    "pronation / supination": ("pronation", "supination"), "supination / pronation": ("supination", "pronation"),
}  # fmt: skip
_PLACED = frozenset({"side", "piece"})


def movement_pairs(marks: Sequence[Mark], phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Flex/ext 60/50', 'P/S 80/70': each movement with its own figure, on each side that is told."""
    made: list[Mark] = []
    pair: list[Mark] = []
    at = 0
    while at < len(marks):
        named, used = _named_pair(marks, at, phrases)
        figures = marks[at + used] if named and at + used < len(marks) else None
        if figures is not None and figures.text in {":", "="} and at + used + 1 < len(marks):
            used += 1
            figures = marks[at + used]
        if named and figures is not None and not _is_pair(figures):
            between = _place_behind(marks, at + used)  # 'flexion/extension right 60/70'
            behind = at + used + len(between)
            if between and behind < len(marks) and _is_pair(marks[behind]):
                made += [
                    replace(each, start=marks[at].start, end=marks[at].start)
                    for each in between
                    if each.kind in _PLACED
                ]
                used, figures = used + len(between), marks[behind]
        again = pair if not named and _is_pair(marks[at]) else []
        if again:
            figures, used = marks[at], 0
        if figures is None or not _is_pair(figures):
            pair = [] if marks[at].kind in {"term", "break"} else pair
            made.append(marks[at])
            at += 1
            continue
        at += used + 1
        place = [] if _has_place(made) else _place_behind(marks, at)
        at += len(place)
        made += _placed(place, figures.start)
        pair = named or again
        made += _with_figures(pair, figures, again=bool(again))
    return made


def _placed(marks: Sequence[Mark], at: int) -> list[Mark]:
    return [replace(mark, start=at, end=at) for mark in marks if mark.kind in _PLACED]


def _is_pair(mark: Mark) -> bool:
    return mark.amount is not None and mark.amount.kind == "arc" and mark.amount.unit in {"", "deg"}


def _has_place(made: Sequence[Mark]) -> bool:
    """Whether a side or part stands before, since the last joiner or figure."""
    for mark in reversed(made):
        if mark.kind in {"side", "piece"}:
            return True
        if mark.kind in {"joiner", "break", "value"}:
            return False
    return False


def _place_behind(marks: Sequence[Mark], at: int) -> list[Mark]:
    """'60/70 on the right and ...': the place behind the figures, which is that of both movements."""
    end = at
    while end < len(marks) and marks[end].kind in {"filler", "side", "piece"}:
        end += 1
    found = list(marks[at:end])
    return found if any(mark.kind == "side" for mark in found) else []


def _with_figures(pair: Sequence[Mark], figures: Mark, *, again: bool) -> list[Mark]:
    assert figures.amount is not None
    made: list[Mark] = []
    for number, one in zip(figures.amount.numbers, pair, strict=True):
        single = replace(figures.amount, kind="amount", unit="deg", numbers=(number,))
        made.append(replace(one, start=figures.start, end=figures.start) if again else one)
        made.append(Mark("value", figures.start, figures.end, amount=single))
        made.append(Mark("joiner", figures.end, figures.end, text="comma"))
    return made[:-1]


def _named_pair(marks: Sequence[Mark], at: int, phrases: Mapping[str, Entry]) -> tuple[list[Mark], int]:
    """The two movements named from `at` on with a slash between them, and how many marks name them."""
    first = marks[at]
    if first.kind == "term" and first.text in _HEADS:
        entries = [phrases.get(name) for name in _HEADS[first.text]]
        terms = [entry.term for entry in entries if entry is not None and entry.term is not None]
        return [Mark("term", first.start, first.end, term=term, text=term.head) for term in terms], 1
    if at + 2 >= len(marks) or marks[at + 1].text != "slash":
        return [], 0
    pair = [first, marks[at + 2]]
    items = tuple(mark.term.items[0] if mark.term is not None and mark.term.items else "" for mark in pair)
    if items in _PAIRED:
        return pair, 3
    if (first.text, marks[at + 2].text) not in _SHORT_PAIRS:
        return [], 0
    found: list[Mark] = []
    for mark in pair:
        entry = phrases.get(_SHORT[mark.text])
        if entry is not None and entry.term is not None:
            found.append(Mark("term", mark.start, mark.end, term=entry.term, text=_SHORT[mark.text]))
    return (found, 3) if len(found) == len(pair) else ([], 0)
