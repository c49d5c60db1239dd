"""A letter as a Word document on a clinic's letterhead.

Here may stand: the reading of letterheads, the writing of the body, and the ZIP container. A letterhead is checked and
compressed once; a letter then costs its own words only.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from letterkit.letter.model import Letter
from letterkit.render.docx.comments import commented, comments_part
from letterkit.render.docx.furniture import Filled
from letterkit.render.docx.letterhead import Letterhead, load, plain_letterhead
from letterkit.render.docx.package import LETTER_LEVEL, Member, container, member
from letterkit.render.docx.pictures import illustrated, pictures
from letterkit.render.docx.properties import CORE_PART, core_properties

__all__ = ["DocxRenderer", "Letterhead", "load", "plain_letterhead", "renderer"]


@dataclass(frozen=True, slots=True)
class DocxRenderer:
    """Sets letters on one letterhead."""

    letterhead: Letterhead
    media_type: str = "application/vnd.openxmlformats-officedocument.wordprocessingml.document"
    suffix: str = ".docx"

    def render(self, letter: Letter) -> bytes:
        """Give the document; the same letter on the same letterhead gives the same bytes."""
        head = self.letterhead
        members = (head.large if letter.properties.large_print else head.members)[letter.properties.language]
        comments: tuple[Member, ...] = ()
        if letter.remarks:
            content = commented(letter, head.body)
            members = tuple(head.commented.get(each.name, each) for each in members)
            comments = (member(head.comments, comments_part(letter).encode(), LETTER_LEVEL),)
        else:
            content = head.body.set(letter.blocks)
        if drawn := pictures(letter.blocks):
            members = illustrated(members, head.document, drawn)
        document = f"{head.opening}{content}{head.closing}"
        return container(
            (
                *members,
                member(head.document, document.encode(), LETTER_LEVEL),
                *comments,
                *[_furniture(part, letter) for part in head.furniture],
                member(CORE_PART, core_properties(letter.properties).encode(), LETTER_LEVEL),
            )
        )


def _furniture(part: Filled, letter: Letter) -> Member:
    """A header or footer of one letter; one that says the same in every letter is compressed once."""
    text = part.fill(letter)
    return _unchanging(part.part, text) if part.is_fixed else member(part.part, text.encode(), LETTER_LEVEL)


@lru_cache(maxsize=64)
def _unchanging(name: str, text: str) -> Member:
    return member(name, text.encode())


def renderer(letterhead: Path | None = None) -> DocxRenderer:
    """Give the renderer on a clinic's letterhead, or on the plain one that ships with the package."""
    return DocxRenderer(plain_letterhead() if letterhead is None else load(letterhead))
