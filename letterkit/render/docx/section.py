"""The page a letterhead describes: its measures, and which of its parts are the headers and footers of which pages."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy

from lxml import etree
from lxml.etree import _Element as Element

from letterkit.render.docx.furniture import Kind
from letterkit.render.docx.ooxml import W_NS, is_on, made, r, w

_A4 = (
    '<w:sectPr><w:pgSz w:w="11906" w:h="16838"/><w:pgMar w:top="1247" w:right="1247" w:bottom="1247" w:left="1247" '
    'w:header="567" w:footer="567" w:gutter="0"/></w:sectPr>'
)
_A4_WIDTH = 11906  # twentieths of a point, as all measures here
_USUAL_MARGIN = 1247
_USUAL_COLUMN_SPACE = 720
_NARROWEST_TEXT = 2000  # 3.5 cm: less leaves no room for a table

# Of a section's properties these are set anew or speak of the old body.
_DROPPED = {"headerReference", "footerReference", "sectPrChange", "titlePg", "printerSettings", "type"}
# What stands behind the switch for a first page of its own, in the order the schema demands.
_AFTER_TITLE_PAGE = {w(name) for name in ("textDirection", "bidi", "rtlGutter", "docGrid")}


def last_section(root: Element) -> Element:
    """Give the properties of a document's last section; of an A4 page if it has none."""
    sections = list(root.iter(w("sectPr")))
    return sections[-1] if sections else made(_A4)


def has_title_page(section: Element) -> bool:
    """Tell whether a section's first page has a header and footer of its own."""
    return is_on(section.find(w("titlePg")))


def header_parts(root: Element, targets: Mapping[str, str]) -> dict[tuple[str, Kind], str]:
    """Give the part for each ("hdr" or "ftr", kind of page) of the last section; `targets` has the parts by id.

    A letterhead that has one header for all pages gives it for the first page too: it is the clinic's stationery.
    """
    found: dict[tuple[str, Kind], str] = {}
    kinds: dict[str, Kind] = {"first": "first", "default": "default", "even": "even"}
    # A section without a header of its own goes on with that of the section before it, so all are looked at in turn.
    for section in root.iter(w("sectPr")):
        for element, tag in (("hdr", "headerReference"), ("ftr", "footerReference")):
            for reference in section.iterfind(w(tag)):
                target = targets.get(reference.get(r("id"), ""))
                kind = kinds.get(reference.get(w("type"), "default"))
                if target is not None and kind is not None:
                    found[element, kind] = target
    if not has_title_page(last_section(root)):
        for element in ("hdr", "ftr"):
            found.pop((element, "first"), None)
            if (element, "default") in found:
                found[element, "first"] = found[element, "default"]
    return found


def _own_namespace(element: Element) -> Element:
    """Give a copy without elements and attributes the letter's document does not declare the namespaces of."""
    copy = deepcopy(element)
    for each in list(copy.iter()):
        if not isinstance(each.tag, str) or not each.tag.startswith(f"{{{W_NS}}}"):
            parent = each.getparent()
            if parent is not None:
                parent.remove(each)
            continue
        for name in [name for name in each.attrib if not str(name).startswith(f"{{{W_NS}}}")]:
            del each.attrib[name]
    return copy


def section_xml(section: Element, references: str) -> str:
    """Give the section properties of the letter: the letterhead's measures with the letter's headers and footers."""
    copy = _own_namespace(section)
    copy.attrib.clear()
    for child in list(copy):
        if child.tag in {w(name) for name in _DROPPED}:
            copy.remove(child)
        elif child.tag == w("pgNumType"):
            child.attrib.pop(w("start"), "")  # "Page x of y" counts from one
    place = next((index for index, child in enumerate(copy) if child.tag in _AFTER_TITLE_PAGE), len(copy))
    copy.insert(place, made("<w:titlePg/>"))
    whole = made("<w:sectPr/>")
    whole.extend(list(copy))
    etree.cleanup_namespaces(whole)
    _, _, content = etree.tostring(whole, encoding="unicode").partition(">")
    return f"<w:sectPr>{references}{content}"


def _measure(element: Element | None, name: str, usual: int) -> int:
    value = "" if element is None else element.get(w(name), "")
    try:
        return round(float(value))
    except ValueError:
        return usual


def text_width(section: Element) -> int:
    """Give the width of the text in twentieths of a point; of one column, where there are several."""
    size, margins, columns = (section.find(w(name)) for name in ("pgSz", "pgMar", "cols"))
    width = _measure(size, "w", _A4_WIDTH) - _measure(margins, "gutter", 0)
    width -= _measure(margins, "left", _USUAL_MARGIN) + _measure(margins, "right", _USUAL_MARGIN)
    count = max(_measure(columns, "num", 1), 1)
    space = _measure(columns, "space", _USUAL_COLUMN_SPACE) * (count - 1)
    return max((width - space) // count, _NARROWEST_TEXT)
