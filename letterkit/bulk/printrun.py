"""One Word document of many letters for the printer, in order of recipient, each on its own sheet of paper.

Every letter keeps a section, headers and footers of its own: with a header shared between letters, the first patient's
name would stand on everybody's pages. Pages are counted within a letter. Comments of drafts are left out. The finished
letters are read back one at a time and written straight on, so a long run takes no more memory than a short one.
"""

from __future__ import annotations

import json
import os
import posixpath
import re
import zipfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path
from xml.sax.saxutils import quoteattr

import sqlalchemy as sa

from letterkit.bulk.files import hidden, sync_folder
from letterkit.bulk.ledger import letters, reading, rows, runs
from letterkit.letter.model import Properties
from letterkit.render.docx.opc import CONTENT_TYPES, rels_name
from letterkit.render.docx.properties import CORE_PART, core_properties

_FIRST_OF_1980 = (1980, 1, 1, 0, 0, 0)
_FURNITURE = re.compile(r"letter_(?:header|footer)_[a-z]+\.xml$")
_COMMENTS = "letter_comments.xml"
_OWN = re.compile(r"letter_(?:(?:header|footer)_[a-z]+|comments)\.xml$")  # what no other letter has a part in
_ANCHORS = re.compile(r'<w:commentRange(?:Start|End) w:id="\d+"/>|<w:r><w:commentReference w:id="\d+"/></w:r>')
_RELATIONSHIP = re.compile(r"<Relationship\b[^>]*/>")
_ATTRIBUTE = re.compile(r'(\w+)="([^"]*)"')
_REFERENCE = re.compile(r'<w:(header|footer)Reference w:type="(\w+)" r:id="(\w+)"/>')
_OVERRIDE = re.compile(r'<Override PartName="/([^"]+)" ContentType="([^"]+)"/>')
_COUNT = re.compile(r"\bNUMPAGES\b")
_NUMBER = re.compile(r'<w:numId w:val="(\d+)"/>')
_RESTARTED = re.compile(
    r'<w:num w:numId="(\d+)">(<w:abstractNumId w:val="\d+"/><w:lvlOverride w:ilvl="0"><w:startOverride w:val="1"/>'
    r"</w:lvlOverride>)</w:num>"
)
_AFTER_TYPE = (
    "<w:pgSz",
    "<w:pgMar",
    "<w:paperSrc",
    "<w:pgBorders",
    "<w:lnNumType",
    "<w:pgNumType",
    "<w:cols",
    "<w:titlePg",
)
_AFTER_NUMBERING = ("<w:cols", "<w:formProt", "<w:vAlign", "<w:noEndnote", "<w:titlePg")


def _before(xml: str, marks: Sequence[str], piece: str) -> str:
    at = min(place for mark in marks if (place := xml.find(mark)) >= 0)
    return xml[:at] + piece + xml[at:]


@lru_cache(maxsize=8)
def _section(properties: str) -> str:
    """A letter's section properties so that it begins on a front page, and counts its pages from one."""
    if "<w:pgNumType" in properties:
        properties = re.sub(r"<w:pgNumType(?=[ /])", '<w:pgNumType w:start="1"', properties)
    else:
        properties = _before(properties, _AFTER_NUMBERING, '<w:pgNumType w:start="1"/>')
    return _before(properties, _AFTER_TYPE, '<w:type w:val="oddPage"/>')


@dataclass(frozen=True, slots=True)
class _Letter:
    """One finished letter, opened."""

    archive: zipfile.ZipFile
    document: str  # name of its main part

    @classmethod
    def of(cls, archive: zipfile.ZipFile) -> _Letter:
        links = dict(_links(archive.read(rels_name("")).decode(), ""))
        return cls(archive, next(target for target in links.values() if not target.startswith("docProps")))

    def links(self) -> dict[str, str]:
        """The parts the document refers to, by id."""
        return dict(_links(self.archive.read(rels_name(self.document)).decode(), posixpath.dirname(self.document)))

    def shared(self) -> tuple[tuple[str, int], ...]:
        """What a letter has in common with others on the same letterhead: names and checksums."""
        own = {CONTENT_TYPES, CORE_PART, self.document, rels_name(self.document)}
        return tuple(
            (each.filename, each.CRC)
            for each in self.archive.infolist()
            if each.filename not in own
            and not _FURNITURE.search(each.filename)
            and not each.filename.endswith(_COMMENTS)
        )


def _links(xml: str, folder: str) -> Iterator[tuple[str, str]]:
    for entry in _RELATIONSHIP.findall(xml):
        attributes = dict(_ATTRIBUTE.findall(entry))
        if attributes.get("TargetMode") != "External":
            yield attributes["Id"], posixpath.normpath(posixpath.join(folder, attributes["Target"]))


def _opened(folder: Path, names: Sequence[str], each: Callable[[], None]) -> Iterator[_Letter]:
    for name in names:
        each()
        with zipfile.ZipFile(folder / name) as archive:
            yield _Letter.of(archive)


def _copy_name(part: str, number: int) -> str:
    stem, suffix = posixpath.splitext(part)
    return f"{stem}_{number}{suffix}"


class _Writer:
    """Writes the letters of one letterhead as one document."""

    def __init__(
        self, folder: Path, names: Sequence[str], out: zipfile.ZipFile, each: Callable[[], None] = lambda: None
    ) -> None:
        self._folder, self._names, self._out, self._each = folder, names, out, each
        with zipfile.ZipFile(folder / names[0]) as archive:
            first = _Letter.of(archive)
            self._document = first.document
            links = first.links()
            self._numbering = next((part for part in links.values() if part.endswith("numbering.xml")), "")
            numbering = archive.read(self._numbering).decode() if self._numbering else ""
            self._restarted = dict(_RESTARTED.findall(numbering))
            self._next = max([int(found) for found in re.findall(r'<w:num w:numId="(\d+)"', numbering)], default=0) + 1
            self._new_numbers: list[str] = []
        self._kinds: dict[str, str] = {}

    def write(self, day: date) -> None:
        """Write the whole document."""
        with self._out.open(self._info(self._document), "w", force_zip64=True) as stream:
            for number, letter in enumerate(_opened(self._folder, self._names, self._each), 1):
                stream.write(self._body(letter, number).encode())
            stream.write(b"</w:body></w:document>")
        for number, letter in enumerate(_opened(self._folder, self._names, self._each), 1):
            self._furniture(letter, number)
        with zipfile.ZipFile(self._folder / self._names[0]) as archive:
            self._rest(_Letter.of(archive), day)

    def _info(self, name: str) -> zipfile.ZipInfo:
        info = zipfile.ZipInfo(name, _FIRST_OF_1980)
        info.compress_type = zipfile.ZIP_DEFLATED
        return info

    def _body(self, letter: _Letter, number: int) -> str:
        text = letter.archive.read(letter.document).decode()
        start, cut = text.index("<w:body>") + len("<w:body>"), text.rindex("<w:sectPr")
        body, properties = _ANCHORS.sub("", text[start:cut]), text[cut : text.rindex("</w:body>")]
        links = letter.links()
        self._kinds |= {links[found[3]]: found[1] for found in _REFERENCE.finditer(properties)}
        own = {
            found[3]: f"n{number}{posixpath.basename(links[found[3]])[:-4]}"
            for found in _REFERENCE.finditer(properties)
        }
        properties = _REFERENCE.sub(
            lambda at: f'<w:{at[1]}Reference w:type="{at[2]}" r:id="{own[at[3]]}"/>', _section(properties)
        )
        body = self._own_numbers(body)
        if number < len(self._names):
            last = body.rindex("<w:p>")
            end = body.index("</w:pPr>", last)
            body, properties = body[:end] + properties + body[end:], ""
        return (text[:start] if number == 1 else "") + body + properties

    def _own_numbers(self, body: str) -> str:
        """Numbered lists begin anew in each letter: every list that restarts gets a number of its own."""
        fresh: dict[str, str] = {}

        def renumber(found: re.Match[str]) -> str:
            old = found[1]
            if old not in self._restarted:
                return found[0]
            if old not in fresh:
                fresh[old] = str(self._next)
                self._new_numbers.append(f'<w:num w:numId="{self._next}">{self._restarted[old]}</w:num>')
                self._next += 1
            return f'<w:numId w:val="{fresh[old]}"/>'

        return _NUMBER.sub(renumber, body)

    def _furniture(self, letter: _Letter, number: int) -> None:
        known = set(letter.archive.namelist())
        for part in self._kinds:
            content = _COUNT.sub("SECTIONPAGES", letter.archive.read(part).decode())
            self._out.writestr(self._info(_copy_name(part, number)), content)
            if rels_name(part) in known:
                self._out.writestr(
                    self._info(rels_name(_copy_name(part, number))), letter.archive.read(rels_name(part))
                )

    def _rest(self, first: _Letter, day: date) -> None:
        for name, _ in first.shared():
            content = first.archive.read(name)
            if name == self._numbering:
                text, added = content.decode(), "".join(self._new_numbers)
                marks = [mark for mark in ("<w:numIdMacAtCleanup", "</w:numbering>") if mark in text]
                content = _before(text, marks, added).encode()
            self._out.writestr(self._info(name), content)
        core = core_properties(Properties("Print run", "letterkit", "en-GB", day, "Draft"))
        self._out.writestr(self._info(CORE_PART), core)
        self._out.writestr(self._info(rels_name(self._document)), self._links_of(first))
        self._out.writestr(self._info(CONTENT_TYPES), self._types_of(first))

    def _links_of(self, first: _Letter) -> str:
        xml = first.archive.read(rels_name(self._document)).decode()
        folder = posixpath.dirname(self._document)
        kept = [
            entry for entry in _RELATIONSHIP.findall(xml)
            if not _OWN.search(dict(_ATTRIBUTE.findall(entry))["Target"])
        ]  # fmt: skip
        opening = xml[: xml.index("<Relationship ")]
        kind = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/"
        new = [
            f'<Relationship Id="n{number}{posixpath.basename(part)[:-4]}" Type="{kind}{word}" '
            f"Target={quoteattr(posixpath.relpath(_copy_name(part, number), folder or '.'))}/>"
            for number in range(1, len(self._names) + 1)
            for part, word in self._kinds.items()
        ]
        return opening + "".join(kept + new) + "</Relationships>"

    def _types_of(self, first: _Letter) -> str:
        xml = first.archive.read(CONTENT_TYPES).decode()
        types = {part: kind for part, kind in _OVERRIDE.findall(xml) if not part.endswith(_COMMENTS)}
        own = {part: types.pop(part) for part in self._kinds}
        for number in range(1, len(self._names) + 1):
            types |= {_copy_name(part, number): kind for part, kind in own.items()}
        opening = xml[: xml.index("<Override")]
        return (
            opening
            + "".join(f'<Override PartName="/{part}" ContentType="{kind}"/>' for part, kind in types.items())
            + "</Types>"
        )


def _names(url: str, run_id: str, reader: str, *, whole: bool) -> list[str]:
    """The DOCX files this run made for a reader, or all that stand, in order of recipient and then of the sheet."""
    fates = ("draft", "unchanged") if whole else ("draft",)
    query = (
        sa.select(letters.c.files)
        .select_from(rows.join(letters, rows.c.letter_id == letters.c.id))
        .where(rows.c.run_id == run_id, rows.c.fate.in_(fates), letters.c.state == "drafted")
        .order_by(letters.c.sort, rows.c.seq)
    )
    with reading(url) as connection:
        found = [json.loads(row.files) for row in connection.execute(query)]
    marked = f".{reader}." if reader != "doctor" else None
    return [
        name for names in found for name in names
        if name.endswith(".docx") and ((marked in name) if marked else ".patient." not in name)
    ]  # fmt: skip


def write_print_runs(
    url: str, run_id: str, folder: Path, readers: Sequence[str], *, whole: bool = False,
    still_wanted: Callable[[], None] = lambda: None,
) -> tuple[str, ...]:  # fmt: skip
    """Write a print run of the letters this run made for each reader, or of all that stand; gives the files' names.

    `still_wanted` is called at each letter; what it raises stops the writing, and leaves no half file. Letters on other
    stationery (large print, another language) get a document of their own.
    """
    with reading(url) as connection:
        run = connection.execute(sa.select(runs).where(runs.c.id == run_id)).one()
    made: list[str] = []
    for reader in readers:
        stationery: dict[tuple[tuple[str, int], ...], list[str]] = {}
        names = _names(url, run_id, reader, whole=whole)
        opened = _opened(folder, names, still_wanted)
        for name, letter in zip(names, opened, strict=True):
            stationery.setdefault(letter.shared(), []).append(name)
        for count, group in enumerate(stationery.values(), 1):
            parts = [
                "print-run",
                str(run.number),
                *([reader] if reader != "doctor" else []),
                *([str(count)] if count > 1 else []),
            ]
            target = ".".join([*parts, "docx"])
            aside = hidden(folder) / "aside" / f"{os.getpid()}-{target}"
            aside.parent.mkdir(parents=True, exist_ok=True)
            with zipfile.ZipFile(aside, "w", zipfile.ZIP_DEFLATED) as out:
                _Writer(folder, group, out, still_wanted).write(date.fromisoformat(run.drafted))
            with aside.open("rb") as file:
                os.fsync(file.fileno())
            aside.replace(folder / target)
            made.append(target)
    sync_folder(folder)
    return tuple(made)
