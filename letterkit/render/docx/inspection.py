"""What a clinic's letterhead brings, and what a letter adds to it: styles, headers, footers, placeholders, page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from lxml.etree import _Element as Element

from letterkit.render.docx import section
from letterkit.render.docx.furniture import PLACEHOLDERS, Kind, holds_placeholder, numbers_pages
from letterkit.render.docx.letterhead import load
from letterkit.render.docx.ooxml import is_on, made, w
from letterkit.render.docx.opc import Package, opened
from letterkit.render.docx.styles import EMPTY_STYLES, STYLE_NAMES, own_styles

_PAGES: Mapping[Kind, str] = {"first": "the first page", "default": "further pages", "even": "left-hand pages"}
_TWENTIETHS_A_CM = 1440 / 2.54
_WP_DOC_PROPERTIES = "{http://schemas.openxmlformats.org/drawingml/2006/wordprocessingDrawing}docPr"
_WIDEST_MARGIN_CM = 14.0  # text narrower than this leaves little room for a table of measurements


@dataclass(frozen=True, slots=True)
class Inspection:
    """What was found in a letterhead that can be used.

    `own` are the styles of a letter that it brings, `added` those it lacks and is given; `furniture` says of each kind
    of page what stands there and what is added; `notes` what the clinic may want to know or change.
    """

    name: str
    own: tuple[str, ...]
    added: tuple[str, ...]
    furniture: tuple[str, ...]
    notes: tuple[str, ...]


def _furniture(kind: Kind, header: Element | None, footer: Element | None) -> str:
    roots = [root for root in (header, footer) if root is not None]
    has = " and ".join(word for word, root in (("header", header), ("footer", footer)) if root is not None)
    found = [f"{{{{{name}}}}}" for name in PLACEHOLDERS if holds_placeholder(name, *roots)]
    added = []
    if header is None or not holds_placeholder("draft_mark", header):
        added.append("the draft mark in the header")
    if kind != "first" and not holds_placeholder("continuation", *roots):
        added.append("the patient's identity in the header")
    if not holds_placeholder("page", *roots) and not numbers_pages(*roots):
        added.append("the page number in the footer")
    own = f"its own {has}" if has else "no header or footer of its own"
    placeholders = f", with {', '.join(found)}" if found else ", without placeholders" if has else ""
    return f"{_PAGES[kind]}: {own}{placeholders}; added: {', '.join(added) if added else 'nothing'}"


def _unnamed_pictures(roots: Iterable[Element]) -> int:
    return sum(
        1 for root in roots for properties in root.iter(_WP_DOC_PROPERTIES) if not properties.get("descr", "").strip()
    )


def _body_words(document: Element) -> int:
    return sum(len((text.text or "").split()) for text in document.iter(w("t")))


def _styles(package: Package, document: str) -> tuple[str, ...]:
    part = next((each.target for each in package.relationships(document) if each.kind == "styles"), None)
    return own_styles(package.xml(part) if part is not None and part in package.parts else made(EMPTY_STYLES))


def _two_sided(package: Package, document: str) -> bool:
    part = next((each.target for each in package.relationships(document) if each.kind == "settings"), None)
    return part in package.parts and is_on(package.xml(str(part)).find(w("evenAndOddHeaders")))


def inspect(source: Path | bytes, name: str | None = None) -> Inspection:
    """What a letterhead brings and lacks.

    Raises LetterheadError, as the making of a letter does, for a file that cannot be used or should not be trusted.
    """
    letterhead = load(source, name)
    package = opened(source, name)
    root = package.xml(letterhead.document)
    own = _styles(package, letterhead.document)
    targets = {each.id: each.target for each in package.relationships(letterhead.document)}
    parts = section.header_parts(root, targets)
    kinds: tuple[Kind, ...] = ("first", "default", "even") if _two_sided(package, letterhead.document) else (
        "first", "default"
    )  # fmt: skip
    trees = {key: package.xml(part) for key, part in parts.items()}
    notes = []
    if not section.has_title_page(section.last_section(root)) and ("hdr", "default") in parts:
        notes.append(
            "One header serves all pages; to keep a tall one to the first, give that page a header of its own."
        )
    if unnamed := _unnamed_pictures(trees.values()):
        count = "A picture has" if unnamed == 1 else f"{unnamed} pictures have"
        notes.append(f"{count} no alternative text; give the clinic's name, for readers who cannot see it.")
    if words := _body_words(root):
        notes.append(f"The body of the file ({words} words) gives way to the letter.")
    width = section.text_width(section.last_section(root)) / _TWENTIETHS_A_CM
    if width < _WIDEST_MARGIN_CM:
        notes.append(
            f"The text is {width:.1f} cm wide; a table of measurements needs about {_WIDEST_MARGIN_CM:.0f} cm."
        )
    return Inspection(
        package.name,
        own,
        tuple(style for style in STYLE_NAMES if style not in own),
        tuple(_furniture(kind, trees.get(("hdr", kind)), trees.get(("ftr", kind))) for kind in kinds),
        tuple(notes),
    )
