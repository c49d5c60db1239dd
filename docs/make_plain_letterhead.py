"""Makes templates/letterheads/plain.docx, the letterhead that ships with the package.

Run from the root of the repository: `python docs/make_plain_letterhead.py`. It is an ordinary document: a clinic may
open it, put its name and logo into the header of the first page, and save it under another name.
"""

from __future__ import annotations

import io
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import docx
from docx.oxml.ns import qn
from docx.shared import Cm, Pt

from letterkit.render.docx.package import container, member
from letterkit.render.docx.styles import complete_styles

TARGET = Path(__file__).parent.parent / "templates" / "letterheads" / "plain.docx"
_MARGIN = Cm(2.0)
_EDGE = Cm(1.6)  # above and below, so that a plain letter keeps to one page
_FONT = "Arial"  # or what stands in for it: the widths are the same
_BASE = {"Normal", "Default Paragraph Font", "Normal Table", "No List"}  # what the format itself needs
_UNUSED_OF_PACKAGE = {"thumbnail", "extended-properties"}
_UNUSED_OF_DOCUMENT = {"customXml", "stylesWithEffects"}


def _styles(document: docx.document.Document) -> None:
    root = document.styles.element
    for style in list(root.iterchildren(qn("w:style"))):
        if style.find(qn("w:name")).get(qn("w:val")) not in _BASE:
            root.remove(style)
    for latent in list(root.iterchildren(qn("w:latentStyles"))):
        root.remove(latent)
    normal = document.styles["Normal"]
    normal.font.name = _FONT
    normal.font.size = Pt(10.5)
    fonts = normal.element.rPr.find(qn("w:rFonts"))
    for script in ("eastAsia", "cs"):
        fonts.set(qn(f"w:{script}"), _FONT)
    normal.paragraph_format.space_after = Pt(0)
    normal.paragraph_format.line_spacing = 1.0
    complete_styles(root)


def _furniture(section: docx.section.Section) -> None:
    section.different_first_page_header_footer = True
    for part, placeholders in (
        (section.first_page_header, (("Letter Draft Mark", "{{draft_mark}}"),)),
        (section.header, (("Letter Draft Mark", "{{draft_mark}}"), ("Letter Continuation", "{{continuation}}"))),
        (section.first_page_footer, (("Letter Page", "{{page}}"),)),
        (section.footer, (("Letter Page", "{{page}}"),)),
    ):
        part.is_linked_to_previous = False
        for paragraph in list(part.paragraphs):
            paragraph._element.getparent().remove(paragraph._element)  # noqa: SLF001  # there is no public way
        for style, text in placeholders:
            part.add_paragraph(text, style=style)


def _lighten(document: docx.document.Document) -> None:
    """Take out what python-docx's own template brings along and a letter has no use for."""
    package = document.part.package
    for holder, kinds in ((package, _UNUSED_OF_PACKAGE), (document.part, _UNUSED_OF_DOCUMENT)):
        for identity, relationship in list(holder.rels.items()):
            if relationship.reltype.rpartition("/")[2] in kinds:
                del holder.rels[identity]
    numbering = document.part.numbering_part.element
    for child in list(numbering):
        numbering.remove(child)
    settings = document.settings.element
    settings.find(qn("w:themeFontLang")).set(qn("w:val"), "en-GB")
    for name in ("rsids", "savePreviewPicture", "doNotAutoCompressPictures"):
        settings.remove(settings.find(qn(f"w:{name}")))
    for setting in settings.iter(qn("w:compatSetting")):
        if setting.get(qn("w:name")) == "compatibilityMode":
            setting.set(qn("w:val"), "15")  # else a word processor says that it opens the letter in an old mode


def build() -> bytes:
    """Give the letterhead's file; the same version of python-docx gives the same bytes."""
    document = docx.Document()
    section = document.sections[0]
    section.page_width, section.page_height = Cm(21.0), Cm(29.7)
    section.left_margin = section.right_margin = _MARGIN
    section.top_margin = section.bottom_margin = _EDGE
    section.header_distance = section.footer_distance = Cm(1.0)
    _styles(document)
    _furniture(section)
    about = document.core_properties
    about.title, about.author, about.comments, about.last_modified_by = "Plain letterhead", "", "", ""
    about.created = about.modified = datetime(2026, 1, 1, tzinfo=UTC)
    about.language = "en-GB"
    _lighten(document)
    saved = io.BytesIO()
    document.save(saved)
    with zipfile.ZipFile(saved) as archive:
        return container([member(name, archive.read(name)) for name in archive.namelist()])


if __name__ == "__main__":
    TARGET.parent.mkdir(parents=True, exist_ok=True)
    TARGET.write_bytes(build())
