"""Headers and footers: the clinic's own, with the patient's identity, page numbers and draft mark put in.

They go where the clinic wrote their placeholders, and into paragraphs of ours where it wrote none.
"""

from __future__ import annotations

import posixpath
import re
from collections.abc import Iterator, Mapping
from copy import deepcopy
from dataclasses import dataclass
from typing import Literal

from lxml import etree
from lxml.etree import _Element as Element

from letterkit.letter.model import Letter
from letterkit.render.docx.ooxml import R_NS, SPACE, W_NS, instructions, is_on, made, w, written
from letterkit.render.docx.opc import Package
from letterkit.render.words import escape

Kind = Literal["first", "default", "even"]

# What a clinic may write, in double braces, in a header or footer of its letterhead.
PLACEHOLDERS = {
    "continuation": "the patient's name and identifiers",
    "draft_mark": "the draft mark; its paragraph goes when a letter is approved",
    "page": "Page x of y",
}
_PLACEHOLDER = re.compile(r"\{\{\s*([^{}]*?)\s*\}\}")
# Stands for a placeholder between preparation and filling; the private-use characters cannot come from a keyboard.
_TOKEN = re.compile("\ue0f1(continuation|draft_mark)\ue0f2")
_PAGE = "\ue0f1page\ue0f2"
_BREAKS = re.compile(r"[\t\n\r]+")
_DRAWN = ("drawing", "pict", "object", "fldChar", "fldSimple", "instrText")


@dataclass(frozen=True, slots=True)
class Filled:
    """A header or footer cut at its placeholders: pieces of markup, and between them the names of what goes there."""

    part: str  # name of the part in the package
    draft: tuple[str, ...]
    approved: tuple[str, ...]

    @property
    def is_fixed(self) -> bool:
        """Whether it holds no placeholder, in a draft or after it."""
        return len(self.draft) == len(self.approved) == 1

    def fill(self, letter: Letter) -> str:
        """Give the part for one letter."""
        if letter.draft_mark is None:
            pieces, mark = self.approved, ""
        else:
            pieces, mark = self.draft, letter.draft_mark
        if len(pieces) == 1:
            return pieces[0]
        values = {"continuation": _line(letter.continuation), "draft_mark": _line(mark)}
        return "".join([values[piece] if index % 2 else piece for index, piece in enumerate(pieces)])


def _line(text: str) -> str:
    return escape(_BREAKS.sub(" ", text))


def _token(name: str) -> str:
    return f"\ue0f1{name}\ue0f2"


def _own_texts(paragraph: Element) -> list[Element]:
    # A text box is anchored in a paragraph and holds paragraphs of its own: those are visited by themselves.
    return [text for text in paragraph.iter(w("t")) if next(text.iterancestors(w("p"))) is paragraph]


def _text(paragraph: Element) -> str:
    return "".join([text.text or "" for text in _own_texts(paragraph)])


def _replace(texts: list[Element], start: int, end: int, token: str) -> None:
    """Put a token in the place of characters that a word processor may have spread over several runs."""
    offset = 0
    for element in texts:
        text = element.text or ""
        low, high = max(start - offset, 0), min(end - offset, len(text))
        if low < high or (low == high == 0 and start == offset and not text):
            element.text = text[:low] + (token if start >= offset else "") + text[high:]
            element.set(SPACE, "preserve")
        offset += len(text)


def _gather(package: Package, part: str, root: Element) -> None:
    """Put a token for each placeholder of a part; raises LetterheadError for a placeholder that does not exist."""
    for paragraph in root.iter(w("p")):
        texts = _own_texts(paragraph)
        for found in reversed(list(_PLACEHOLDER.finditer(_text(paragraph)))):
            if found[1] not in PLACEHOLDERS:
                allowed = ", ".join(f"{{{{{name}}}}}" for name in PLACEHOLDERS)
                raise package.error(part, f"{found[0]} is not a placeholder of a letterhead. Allowed: {allowed}")
            _replace(texts, found.start(), found.end(), _token(found[1]))


def _run(like: Element, text: str) -> Element:
    run = made("<w:r/>")
    properties = like.find(w("rPr"))
    if properties is not None:
        run.append(deepcopy(properties))
    element = etree.SubElement(run, w("t"))
    element.text = text
    element.set(SPACE, "preserve")
    return run


def _field(like: Element, instruction: str) -> Element:
    field = made(f'<w:fldSimple w:instr=" {instruction} "/>')
    field.append(_run(like, "1"))
    return field


def _set_page_fields(root: Element) -> None:
    for text in list(root.iter(w("t"))):
        run = text.getparent()
        if run is None or run.tag != w("r"):
            continue
        element = text
        while _PAGE in (element.text or ""):
            before, _, after = (element.text or "").partition(_PAGE)
            element.text = before
            tail = _run(run, after)
            # What stood behind the placeholder in its run stays behind it.
            for follower in list(element.itersiblings()):
                tail.append(follower)
            for new in (
                tail,
                _field(run, "NUMPAGES"),
                _run(run, " of "),
                _field(run, "PAGE"),
                _run(run, "Page "),
            ):
                run.addnext(new)
            run, element = tail, next(tail.iter(w("t")))


def numbers_pages(*roots: Element) -> bool:
    """Tell whether parts number the pages and count them, by fields of their own."""
    words = {text.split()[0].upper() for root in roots for text in instructions(root) if text}
    return "PAGE" in words and bool(words & {"NUMPAGES", "SECTIONPAGES"})


def _shown(text: Element) -> bool:
    properties = next(text.itersiblings(w("rPr"), preceding=True), None)
    return properties is None or not is_on(properties.find(w("vanish")))


def _holds(name: str, *roots: Element) -> bool:
    """Tell whether a placeholder stands in one of the parts, in text that is not hidden."""
    token = _token(name)
    return any(token in (text.text or "") and _shown(text) for root in roots for text in root.iter(w("t")))


def holds_placeholder(name: str, *roots: Element) -> bool:
    """Tell whether parts as the clinic wrote them hold a placeholder, be it spread over several runs."""
    return any(
        found[1] == name
        for root in roots
        for paragraph in root.iter(w("p"))
        for found in _PLACEHOLDER.finditer(_text(paragraph))
    )


def _append(root: Element, style: str, name: str) -> None:
    root.append(
        made(
            f'<w:p><w:pPr><w:pStyle w:val="{style}"/></w:pPr><w:r><w:t xml:space="preserve">{_token(name)}</w:t></w:r>'
            "</w:p>"
        )
    )


def _can_go(paragraph: Element, holder: Element) -> bool:
    """Tell whether its holder stays valid without a paragraph: it needs one, and one behind a last table."""
    if not any(other.tag == w("p") for other in holder if other is not paragraph):
        return False
    before = paragraph.getprevious()
    return paragraph.getnext() is not None or before is None or before.tag != w("tbl")


def _without_draft(root: Element) -> Element:
    """Give a copy without the draft mark: its paragraph goes, unless something else stands there."""
    root = deepcopy(root)
    token = _token("draft_mark")
    for paragraph in list(root.iter(w("p"))):
        if token not in _text(paragraph):
            continue
        holder = paragraph.getparent()
        alone = _text(paragraph).strip() == token and next(paragraph.iter(*map(w, _DRAWN)), None) is None
        if alone and holder is not None and _can_go(paragraph, holder):
            holder.remove(paragraph)
        else:
            for text in _own_texts(paragraph):
                text.text = (text.text or "").replace(token, "")
    return root


def _empty(kind: str) -> Element:
    return etree.fromstring(f'<w:{kind} xmlns:w="{W_NS}" xmlns:r="{R_NS}"/>')


def furnish(
    package: Package,
    sources: Mapping[tuple[str, Kind], str],
    kinds: tuple[Kind, ...],
    ids: Mapping[str, str],
    folder: str,
) -> Iterator[tuple[str, Kind, Filled]]:
    """Give the header and the footer of each kind of page, ready to be filled.

    `kinds` are those of the pages, `ids` the style ids by name, `folder` is where new parts go, and `sources` names the
    letterhead's part for ("hdr" or "ftr", kind of page), where it has one. Every header holds the draft mark; every
    page but the first holds the patient's identity; every page holds its number and their count.
    """
    for kind in kinds:
        pair: dict[str, Element] = {}
        for element in ("hdr", "ftr"):
            source = sources.get((element, kind))
            root = _empty(element) if source is None else package.xml(source)
            if source is not None:
                _gather(package, source, root)
                _set_page_fields(root)
            pair[element] = root
        header, footer = pair["hdr"], pair["ftr"]
        if not _holds("draft_mark", header):
            _append(header, ids["Letter Draft Mark"], "draft_mark")
        if kind != "first" and not _holds("continuation", header, footer):
            _append(header, ids["Letter Continuation"], "continuation")
        if not numbers_pages(header, footer):
            _append(footer, ids["Letter Page"], "page")
            _set_page_fields(footer)
        for element, root in pair.items():
            if root.find(f".//{w('p')}") is None:
                root.append(made("<w:p/>"))
            draft, approved = written(root), written(_without_draft(root))
            name = f"letter_{'header' if element == 'hdr' else 'footer'}_{kind}.xml"
            yield (
                element,
                kind,
                Filled(posixpath.join(folder, name), tuple(_TOKEN.split(draft)), tuple(_TOKEN.split(approved))),
            )
