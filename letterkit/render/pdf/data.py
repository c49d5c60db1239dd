"""A letter as the data its page is set from: plain texts and numbers only, so nothing in a record can act as markup."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any, TypeAlias, assert_never

from letterkit.letter.model import Block, BulletList, Heading, Letter, Lines, Paragraph, Picture, Remark, Table, Title
from letterkit.letter.remarks import HEADING as QUERIES
from letterkit.letter.remarks import told
from letterkit.render.pdf.fonts import showable
from letterkit.render.words import check_shape, checked, joined

# Lines, and each line's pieces: between two pieces a word that is too long for the page may break.
Text: TypeAlias = list[list[str]]

_LINE_BREAK = re.compile(r"\r\n|\r|\n")
_LONGEST_WORD = 60  # characters that fit the width of the page in any letters
_PAGE_IN_CELL = 80  # characters of table text that fit the width of the page in any letters
_SHORTEST_PIECE = 6
_WHOLE = 1200  # characters: a longer text may be parted between pages, else it might not fit one
_WHOLE_LINES = 30
_WHOLE_CELL = 300


def _pieces(line: str, longest: int) -> list[str]:
    pieces: list[str] = []
    rest = 0
    for word in re.finditer(rf"[^ ]{{{longest + 1},}}", line):
        for cut in range(word.start() + longest, word.end(), longest):
            pieces.append(line[rest:cut])
            rest = cut
    return [*pieces, line[rest:]]


def _text(text: str, longest: int = _LONGEST_WORD) -> Text:
    """A text as lines; empty for an empty text. Raises InvalidValue for a character that cannot be shown."""
    if not text:
        return []
    lines = _LINE_BREAK.split(checked(text).replace("\t", "    "))
    return [_pieces(showable(line), longest) for line in lines]


def _on_one_line(text: str) -> Text:
    return _text(" ".join(re.split(r"[\t\r\n]+", text)))


def _set(kind: str, style: str, text: str, **more: Any) -> dict[str, Any] | None:
    lines = _text(text)
    if not lines:
        return None
    short = len(text) <= _WHOLE and len(lines) <= _WHOLE_LINES
    return {"kind": kind, "style": style, "text": lines, "short": short, **more}


def _list(block: BulletList) -> dict[str, Any] | None:
    entries = [_text(joined(entry)) or [[""]] for entry in block.entries]
    if not entries:
        return None
    return {"kind": "numbers" if block.ordered else "bullets", "style": "list", "entries": entries, "short": False}


def _table(table: Table) -> dict[str, Any]:
    check_shape(table)
    checked(table.description)  # not shown, but a letter is possible in every format or in none
    longest = max(_PAGE_IN_CELL // len(table.header), _SHORTEST_PIECE)

    def cells(texts: Sequence[str]) -> list[Text]:
        return [_text(text, longest) or [[""]] for text in texts]

    rows = [[cell.text for cell in row] for row in table.rows]
    return {
        "kind": "table",
        "style": "table",
        "caption": _text(table.caption) or None,
        "header": cells(table.header),
        "rows": [{"cells": cells(row), "whole": max(map(len, row)) <= _WHOLE_CELL} for row in rows],
        "short": False,
    }


def _picture(block: Picture) -> dict[str, Any]:
    showable(checked(block.svg))  # a character the font cannot show is refused inside a drawing too
    return {"kind": "picture", "style": "picture", "svg": block.svg, "alt": checked(block.alt), "short": False}


def _blocks(blocks: Iterable[Block]) -> list[dict[str, Any]]:
    written: list[dict[str, Any] | None] = []
    level = 0
    for block in blocks:
        match block:
            case Title():
                written.append(_set("title", "title", block.text))
            case Heading():
                # The standard allows no skipped level, not even at the start; how a heading looks stays its own.
                if block.text:
                    level = min(block.level, level + 1)
                written.append(_set("heading", f"heading{block.level}", block.text, level=level))
            case Paragraph():
                written.append(_set("text", block.role, joined(block.sentences)))
            case Lines():
                written.append(_set("text", block.role, "\n".join(block.lines)))
            case BulletList():
                written.append(_list(block))
            case Table():
                written.append(_table(block))
            case Picture():
                written.append(_picture(block))
            case _ as never:
                assert_never(never)
    return [block for block in written if block is not None]


def _queries(remarks: Sequence[Remark]) -> dict[str, Any] | None:
    """The queries of a draft with their heading; they stand on pages of their own behind the letter."""
    if not remarks:
        return None
    return {"heading": _text(QUERIES), "entries": [_text("\n".join(told(remark))) for remark in remarks]}


def page_data(letter: Letter) -> dict[str, Any]:
    """What a letter's pages are set from. Raises InvalidValue for a text that the PDF cannot hold or show."""
    about = letter.properties
    language, _, region = about.language.partition("-")
    return {
        "title": checked(about.title),
        "author": checked(about.author),
        "status": about.status,
        "language": language,
        "region": region,
        "large": about.large_print,
        "mark": _on_one_line(letter.draft_mark or ""),
        "continuation": _on_one_line(letter.continuation),
        "blocks": _blocks(letter.blocks),
        "queries": _queries(letter.remarks),
    }
