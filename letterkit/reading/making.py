"""The phrases and numbers of a segment that mean something become marks, in order."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from operator import attrgetter
from typing import Any, NamedTuple

from letterkit.reading.labels import label_of
from letterkit.reading.marks import DASHES, Mark
from letterkit.reading.phrases import Entry, StateWord
from letterkit.reading.segments import Segment
from letterkit.reading.sidewords import NO_SIDES, SMALL, says_both, says_no_side, small_side
from letterkit.reading.values import Amount, amounts
from letterkit.reading.vocabulary import Vocabulary
from letterkit.reading.words import words

_TOLD = re.compile(r"recorded as: (.+?)(?: \(.*\))?[.]?$", re.MULTILINE)
_SIDE_CUES = ("right", "left", "both", "other", "same")
_FIRST = frozenset({
    "double", "pseudo", "no_longer", "declined", "unexamined", "except", "neither", "maybe", "compared",
    "instead",
})  # fmt: skip
_GRADES = ("mild", "moderate", "severe")
# In the order in which a phrase with several uses is taken.
_CUES = (
    "double", "pseudo", "no_longer", "declined", "unexamined", "except", "neither", "maybe", "compared", "instead",
    "negator", *_SIDE_CUES,
    "break", "correctable", "fixed", "active_mode", "passive_mode", *_GRADES, "with", "and", "or", "certain",
)  # fmt: skip
_NEEDS_CAPITALS = frozenset({"r", "l", "rt", "lt", "rh", "lh", "rhs", "lhs"})
_CAPITAL_STATES = frozenset({"n"})  # 'N' is normal, an 'n' in a note is not
_SLIGHT = frozenset({"sl tender", "sl tenderness"})  # 'SL' is the scapholunate interval, an 'sl' may be 'slightly'
_BY_CASE = _NEEDS_CAPITALS | _CAPITAL_STATES | _SLIGHT
_ASKED = _BY_CASE | NO_SIDES | {"b"}  # what means something else as it is spelt, or beside other words
_BESIDE_NUMBERS = frozenset({"term", "piece", "ambiguous"})  # what a phrase may be that begins a number
_JOINERS = {",": "comma", "/": "slash", "&": "and", "+": "and"}


@dataclass(frozen=True, slots=True)
class Tokens:
    """The words of a note without its white space: characters and lower-case forms."""

    starts: Sequence[int]
    ends: Sequence[int]
    lowers: Sequence[str]


class Span(NamedTuple):  # hundreds are made for a note, and a tuple is made in half the time
    """A phrase of the vocabulary: tokens `start` to `end`."""

    start: int
    end: int
    entry: Entry
    phrase: str  # as it stands in the note, in small letters
    corrected: str = ""


_SHORT = {"o / w": "otherwise"}
_TAKEN_BEFORE_PLACES = frozenset({"negator", "break", *_SIDE_CUES})
_WITH_STATES = frozenset({"correctable", "fixed", "active_mode", "passive_mode"})  # beside which a state stays one
_AS_KIND = {
    **dict.fromkeys(_SIDE_CUES, "side"), **dict.fromkeys(_GRADES, "severity"),
    **dict.fromkeys(("and", "or", "with"), "joiner"),
}  # fmt: skip  # of a cue that is no kind by itself
_SAID_AS_CUE = frozenset({"side", "severity", "joiner"})  # whichever word says it
_SPOKEN = 5  # letters from which a word in capitals is no short form
_NO_USES: tuple[tuple[str, ...], str, tuple[str, ...], str] = ((), "", (), "")


def longest(spans: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Spans that do not overlap, longer ones first; linear apart from sorting."""
    ordered = sorted(set(spans))
    if all(first[1] <= second[0] for first, second in pairwise(ordered)):
        return ordered
    chosen: list[tuple[int, int]] = []
    taken: set[int] = set()
    for start, end in sorted(ordered, key=lambda pair: (pair[0] - pair[1], pair[0])):
        if start not in taken and end - 1 not in taken:
            chosen.append((start, end))
            taken.update(range(start, end))
    chosen.sort()
    return chosen


def _accepted(entry: Entry, raw: str, shouting: bool) -> Entry:  # noqa: FBT001 - a fact of the line
    """What remains of an entry as it is spelt here: short forms that are words too count in capitals only."""
    if entry.capitals:
        if raw in entry.capitals and not (shouting and raw.isalpha() and raw in {"IF", "FROM", "IT", "OR"}):
            hints = tuple(cue for cue in entry.cues if cue.startswith("hint_"))
            return Entry(entry.term, entry.piece, entry.state if not entry.piece else None, hints, "", entry.capitals)
        if raw.rstrip("s") in entry.capitals and entry.piece:
            return entry
        return Entry(None, None, entry.state if entry.state and entry.state.classes else None, entry.cues)
    return entry


@cache
def _uses(cues: tuple[str, ...]) -> tuple[tuple[str, ...], str, tuple[str, ...], str]:
    """What the cues of a phrase say of currency, which statement they are, their hints, and the cue it is taken for."""
    says = tuple(cue[4:] for cue in cues if cue.startswith("say:"))
    statement = next((cue[7:] for cue in cues if cue.startswith("global:")), "")
    hints = tuple(cue[5:] for cue in cues if cue.startswith("hint_"))
    return says, statement, hints, next((cue for cue in _CUES if cue in cues), "")


@cache
def _kind_of_cues(cues: tuple[str, ...]) -> str:
    """What a phrase is that has nothing but these cues, none of them of `_CUES`."""
    says, statement, hints, _ = _uses(cues)
    kinds = (("statement", statement), ("hint", hints), ("filler", "filler" in cues), ("say", says))
    return next((kind for kind, there in kinds if there), "")


def _mark(entry: Entry, start: int, end: int, raw: str, lower: str) -> Mark | None:
    cues = entry.cues
    if lower in _CAPITAL_STATES and not raw[0].isupper():
        return None
    if lower in _NEEDS_CAPITALS and not raw[0].isupper():
        cues = tuple(cue for cue in cues if cue not in _SIDE_CUES)
    return _made(entry, cues, lower, start, end)


def _made(entry: Entry, cues: tuple[str, ...], lower: str, start: int = 0, end: int = 0) -> Mark | None:
    """The mark of a phrase with these cues; None where it means nothing."""
    says, statement, hints, main = _uses(cues) if cues else _NO_USES
    kind = _kind(entry, cues, main)
    if not kind:
        return None
    name = _SHORT.get(lower, lower)
    piece, look = entry.piece, ""
    if kind == "ambiguous":
        look = entry.ambiguous
    elif kind == "piece" and piece is not None:
        look = piece.look
    return Mark(
        kind, start, end, entry.term, piece, entry.state, None, main if kind in _SAID_AS_CUE else name, name, hints,
        look, says, statement, cues, entry.ambiguous,
    )  # fmt: skip


def _parts(mark: Mark | None) -> tuple[str, tuple[Any, ...]]:
    """The kind of a mark, and all of it behind where it stands; no kind where a phrase means nothing."""
    if mark is None:
        return "", ()
    return mark.kind, (
        mark.term, mark.piece, mark.state, None, mark.text, mark.word, mark.hints, mark.look, mark.says,
        mark.statement, mark.cues, mark.ambiguous,
    )  # fmt: skip


@cache
def _always(entry: Entry, lower: str) -> tuple[str, tuple[Any, ...]]:
    """The parts of the mark of a phrase that means the same however it is spelt."""
    return _parts(_made(entry, entry.cues, lower))


def _kind(entry: Entry, cues: tuple[str, ...], main: str) -> str:
    """What a phrase with several uses is taken for; empty for nothing."""
    if main in _FIRST:
        return main
    if entry.term is not None:
        return "term"
    if entry.ambiguous and not main and entry.state is None and entry.piece is None:
        return "ambiguous"
    if main in _TAKEN_BEFORE_PLACES:
        return _AS_KIND.get(main, main)
    if entry.piece is not None:
        return "piece"
    if entry.state is not None and main not in _WITH_STATES:
        return "state"
    return _AS_KIND.get(main, main) if main else _kind_of_cues(cues)


def _punctuation(text: str, at: int, start: int, end: int) -> Mark | None:
    """Signs that carry meaning: commas, slashes, plus and minus, question marks."""
    sign = text[at]
    before = text[at - 1] if at > start else " "
    after = text[at + 1] if at + 1 < end else " "
    if sign in ",/&":
        return Mark("joiner", at, at + 1, text=_JOINERS[sign])
    if sign == "+":
        return Mark("state", at, at + 1, state=StateWord(("positive",)), text="+")
    if (
        sign in DASHES
        and (after.isspace() or after in ",;.)")
        and (not before.isspace() or after in ",;.)" or not text[at + 1 : end].strip())
        and not _LABELS.match(text, at + 1)
    ):
        return Mark("state", at, at + 1, state=StateWord(("negative",)), text="-")
    if sign in DASHES and _is_minus(text, at, start, end):
        return Mark("state", at, at + 1, state=StateWord(("negative",)), text="-")
    if sign == "?" and (after.isalpha() or after == "+"):
        return Mark("maybe", at, at + 1, text="?")
    if sign in ":()[]–-=":
        return Mark("filler", at, at + 1, text=sign)
    return None


_LABELS = re.compile(r"\s+(?:R|L|Rt|Lt|Right|Left|RUE|LUE|Both)\s?(?::|[-–]\s)")  # 'Power - R: deltoid 4'
_PLUS = re.compile(r"(?<!\d)\+(?!\d)")  # of '2+' it is a grade's
_SIDED = re.compile(r"\s*(?:R|L|Rt|Lt|right|left|on the (?:right|left))\b")


def _is_minus(text: str, at: int, start: int, end: int) -> bool:
    """'-Phalen's' after '+Tinel's,', '+ R, - L': a dash before a test or a side where pluses are used."""
    before = text[max(start, at - 3) : at].rstrip()
    plus = _PLUS.search(text, max(start, at - 60), min(end, at + 60))
    if plus is None or not text[at - 1 : at].isspace() or _LABELS.match(text, at + 1):
        return False
    if _SIDED.match(text, at + 1, end):
        return True
    return before.endswith((",", ";")) and text[at + 1 : at + 2].isalpha()


_MOVEMENTS = {"f": "flexion", "e": "extension", "rd": "radial deviation", "ud": "ulnar deviation"}


def _movements(found: list[Mark], text: str, vocabulary: Vocabulary) -> None:
    """'Wrist F 60 E 50': a capital before a number is a movement."""
    for mark, after in pairwise(found):
        short = mark.text in _MOVEMENTS and mark.kind in {"word", "ambiguous"}
        if short and after.kind == "value" and text[mark.start : mark.end].isupper():
            mark.kind, mark.term, mark.look = "term", vocabulary.phrases[_MOVEMENTS[mark.text]].term, ""


def _joints(found: list[Mark], vocabulary: Vocabulary) -> None:
    """'Thumb: MCP 0-50, IP 0-60': beside a thumb it is its joint, and before a grade the iliopsoas."""
    if not any("thumb" in mark.piece.slugs for mark in found if mark.piece is not None):
        return
    for mark, after in zip(found, [*found[1:], None], strict=True):
        graded = after is not None and after.amount is not None and after.amount.kind == "grade"
        if mark.text == "ip" and mark.kind == "word" and not graded:
            mark.kind, mark.piece = "piece", vocabulary.phrases["ip joint"].piece


def _muscles(found: list[Mark], text: str, vocabulary: Vocabulary) -> None:
    """'D 5/5, B 4/5': a capital before a grade is a muscle, where others stand beside it."""
    for mark, after in pairwise(found):
        graded = after.amount is not None and after.amount.kind == "grade"
        if mark.kind != "word" or not graded or not text[mark.start : mark.end].isupper():
            continue
        entry = vocabulary.phrases.get(mark.text)
        if entry is not None and entry.term is not None and entry.term.beside:
            mark.kind, mark.term = "term", entry.term


def _otherwise(mark: Mark) -> str:
    """What a short form is where it stands without its like."""
    if mark.ambiguous:
        return "ambiguous"
    if mark.piece is not None:
        return "piece"
    return "side" if mark.text == "lt" and "left" in mark.cues else "word"


def _is_graded(mark: Mark, found: Sequence[Mark]) -> bool:
    """'Triceps 5/5; WE 4/5': a short form right before a grade, as the one of the sentence before was."""
    after = next((each for each in found if each.start > mark.start), None)
    return after is not None and after.amount is not None and after.amount.kind == "grade"


def _settle(found: list[Mark], before: Sequence[Mark], label: frozenset[str]) -> None:
    """Short forms that mean an item only beside others of their kind are something else without them.

    'Finger extensors 4/5. The rest of that arm is full.': what is spelt out may have its kind in the sentence `before`,
    and a short form in the words of the line's `label`.
    """
    if not any([mark.term is not None and mark.term.beside for mark in found]):  # noqa: C419 - quicker than a generator
        return
    texts = {mark.text for mark in found} | label
    for mark in found:
        if mark.term is None or not mark.term.beside:
            continue
        goes_on = " " in mark.text or (_is_graded(mark, found) and any(each.kind == "value" for each in before[-2:]))
        near = texts.union([each.text for each in before]) if goes_on else texts
        if not any(word in near and word != mark.text for word in mark.term.beside):
            mark.term = None
            mark.kind = _otherwise(mark)
            mark.look = mark.ambiguous or mark.look
            mark.text = "left" if mark.kind == "side" else mark.text


def marks_of(
    text: str, segment: Segment, tokens: Tokens, spans: Sequence[Span], vocabulary: Vocabulary,
    before: Sequence[Mark] = (), label: frozenset[str] = frozenset(),
) -> list[Mark]:  # fmt: skip
    """The marks of one segment in order. `spans` are its phrases, `before` the marks of the one before.

    `label` are the words that its line begins with where an earlier segment holds them.
    """
    numbers = list(amounts(text, segment.start, segment.end))
    worded: set[int] = set()
    for number in numbers:
        if number.kind == "arc" and "hyper" in text[number.start : number.end].casefold():
            worded.update(range(number.start, number.end))
    first, last = bisect_left(tokens.starts, segment.start), bisect_left(tokens.starts, segment.end)
    found: list[Mark] = []
    if told := _TOLD.search(text, segment.start, segment.end):
        worded.update(range(told.start(), told.end()))
        numbers = [number for number in numbers if number.start < told.start()]
        found.append(Mark("told", told.start(), told.end(), text=told[1]))
    claimed: set[int] = set()
    found += _phrases(text, segment, tokens, spans, numbers, worded, claimed)
    found += _numbers(tokens, numbers, claimed)
    for index in sorted(set(range(first, last)) - claimed):
        start, lower = tokens.starts[index], tokens.lowers[index]
        if start in worded:
            continue
        if lower[0].isalnum():
            found.append(Mark("word", start, tokens.ends[index], text=lower))
        elif mark := _punctuation(text, start, segment.start, segment.end):
            found.append(mark)
    found.sort(key=attrgetter("end"), reverse=True)
    found.sort(key=attrgetter("start"))  # of those that begin together the longest comes first
    if any([number.kind == "grade" for number in numbers]):  # noqa: C419 - quicker than a generator
        _muscles(found, text, vocabulary)
    _settle(found, before, label)
    lowers = tokens.lowers[first:last]
    if lowers and lowers[0] == "ext" and found[0].kind == "term" and label_of(text, segment) == "ext":
        found[0] = Mark("filler", found[0].start, found[0].end, text="ext")  # 'EXT: no oedema': the extremities
    if numbers and not _MOVEMENTS.keys().isdisjoint(lowers):
        _movements(found, text, vocabulary)
    if "ip" in lowers:
        _joints(found, vocabulary)
    return found


def _is_shouted(said: str) -> bool:
    """'RETURN IF WORSE', whose words are in capitals too, and no 'R IF PIPJ 20-80': there are only short forms."""
    if not said.isupper():
        return False
    shouted = words().sets["shouted"]
    spoken = "".join(each if each.isalpha() else " " for each in said.lower()).split()
    return any((len(word) >= _SPOKEN and not word.endswith("js")) or word in shouted for word in spoken)


def _phrases(
    text: str, segment: Segment, tokens: Tokens, spans: Sequence[Span], numbers: Sequence[Amount], worded: set[int],
    claimed: set[int],
) -> list[Mark]:  # fmt: skip
    """Marks of the vocabulary's phrases; their tokens are added to `claimed`."""
    shouting = _is_shouted(text[segment.start : segment.end])
    valued = {at for number in numbers for at in range(number.start, number.end)}
    measures = [number for number in numbers if number.unit or number.kind == "grade"]
    found: list[Mark] = []
    starts, ends = tokens.starts, tokens.ends
    for first, last, entry, lower, corrected in spans:
        start, end = starts[first], ends[last - 1]
        if worded and start in worded:
            continue
        if corrected or entry.capitals or lower in _ASKED:
            if (mark := _beside_others(lower, text, tokens, first)) is not None:
                claimed.update(range(first, last))
                found.append(mark)
                continue
            kind, parts = _as_spelt(entry, lower, text[start:end], corrected, shouting=shouting)
        else:
            kind, parts = _always(entry, lower)
        if not kind or (valued and start in valued and kind not in _BESIDE_NUMBERS):
            continue
        if measures and kind == "piece" and any(number.start < end and start < number.end for number in measures):
            continue  # the figure belongs to the measure: 'a 1 cm scar' names no A1 pulley, 'D 5/5' no fifth digit
        if kind != "say":
            claimed.update(range(first, last))
        found.append(Mark(kind, start, end, *parts))
    return found


def _as_spelt(entry: Entry, lower: str, raw: str, corrected: str, *, shouting: bool) -> tuple[str, tuple[Any, ...]]:
    """The parts of the mark of a phrase that may mean something else as it is spelt: 'MF', 'mf', a misspelling."""
    if not (entry.capitals or lower in _BY_CASE or corrected):
        return _always(entry, lower)
    mark = _mark(_accepted(entry, raw, shouting), 0, 0, raw, lower)
    if mark is not None and corrected:  # a slip of a note is not kept
        mark.look = f"{raw!r} was read as {corrected!r}"
    if mark is not None and lower in _SLIGHT and raw[0].islower():  # 'scar well healed, sl tender'
        mark.look = "whether 'sl' is the scapholunate interval or 'slightly' is not said"
    return _parts(mark)


def _beside_others(lower: str, text: str, tokens: Tokens, at: int) -> Mark | None:
    """What the words beside them make of 'left', 'hand' and a 'B'; None where a phrase is what it says by itself."""
    start, end = tokens.starts[at], tokens.ends[at]
    if lower != "b":
        if lower in NO_SIDES and says_no_side(tokens.lowers, at):
            return Mark("filler", start, end, text="")
        small = lower in SMALL and text[start].islower()
        side = small_side(tokens.lowers, at, text[max(0, start - 4) : start].rstrip(" ")[-1:]) if small else ""
        return Mark("side", start, end, text=side, word=side) if side else None
    both = text[start] == "B" and says_both(tokens.lowers, at)
    return Mark("side", start, end, text="both", word="both") if both else None


def _numbers(tokens: Tokens, numbers: Sequence[Amount], claimed: set[int]) -> Iterator[Mark]:
    """Marks of numbers; where a phrase claims a part of one, the figures left over stand for themselves."""
    for number in numbers:
        inside = range(bisect_left(tokens.starts, number.start), bisect_left(tokens.starts, number.end))
        if not any(index in claimed for index in inside):
            yield Mark("value", number.start, number.end, amount=number)
            claimed.update(inside)
            continue
        for index in inside:
            if index not in claimed and tokens.lowers[index].isdigit():
                start, end = tokens.starts[index], tokens.ends[index]
                yield Mark("value", start, end, amount=Amount("bare", start, end, (float(tokens.lowers[index]),)))
                claimed.add(index)
