"""Which characters a text of a record may hold, and how long a line may be."""

from __future__ import annotations

LONGEST_LINE = 200
LONGEST_TEXT = 20_000

# What XML forbids, DEL, and two private-use characters that templates use inside.
_FORBIDDEN = frozenset(
    [chr(code) for code in range(0x20) if chr(code) not in "\t\n\r"] + ["\x7f", "\ufffe", "\uffff", "\ue000", "\ue001"]
)


def printable(text: str) -> str:
    """The text itself. Raises `ValueError` naming the first character that no document can carry, and where it is."""
    for index, character in enumerate(text):
        if character in _FORBIDDEN or "\ud800" <= character <= "\udfff":
            raise ValueError(
                f"holds the character U+{ord(character):04X} at position {index + 1}, which no document can carry; "
                "remove it"
            )
    return text
