"""Lines, columns, headings and sentences of a note, found without knowing what they say.

A line may be prose, a bullet, a heading, a `label: value` pair or a row of a table with one column a side. Lines that
were wrapped inside a sentence are joined. Every segment is a range of characters; together with what lies between them
they are the text.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from letterkit.reading.words import words

_LINE = re.compile(r"[^\r\n\v\f\x1c-\x1e\x85\u2028\u2029]*(?:\r\n|[\r\n\v\f\x1c-\x1e\x85\u2028\u2029]|$)")
_BULLET = re.compile(r"[ \t\u00a0]*(?:(?:[-–—*•·●▪◦‣⁃∙○■□☐☑✓✔✗✘➢►>]|o(?= )|\(?\d{1,2}[.)](?=\s))[ \t]*)?")
_LABEL = re.compile(r"[A-Za-z(][^:.;!?,\n]{0,70}?:(?=\s|$|[^\d\s/])")
_DASHED = re.compile(
    r"(?:impression|imp|plan|assessment|diagnosis|dx|a/p|hx|history|hpc|pc|pmh|(?:presenting )?complaint"
    r"|skin|neuro(?:logic(?:al)?)?|msk|musculoskeletal|extremities|ext|vascular|general|heent|cvs?|resp|abdo?|abdomen"
    r"|psych|lungs|chest|heart|neck)\s[-–—](?=\s)",
    re.IGNORECASE,
)  # what is not of the examination, and another system, is told apart where a dash stands for the colon too
_COLUMN = re.compile(r"\t+| {3,}|[ \t]*\|[ \t]*")
_NARROW = re.compile(r"\t+| {2,}|[ \t]*\|[ \t]*")  # in a table whose columns are known, two spaces part them
_END = re.compile(r"[.!?]+[\"'”’)\]]*(?=\s|$)|;")
_SHORT = re.compile(
    r"(?:\b(?:approx|e\.g|i\.e|vs|dr|mr|mrs|ms|no|fig|st|bilat|lt|rt|esp|incl|ca|cf|min|max|hx|exam|ext|neg|pos|v)"
    r"|(?<![/'’\d])(?<!\d[ \u00a0])\b[A-Z])$",  # an initial, and not '20 s'
    re.IGNORECASE,
)
_RESULT = re.compile(r"\b(?:neg|pos)$", re.IGNORECASE)
_ANEW = re.compile(r"\s+(?:no|not|nil|full|normal|good|power|grip|nvi|neck)\b")  # 'Tinel neg. no wasting'
_SIDED = re.compile(r"\d\s?(?:kg[sf]?|lbs?|mm|cms?|deg|°)?\s[RL]$")  # '22 kg L. phalens neg': the side of the figure
_PART = re.compile(r"\s+(?:hand|wrist|elbow|thumb|index|middle|ring|little|small|finger|digit|palm|arm|forearm|\d)")
_MEASURE = re.compile(r"([a-z]+) (?:[RrLl][ :]+)?-?\d")  # 'flex 30', 'grip R 20'
_SMALL = re.compile(r"[a-z\d)+](?=\. [a-z]{2})")  # a sentence that begins in small letters
_SLACK = 3  # characters by which a cell may stand left of its heading
_LONGEST = 2_000  # characters of a sentence
_FULL = 45  # characters of a line that may be full
_AROUND = 600  # characters before and behind a line that tell how wide the lines of a text are
_GOES_ON = (
    ",", " and", " or", " the", " of", " no", " with", " in", " at", " is", " was", " are", " were", " to", " on",
    " over", " from", " by", " for", " a", " an",
)  # fmt: skip  # no line ends with them but where it is wrapped
_SIDE_HEAD = {
    "right": "right", "left": "left", "r": "right", "l": "left", "rt": "right", "lt": "left", "(r)": "right",
    "(l)": "left",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Segment:
    """One sentence, cell or heading: characters `start` to `end`.

    `label` is the end of a leading `label:`, or `start` where there is none. `heading` marks a line that only heads
    what follows, `side` is that of its column, `breaks` says that a blank line stands before it, `line` counts lines,
    and `column` marks the cells of a table.
    """

    start: int
    end: int
    label: int
    heading: bool = False
    side: str | None = None
    breaks: bool = False
    line: int = 0
    column: bool = False


def _lines(text: str) -> Iterator[tuple[int, int]]:
    at = 0
    while at < len(text):
        match = _LINE.match(text, at)
        assert match is not None
        end = match.end()
        body = match.group().rstrip("\r\n\v\f\x1c\x1d\x1e\x85\u2028\u2029")
        yield at, at + len(body)
        at = end


def _cells(text: str, start: int, end: int, gap: re.Pattern[str]) -> list[tuple[int, int]]:
    cells: list[tuple[int, int]] = []
    at = start
    for match in gap.finditer(text, start, end):
        cells.append((at, match.start()))
        at = match.end()
    cells.append((at, end))
    return cells


@dataclass(frozen=True, slots=True)
class _Column:
    """A column of a table: its side, where its heading names one, and how far from the line's start it begins."""

    side: str | None
    offset: int


def _heads_of(text: str, cells: list[tuple[int, int]], start: int) -> list[_Column] | None:
    """The columns where a line heads a table with a right and a left column."""
    heads: list[_Column] = []
    for at, stop in cells:
        body = text[at:stop]
        side = _SIDE_HEAD.get(body.strip(" :.*|").casefold())
        heads.append(_Column(side, at - start + len(body) - len(body.lstrip())))
    return heads if {"right", "left"} <= {head.side for head in heads} else None


def _is_heading(body: str) -> bool:
    stripped = body.strip(" \t-=_*#:")
    if not stripped or len(stripped) > 60 or any(mark in stripped for mark in ".;,"):  # noqa: PLR2004 - a heading is short
        return False
    return body.rstrip().endswith(":") or (body.lstrip().startswith(("#", "**", "==")) and stripped[:1].isalpha())


def _sentences(text: str, start: int, end: int) -> Iterator[tuple[int, int]]:
    """Sentences of a line; one longer than any real sentence is cut, so that no later step is slow on it."""
    for begin, stop in _ended(text, start, end):
        at = begin
        while stop - at > _LONGEST:
            cut = text.rfind(" ", at + 1, at + _LONGEST)
            cut = cut if cut > at else at + _LONGEST
            if text[at:cut].strip():
                yield at, cut
            at = cut
        if text[at:stop].strip():
            yield at, stop


def _ended(text: str, start: int, end: int) -> Iterator[tuple[int, int]]:
    at = counted = start
    depth = 0
    closing = text.rfind(")", start, end)
    for match in _END.finditer(text, start, end):
        depth += text.count("(", counted, match.start()) - text.count(")", counted, match.start())
        counted = match.start()
        if match.group() == ";" and depth > 0 and closing > match.end():
            continue  # a semicolon inside a bracket parts remarks, not sentences
        if match.group() == "." and _SHORT.search(text, max(at, match.start() - 8), match.start()):
            follows = text[match.end() : match.end() + 2].strip()
            before = text[max(at, match.start() - 8) : match.start()]
            begins = bool(follows) and follows[0].isupper()
            denied = before.split()[-1:] == ["No"]  # 'Any numbness? No. The wrist is swollen.', and no 'case no. 3'
            if _SIDED.search(text, max(at, match.start() - 12), match.start()) and not _PART.match(text, match.end()):
                begins = denied = True
            ends = _RESULT.search(before) is not None and _ANEW.match(text, match.end(), end) is not None
            if not ends and (not begins or not (denied or before[-1:].isupper() or before[-2:-1].islower())):
                continue
        if text[at : match.end()].strip():
            yield at, match.end()
        at, depth = match.end(), 0
    if text[at:end].strip():
        yield at, end


def _label_end(text: str, start: int, end: int) -> int:
    match = _DASHED.match(text, start, end) or _LABEL.match(text, start, end)
    return match.end() if match else start


def _skip_bullet(text: str, start: int, end: int) -> int:
    match = _BULLET.match(text, start, end)
    return match.end() if match else start


def _is_full(text: str, previous: tuple[int, int], start: int, end: int) -> bool:
    """Whether the line before had no room for the first word of this one, as wide as the lines around them are.

    '... wound of the volar wrist, no infection' and under it 'numb little finger': ended there, not wrapped.
    """
    first = text[start:end].split(maxsplit=1)[0]
    begin = text.rfind("\n", max(0, previous[0] - 1), previous[1]) + 1 or previous[0]
    top = max(begin - _AROUND, 0)
    above = text[max(text.rfind("\n\n", top, begin), top) : begin]
    stop = text.find("\n\n", start, end + _AROUND)
    below = text[start : min(stop if stop >= 0 else len(text), end + _AROUND)]
    widest = max(map(len, (above + text[begin : previous[1]] + "\n" + below).split("\n")))
    return previous[1] - begin + 1 + len(first) > widest


def _is_typed(text: str, start: int) -> bool:
    """Whether the text around a line is typed without capitals: 'Scar soft. no triggering', so that a line may be too.

    There a line that begins in small letters does not go on with the one before.
    """
    around = text[max(0, start - _AROUND) : start + _AROUND]
    return any(not _SHORT.search(around, max(0, at.start() - 8), at.start() + 1) for at in _SMALL.finditer(around))


def _begins_figures(line: str) -> bool:
    """'flex 30 ext 25': a line that begins with a measure and its figure goes on with no line above."""
    measure, sets = _MEASURE.match(line), words().sets
    return measure is not None and measure[1] in sets["typed_movements"] | sets["begins_figures"]


def _wraps(text: str, previous: tuple[int, int], start: int, end: int) -> bool:
    """Whether a line goes on with the sentence of the line before."""
    before = text[max(previous[0], previous[1] - 200) : previous[1]].rstrip()
    if not before or before[-1] in ".:;!?" or "\t" in before:
        return False
    first = text[start:end].lstrip()
    goes_on = before.endswith(_GOES_ON)
    return (
        first[:1].islower()
        and not _begins_figures(first)
        and (goes_on or (len(before) >= _FULL and _is_full(text, previous, start, end) and not _is_typed(text, start)))
        and _skip_bullet(text, start, end) - start == len(text[start:end]) - len(first)
    )


class _Lines:
    """Goes through the lines of a text once."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._found: list[Segment] = []
        self._heads: list[_Column] | None = None
        self._pending: tuple[int, int] | None = None
        self._breaks = False
        self._number = 0
        self._first = 0  # the line on which the pending sentence began

    def read(self) -> list[Segment]:
        blank = False
        for start, end in _lines(self._text):
            self._number += 1
            if not self._text[start:end].strip():
                self._flush()
                blank, self._heads = True, None
            elif self._pending is not None and not blank and _wraps(self._text, self._pending, start, end):
                self._pending = (self._pending[0], end)
            else:
                self._flush()
                self._breaks, blank = blank, False
                self._line(start, end)
        self._flush()
        return self._found

    def _flush(self) -> None:
        if self._pending is not None:
            self._found.extend(_of_line(self._text, *self._pending, self._breaks, self._first))
            self._pending = None

    def _line(self, start: int, end: int) -> None:
        body = self._text[start:end]
        narrow = self._heads is not None and _meets(self._text, start, end, self._heads)
        parted = "\t" in body or "|" in body or ("  " if narrow else "   ") in body
        cells = _cells(self._text, start, end, _NARROW if narrow else _COLUMN) if parted else []
        filled = [(at, stop) for at, stop in cells if self._text[at:stop].strip()]
        if len(filled) > 1 and (heads := _heads_of(self._text, cells, start)):
            self._heads = heads
            self._found.append(
                Segment(start, end, start, heading=True, breaks=self._breaks, line=self._number, column=True)
            )
        elif self._heads is not None and len(filled) > 1:
            self._found.extend(_of_row(self._text, cells, self._heads, start, self._number))
        elif len(filled) > 1:
            self._heads = None
            self._found.extend(_of_cells(self._text, filled, self._breaks, self._number))
        else:
            self._heads = None
            self._pending = (start, end)
            self._first = self._number


def segments(text: str) -> list[Segment]:
    """The segments of `text` in order; linear in its length."""
    return _Lines(text).read()


def _meets(text: str, start: int, end: int, heads: list[_Column]) -> bool:
    """Whether two spaces in a line end just where a column with a side begins: 'Phalen  pos    pos' under 'R   L'."""
    sided = [head.offset for head in heads if head.side]
    begins = [at - start for at, _ in _cells(text, start, end, _NARROW)[1:]]
    return any(abs(begin - offset) <= 1 for begin in begins for offset in sided)


def _of_row(
    text: str, cells: list[tuple[int, int]], heads: list[_Column], start: int, number: int
) -> Iterator[Segment]:  # fmt: skip
    """The cell before the first sided column heads its row; the others are told under it, each with its side."""
    by_order = len(cells) == len(heads)
    for index, (at, stop) in enumerate(cells):
        if not text[at:stop].strip():
            continue
        at += len(text[at:stop]) - len(text[at:stop].lstrip())  # noqa: PLW2901 - the cell without its padding
        nearest = min(heads, key=lambda head: abs(head.offset - (at - start)))
        side = heads[index].side if by_order else nearest.side
        first = min(head.offset for head in heads if head.side)
        if side is None or (not by_order and at - start < first - _SLACK):
            yield Segment(at, stop, at, heading=True, line=number, column=True)
        else:
            yield Segment(at, stop, at, side=side, line=number, column=True)


def _of_cells(
    text: str, filled: list[tuple[int, int]], blank: bool, number: int  # noqa: FBT001 - a fact of the line
) -> Iterator[Segment]:  # fmt: skip
    """A row without sided columns: two cells are a pair, more are told one after the other."""
    if len(filled) == 2:  # noqa: PLR2004 - label and value
        yield Segment(filled[0][0], filled[1][1], filled[0][1], breaks=blank, line=number)
        return
    for start, end in filled:
        yield from _of_line(text, start, end, blank, number)


def _of_line(text: str, start: int, end: int, blank: bool, number: int) -> Iterator[Segment]:  # noqa: FBT001 - a fact of the line
    inner = _skip_bullet(text, start, end)
    body = text[inner:end]
    if _is_heading(body):
        yield Segment(inner, end, inner, heading=True, breaks=blank, line=number)
        return
    first = True
    for at, stop in _sentences(text, inner, end):
        begin = at + len(text[at:stop]) - len(text[at:stop].lstrip())
        yield Segment(begin, stop, _label_end(text, begin, stop), breaks=blank and first, line=number)
        first = False
