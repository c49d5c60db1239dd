"""The words of a letter as any format sets them: sentences joined, markup escaped, forbidden characters refused."""

from __future__ import annotations

import re
from collections.abc import Iterable

from letterkit.errors import InvalidValue
from letterkit.letter.model import Sentence, Table

# XML 1.0, production 2 (Char): the C0 controls other than tab, line feed and carriage return, the surrogates, U+FFFE
# and U+FFFF may stand in no document, not even as references. Plain text and HTML hold to the same set, so that a
# letter is either possible in every format or in none.
_FORBIDDEN = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_SPECIAL = re.compile(r"[&<>\"'\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_ENTITIES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"})


def checked(text: str) -> str:
    """Give the text back; raises InvalidValue, naming the character and its place, if no file could hold it."""
    found = _FORBIDDEN.search(text)
    if found is None:
        return text
    code = ord(found[0])
    if code < ord(" "):
        kind = "a control character"
    elif code <= 0xDFFF:  # noqa: PLR2004  # the last of the surrogates
        kind = "half of a surrogate pair"
    else:
        kind = "not a character"
    raise InvalidValue(
        f"letter: character {found.start() + 1} of a text of {len(text)} is U+{code:04X} ({kind}), which XML 1.0 "
        "forbids; remove it from the recorded text. Allowed: tab, line break and every printable character"
    )


def escape(text: str) -> str:
    """Give the text as it stands in XML or HTML, in content and in attributes; raises InvalidValue as `checked`."""
    if _SPECIAL.search(text) is None:
        return text
    return checked(text).translate(_ENTITIES)


def joined(sentences: Iterable[Sentence]) -> str:
    """Give sentences set after each other with a space between."""
    return " ".join([sentence.text for sentence in sentences if sentence.text])


def check_shape(table: Table) -> None:
    """Raise InvalidValue if a row of the table has more or fewer cells than its header row."""
    columns = len(table.header)
    if not columns:
        raise InvalidValue("letter: table: it has no columns; a table needs a header row with one name a column")
    for number, row in enumerate(table.rows, start=1):
        if len(row) != columns:
            raise InvalidValue(
                f"letter: table: row {number} has {len(row)} cells; its header row names {columns} columns, "
                "and each row needs as many"
            )
