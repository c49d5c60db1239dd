"""What a renderer is, and the table of the formats a letter can be had in."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path
from types import MappingProxyType
from typing import Protocol, cast

from letterkit.errors import InvalidInput, Problem
from letterkit.letter.model import Letter


class Renderer(Protocol):
    """Makes the file of a letter; the same letter gives the same bytes."""

    @property
    def media_type(self) -> str:
        """What the file is called in a Content-Type header."""

    @property
    def suffix(self) -> str:
        """How the file's name ends, with its dot."""

    def render(self, letter: Letter) -> bytes:
        """Give the whole file; raises InvalidValue for a text that no file of this format can hold."""


class _Format(Protocol):
    def renderer(self, letterhead: Path | None = None) -> Renderer: ...


# Each module has a function `renderer()`; it is imported when its format is first asked for, so that a plain text
# letter does not wait for the reading of a letterhead or for a typesetter.
FORMATS = MappingProxyType(
    {
        "docx": "letterkit.render.docx",
        "html": "letterkit.render.html",
        "pdf": "letterkit.render.pdf",
        "text": "letterkit.render.text",
    }
)


def renderer(name: str, letterhead: Path | None = None) -> Renderer:
    """Give the renderer of a format by its name; DOCX on the clinic's letterhead, or on the plain one that ships.

    Raises InvalidInput, naming the formats that exist, for any other name, and LetterheadError for a letterhead that
    cannot be used.
    """
    try:
        module = FORMATS[name]
    except KeyError:
        allowed = ", ".join(sorted(FORMATS))
        raise InvalidInput((Problem("format", f"{name!r} is not a format of a letter. Allowed: {allowed}"),)) from None
    return cast("_Format", import_module(module)).renderer(letterhead)
