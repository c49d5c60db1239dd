"""A sheet as a stream of rows, whatever file it came in. Nothing here holds more than one row at a time."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any, TypeAlias

from letterkit.bulk.cells import Odd, Raw
from letterkit.bulk.delimited import read_delimited
from letterkit.errors import InvalidInput, Problem

WORKBOOKS = (".xlsx", ".xlsm", ".ods")
DELIMITED = (".csv", ".tsv", ".txt", ".tab")
JSON_LINES = (".jsonl", ".ndjson")

#: A row's place in the sheet, and its cells.
Cells: TypeAlias = tuple[str, Sequence[Raw]]
#: A place, and the bytes of an encounter in JSON.
Text: TypeAlias = tuple[str, bytes]


@dataclass(frozen=True, slots=True)
class Table:
    """A sheet with columns; `notes` say how it was read (encoding, delimiter, which sheet of a workbook).

    `name` is that of the sheet in a workbook that has others.
    """

    header: tuple[str, ...]
    rows: Iterator[Cells]
    notes: tuple[str, ...] = ()
    name: str = ""


@dataclass(frozen=True, slots=True)
class Records:
    """A file or folder that holds whole encounters."""

    rows: Iterator[Text]
    notes: tuple[str, ...] = field(default=())


def _refuse(path: Path, message: str) -> InvalidInput:
    return InvalidInput((Problem(path.name, message),))


def _raw(cell: Any) -> Raw:
    if isinstance(cell, dict):
        return date.fromisoformat(cell["d"]) if "d" in cell else Odd(str(cell["o"]))
    value: Raw = cell
    return value


@contextmanager
def _workbook(path: Path, wanted: str | None) -> Iterator[tuple[Mapping[str, Any], Iterator[list[Raw]]]]:
    command = [sys.executable, "-m", "letterkit.bulk.workbook_child", str(path), *([wanted] if wanted else [])]
    environment = {**os.environ, "PYTHONIOENCODING": "utf-8"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, env=environment) as child:  # noqa: S603 - our own module
        assert child.stdout is not None
        try:
            lines = iter(child.stdout)

            def fetched() -> Iterator[Any]:
                for line in lines:
                    given = json.loads(line) if line.endswith(b"\n") else None
                    if isinstance(given, dict) and "refused" in given:
                        raise _refuse(path, str(given["refused"]))
                    if given is not None:
                        yield given
                if child.wait() != 0:
                    raise _refuse(
                        path, "needs more memory than a sheet may; delete what lies beyond the table, or save as CSV"
                    )

            rows = fetched()
            first = next(rows, None)
            if first is None:
                raise _refuse(path, "is empty")
            yield first, ([_raw(cell) for cell in row] for row in rows)
        finally:
            child.kill()


def _text(cell: Raw) -> str:
    return "" if cell is None else cell.what if isinstance(cell, Odd) else str(cell)


def _table(path: Path, rows: Iterator[Sequence[Raw]], notes: tuple[str, ...], name: str = "") -> Table:
    for number, cells in enumerate(rows, 1):
        names = [_text(cell).strip().strip("\ufeff") for cell in cells]
        if any(names):
            while not names[-1]:
                names.pop()
            numbered = ((f"row {at}", row) for at, row in enumerate(rows, number + 1))
            return Table(tuple(names), numbered, notes, name)
    raise _refuse(path, "is empty; the first row names the columns")


def _json_lines(path: Path) -> Iterator[Text]:
    with path.open("rb") as file:
        for number, line in enumerate(file, 1):
            if text := line.strip().removeprefix(b"\xef\xbb\xbf"):
                yield f"line {number}", text


def _folder(path: Path) -> Iterator[Text]:
    for each in sorted(path.iterdir()):
        if each.suffix == ".json" and not each.name.startswith("."):
            yield each.name, each.read_bytes()


@contextmanager
def opened(path: Path, *, sheet: str | None = None, encoding: str | None = None) -> Iterator[Table | Records]:
    """The sheet at `path`, open while the context lasts. Raises `InvalidInput` for one that cannot be read.

    `sheet` names a sheet of a workbook, `encoding` that of a CSV file, where they are not to be found out.
    """
    suffix = path.suffix.casefold()
    if path.is_dir():
        yield Records(_folder(path), ("a folder of encounters",))
    elif not path.is_file():
        raise _refuse(path, "is not there; give a sheet (CSV, XLSX, ODS, JSON Lines) or a folder of encounters")
    elif suffix in WORKBOOKS:
        with _workbook(path, sheet) as (told, rows):
            others = ", ".join(told["others"])
            note = f"sheet {told['sheet']!r}" + (f" (not read: {others})" if others else "")
            yield _table(path, rows, (note,), told["sheet"] if others else "")
    elif suffix in JSON_LINES:
        yield Records(_json_lines(path), ("JSON Lines",))
    elif suffix in DELIMITED:
        with read_delimited(path, encoding) as (notes, texts):
            yield _table(path, texts, notes)
    else:
        known = ", ".join((*DELIMITED, *WORKBOOKS, *JSON_LINES))
        raise _refuse(path, f"is of a kind that is not read; save it as one of {known}")


def whole(path: Path, encoding: str | None = None) -> Iterator[Sequence[Raw] | bytes]:
    """Every row of a file, of every sheet it has and with its headings, whether letters are made of it or not.

    Raises `InvalidInput` as `opened` does.
    """
    if path.suffix.casefold() in WORKBOOKS:
        with _workbook(path, None) as (told, rows):
            yield from rows
        for name in told["every"]:
            if name != told["sheet"]:
                with _workbook(path, name) as (_, rows):
                    yield from rows
    elif path.suffix.casefold() in DELIMITED:
        with read_delimited(path, encoding) as (_, texts):
            yield from texts
    else:
        with opened(path) as found:
            yield from (row for _, row in found.rows)
