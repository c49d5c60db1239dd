"""Reads a PDF letter back with a library of its own: its words page by page, its catalogue and its structure tree."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from typing import Any

import pikepdf
import pypdf

from letterkit.letter.model import Letter
from letterkit.letter.remarks import HEADING

_QUERIES = HEADING.split()


def pages(data: bytes) -> list[str]:
    """The text of each page as a reader sees it."""
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages]


def words(data: bytes, letter: Letter) -> list[str]:
    """The words of the letter in the order of the pages, without what runs along (mark, identity, page number).

    The queries behind a draft are not the letter's either.
    """
    found: list[str] = []
    behind = False
    texts = pages(data)
    for number, text in enumerate(texts, start=1):
        running = letter.draft_mark or ""
        if number > 1:
            running += " " + letter.continuation
        given = text.split()
        lead = running.split()
        assert given[: len(lead)] == lead
        assert given[-4:] == ["Page", str(number), "of", str(len(texts))]
        # Queries about the record stand behind the letter, on pages of their own.
        behind = behind or (bool(letter.remarks) and given[len(lead) :][: len(_QUERIES)] == _QUERIES)
        if not behind:
            found += given[len(lead) : -4]
    # The bullets and numbers of a list are the format's own.
    return [word for word in found if not re.fullmatch(r"•|\d\.", word)]


def structure(node: Any) -> Iterator[tuple[str, Any]]:
    """Every element of a structure tree with its tag, in reading order."""
    children = node.get("/K")
    if children is None:
        return
    for child in children if isinstance(children, pikepdf.Array) else [children]:
        if isinstance(child, pikepdf.Dictionary) and "/S" in child:
            yield str(child.S), child
            yield from structure(child)
