"""The folders of sheets beside the records: searched for a patient, erased, kept in a backup and brought back.

A sheet is erased whole. It names every patient of a clinic, and so do its print runs and its outcome; of one row alone
nothing could be taken out of it without changing what the letters of the others were made from.
"""

from __future__ import annotations

import json
import os
import re
import secrets
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path, PurePosixPath
from typing import Any

from letterkit.bulk.corrections import corrections_path, load_corrections
from letterkit.bulk.files import hidden
from letterkit.bulk.looking import cell_of
from letterkit.bulk.mapping import load_mapping, mapping_path
from letterkit.bulk.sheets import whole
from letterkit.errors import LetterkitError
from letterkit.records.errors import RecordsError
from letterkit.service.keeper import ENDED, STANDING, held
from letterkit.service.runs import ASKED, RUN_ID, Runs, given_in

_PART = 1 << 20  # bytes of a file in one line of a backup
_LEDGER = "bulk.sqlite"
_LEFT_OUT = ("lock", "aside", "steps.sqlite", f"{_LEDGER}-wal", f"{_LEDGER}-shm")
_GAPS = re.compile(r"[\s-]+")
_LONG = 8  # characters from which an identifier is also looked for inside a longer text


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet that was given in, and its folder."""

    id: str
    folder: Path
    name: str
    at: datetime


def _bare(text: str) -> str:
    return _GAPS.sub("", text).casefold()


def _texts(value: Any) -> Iterator[str]:
    """Every text and number of an encounter."""
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        for each in value:
            yield from _texts(each)
    elif isinstance(value, (str, int)):
        yield str(value)


def _held_in(sheet: Path) -> Iterator[str]:
    """Every text of a sheet, as it was given in and as it was corrected. Raises LetterkitError where it is not read."""
    for row in whole(sheet, load_mapping(mapping_path(sheet)).encoding):
        if isinstance(row, bytes):
            try:
                yield from _texts(json.loads(row))
            except (ValueError, RecursionError):
                yield row.decode("utf-8", "replace")
        else:
            yield from (cell_of(cell).text for cell in row)
    if corrections_path(sheet).is_file():
        for each in load_corrections(sheet).every():
            yield from (*each.cells.values(), *each.before.values())


class Folders:
    """The folders of the sheets of one service."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._runs = Runs(folder, None, None)

    def every(self) -> Sequence[Sheet]:
        """Every sheet, the oldest first."""
        found = []
        for folder in self._folder.glob("*"):
            if RUN_ID.fullmatch(folder.name) and folder.is_dir():
                given = self._runs.given(folder.name)
                at = given.at if given else datetime.fromtimestamp(given_in(folder), UTC)
                found.append(Sheet(folder.name, folder, given.name if given else "sheet of another program", at))
        return sorted(found, key=lambda each: (each.at, each.id))

    def of_patient(self, identifier: str) -> tuple[Sequence[Sheet], Sequence[Sheet]]:
        """The sheets that hold an identifier in any cell, and those not read; spaces and hyphens do not count."""
        wanted = _bare(identifier)
        found, unread = [], []
        for each in self.every():
            try:
                texts = map(_bare, _held_in(self._runs.sheet(each.id)))
                if any(text == wanted or (len(wanted) >= _LONG and wanted in text) for text in texts):
                    found.append(each)
            except LetterkitError:
                unread.append(each)
        return found, unread

    def erase(self, sheet: Sheet) -> None:
        """Removes a sheet with its letters. Raises RecordsError while letters are made of it."""
        with held(sheet.folder) as free:
            if not free:
                raise RecordsError(f"sheet {sheet.id}: letters are being made of it; wait for them, and do it again")
            (sheet.folder / ASKED).unlink(missing_ok=True)  # so that no service begins it again
            shutil.rmtree(sheet.folder)

    def kept(self) -> Iterator[list[Any]]:
        """What a backup keeps: of each file its sheet, its name, the time it was written, and its bytes in parts.

        Whether a run is over is read before anything it was made of, and the ledger before the letters it tells of:
        what is written meanwhile makes a run due again after a restore, and no letter is missed.
        """
        for each in self.every():
            yield from _parts(each, each.folder / ENDED, each.folder / STANDING)
            ledger = hidden(each.folder / "letters") / _LEDGER
            if ledger.is_file():
                with tempfile.TemporaryDirectory() as aside:
                    copy = Path(aside) / _LEDGER
                    with closing(sqlite3.connect(ledger)) as source, closing(sqlite3.connect(copy)) as target:
                        source.backup(target)
                    yield from _file(each, ledger, copy)
            told = {each.folder / ENDED, each.folder / STANDING, ledger}
            yield from _parts(each, *(
                path for path in sorted(each.folder.rglob("*"))
                if path not in told and not any(part in _LEFT_OUT for part in path.relative_to(each.folder).parts)
            ))  # fmt: skip


def _parts(sheet: Sheet, *paths: Path) -> Iterator[list[Any]]:
    for path in paths:
        if path.is_file() and not path.name.startswith("."):  # else it is being written
            with suppress(FileNotFoundError):
                yield from _file(sheet, path, path)


def _file(sheet: Sheet, path: Path, source: Path) -> Iterator[list[Any]]:
    name = path.relative_to(sheet.folder).as_posix()
    with source.open("rb") as file:
        written = path.stat().st_mtime
        yield [sheet.id, name, written, file.read(_PART)]
        while more := file.read(_PART):
            yield [sheet.id, name, written, more]


class Restored:
    """Takes the files of a backup: aside at first, and all of them in their places at the end, or none."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._aside = folder / f".restored-{secrets.token_hex(8)}"
        self._placed: list[Path] = []
        self.files = 0

    def take(self, row: Sequence[Any]) -> None:
        """Takes a part of a file. Raises RecordsError for one that belongs nowhere."""
        run, name, written, content = row
        way = PurePosixPath(name)
        if not RUN_ID.fullmatch(run) or way.is_absolute() or ".." in way.parts or not way.parts or "\\" in name:
            raise RecordsError("the backup holds a file that belongs to no sheet; take another backup")
        path = self._aside / run / way
        if not (self._aside / run).exists() and (self._folder / run).exists():
            raise RecordsError(f"sheet {run}: its folder is there already; restore into a new place")
        for parent in reversed([each for each in path.parents if each.is_relative_to(self._aside)]):
            parent.mkdir(mode=0o700, exist_ok=True, parents=True)
        self.files += not path.exists()
        with os.fdopen(os.open(path, os.O_CREAT | os.O_APPEND | os.O_WRONLY, 0o600), "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.utime(path, (written, written))

    def place(self) -> None:
        """Puts everything into its place."""
        for folder in sorted(self._aside.glob("*")):
            ledger = hidden(folder / "letters") / _LEDGER
            target = self._folder / folder.name
            if ledger.is_file():  # it knows its letters by the place of their folder
                with closing(sqlite3.connect(ledger)) as connection, connection:
                    connection.execute("UPDATE bulk_folder SET path = ?", (str((target / "letters").resolve()),))
            folder.rename(target)
            self._placed.append(target)
        self._clear()

    def undo(self) -> None:
        """Leaves nothing of it behind."""
        for folder in self._placed:
            shutil.rmtree(folder, ignore_errors=True)
        self._clear()

    def _clear(self) -> None:
        with suppress(FileNotFoundError):
            shutil.rmtree(self._aside)
