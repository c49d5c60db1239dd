"""Invented letters and letterheads for the tests of the renderers."""

from __future__ import annotations

import importlib.util
import io
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from types import ModuleType

import docx
import pytest

from letterkit.letter.model import (
    BulletList,
    Cell,
    Heading,
    Letter,
    Lines,
    Paragraph,
    Properties,
    Sentence,
    Table,
    Title,
)

PLAIN = Path(__file__).parents[2] / "templates" / "letterheads" / "plain.docx"
MARK = "DRAFT: not yet approved by a clinician"
CONTINUATION = "ASHDOWN, Marjorie (Mrs)  Born 14-Jun-1951  NHS No. 999\u00a0000\u00a00018"


def _recorded(text: str, *facts: str) -> Sentence:
    return Sentence(text, facts, "finding")


def _own(text: str) -> Sentence:
    return Sentence(text, (), "clinician")


BLOCKS = (
    Lines(("Harrowmere Hand Clinic", "12 Mill Lane, Harrowmere", "Telephone 01632 960001"), "sender"),
    Title("Clinic letter: hand and wrist"),
    Lines(("Dr P Quillfeather", "Larkfield Surgery", "3 Orchard Row, Harrowmere"), "recipient"),
    Lines(("Date of clinic: 04-Mar-2026", "Date of letter: 05-Mar-2026"), "dates"),
    Lines(("ASHDOWN, Marjorie (Mrs)", "Born 14-Jun-1951 (74)  NHS No. 999\u00a0000\u00a00018"), "identity"),
    Paragraph((_own("Dear Dr Quillfeather"),), "salutation"),
    Paragraph((_own("Right hand: numbness and weak pinch"),), "subject"),
    Heading(1, "History"),
    Paragraph((_recorded("Tingling in the right thumb for six months.", "f0"), _recorded("Worse at night.", "f1"))),
    Heading(1, "Examination"),
    Heading(2, "Right hand"),
    Paragraph((_recorded("There is mild thenar wasting and no swelling.", "f2", "f3"), _own("She was in a hurry."))),
    Heading(3, "Strength"),
    Table(
        "Strength of both hands",
        "Grip and key pinch of both hands in kilograms; the left pinch was not recorded.",
        ("Measure", "Right", "Left"),
        (
            (Cell("Grip strength, mean of three (kg)"), Cell("14.0", ("f4",)), Cell("21.3", ("f5",))),
            (Cell("Key pinch (kg)"), Cell("4.5", ("f6",)), Cell("")),
        ),
    ),
    Paragraph((_own("Sensation was not examined."),), "note"),
    Heading(1, "Plan"),
    BulletList(((_own("Splint at night."), _own("Six weeks.")), (_own("Review."),)), ordered=True),
    BulletList(((_own("Copy to Mrs Ashdown."),),)),
    Paragraph((Sentence("Local policy and the responsible clinician decide.", (), "caution"),), "caution"),
    Paragraph((_own("Yours sincerely"),), "signature"),
    Lines(("Miss O Tarrant", "Consultant hand surgeon"), "signature"),
    Paragraph((_own("Copies: Mrs M Ashdown."),), "small"),
)

LETTER = Letter(
    Properties("Clinic letter, hand and wrist", "Miss O Tarrant", "en-GB", date(2026, 3, 5), "Draft"),
    BLOCKS,
    CONTINUATION,
    MARK,
)


@pytest.fixture
def letter() -> Letter:
    """A draft with every kind of block in every role."""
    return LETTER


@pytest.fixture
def approved() -> Letter:
    """The same letter when a clinician has approved it."""
    return replace(LETTER, draft_mark=None, properties=replace(LETTER.properties, status="Final"))


@pytest.fixture
def with_blocks() -> Callable[..., Letter]:
    """A letter made of the blocks given."""
    return lambda *blocks: replace(LETTER, blocks=blocks)


@pytest.fixture
def repacked() -> Callable[..., bytes]:
    """The plain letterhead with parts replaced, added (bytes) or taken out (None)."""

    def repack(changes: Mapping[str, bytes | None], source: bytes | None = None) -> bytes:
        with zipfile.ZipFile(io.BytesIO(source or PLAIN.read_bytes())) as archive:
            parts: dict[str, bytes | None] = {name: archive.read(name) for name in archive.namelist()}
        parts.update(changes)
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, data in parts.items():
                if data is not None:
                    archive.writestr(name, data)
        return packed.getvalue()

    return repack


@pytest.fixture
def stationery() -> Callable[..., bytes]:
    """A clinic's letterhead as python-docx makes it: its own styles, one header for all pages, no placeholders."""

    def make(header: str = "Harrowmere Hand Clinic, stationery", *, two_sided: bool = False) -> bytes:
        document = docx.Document()
        document.add_paragraph("Old body that must not stay")
        section = document.sections[0]
        section.header.paragraphs[0].text = header
        section.footer.paragraphs[0].text = "Registered in Harrowmere"
        document.settings.odd_and_even_pages_header_footer = two_sided
        saved = io.BytesIO()
        document.save(saved)
        return saved.getvalue()

    return make


@pytest.fixture(scope="session")
def plain_script() -> ModuleType:
    """The script that makes the plain letterhead."""
    path = Path(__file__).parents[2] / "docs" / "make_plain_letterhead.py"
    specification = importlib.util.spec_from_file_location("make_plain_letterhead", path)
    assert specification is not None
    assert specification.loader is not None
    module = importlib.util.module_from_spec(specification)
    specification.loader.exec_module(module)
    return module
