"""A workbook looked at before it is opened: far cells, claims of size and declarations are refused, formulas are found.

A file of two kilobytes can claim a sheet of five hundred gigabytes. The sheet's XML is read as a stream, which costs no
memory, before anything that trusts its claims opens it.
"""

from __future__ import annotations

import posixpath
import re
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from xml.parsers import expat

MAX_FILE = 200 * 2**20  # bytes of the file
MAX_UNPACKED = 2**30  # bytes of one part unpacked
MAX_MEMBERS = 2_000
MAX_ROWS = 250_000
MAX_COLUMNS = 2_000
MAX_CELLS = 20_000_000  # of the rectangle that holds all cells
_CHUNK = 2**18
_REFERENCE = re.compile(r"^\$?([A-Z]{1,3})\$?([0-9]{1,7})$")


class UnsafeWorkbook(ValueError):
    """The workbook is refused; the message says why and what to do."""


@dataclass(slots=True)
class Seen:
    """What a sheet's XML holds: the last row and column with content, and the cells that are formulas or errors."""

    rows: int = 0
    columns: int = 0
    formulas: set[tuple[int, int]] = field(default_factory=set)
    errors: set[tuple[int, int]] = field(default_factory=set)

    def touch(self, row: int, column: int) -> None:
        """Takes note of a cell with content, both counted from one; refuses one that is too far out."""
        self.rows = max(self.rows, row)
        self.columns = max(self.columns, column)
        if row > MAX_ROWS or column > MAX_COLUMNS or self.rows * self.columns > MAX_CELLS:
            raise UnsafeWorkbook(
                f"holds a cell in row {row}, column {column}; a sheet may have {MAX_ROWS} rows, {MAX_COLUMNS} columns "
                f"and {MAX_CELLS} cells. Delete what lies beyond the table, or save it as CSV"
            )


def _stream(archive: zipfile.ZipFile, name: str, start: Callable[[str, Mapping[str, str]], None],
            end: Callable[[str], None] | None = None, text: Callable[[str], None] | None = None) -> None:  # fmt: skip
    parser = expat.ParserCreate()

    def refuse(*_: object) -> None:
        raise UnsafeWorkbook(f"{name} declares a document type, which a workbook never needs; refused")

    parser.StartDoctypeDeclHandler = refuse
    parser.StartElementHandler = lambda tag, attributes: start(tag.rpartition(":")[2], attributes)
    if end is not None:
        parser.EndElementHandler = lambda tag: end(tag.rpartition(":")[2])
    if text is not None:
        parser.CharacterDataHandler = text
    read = 0
    try:
        with archive.open(name) as part:
            while data := part.read(_CHUNK):
                read += len(data)
                if read > MAX_UNPACKED:
                    raise UnsafeWorkbook(f"{name} unpacks to more than {MAX_UNPACKED} bytes; refused")
                parser.Parse(data, False)
            parser.Parse(b"", True)
    except expat.ExpatError as error:
        raise UnsafeWorkbook(f"{name} is not well-formed ({error}); open the file and save it again") from None
    except (zipfile.BadZipFile, EOFError, NotImplementedError, RuntimeError) as error:
        raise UnsafeWorkbook(f"{name} cannot be unpacked ({error}); open the file and save it again") from None


def _column(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def _scan_xlsx(archive: zipfile.ZipFile, part: str) -> Seen:
    seen = Seen()
    at = [0, 0]  # where the reading stands, for cells without a reference

    def start(tag: str, attributes: Mapping[str, str]) -> None:
        if tag == "row":
            at[0] = int(attributes.get("r", at[0] + 1))
            at[1] = 0
        elif tag == "c":
            if match := _REFERENCE.match(attributes.get("r", "")):
                at[0], at[1] = int(match[2]), _column(match[1])
            elif "r" in attributes:
                raise UnsafeWorkbook(f"{part} holds a cell with a broken reference; open the file and save it again")
            else:
                at[1] += 1
            seen.touch(at[0], at[1])
            if attributes.get("t") == "e":
                seen.errors.add((at[0], at[1]))
        elif tag == "f":
            seen.formulas.add((at[0], at[1]))

    _stream(archive, part, start)
    return seen


def _scan_ods(archive: zipfile.ZipFile, wanted: str) -> Seen:
    seen = Seen()
    state = {"row": 0, "column": 0, "rows": 1, "cell": 0, "columns": 1, "inside": 0, "filled": 0}

    def number(attributes: Mapping[str, str], name: str) -> int:
        return max(1, int(attributes.get(f"table:number-{name}-repeated", "1")))

    def start(tag: str, attributes: Mapping[str, str]) -> None:
        if tag == "table":
            state["inside"] = attributes.get("table:name") == wanted
            state["row"] = 0
        elif not state["inside"]:
            return
        elif tag == "table-row":
            state["rows"], state["column"] = number(attributes, "rows"), 0
        elif tag in {"table-cell", "covered-table-cell"}:
            state["columns"], state["cell"] = number(attributes, "columns"), 1
            state["filled"] = "office:value-type" in attributes
            if "table:formula" in attributes:
                seen.formulas.add((state["row"] + 1, state["column"] + 1))
        elif tag == "p" and state["cell"]:
            state["filled"] = 1

    def end(tag: str) -> None:
        if not state["inside"]:
            return
        if tag in {"table-cell", "covered-table-cell"}:
            state["column"] += state["columns"]
            if state["filled"]:
                seen.touch(state["row"] + state["rows"], state["column"])
            state["cell"] = 0
        elif tag == "table-row":
            state["row"] += state["rows"]

    _stream(archive, "content.xml", start, end)
    return seen


def sheet_parts(archive: zipfile.ZipFile) -> dict[str, str]:
    """The part of each sheet of an XLSX workbook, by name and in the workbook's order."""
    names: list[tuple[str, str]] = []
    targets: dict[str, str] = {}

    def sheet(tag: str, attributes: Mapping[str, str]) -> None:
        if tag == "sheet":
            names.append((attributes.get("name", ""), attributes.get("r:id", "")))

    def relationship(tag: str, attributes: Mapping[str, str]) -> None:
        if tag == "Relationship":
            target = attributes.get("Target", "")
            targets[attributes.get("Id", "")] = target[1:] if target.startswith("/") else posixpath.join("xl", target)

    _stream(archive, "xl/workbook.xml", sheet)
    _stream(archive, "xl/_rels/workbook.xml.rels", relationship)
    return {name: targets[identity] for name, identity in names if identity in targets}


def scan(path: Path, sheet: str) -> Seen:
    """What a sheet of an XLSX or ODS workbook holds. Raises `UnsafeWorkbook` for one that must not be opened."""
    with zipfile.ZipFile(path) as archive:
        if path.suffix.casefold() == ".ods":
            return _scan_ods(archive, sheet)
        part = sheet_parts(archive).get(sheet)
        if part is None or part not in archive.namelist():
            raise UnsafeWorkbook("its list of sheets cannot be followed; open the file and save it again")
        return _scan_xlsx(archive, part)


def check_container(path: Path) -> None:
    """Refuses a file that is too large, no ZIP, encrypted, or that claims too much. Raises `UnsafeWorkbook`."""
    if path.stat().st_size > MAX_FILE:
        raise UnsafeWorkbook(f"is larger than {MAX_FILE} bytes; save it as CSV")
    try:
        with zipfile.ZipFile(path) as archive:
            members = archive.infolist()
    except (zipfile.BadZipFile, ValueError):
        raise UnsafeWorkbook("is no workbook of this kind; save it as XLSX, or as CSV") from None
    if len(members) > MAX_MEMBERS or any(member.file_size > MAX_UNPACKED for member in members):
        raise UnsafeWorkbook("claims to unpack to more than a workbook needs; refused")
