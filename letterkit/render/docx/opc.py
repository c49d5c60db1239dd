"""Opens a clinic's DOCX without trusting it: what is read is bounded, and what could act or fetch is refused."""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from lxml import etree
from lxml.etree import _Element as Element

from letterkit.errors import LetterheadError
from letterkit.render.docx.ooxml import CT_NS, REL_NS, instructions

# A letterhead is a page with a logo: the largest seen in ordinary use hold a few MiB of pictures. The limits are far
# above that, and low enough that refusing costs neither memory nor time.
MAX_FILE = 20 * 2**20  # bytes of the file itself
MAX_PARTS = 500  # members; a DOCX saved by a word processor has ten to forty
MAX_PART = 16 * 2**20  # bytes of one part unpacked: a member of a few KiB can claim gigabytes
MAX_TOTAL = 48 * 2**20  # bytes of all parts unpacked

CONTENT_TYPES = "[Content_Types].xml"
_LINKS = ("http://", "https://", "mailto:", "tel:")
_ACTING_FIELDS = re.compile(
    r"\s*\\?(DDE|DDEAUTO|IMPORT|INCLUDE|INCLUDEPICTURE|INCLUDETEXT|LINK|MACROBUTTON)\b", re.IGNORECASE
)
_MACROS = ("vbaproject", "vbadata", "macroenabled")
_OBJECTS = ("oleobject", "activex", "/embeddings/")
_REFUSED_RELATIONSHIPS = {
    "vbaProject": "macros",
    "wordVbaData": "macros",
    "oleObject": "an embedded object",
    "package": "an embedded file",
    "control": "an ActiveX control",
    "aFChunk": "an embedded document of another format",
    "subDocument": "a part of a master document",
}


@dataclass(frozen=True, slots=True)
class Relationship:
    """One relationship of a part; `target` is a part's name, or an address if `external`."""

    id: str
    kind: str  # the last word of the relationship's type
    type: str
    target: str
    external: bool


def rels_name(part: str) -> str:
    """Give the name of the part that holds the relationships of a part; of the package itself for ""."""
    folder, name = posixpath.split(part)
    return posixpath.join(folder, "_rels", name + ".rels")


@dataclass(frozen=True, slots=True)
class Package:
    """The parts of a DOCX that was found harmless, with their content types."""

    name: str  # of the file, for messages
    parts: Mapping[str, bytes]
    types: Mapping[str, str]

    def error(self, part: str, message: str) -> LetterheadError:
        """Give the error that names this file and a part of it."""
        return LetterheadError(f"{self.name}: {part}: {message}")

    def xml(self, part: str) -> Element:
        """Give the root of a part; raises LetterheadError if it is not well-formed XML or declares a DTD."""
        try:
            parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False)
            root = etree.fromstring(self.parts[part], parser)
        except (etree.XMLSyntaxError, ValueError) as error:
            raise self.error(part, f"not well-formed XML ({error}); open the file, save it as .docx again") from error
        if root.getroottree().docinfo.internalDTD is not None:
            raise self.error(part, "declares a document type, which a DOCX never needs and which can do harm; refused")
        return root

    def relationships(self, part: str) -> tuple[Relationship, ...]:
        """Give the relationships of a part, in the file's order; of the package itself for ""."""
        name = rels_name(part)
        if name not in self.parts:
            return ()
        found: list[Relationship] = []
        for element in self.xml(name).iter(f"{{{REL_NS}}}Relationship"):
            target, kind = element.get("Target", ""), element.get("Type", "")
            external = element.get("TargetMode", "Internal") == "External"
            if not external:
                target = posixpath.normpath(posixpath.join("/", posixpath.dirname(part), target)).lstrip("/")
            found.append(Relationship(element.get("Id", ""), kind.rpartition("/")[2], kind, target, external))
        return tuple(found)


def _bounded(name: str, archive: zipfile.ZipFile) -> dict[str, bytes]:
    parts: dict[str, bytes] = {}
    total = 0
    members = [info for info in archive.infolist() if not info.is_dir()]
    if len(members) > MAX_PARTS:
        raise LetterheadError(f"{name}: holds {len(members)} parts; allowed: at most {MAX_PARTS}")
    for info in members:
        part = info.filename
        if part in parts:
            raise LetterheadError(f"{name}: {part}: stands twice in the file; save it as .docx again")
        if part.startswith("/") or "\\" in part or ".." in part.split("/"):
            raise LetterheadError(f"{name}: {part}: leads out of the file; refused")
        if info.flag_bits & 1:
            raise LetterheadError(f"{name}: {part}: encrypted; save the letterhead without a password")
        with archive.open(info) as stream:
            data = stream.read(MAX_PART + 1)
        if len(data) > MAX_PART:
            raise LetterheadError(f"{name}: {part}: more than {MAX_PART // 2**20} MiB unpacked; use smaller pictures")
        total += len(data)
        if total > MAX_TOTAL:
            raise LetterheadError(f"{name}: {part}: the parts together are over {MAX_TOTAL // 2**20} MiB; refused")
        parts[part] = data
    return parts


def _unpacked(name: str, data: bytes) -> dict[str, bytes]:
    if len(data) > MAX_FILE:
        raise LetterheadError(f"{name}: {len(data)} bytes; allowed: at most {MAX_FILE // 2**20} MiB")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return _bounded(name, archive)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, UnicodeDecodeError, OverflowError) as error:
        raise LetterheadError(
            f"{name}: not a DOCX file ({error}); save the letterhead as a Word document (.docx)"
        ) from error


def _content_types(package: Package) -> dict[str, str]:
    if CONTENT_TYPES not in package.parts:
        raise package.error(CONTENT_TYPES, "missing, so this is a ZIP but not a DOCX; save the letterhead as .docx")
    defaults: dict[str, str] = {}
    overrides: dict[str, str] = {}
    for element in package.xml(CONTENT_TYPES):
        if element.tag == f"{{{CT_NS}}}Default":
            defaults[element.get("Extension", "").lower()] = element.get("ContentType", "")
        elif element.tag == f"{{{CT_NS}}}Override":
            overrides[element.get("PartName", "").lstrip("/")] = element.get("ContentType", "")
    types = {part: overrides.get(part) or defaults.get(part.rpartition(".")[2].lower(), "") for part in package.parts}
    # A type may be declared for a part under another spelling of its name, so all declared ones are looked at.
    for where, kind in {**defaults, **overrides}.items():
        _refuse_acting(package, where, kind)
    return types


def _refuse_acting(package: Package, part: str, kind: str) -> None:
    told = f"/{part} {kind}".lower()
    if any(word in told for word in _MACROS):
        raise package.error(part, "holds or allows macros; save the letterhead as a macro-free Word document (.docx)")
    if any(word in told for word in _OBJECTS):
        raise package.error(part, "an embedded object or control; replace it by a picture in the letterhead")


def _refuse_relationships(package: Package, part: str) -> None:
    for relationship in package.relationships(part):
        where = part or "package"
        if held := _REFUSED_RELATIONSHIPS.get(relationship.kind):
            raise package.error(where, f"refers to {held} ({relationship.target}); remove it from the letterhead")
        if relationship.external and relationship.kind != "hyperlink":
            raise package.error(
                where,
                f"fetches {relationship.target!r} ({relationship.kind}) from outside the file; embed it in the "
                "letterhead or remove the link. Allowed outside the file: hyperlinks only",
            )
        if relationship.external and not relationship.target.lower().startswith(_LINKS):
            raise package.error(
                where, f"hyperlink to {relationship.target!r}; allowed: addresses that begin {', '.join(_LINKS)}"
            )


def opened(source: Path | str | bytes, name: str | None = None) -> Package:
    """Give the parts of a DOCX file, from its path or its bytes; `name` stands in messages.

    Raises LetterheadError for a file that is not a DOCX, is too large packed or unpacked, is encrypted, or holds
    macros, embedded objects, controls, document types, fields that run or fetch, or links that are not plain addresses.
    """
    if isinstance(source, bytes):
        name, data = name or "letterhead", source
    else:
        path = Path(source)
        name = name or path.name
        try:
            with path.open("rb") as stream:
                data = stream.read(MAX_FILE + 1)
        except OSError as error:
            raise LetterheadError(f"{path}: the letterhead cannot be read: {error.strerror or error}") from error
    bare = Package(name, _unpacked(name, data), {})
    package = Package(name, bare.parts, _content_types(bare))
    for part, kind in package.types.items():
        _refuse_acting(package, part, kind)
        if part.lower().endswith((".xml", ".rels")) or kind.lower().endswith(("+xml", "/xml")):
            root = package.xml(part)
            if acting := next((text for text in instructions(root) if _ACTING_FIELDS.match(text)), None):
                raise package.error(
                    part, f"the field {acting.split()[0]!r} runs or fetches something; remove it from the letterhead"
                )
        if part.endswith(".rels"):
            folder, rels = posixpath.split(part)
            _refuse_relationships(package, posixpath.join(posixpath.dirname(folder), rels.removesuffix(".rels")))
    return package
