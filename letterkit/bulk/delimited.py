"""CSV of any common delimiter and encoding: both are found out from the file, or refused, and said before the run."""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from letterkit.errors import InvalidInput, Problem

_DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
_SAID = re.compile(r"^\ufeff?sep=([,;\t|])", re.IGNORECASE)  # a first line by which spreadsheet programs tell
_LONGEST_LINE = 2**17
_BLOCK = 2**16
_SAMPLE = 20  # rows looked at for the delimiter
_LONGEST_CELL = 2**17
_BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF32_LE, "utf-32"), (codecs.BOM_UTF32_BE, "utf-32"),
         (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))  # fmt: skip


def _decodes(path: Path, encoding: str) -> bool:
    decoder = codecs.getincrementaldecoder(encoding)()
    try:
        with path.open("rb") as file:
            while block := file.read(_BLOCK):
                decoder.decode(block)
            decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    return True


def find_encoding(path: Path) -> tuple[str, str]:
    """The encoding of a file, and a note where it is only likely. Raises `InvalidInput` where none fits."""
    with path.open("rb") as file:
        start = file.read(_BLOCK)
    for mark, encoding in _BOMS:
        if start.startswith(mark) and _decodes(path, encoding):
            return encoding, ""
    if b"\0" in start:
        # Without a mark, UTF-16 of a Western sheet has every other byte zero.
        encoding = "utf-16-le" if start[1::2].count(0) >= start[::2].count(0) else "utf-16-be"
        if _decodes(path, encoding):
            return encoding, ""
    elif _decodes(path, "utf-8"):
        return "utf-8", ""
    elif _decodes(path, "cp1252"):
        return "cp1252", "if names look wrong, save the sheet as UTF-8, or give its encoding in the mapping file"
    raise InvalidInput((Problem(path.name, "is in no known encoding; save it as CSV UTF-8"),))


def _dialects(path: Path, encoding: str) -> str:
    """The delimiter that parts the first rows most evenly into most cells."""
    with path.open(encoding=encoding, newline="") as file:
        if said := _SAID.match(file.readline(_LONGEST_LINE)):
            return said[1]
    best, score = ",", (0, 0)
    for delimiter in _DELIMITERS:
        with path.open(encoding=encoding, newline="") as file:
            reader = csv.reader(file, delimiter=delimiter)
            widths: list[int] = []
            try:
                for row in reader:
                    if any(cell.strip() for cell in row):
                        widths.append(len(row))
                    if len(widths) >= _SAMPLE:
                        break
            except csv.Error:
                continue
        if widths and widths[0] > 1:
            found = (sum(width == widths[0] for width in widths) * 100 // len(widths) // 50, widths[0])
            if found > score:
                best, score = delimiter, found
    return best


def _swallowed(row: Sequence[str], width: int, delimiter: str) -> bool:
    """Whether a cell holds what looks like rows of its own: a quotation mark was opened and not closed."""
    few = max(3, width - 1)
    return any("\n" in cell and any(line.count(delimiter) + 1 >= few for line in cell.splitlines()) for cell in row)


@contextmanager
def read_delimited(
    path: Path, encoding: str | None = None
) -> Iterator[tuple[tuple[str, ...], Iterator[Sequence[str]]]]:
    """The rows of a CSV file, and notes of how it is read; open while the context lasts."""
    note = ""
    if encoding is None:
        encoding, note = find_encoding(path)
    elif not _decodes(path, encoding):
        raise InvalidInput((Problem(path.name, f"is not in {encoding}; mend the mapping file"),))
    delimiter = _dialects(path, encoding)
    notes = tuple(each for each in (f"{encoding}, parted by {_DELIMITERS[delimiter]}", note) if each)
    csv.field_size_limit(_LONGEST_CELL)
    with path.open(encoding=encoding, newline="") as file:
        yield notes, _rows(path, csv.reader(file, delimiter=delimiter, strict=True), delimiter)


def _rows(path: Path, reader: Iterator[list[str]], delimiter: str) -> Iterator[Sequence[str]]:
    width = number = 0
    while True:
        number += 1
        try:
            row = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise InvalidInput((
                Problem(f"{path.name}: row {number}", f"the quotation marks do not fit ({error}); mend this row"),
            )) from None  # fmt: skip
        if number == 1 and row and _SAID.match(row[0] + delimiter):
            yield []
            continue
        width = width or len(row)
        if width > 1 and _swallowed(row, width, delimiter):
            raise InvalidInput((
                Problem(f"{path.name}: row {number}", "a quotation mark is opened and not closed; mend this row"),
            ))  # fmt: skip
        yield row
