"""Sets the blocks of a letter as WordprocessingML, by building strings: a letter has no use for a tree of its own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import assert_never

from letterkit.errors import InvalidValue
from letterkit.letter.model import Block, BulletList, Cell, Heading, Lines, Paragraph, Picture, Table, Title
from letterkit.render.docx.pictures import drawing_xml
from letterkit.render.docx.styles import NUMBERED_LISTS
from letterkit.render.words import check_shape, escape, joined

PARAGRAPH_STYLES: Mapping[str, str] = MappingProxyType(
    {
        "body": "Letter Body",
        "salutation": "Letter Salutation",
        "subject": "Letter Subject",
        "note": "Letter Note",
        "caution": "Letter Caution",
        "signature": "Letter Signature",
        "small": "Letter Small",
    }
)
LINES_STYLES: Mapping[str, str] = MappingProxyType(
    {
        "sender": "Letter Sender",
        "recipient": "Letter Address",
        "identity": "Letter Identity",
        "dates": "Letter Dates",
        "signature": "Letter Signature",
    }
)

_TEXT = '<w:r><w:t xml:space="preserve">'
_END = "</w:t></w:r></w:p>"
_BREAK = '</w:t><w:br/><w:t xml:space="preserve">'
_TAB = '</w:t><w:tab/><w:t xml:space="preserve">'

# All in twentieths of a point. A character of the table's text is about half its size (10 pt) wide; bold is wider.
_CHARACTER = 106
_TWENTIETHS = 20  # of a point in a point
_PADDING = 260  # left and right of a cell
_NARROWEST = 900
_AFTER_TABLE = '<w:spacing w:before="140"/>'


def inline(text: str) -> str:
    """Give a text as it stands inside a run's text element; its line breaks and tabs become those of the document."""
    text = escape(text)
    if "\n" in text or "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\n", _BREAK)
    return text.replace("\t", _TAB) if "\t" in text else text


def _widths(table: Table, room: int) -> list[int]:
    """Give a width for each column: what its text needs, shared out in proportion when the page is too narrow."""
    rows = [table.header, *([cell.text for cell in row] for row in table.rows)]
    needed = [max(_NARROWEST, max(map(len, column)) * _CHARACTER + _PADDING) for column in zip(*rows, strict=True)]
    total = sum(needed)
    if total <= room:
        return needed
    # The narrow columns keep what they need; the wide ones share what is left.
    fair = room // len(needed)
    spare = room - sum(width for width in needed if width <= fair)
    wide = sum(width for width in needed if width > fair)
    return [width if width <= fair else width * spare // wide for width in needed]


@dataclass(frozen=True, slots=True)
class Body:
    """Sets blocks in the styles and list numberings of one letterhead."""

    openings: Mapping[str, str]  # by style name: a paragraph up to its text
    bullet: str  # opening of a bulleted entry
    numbers: tuple[str, ...]  # opening of an entry of the first, second ... numbered list
    table_style: str
    cell: str  # properties of a paragraph in a cell
    room: int  # width of the text in twentieths of a point

    def set(self, blocks: Iterable[Block]) -> str:
        """Give the content of the document's body, without its section properties."""
        written: list[str] = []
        numbered = drawn = 0
        after_table = False
        for block in blocks:
            match block:
                case Title():
                    piece = self._paragraph("Title", block.text)
                case Heading():
                    piece = self._paragraph(f"heading {block.level}", block.text)
                case Paragraph():
                    piece = self._paragraph(PARAGRAPH_STYLES[block.role], joined(block.sentences))
                case Lines():
                    piece = self._paragraph(LINES_STYLES[block.role], "\n".join(block.lines))
                case BulletList():
                    piece = self._list(block, numbered)
                    numbered += block.ordered
                case Table():
                    piece = self._table(block)
                case Picture():
                    opening = self.openings["Letter Body"].removesuffix(_TEXT)
                    piece = f"{opening}{drawing_xml(block, drawn, self.room / _TWENTIETHS)}</w:p>"
                    drawn += 1
                case _ as never:
                    assert_never(never)
            if after_table and not isinstance(block, Table | Title | Heading):
                piece = piece.replace("</w:pPr>", _AFTER_TABLE + "</w:pPr>", 1)
            if piece:
                written.append(piece)
                after_table = isinstance(block, Table)
        if after_table:
            # A body may not end in a table: word processors add a paragraph, and so do we, in small type.
            written.append(self.openings["Letter Small"].removesuffix(_TEXT) + "</w:p>")
        return "".join(written)

    def _paragraph(self, style: str, text: str) -> str:
        return f"{self.openings[style]}{inline(text)}{_END}" if text else ""

    def _list(self, block: BulletList, numbered: int) -> str:
        if block.ordered:
            if numbered >= len(self.numbers):
                raise InvalidValue(f"letter: more than {NUMBERED_LISTS} numbered lists; use bullets for some of them")
            opening = self.numbers[numbered]
        else:
            opening = self.bullet
        return "".join([f"{opening}{inline(joined(entry))}{_END}" for entry in block.entries])

    def _row(self, texts: Sequence[str], widths: Sequence[str], properties: str) -> str:
        cells = [
            f"{width}{self.cell}{_TEXT}{inline(text)}{_END}</w:tc>" if text else f"{width}{self.cell}</w:p></w:tc>"
            for width, text in zip(widths, texts, strict=True)
        ]
        return f"<w:tr>{properties}{''.join(cells)}</w:tr>"

    def _table(self, table: Table) -> str:
        check_shape(table)
        numbers = _widths(table, self.room)
        widths = [f'<w:tc><w:tcPr><w:tcW w:w="{width}" w:type="dxa"/></w:tcPr>' for width in numbers]
        caption = f'<w:tblCaption w:val="{escape(table.caption)}"/>' if table.caption else ""
        description = f'<w:tblDescription w:val="{escape(table.description)}"/>' if table.description else ""
        grid = "".join([f'<w:gridCol w:w="{width}"/>' for width in numbers])
        header = self._row(table.header, widths, "<w:trPr><w:cantSplit/><w:tblHeader/></w:trPr>")
        rows = [self._row(_texts(row), widths, "<w:trPr><w:cantSplit/></w:trPr>") for row in table.rows]
        return (
            f"{self._paragraph('caption', table.caption)}"
            f'<w:tbl><w:tblPr><w:tblStyle w:val="{self.table_style}"/><w:tblW w:w="{sum(numbers)}" w:type="dxa"/>'
            '<w:tblLook w:val="0020" w:firstRow="1" w:lastRow="0" w:firstColumn="0" w:lastColumn="0" w:noHBand="0" '
            f'w:noVBand="0"/>{caption}{description}</w:tblPr><w:tblGrid>{grid}</w:tblGrid>{header}{"".join(rows)}</w:tbl>'
        )


def _texts(row: Sequence[Cell]) -> list[str]:
    return [cell.text for cell in row]


def prepared(ids: Mapping[str, str], bullet: str, numbers: Iterable[str], room: int) -> Body:
    """Give the setter for a letterhead, from its style ids by name, its list numbers and the width of its text."""

    def entry(style: str, number: str) -> str:
        return (
            f'<w:p><w:pPr><w:pStyle w:val="{ids[style]}"/><w:numPr><w:ilvl w:val="0"/><w:numId w:val="{number}"/>'
            f"</w:numPr></w:pPr>{_TEXT}"
        )

    return Body(
        openings={name: f'<w:p><w:pPr><w:pStyle w:val="{style}"/></w:pPr>{_TEXT}' for name, style in ids.items()},
        bullet=entry("List Bullet", bullet),
        numbers=tuple(entry("List Number", number) for number in numbers),
        table_style=ids["Letter Table"],
        cell=f'<w:p><w:pPr><w:pStyle w:val="{ids["Letter Cell"]}"/></w:pPr>',
        room=room,
    )
