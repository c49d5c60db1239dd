"""A drawing in vector graphics as a picture in pixels, for formats whose readers cannot show vector graphics."""

from __future__ import annotations

from functools import cache
from threading import Lock

import typst

from letterkit.errors import LetterkitError
from letterkit.render.pdf.fonts import font_folder

_DOTS_PER_INCH = 192.0
_PAGE = (
    b'#set page(width: auto, height: auto, margin: 0pt)\n#image(bytes(sys.inputs.svg), format: "svg", alt: "drawing")'
)
_TURN = Lock()


@cache
def _compiler() -> typst.Compiler:
    fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(font_folder())])
    return typst.Compiler(font_paths=fonts, ignore_system_fonts=True)


def png(svg: str) -> bytes:
    """The drawing as PNG at 192 dots an inch; the same drawing gives the same bytes."""
    try:
        with _TURN:
            made = _compiler().compile(_PAGE, format="png", ppi=_DOTS_PER_INCH, sys_inputs={"svg": svg})
    except typst.TypstError:
        # Its diagnostics hold words of the drawing, and an error may reach a log.
        raise LetterkitError(
            "letter: the drawing could not be set as a picture; leave it out (options.drawing)"
        ) from None
    if not isinstance(made, bytes):
        raise LetterkitError("letter: the drawing could not be set as a picture; leave it out (options.drawing)")
    return made
