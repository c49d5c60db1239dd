"""The font of PDF letters, and which characters it can show.

Arimo (SIL Open Font License 1.1) covers Latin, Greek, Cyrillic and Hebrew, and its letters are as wide as those of the
Word letters' Arial, so that a letter breaks its lines alike in both.
"""

from __future__ import annotations

import struct
import unicodedata
from functools import cache
from importlib.util import find_spec
from pathlib import Path

from letterkit.errors import InvalidValue, LetterkitError

FAMILY = "Arimo"
_PACKAGE = "fontpkg_arimo"
_SEGMENTS, _RANGES = 4, 12  # the two forms in which fonts of today list their characters
_LARGEST_SEGMENTED = 0xFFFF


@cache
def font_folder() -> Path:
    """The folder with the font's files. Raises LetterkitError where the font's package is not installed."""
    found = find_spec(_PACKAGE)
    if found is None or found.origin is None:
        raise LetterkitError("format pdf: its font is not installed; install the package fontpkg-arimo")
    return Path(found.origin).parent / "files"


def _segmented(font: bytes, at: int) -> set[int]:
    (twice,) = struct.unpack_from(">H", font, at + 6)
    count = twice // 2
    ends = struct.unpack_from(f">{count}H", font, at + 14)
    starts = struct.unpack_from(f">{count}H", font, at + 16 + twice)
    deltas = struct.unpack_from(f">{count}H", font, at + 16 + 2 * twice)
    places = at + 16 + 3 * twice
    offsets = struct.unpack_from(f">{count}H", font, places)
    found = set()
    for number, (start, end) in enumerate(zip(starts, ends, strict=True)):
        for code in range(start, min(end, _LARGEST_SEGMENTED - 1) + 1):
            glyph = code
            if offsets[number]:
                (glyph,) = struct.unpack_from(">H", font, places + 2 * number + offsets[number] + 2 * (code - start))
                if not glyph:
                    continue
            if (glyph + deltas[number]) & 0xFFFF:
                found.add(code)
    return found


def _ranged(font: bytes, at: int) -> set[int]:
    (count,) = struct.unpack_from(">I", font, at + 12)
    found: set[int] = set()
    for start, end, glyph in struct.iter_unpack(">III", font[at + 16 : at + 16 + 12 * count]):
        found.update(range(start if glyph else start + 1, end + 1))
    return found


def characters(font: bytes) -> frozenset[str]:
    """The characters a TrueType or OpenType font has a picture for, from its table `cmap` (ISO/IEC 14496-22, 5.2.1)."""
    (tables,) = struct.unpack_from(">H", font, 4)
    records = struct.iter_unpack(">4sIII", font[12 : 12 + 16 * tables])
    start = next(offset for tag, _, offset, _ in records if tag == b"cmap")
    (count,) = struct.unpack_from(">H", font, start + 2)
    found: set[int] = set()
    for platform, _, offset in struct.iter_unpack(">HHI", font[start + 4 : start + 4 + 8 * count]):
        (form,) = struct.unpack_from(">H", font, start + offset)
        if platform in {0, 3} and form == _SEGMENTS:
            found |= _segmented(font, start + offset)
        elif platform in {0, 3} and form == _RANGES:
            found |= _ranged(font, start + offset)
    return frozenset(map(chr, found))


@cache
def shown() -> frozenset[str]:
    """The characters that every file of the font, upright and italic, has a picture for."""
    files = sorted(font_folder().glob("*.ttf"))
    if not files:
        raise LetterkitError("format pdf: its font is incomplete; install the package fontpkg-arimo again")
    every = frozenset.intersection(*(characters(file.read_bytes()) for file in files))
    # Fonts list a few control characters, and have nothing to show for them.
    return frozenset(character for character in every if unicodedata.category(character) != "Cc")


def showable(text: str) -> str:
    """Give the text back; raises InvalidValue, naming the character and its place, if the font cannot show it."""
    missing = set(text) - shown()
    if not missing:
        return text
    place = next(index for index, character in enumerate(text) if character in missing)
    character = text[place]
    name = unicodedata.name(character, "a character without a name")
    raise InvalidValue(
        f"letter: character {place + 1} of a text of {len(text)} is U+{ord(character):04X} ({name}), which the PDF's "
        f"font {FAMILY} cannot show. Allowed: Latin, Greek, Cyrillic and Hebrew; make this letter as docx, html or text"
    )
