"""Makes a clinic's .docx ready to carry letters: checked, completed, and compressed once for all of them."""

from __future__ import annotations

import posixpath
from collections.abc import Iterable, Mapping
from copy import deepcopy
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from xml.sax.saxutils import quoteattr

from lxml.etree import _Element as Element

from letterkit.errors import LetterheadError
from letterkit.render.docx import section
from letterkit.render.docx.body import Body, prepared
from letterkit.render.docx.furniture import Filled, Kind, furnish
from letterkit.render.docx.ooxml import (
    CORE_RELATIONSHIP,
    CORE_TYPE,
    CT_NS,
    DECLARATION,
    R_NS,
    REL_NS,
    RELATIONSHIP,
    W_NS,
    WORD_TYPE,
    is_on,
    made,
    w,
    written,
)
from letterkit.render.docx.opc import CONTENT_TYPES, Package, opened, rels_name
from letterkit.render.docx.package import Member, member
from letterkit.render.docx.properties import CORE_PART, is_letter
from letterkit.render.docx.styles import (
    EMPTY_NUMBERING,
    EMPTY_STYLES,
    complete_numbering,
    complete_styles,
    enlarge,
    set_language,
)

LANGUAGES = ("en-GB", "en-US")
_BODY_TYPES = (WORD_TYPE + "document.main+xml", WORD_TYPE + "template.main+xml")

# What the document itself may go on referring to once its body is the letter's, taken over as it is. Not the pictures
# and links of the old body, not the comments of the clinic's staff, no data parts.
_KEPT = ("endnotes", "fontTable", "footnotes", "theme", "webSettings")
# What a letter does without: the place of a template on somebody's computer, and the data of a mail merge.
_DROPPED_SETTINGS = ("attachedTemplate", "mailMerge")


@dataclass(frozen=True, slots=True)
class Letterhead:
    """A letterhead ready for use: only body, headers, footers and properties are still to be written."""

    name: str
    members: Mapping[str, tuple[Member, ...]]  # by language: what is the same in every letter, content types first
    large: Mapping[str, tuple[Member, ...]]  # the same in large print
    commented: Mapping[bytes, Member]  # by name: what takes the place of those members in a draft with comments
    furniture: tuple[Filled, ...]
    body: Body
    document: str  # name of the part that holds the body
    comments: str  # name of the part that holds the comments of a draft
    opening: str  # of that part, up to the body's content
    closing: str  # the section's properties and the end of that part


def _relationships(entries: Iterable[tuple[str, str, str, bool]]) -> bytes:
    rows = "".join(
        [
            f"<Relationship Id={quoteattr(identity)} Type={quoteattr(kind)} Target={quoteattr(target)}"
            + (' TargetMode="External"/>' if external else "/>")
            for identity, kind, target, external in entries
        ]
    )
    return f'{DECLARATION}<Relationships xmlns="{REL_NS}">{rows}</Relationships>'.encode()


def _main_part(package: Package) -> str:
    for relationship in package.relationships(""):
        if relationship.kind == "officeDocument" and relationship.target in package.parts:
            kind = package.types[relationship.target]
            if kind not in _BODY_TYPES:
                raise package.error(
                    relationship.target, f"is {kind or 'of no type'}; save the letterhead as a Word document (.docx)"
                )
            return relationship.target
    raise package.error("word/document.xml", "missing, so there is no page to write on; save the letterhead as .docx")


class _Collection:
    """The parts the letter takes over from a letterhead, and what refers to them."""

    def __init__(self, package: Package, document: str) -> None:
        self._package = package
        self._document = document
        self._related = package.relationships(document)
        self._links: list[tuple[str, str, str, bool]] = []
        self.parts: dict[str, bytes] = {}
        self.types: dict[str, str] = {document: _BODY_TYPES[0], CORE_PART: CORE_TYPE}

    def targets(self) -> dict[str, str]:
        """Give the parts the document refers to, by the relationship's id."""
        return {each.id: each.target for each in self._related if each.target in self._package.parts}

    def source(self, kind: str) -> str | None:
        """Give the letterhead's part of a kind, if it has one."""
        return next((each.target for each in self._related if each.kind == kind), None)

    def tree(self, kind: str, empty: str) -> Element:
        """Give the letterhead's part of a kind for completion, or an empty one."""
        part = self.source(kind)
        if part is None:
            return made(empty)
        if part not in self._package.parts:
            raise self._package.error(
                part, "is referred to but missing; open the letterhead and save it as .docx again"
            )
        return self._package.xml(part)

    def keep(self, part: str) -> None:
        """Take over a part as it is, with all it refers to."""
        if part in self.parts:
            return
        if part in self.types or part not in self._package.parts:
            raise self._package.error(
                part, "is referred to from a place that cannot have it; open the letterhead and save it as .docx again"
            )
        self.parts[part] = self._package.parts[part]
        self.types[part] = self._package.types[part]
        self.keep_references(part, part)

    def keep_references(self, source: str, part: str) -> None:
        """Take over what a part of the letterhead refers to, for the part of the letter that is made from it."""
        entries: list[tuple[str, str, str, bool]] = []
        for each in self._package.relationships(source):
            target = each.target
            if not each.external:
                self.keep(target)
                target = posixpath.relpath(target, posixpath.dirname(part) or ".")
            entries.append((each.id, each.type, target, each.external))
        if entries:
            self.parts[rels_name(part)] = _relationships(entries)

    def own(self, kind: str) -> str:
        """Give the name for our completed part of a kind: the letterhead's, or a new one."""
        part = self.source(kind)
        if part is None:
            part = posixpath.join(posixpath.dirname(self._document), f"letter_{kind}.xml")
        else:
            self.keep_references(part, part)
        self.types[part] = f"{WORD_TYPE}{kind}+xml"
        self.link(kind, part)
        return part

    def link(self, kind: str, part: str) -> str:
        """Let the document refer to a part; give the relationship's id."""
        identity = f"rId{len(self._links) + 1}"
        target = posixpath.relpath(part, posixpath.dirname(self._document) or ".")
        self._links.append((identity, RELATIONSHIP + kind, target, False))
        return identity

    def finish(self) -> dict[str, bytes]:
        """Give the parts with all relationships and the content types, in the order of the file."""
        types = {part: kind for part, kind in self.types.items() if not part.endswith(".rels")}
        overrides = "".join(
            [
                f"<Override PartName={quoteattr('/' + part)} ContentType={quoteattr(types[part])}/>"
                for part in sorted(types)
            ]
        )
        content_types = (
            f'{DECLARATION}<Types xmlns="{CT_NS}"><Default Extension="rels" '
            'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
            f'<Default Extension="xml" ContentType="application/xml"/>{overrides}</Types>'
        )
        package = (
            ("rId1", RELATIONSHIP + "officeDocument", self._document, False),
            ("rId2", CORE_RELATIONSHIP, CORE_PART, False),
        )
        return {
            CONTENT_TYPES: content_types.encode(),
            rels_name(""): _relationships(package),
            rels_name(self._document): _relationships(self._links),
            **dict(sorted(self.parts.items())),
        }


def _settings(collection: _Collection) -> tuple[Element | None, bool]:
    """Give the settings part without what a letter does not need, and whether left pages differ from right ones."""
    if collection.source("settings") is None:
        return None, False
    root = collection.tree("settings", "")
    for name in _DROPPED_SETTINGS:
        for element in root.findall(w(name)):
            root.remove(element)
    return root, is_on(root.find(w("evenAndOddHeaders")))


def _prepare(package: Package) -> Letterhead:
    document = _main_part(package)
    root = package.xml(document)
    if root.tag != w("document"):
        raise package.error(
            document, "is not what word processors write by default; save it as .docx, not as Strict Open XML"
        )
    collection = _Collection(package, document)
    styles = collection.tree("styles", EMPTY_STYLES)
    ids = complete_styles(styles)
    numbering = collection.tree("numbering", EMPTY_NUMBERING)
    bullet, numbers = complete_numbering(numbering, styles, ids)
    settings, two_sided = _settings(collection)

    collection.parts[collection.own("numbering")] = written(numbering).encode()
    spoken: list[tuple[str, Element]] = [(collection.own("styles"), styles)]
    if settings is not None:
        spoken.append((collection.own("settings"), settings))
    for kind in _KEPT:
        if (part := collection.source(kind)) is not None:
            collection.keep(part)
            collection.link(kind, part)

    kinds: tuple[Kind, ...] = ("first", "default", "even") if two_sided else ("first", "default")
    sources = section.header_parts(root, collection.targets())
    furniture: list[Filled] = []
    references = ""
    for element, kind, filled in furnish(package, sources, kinds, ids, posixpath.dirname(document)):
        word = "header" if element == "hdr" else "footer"
        collection.types[filled.part] = f"{WORD_TYPE}{word}+xml"
        if (source := sources.get((element, kind))) is not None:
            collection.keep_references(source, filled.part)
        identity = collection.link(word, filled.part)
        references += f'<w:{word}Reference w:type="{kind}" r:id="{identity}"/>'
        furniture.append(filled)

    last = section.last_section(root)
    members, large = _members(collection, spoken, ids)
    comments = posixpath.join(posixpath.dirname(document), "letter_comments.xml")
    return Letterhead(
        name=package.name,
        members=members,
        large=large,
        commented=_commented(collection, comments, members[LANGUAGES[0]]),
        furniture=tuple(furniture),
        body=prepared(ids, bullet, numbers, section.text_width(last)),
        document=document,
        comments=comments,
        opening=f'{DECLARATION}<w:document xmlns:w="{W_NS}" xmlns:r="{R_NS}"><w:body>',
        closing=section.section_xml(last, references) + "</w:body></w:document>",
    )


def _members(
    collection: _Collection, spoken: list[tuple[str, Element]], ids: Mapping[str, str]
) -> tuple[dict[str, tuple[Member, ...]], dict[str, tuple[Member, ...]]]:
    """Give the compressed parts for each language, in normal and in large print; what is shared is compressed once."""
    for part, _ in spoken:
        collection.parts[part] = b""  # holds the part's place in the order
    files = collection.finish()
    names = [part for part, _ in spoken]
    shared = {part: member(part, data) for part, data in files.items() if part not in names}
    members: dict[str, tuple[Member, ...]] = {}
    large: dict[str, tuple[Member, ...]] = {}
    for language in LANGUAGES:
        enlarged: dict[str, Member] = {}
        own: dict[str, Member] = {}
        for part, root in spoken:
            if root.tag == w("styles"):
                set_language(root, ids.values(), language)
            elif (theme := root.find(w("themeFontLang"))) is not None:
                theme.set(w("val"), language)
            own[part] = enlarged[part] = member(part, written(root).encode())
            if root.tag == w("styles"):
                copied = deepcopy(root)
                enlarge(copied, ids.values())
                enlarged[part] = member(part, written(copied).encode())
        members[language] = tuple(own[part] if part in own else shared[part] for part in files)
        large[language] = tuple(enlarged[part] if part in enlarged else shared[part] for part in files)
    return members, large


def _commented(collection: _Collection, comments: str, members: Iterable[Member]) -> dict[bytes, Member]:
    """Give the content types and relationships of a draft with comments, which name one part more."""
    names = {each.name for each in members}
    before = collection.finish()
    collection.types[comments] = f"{WORD_TYPE}comments+xml"
    collection.link("comments", comments)
    after = collection.finish()
    changed = {part.encode(): member(part, data) for part, data in after.items() if data != before.get(part)}
    assert changed.keys() <= names
    return changed


def load(source: Path | str | bytes, name: str | None = None) -> Letterhead:
    """Give a letterhead from the path or the bytes of a .docx (or .dotx); `name` stands in messages.

    Its body gives way to the letter; its pages, headers, footers and styles stay. Raises LetterheadError, naming the
    part and the remedy, for a file that cannot be used or should not be trusted.
    """
    package = opened(source, name)
    if is_letter(package):
        raise package.error(
            CORE_PART,
            "this is a finished letter, and its header may name a patient; give the letterhead it was made with",
        )
    return _prepare(package)


@cache
def plain_letterhead() -> Letterhead:
    """Give the letterhead that ships with the package: A4, no clinic's name, sans-serif type."""
    place = ("templates", "letterheads", "plain.docx")
    package = resources.files("letterkit")
    for file in (package.joinpath(*place), package.joinpath("..", *place)):
        if file.is_file():
            return load(file.read_bytes(), "plain.docx")
    raise LetterheadError(
        "plain.docx: the letterhead that ships with the package is missing; install the package again"
    )
