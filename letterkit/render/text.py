"""A letter as plain text, for a screen, a message or a record that takes nothing else."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import zip_longest
from pathlib import Path
from textwrap import wrap
from typing import assert_never

from letterkit.errors import InvalidInput, Problem
from letterkit.letter.model import Block, BulletList, Heading, Letter, Lines, Paragraph, Picture, Remark, Table, Title
from letterkit.letter.remarks import HEADING as QUERIES
from letterkit.letter.remarks import told
from letterkit.prose.words import NO_BREAK
from letterkit.render.words import check_shape, checked, joined

WIDTH = 76  # columns: fits an 80 column screen or a quoted message with room for its marks
_UNDERLINES = {1: "=", 2: "-", 3: "."}
_GAP = 2  # columns between two columns of a table
_PLAIN = re.compile(r"(?:\u00a0*\S[\S\u00a0]*)(?: \u00a0*\S[\S\u00a0]*)*")
_NARROWEST = 6  # columns: a narrower column breaks nearly every word


def _wrapped(text: str, width: int, first: str = "", rest: str = "") -> list[str]:
    # Words are never broken, and a no-break space holds its words together: an identifier stays on one line.
    lines: list[str] = []
    for line in checked(text).splitlines() or [""]:
        if _is_plain(line):
            lines += _filled(line, width, rest if lines else first, rest)
            continue
        lines += wrap(
            line,
            width,
            initial_indent=rest if lines else first,
            subsequent_indent=rest,
            break_long_words=False,
            break_on_hyphens=False,
        )
    return lines


def _is_plain(line: str) -> bool:
    """Whether a line is words one space apart; a no-break space is a part of its word."""
    if NO_BREAK in line:
        return _PLAIN.fullmatch(line) is not None
    return bool(line) and " ".join(line.split()) == line


def _filled(line: str, width: int, first: str, rest: str) -> list[str]:
    """A line of words one space apart, as `wrap` would break it, in a tenth of its time."""
    if len(first) + len(line) <= width:
        return [first + line]
    lines: list[str] = []
    current, indent = first, len(first)
    for word in line.split(" "):
        if len(current) == indent:
            current += word
        elif len(current) + 1 + len(word) <= width:
            current += f" {word}"
        else:
            lines.append(current)
            current, indent = rest + word, len(rest)
    lines.append(current)
    return lines


def _underlined(text: str, stroke: str) -> list[str]:
    lines = _wrapped(text, WIDTH)
    return [*lines, stroke * max((len(line) for line in lines), default=0)]


def _widths(rows: list[list[str]]) -> list[int]:
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    room = WIDTH - _GAP * (len(widths) - 1)
    while sum(widths) > room and max(widths) > _NARROWEST:
        widths[widths.index(max(widths))] -= 1
    return widths


def _table(table: Table) -> list[str]:
    check_shape(table)
    rows = [list(map(checked, table.header)), *([checked(cell.text) for cell in row] for row in table.rows)]
    widths = _widths(rows)
    gap = " " * _GAP
    lines = _wrapped(table.caption, WIDTH)
    for number, row in enumerate(rows):
        columns = [_wrapped(cell, width) for cell, width in zip(row, widths, strict=True)]
        for pieces in zip_longest(*columns, fillvalue=""):
            lines.append(gap.join(piece.ljust(width) for piece, width in zip(pieces, widths, strict=True)).rstrip())
        if number == 0:
            lines.append(gap.join("-" * width for width in widths))
    return lines


def _list(block: BulletList) -> list[str]:
    lines: list[str] = []
    for number, entry in enumerate(block.entries, start=1):
        mark = f"{number}. " if block.ordered else "- "
        lines += _wrapped(joined(entry), WIDTH, mark, " " * len(mark))
    return lines


def _block(block: Block) -> list[str]:
    match block:
        case Title():
            return _underlined(block.text, "#")
        case Heading():
            return _underlined(block.text, _UNDERLINES[block.level])
        case Paragraph(role="caution"):
            return _wrapped(joined(block.sentences), WIDTH, "| ", "| ")
        case Paragraph():
            return _wrapped(joined(block.sentences), WIDTH)
        case Lines():
            return [piece for line in block.lines for piece in _wrapped(line, WIDTH, "", "    ")]
        case BulletList():
            return _list(block)
        case Table():
            return _table(block)
        case Picture():
            return _wrapped(block.alt, WIDTH)
        case _ as never:
            assert_never(never)


def _queries(remarks: Sequence[Remark]) -> list[str]:
    """The queries of a draft as a numbered list under its heading, and a free line; nothing where there are none."""
    lines = _underlined(QUERIES, _UNDERLINES[1]) if remarks else []
    for number, remark in enumerate(remarks, start=1):
        mark = f"{number}. "
        question, *rest = told(remark)
        lines += _wrapped(question, WIDTH, mark, " " * len(mark))
        for line in rest:
            lines += _wrapped(line, WIDTH, " " * len(mark), " " * (len(mark) + 4))
        lines.append("")
    return lines


@dataclass(frozen=True, slots=True)
class TextRenderer:
    """Sets a letter as UTF-8 text of at most 76 columns, unless a single word is longer."""

    media_type: str = "text/plain; charset=utf-8"
    suffix: str = ".txt"

    def render(self, letter: Letter) -> bytes:
        """Give the text; a draft begins and ends with its mark, and its queries stand before the last one."""
        parts: list[str] = []
        before: Block | None = None
        for block in letter.blocks:
            lines = _block(block)
            # A heading stands directly on its text; every other block has a line free before it.
            if before is not None and lines and not isinstance(before, Heading):
                parts.append("")
            if lines:
                parts += lines
                before = block
        if letter.draft_mark is not None:
            mark = _wrapped(letter.draft_mark, WIDTH)
            parts = [*mark, "", *parts, "", *_queries(letter.remarks), *mark]
        return ("\n".join(parts) + "\n").encode()


def renderer(letterhead: Path | None = None) -> TextRenderer:
    """Give the renderer of plain text; it has no letterhead, and refuses one rather than leaving it out in silence."""
    if letterhead is not None:
        raise InvalidInput((Problem("letterhead", "only DOCX letters take one; leave it out"),))
    return TextRenderer()
