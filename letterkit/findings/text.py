"""Which characters a text of a record may hold, and how long a line may be."""

from __future__ import annotations

import re

LONGEST_LINE = 200
LONGEST_TEXT = 20_000

# What XML forbids, DEL, lone surrogates, and two private-use characters that templates use inside.
_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff\ue000\ue001]")


def printable(text: str) -> str:
    """The text itself. Raises `ValueError` naming the first character that no document can carry, and where it is."""
    if found := _FORBIDDEN.search(text):
        raise ValueError(
            f"holds the character U+{ord(found[0]):04X} at position {found.start() + 1}, which no document can carry; "
            "remove it"
        )
    return text
