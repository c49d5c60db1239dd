"""The few names and helpers of Office Open XML (ECMA-376) that reading a letterhead needs."""

from __future__ import annotations

from collections.abc import Iterator

from lxml import etree
from lxml.etree import _Element as Element

W_NS = "http://schemas.openxmlformats.org/wordprocessingml/2006/main"
R_NS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
REL_NS = "http://schemas.openxmlformats.org/package/2006/relationships"
CT_NS = "http://schemas.openxmlformats.org/package/2006/content-types"
RELATIONSHIP = R_NS + "/"
CORE_RELATIONSHIP = "http://schemas.openxmlformats.org/package/2006/relationships/metadata/core-properties"
CORE_TYPE = "application/vnd.openxmlformats-package.core-properties+xml"
WORD_TYPE = "application/vnd.openxmlformats-officedocument.wordprocessingml."
DECLARATION = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
SPACE = "{http://www.w3.org/XML/1998/namespace}space"


def w(name: str) -> str:
    """Give a name in the namespace of WordprocessingML as lxml writes it."""
    return f"{{{W_NS}}}{name}"


def r(name: str) -> str:
    """Give a name in the namespace of relationship references as lxml writes it."""
    return f"{{{R_NS}}}{name}"


def made(xml: str) -> Element:
    """Give the element of one piece of our own markup, written with the prefixes w and r."""
    head, mark, rest = xml.partition(">")
    closing = "/" if head.endswith("/") else ""
    head = head.removesuffix("/")
    return etree.fromstring(f'{head} xmlns:w="{W_NS}" xmlns:r="{R_NS}"{closing}{mark}{rest}')


def written(root: Element) -> str:
    """Give a part as text, with its declaration."""
    return DECLARATION + etree.tostring(root, encoding="unicode")


def is_on(element: Element | None) -> bool:
    """Tell whether a switch of WordprocessingML is on: it is there, and its value does not say otherwise."""
    return element is not None and element.get(w("val"), "1") not in {"0", "false", "off"}


def instructions(root: Element) -> Iterator[str]:
    """Give the instruction of every field of a part, put together from the runs it is spread over."""
    open_fields: list[str] = []
    for element in root.iter(w("fldSimple"), w("fldChar"), w("instrText")):
        if element.tag == w("fldSimple"):
            yield element.get(w("instr"), "").strip()
        elif element.tag == w("instrText"):
            if open_fields:
                open_fields[-1] += element.text or ""
        elif element.get(w("fldCharType")) == "begin":
            open_fields.append("")
        elif element.get(w("fldCharType")) == "end" and open_fields:
            yield open_fields.pop().strip()
    yield from (text.strip() for text in open_fields)
