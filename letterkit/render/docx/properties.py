"""What a DOCX says of itself: title, author, language, dates and whether it is a draft; nothing of the patient."""

from __future__ import annotations

from letterkit.letter.model import Properties
from letterkit.render.docx.ooxml import CORE_RELATIONSHIP, DECLARATION
from letterkit.render.docx.opc import Package
from letterkit.render.words import escape

CORE_PART = "docProps/core.xml"
_CORE_NS = "http://schemas.openxmlformats.org/package/2006/metadata/core-properties"
# Marks a file as a letter of ours, so that it is not taken for a letterhead: its header would name its patient.
_CATEGORY = "Clinic letter"
_OPENING = (
    f'{DECLARATION}<cp:coreProperties xmlns:cp="{_CORE_NS}" xmlns:dc="http://purl.org/dc/elements/1.1/" '
    'xmlns:dcterms="http://purl.org/dc/terms/" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">'
    f"<cp:category>{_CATEGORY}</cp:category>"
)


def core_properties(about: Properties) -> str:
    """Give the core properties part; its dates are those of the letter at midnight UTC (W3CDTF)."""
    author = escape(about.author)
    day = f"{about.created.isoformat()}T00:00:00Z"
    return (
        f"{_OPENING}<cp:contentStatus>{about.status}</cp:contentStatus>"
        f'<dcterms:created xsi:type="dcterms:W3CDTF">{day}</dcterms:created>'
        f"<dc:creator>{author}</dc:creator><dc:language>{about.language}</dc:language>"
        f"<cp:lastModifiedBy>{author}</cp:lastModifiedBy>"
        f'<dcterms:modified xsi:type="dcterms:W3CDTF">{day}</dcterms:modified>'
        f"<cp:revision>1</cp:revision><dc:title>{escape(about.title)}</dc:title></cp:coreProperties>"
    )


def is_letter(package: Package) -> bool:
    """Tell whether a DOCX is a letter made by this package, by its own properties."""
    for relationship in package.relationships(""):
        if relationship.type == CORE_RELATIONSHIP and relationship.target in package.parts:
            return package.xml(relationship.target).findtext(f"{{{_CORE_NS}}}category") == _CATEGORY
    return False
