"""Two movements in one with a figure for each: 'flex/ext 60/50', on one side or on both."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from letterkit.reading.marks import Mark
from letterkit.reading.phrases import Entry
from letterkit.reading.shortfall import of_the_joint
from letterkit.reading.texts import Texts

# Movements that are told together, in either order: as items, in short and in full.
_ITEMS = (("wrist_flexion", "wrist_extension"), ("pronation", "supination"), ("radial_deviation", "ulnar_deviation"))
_IN_SHORT = (("f", "e"), ("p", "s"), ("rd", "ud"), ("pro", "sup"), ("df", "pf"), ("pron", "sup"), ("flex", "ext"))
_IN_FULL = (("flexion", "extension"), ("pronation", "supination"))
_SHORT = {
    "f": "flexion", "e": "extension", "p": "pronation", "s": "supination", "rd": "radial deviation",
    "ud": "ulnar deviation", "flex": "flexion", "ext": "extension", "pro": "pronation", "pron": "pronation",
    "sup": "supination", "df": "dorsiflexion", "pf": "palmar flexion",
}  # fmt: skip


def _either_way(pairs: Iterable[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    return tuple(way for one, other in pairs for way in ((one, other), (other, one)))


_PAIRED, _SHORT_PAIRS = _either_way(_ITEMS), frozenset(_either_way(_IN_SHORT))
_HEADS = {f"{one} / {other}": (one, other) for one, other in _either_way(_IN_FULL)}
_ZEROED_HEADS = _HEADS | {f"{one} - {other}": (one, other) for one, other in _either_way(_IN_FULL)}
_PAIRING = frozenset({"slash", "-", *_ZEROED_HEADS})  # of which one must stand in the sentence
_HINGES = frozenset({
    "elbow", "elbows", "pip", "pipj", "dip", "dipj", "mcp", "mcpj", "mp", "mpj", "ip", "ipj", "interphalangeal",
    "metacarpophalangeal",
})  # fmt: skip  # joints of which both ends are one record
_PLACED = frozenset({"side", "piece"})


def movement_pairs(marks: list[Mark], texts: Texts, phrases: Mapping[str, Entry]) -> list[Mark]:
    """'Flex/ext 60/50', 'P/S 80/70': each movement with its own figure, on each side that is told."""
    if texts.isdisjoint(_PAIRING) and "\nelbow " not in texts.lines:
        return marks
    made: list[Mark] = []
    pair: list[Mark] = []
    parts: list[Mark] = []
    at = 0
    if any(mark.amount is not None and mark.amount.kind == "zeroed" for mark in marks):
        marks = [
            each
            for mark in marks
            for each in (of_the_joint(mark, phrases) if mark.text.startswith("elbow ") else [mark])
        ]
    while at < len(marks):
        named, used = _named_pair(marks, at, phrases)
        figures = marks[at + used] if named and at + used < len(marks) else None
        if figures is not None and figures.text in {":", "="} and at + used + 1 < len(marks):
            used += 1
            figures = marks[at + used]
        if named and figures is not None and not _is_pair(figures):
            between = _place_behind(marks, at + used, sided=False)  # 'flexion/extension right 60/70', '... was 60/70'
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
        if again:
            made = _begun_again(made, parts, figures.start)
        else:
            parts = _parts_before(made)
        place = [] if _has(made, "side") else _place_behind(marks, at)
        at += len(place)
        made += _placed([mark for mark in place if mark.kind == "side" or not _has(made, "piece")], figures.start)
        pair = named or again
        hinged = any(_HINGES & set(mark.text.split(" ")) for mark in marks)
        if hinged and figures.amount is not None and figures.amount.kind == "zeroed":
            range_of = phrases["range of movement"].term
            where = (figures.start, figures.start) if again else (pair[0].start, pair[-1].end)
            made += [Mark("term", *where, term=range_of, text="range of movement"), figures]
        else:
            made += _with_figures(pair, figures, again=bool(again))
    return made


def _parts_before(made: Sequence[Mark]) -> list[Mark]:
    """The wrist of 'Wrist F/E 70/65 R, 75/70 L', which the second pair of figures is of as well."""
    found: list[Mark] = []
    for mark in reversed(made[-4:]):
        if mark.kind not in {"piece", "side", "filler"}:
            break
        if mark.kind == "piece" and mark.piece is not None and mark.piece.side is None:
            found.insert(0, mark)
    return found


def _begun_again(made: Sequence[Mark], parts: Sequence[Mark], at: int) -> list[Mark]:
    """What stands before a further pair of figures: their side, apart from what came before, and the part."""
    end = len(made)
    while end and made[end - 1].kind in {"side", "filler"}:
        end -= 1
    led = any(mark.kind == "side" for mark in made[end:]) and bool(end) and made[end - 1].kind in {"joiner", "value"}
    told = list(made[end:]) if led else []
    before = list(made[:end]) if led else list(made)
    comma = [Mark("joiner", at, at, text="comma")] if before and before[-1].kind != "joiner" else []
    return [*before, *comma, *told, *_placed(parts, at)]


def _placed(marks: Sequence[Mark], at: int) -> list[Mark]:
    return [replace(mark, start=at, end=at) for mark in marks if mark.kind in _PLACED]


def _is_pair(mark: Mark) -> bool:
    return mark.amount is not None and mark.amount.kind in {"arc", "zeroed"} and mark.amount.unit in {"", "deg"}


def _has(made: Sequence[Mark], kind: str) -> bool:
    """Whether a side, or a part, stands before, since the last joiner or figure."""
    for mark in reversed(made):
        if mark.kind == kind or (mark.piece is not None and mark.piece.side is not None):
            return True
        if mark.kind in {"joiner", "break", "value"}:
            return False
    return False


def _place_behind(marks: Sequence[Mark], at: int, *, sided: bool = True) -> list[Mark]:
    """'60/70 on the right and ...': the place behind the figures, which is that of both movements."""
    end = at
    while end < len(marks) and marks[end].kind in {"filler", "side", "piece"}:
        end += 1
    found = list(marks[at:end])
    return found if not sided or any(mark.kind == "side" for mark in found) else []


def _with_figures(pair: Sequence[Mark], figures: Mark, *, again: bool) -> list[Mark]:
    assert figures.amount is not None
    made: list[Mark] = []
    for number, one in zip(_ends(figures.amount.numbers), pair, strict=True):
        single = replace(figures.amount, kind="amount", unit="deg", numbers=(number,))
        made.append(replace(one, start=figures.start, end=figures.start) if again else one)
        made.append(Mark("value", figures.start, figures.end, amount=single))
        made.append(Mark("joiner", figures.end, figures.end, text="comma"))
    return made[:-1]


def _ends(numbers: Sequence[float]) -> tuple[float, ...]:
    """The two figures of '60/50', of '60-0-50', and of '0-20-50', which is 20 short of zero on the first side."""
    if len(numbers) == 2:  # noqa: PLR2004 - a pair
        return tuple(numbers)
    first, middle, last = numbers
    if not middle:
        return first, last
    return (-middle, last) if not first else (first, -middle)


def _named_pair(marks: Sequence[Mark], at: int, phrases: Mapping[str, Entry]) -> tuple[list[Mark], int]:
    """The two movements named from `at` on with a slash between them, and how many marks name them."""
    first = marks[at]
    zeroed = any(mark.amount is not None and mark.amount.kind == "zeroed" for mark in marks[at + 1 : at + 10])
    heads = _ZEROED_HEADS if zeroed else _HEADS
    if first.kind == "term" and first.text in heads:
        entries = [phrases.get(name) for name in heads[first.text]]
        terms = [entry.term for entry in entries if entry is not None and entry.term is not None]
        return [Mark("term", first.start, first.end, term=term, text=term.head) for term in terms], 1
    if at + 2 >= len(marks) or not (marks[at + 1].text == "slash" or (zeroed and marks[at + 1].text == "-")):
        return [], 0
    pair = [first, marks[at + 2]]
    items = [mark.term.items if mark.term is not None else () for mark in pair]
    paired = next(((one, other) for one, other in _PAIRED if one in items[0] and other in items[1]), None)
    if paired is not None:
        whole = phrases.get(paired[1].replace("_", " ")) if first.text.startswith("wrist ") else None
        return [first, pair[1] if whole is None else replace(pair[1], term=whole.term)], 3
    if (first.text, marks[at + 2].text) not in _SHORT_PAIRS:
        return [], 0
    found: list[Mark] = []
    for mark in pair:
        entry = phrases.get(_SHORT[mark.text])
        if entry is not None and entry.term is not None:
            found.append(Mark("term", mark.start, mark.end, term=entry.term, text=_SHORT[mark.text]))
    return (found, 3) if len(found) == len(pair) else ([], 0)


def rows_apart(marks: Sequence[Mark], order: tuple[str, str], orders: Iterable[str]) -> list[Mark]:
    """'Grip R/L: 31, 29, 30 / 42, 44, 41': the row of trials of each side."""
    made = list(marks)
    for at in range(len(made) - 2, 0, -1):
        first, second = made[at - 1].amount, made[at + 1].amount
        if made[at].text != "slash" or first is None or second is None or {first.kind, second.kind} != {"trials"}:
            continue
        told = replace(made[at - 1], amount=replace(first, unit=first.unit or second.unit)), made[at + 1]
        sides = [Mark("side", told[i].start, told[i].start, text=order[i], word=order[i]) for i in (0, 1)]
        comma = Mark("joiner", made[at].start, made[at].end, text="comma")
        made[at - 1 : at + 2] = [sides[0], told[0], comma, sides[1], told[1]]
    if len(made) == len(marks) or any(_is_pair(mark) for mark in made):
        return made
    return [mark for mark in made if mark.kind != "side" or mark.word not in orders]
