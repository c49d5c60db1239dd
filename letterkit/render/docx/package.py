"""Writes the ZIP container of a DOCX: parts that never change are compressed once and reused in every letter.

The standard library's writer compresses every member again for each file. Most of a letter's members are the clinic's
letterhead, the same in each, so here a member is a value that can be kept.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterable
from dataclasses import dataclass

_LOCAL = struct.Struct("<IHHHHHIIIHH")
_CENTRAL = struct.Struct("<IHHHHHHIIIHHHHHII")
_END = struct.Struct("<IHHHHIIH")

_VERSION = 20  # of the ZIP format: deflated members
_UTF8_NAME = 0x800
_DEFLATED = 8
_STORED = 0
_MIDNIGHT = 0
_FIRST_OF_1980 = (1 << 5) | 1  # 1980-01-01, the earliest date a ZIP can hold: a letter's bytes tell no time of day

STATIC_LEVEL = 9  # once a letterhead
LETTER_LEVEL = 1  # once a letter: level 6 takes three times as long for a tenth fewer bytes


@dataclass(frozen=True, slots=True)
class Member:
    """One file of the container, compressed and ready to be written at any offset."""

    local: bytes  # header, name and data
    central: bytes  # directory entry without its last field, the offset
    name: bytes


def member(name: str, data: bytes, level: int = STATIC_LEVEL) -> Member:
    """Give a member of the container from its name and its bytes, dated 1980-01-01."""
    compressor = zlib.compressobj(level, zlib.DEFLATED, -zlib.MAX_WBITS)
    packed = compressor.compress(data) + compressor.flush()
    method = _DEFLATED
    if len(packed) >= len(data):
        packed, method = data, _STORED
    raw = name.encode()
    flags = 0 if raw.isascii() else _UTF8_NAME
    sizes = (zlib.crc32(data), len(packed), len(data), len(raw), 0)
    common = (_VERSION, flags, method, _MIDNIGHT, _FIRST_OF_1980, *sizes)
    local = _LOCAL.pack(0x04034B50, *common) + raw + packed
    central = _CENTRAL.pack(0x02014B50, _VERSION, *common, 0, 0, 0, 0, 0)[:-4]
    return Member(local, central, raw)


def container(members: Iterable[Member]) -> bytes:
    """Give the whole file with its members in the order given; the same members give the same bytes."""
    files: list[bytes] = []
    directory: list[bytes] = []
    offset = 0
    for each in members:
        files.append(each.local)
        directory += (each.central, offset.to_bytes(4, "little"), each.name)
        offset += len(each.local)
    entries = b"".join(directory)
    count = len(files)
    return b"".join((*files, entries, _END.pack(0x06054B50, 0, 0, count, count, len(entries), offset, 0)))
