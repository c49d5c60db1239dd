"""Drawings in a Word document: vector graphics for programs that show them, and the same as pixels for the others.

A letter with a drawing has two parts more for each, and its relationships and content types name them; both are taken
from the prepared letterhead and completed for this letter alone.
"""

from __future__ import annotations

import posixpath
import re
import zlib
from collections.abc import Iterable, Sequence

from letterkit.errors import InvalidValue
from letterkit.letter.model import Block, Picture
from letterkit.render.docx.ooxml import RELATIONSHIP
from letterkit.render.docx.opc import CONTENT_TYPES, rels_name
from letterkit.render.docx.package import LETTER_LEVEL, Member, member
from letterkit.render.words import escape

_EMU = 12700  # English Metric Units in a point
_TALLEST = 640.0  # points that a page of any usual paper leaves
_SIZE = re.compile(r'<svg [^>]*?width="([0-9.]+)" height="([0-9.]+)"')
_LOCAL_HEADER = 30  # bytes of a member before its name
_METHOD = slice(8, 10)
_FIRST_ID = 9000  # of drawings: the letterhead's own logos have small ones
_DRAWING = "http://schemas.openxmlformats.org/drawingml/2006/"
_SVG_EXTENSION = "{96DAC541-7B7A-43D3-8B79-37D633B846F1}"
_SVG_NS = "http://schemas.microsoft.com/office/drawing/2016/SVG/main"


def pictures(blocks: Iterable[Block]) -> tuple[Picture, ...]:
    """The drawings of a letter, in order."""
    return tuple(block for block in blocks if isinstance(block, Picture))


def _size(picture: Picture, room_pt: float) -> tuple[int, int]:
    """Width and height in English Metric Units: as drawn, or smaller where the page leaves less."""
    found = _SIZE.search(picture.svg)
    if found is None:
        raise InvalidValue("letter: a drawing without width and height; give both in points")
    width, height = float(found[1]), float(found[2])
    scale = min(1.0, room_pt / width, _TALLEST / height)
    return round(width * scale * _EMU), round(height * scale * _EMU)


def drawing_xml(picture: Picture, number: int, room_pt: float) -> str:
    """A run that shows the drawing of that number (from 0), with its alternative text."""
    wide, high = _size(picture, room_pt)
    identity = _FIRST_ID + number
    return (
        f'<w:r><w:drawing><wp:inline xmlns:wp="{_DRAWING}wordprocessingDrawing" '
        'distT="0" distB="0" distL="0" distR="0">'
        f'<wp:extent cx="{wide}" cy="{high}"/>'
        f'<wp:docPr id="{identity}" name="Drawing {number + 1}" descr="{escape(picture.alt)}"/>'
        f'<a:graphic xmlns:a="{_DRAWING}main"><a:graphicData uri="{_DRAWING}picture">'
        f'<pic:pic xmlns:pic="{_DRAWING}picture"><pic:nvPicPr>'
        f'<pic:cNvPr id="{identity}" name="drawing{number + 1}.png"/>'
        f'<pic:cNvPicPr/></pic:nvPicPr><pic:blipFill><a:blip r:embed="rIdPixels{number}"><a:extLst>'
        f'<a:ext uri="{_SVG_EXTENSION}"><asvg:svgBlip xmlns:asvg="{_SVG_NS}" r:embed="rIdVector{number}"/></a:ext>'
        "</a:extLst></a:blip><a:stretch><a:fillRect/></a:stretch></pic:blipFill><pic:spPr><a:xfrm>"
        f'<a:off x="0" y="0"/><a:ext cx="{wide}" cy="{high}"/></a:xfrm><a:prstGeom prst="rect"><a:avLst/></a:prstGeom>'
        "</pic:spPr></pic:pic></a:graphicData></a:graphic></wp:inline></w:drawing></w:r>"
    )


def _content(each: Member) -> str:
    packed = each.local[_LOCAL_HEADER + len(each.name) :]
    stored = each.local[_METHOD] == b"\0\0"
    return (packed if stored else zlib.decompress(packed, -zlib.MAX_WBITS)).decode()


def illustrated(members: Sequence[Member], document: str, drawn: Sequence[Picture]) -> tuple[Member, ...]:
    """The parts of a letterhead with those of the drawings, and with what names them."""
    from letterkit.render.pixels import png  # noqa: PLC0415 - a letter without a drawing needs no typesetter

    media = posixpath.join(posixpath.dirname(document), "media")
    relations, types, parts = "", "", []
    for number, picture in enumerate(drawn):
        for kind, ending, media_type, data in (
            ("Pixels", "png", "image/png", png(picture.svg)),
            ("Vector", "svg", "image/svg+xml", picture.svg.encode()),
        ):
            name = posixpath.join(media, f"letter_drawing{number}.{ending}")
            target = posixpath.relpath(name, posixpath.dirname(document) or ".")
            relations += f'<Relationship Id="rId{kind}{number}" Type="{RELATIONSHIP}image" Target="{target}"/>'
            types += f'<Override PartName="/{name}" ContentType="{media_type}"/>'
            parts.append(member(name, data, LETTER_LEVEL))
    more = {
        CONTENT_TYPES.encode(): ("</Types>", types),
        rels_name(document).encode(): ("</Relationships>", relations),
    }
    named = []
    for each in members:
        if each.name in more:
            end, entries = more[each.name]
            text = _content(each).replace(end, entries + end)
            named.append(member(each.name.decode(), text.encode(), LETTER_LEVEL))
        else:
            named.append(each)
    return (*named, *parts)
