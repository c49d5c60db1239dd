"""A letter as an accessible PDF (PDF/UA-1): tagged, with language and title, its pages numbered and identified.

Here may stand: the page's look (`letter.typ`), the letter as its data, and the font. The typesetter is made ready
once; a letter then costs its own words only.
"""

from __future__ import annotations

import json
import os
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, time
from functools import cache
from importlib import resources
from pathlib import Path
from threading import Lock
from typing import Any

import typst

from letterkit.errors import InvalidInput, LetterkitError, Problem
from letterkit.letter.model import Letter
from letterkit.render.pdf.data import page_data
from letterkit.render.pdf.fonts import font_folder

__all__ = ["DOTS_PER_INCH", "PdfRenderer", "pictures", "renderer"]

DOTS_PER_INCH = 110.0
"""How fine a picture of a page is: fine enough to be read at the width of a screen."""


@dataclass(frozen=True, slots=True)
class _Typesetter:
    """The compiler with the font loaded and nothing of the machine's own; it sets one letter at a time."""

    compiler: typst.Compiler
    source: bytes
    process: int = field(default_factory=os.getpid)
    turn: Lock = field(default_factory=Lock)

    def set(self, data: str, created: datetime) -> bytes:
        """One letter as a PDF."""
        (page,) = self._made(data, format="pdf", pdf_standards="ua-1", timestamp=created)
        return page

    def pictures(self, data: str, created: datetime) -> tuple[bytes, ...]:
        """The same pages, each as a PNG."""
        return self._made(data, format="png", ppi=DOTS_PER_INCH, timestamp=created)

    def _made(self, data: str, **how: Any) -> tuple[bytes, ...]:
        if self.process != os.getpid():
            # The compiler's threads do not live on in a forked child, which would wait for them for ever.
            raise LetterkitError(
                "format pdf: this process was forked from one that has made a PDF; start worker processes afresh "
                "(start method 'spawn' or 'forkserver')"
            )
        try:
            with self.turn:
                made = self.compiler.compile(self.source, sys_inputs={"letter": data}, **how)
        except typst.TypstError as error:
            # Its diagnostics hold words of the letter, and an error may reach a log.
            kind = error.message.partition("`")[0].strip()
            raise LetterkitError(f"letter: the PDF could not be set: {kind}; make it as docx, html or text") from None
        pages = tuple(page for page in (made if isinstance(made, list) else [made]) if isinstance(page, bytes))
        if not pages:
            raise LetterkitError("letter: the PDF could not be set: the typesetter gave no file")
        return pages


@cache
def _typesetter() -> _Typesetter:
    fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(font_folder())])
    source = resources.files(__package__ or __name__).joinpath("letter.typ").read_bytes()
    return _Typesetter(typst.Compiler(font_paths=fonts, ignore_system_fonts=True), source)


@dataclass(frozen=True, slots=True)
class PdfRenderer:
    """Sets letters as PDF/UA-1 on plain A4 pages."""

    media_type: str = "application/pdf"
    suffix: str = ".pdf"

    def render(self, letter: Letter) -> bytes:
        """Give the file; raises InvalidValue, naming it, for a character that its font cannot show."""
        data = json.dumps(page_data(letter), ensure_ascii=False)
        return _typesetter().set(data, datetime.combine(letter.properties.created, time(), UTC))


def pictures(letter: Letter) -> tuple[bytes, ...]:
    """The pages of the letter's PDF as pictures, without the queries of a draft; raises InvalidValue as `render`."""
    data = json.dumps(page_data(replace(letter, remarks=())), ensure_ascii=False)
    return _typesetter().pictures(data, datetime.combine(letter.properties.created, time(), UTC))


def renderer(letterhead: Path | None = None) -> PdfRenderer:
    """Give the renderer of PDF; it has no letterhead, and refuses one rather than leaving it out in silence."""
    if letterhead is not None:
        raise InvalidInput((Problem("letterhead", "only DOCX letters take one; leave it out"),))
    return PdfRenderer()
