"""Corrections of single rows, kept beside a sheet that itself is never changed: who changed which cell, and when.

The file is one JSON object a line, only ever added to. A run lays the corrections over the rows as it reads them, so
that the corrected row alone differs from the run before, and the command line makes of the sheet what the pages make.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import IO

from letterkit.bulk.cells import Raw
from letterkit.bulk.rows import Issue
from letterkit.errors import InvalidInput, LetterkitError, Problem


@dataclass(frozen=True, slots=True)
class Correction:
    """What one person changed of one row. `number` counts the row's corrections; cells are by column, from zero."""

    place: str
    number: int
    by: str
    at: str
    cells: Mapping[int, str]
    before: Mapping[int, str]


class CorrectedSince(LetterkitError):
    """Somebody else corrected the row in the meantime; `last` is that correction."""

    def __init__(self, last: Correction) -> None:
        super().__init__(f"{last.by} corrected this row at {last.at}")
        self.last = last


class Corrections:
    """The corrections of one sheet, by place."""

    def __init__(self, found: Sequence[Correction] = ()) -> None:
        self._by_place: dict[str, list[Correction]] = {}
        for each in found:
            self._by_place.setdefault(each.place, []).append(each)

    def __len__(self) -> int:
        return sum(len(each) for each in self._by_place.values())

    def every(self) -> Iterator[Correction]:
        """All of them."""
        for each in self._by_place.values():
            yield from each

    def of(self, place: str) -> Sequence[Correction]:
        """The corrections of a row, the first one first."""
        return self._by_place.get(place, ())

    def cells(self, place: str) -> dict[int, str]:
        """What the corrected cells of a row hold now."""
        return {at: text for each in self.of(place) for at, text in each.cells.items()}

    def over(self, place: str, cells: Sequence[Raw]) -> Sequence[Raw]:
        """The cells of a row with its corrections laid over them."""
        changed = self.cells(place)
        if not changed:
            return cells
        whole: list[Raw] = [*cells, *[None] * (max(changed) + 1 - len(cells))]
        for at, text in changed.items():
            whole[at] = text
        return whole

    def notes(self, place: str, names: Sequence[str]) -> Iterator[Issue]:
        """A note of each correction of a row, for the outcome."""
        for each in self.of(place):
            for at in each.cells:
                name = names[at] if at < len(names) and names[at] else f"column {at + 1}"
                yield Issue("note", name, f"corrected by {each.by}, {each.at[:16].replace('T', ' ')}")


def corrections_path(sheet: Path) -> Path:
    """Where the corrections of a sheet are kept: beside it, under its name."""
    return sheet.with_name(sheet.name + ".corrections.jsonl")


def _digest(sheet: Path) -> str:
    with sheet.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _whole_lines(content: bytes) -> bytes:
    """Without the half of a line that a loss of power may have left at the end."""
    return content[: content.rfind(b"\n") + 1]


def _read(content: bytes, path: Path, digest: str) -> list[Correction]:
    found = []
    strange = False
    try:
        for line in _whole_lines(content).splitlines():
            told = json.loads(line)
            strange = told.pop("sheet") != digest or strange
            for part in ("cells", "before"):
                told[part] = {int(at): str(text) for at, text in told[part].items()}
            found.append(Correction(**told))
    except (ValueError, TypeError, KeyError, AttributeError):
        message = "cannot be read; bring it back from a backup, or move it away"
        raise InvalidInput((Problem(path.name, message),)) from None
    if strange:
        message = "is of another state of the sheet; bring that sheet back, or move this file away"
        raise InvalidInput((Problem(path.name, message),))
    return found


def load_corrections(sheet: Path) -> Corrections:
    """The corrections kept beside a sheet. Raises `InvalidInput` where they are damaged or of another sheet."""
    path = corrections_path(sheet)
    if not path.is_file():
        return Corrections()
    return Corrections(_read(path.read_bytes(), path, _digest(sheet)))


@contextmanager
def _alone(path: Path) -> Iterator[IO[bytes]]:
    import fcntl  # noqa: PLC0415 - of the systems that the service runs on; reading needs none

    with os.fdopen(os.open(path, os.O_CREAT | os.O_RDWR, 0o600), "r+b") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield file


def correct(
    sheet: Path, place: str, expected: int, by: str, at: str, cells: Mapping[int, str], before: Mapping[int, str],
    tell: Callable[[], None],
) -> Correction:  # fmt: skip
    """Keep a correction of the row at `place`, which had `expected` corrections when it was opened.

    `tell` is called before it is written, so that nothing is corrected that was not told of. Raises `CorrectedSince`
    where the row has others by now, and `InvalidInput` where those beside the sheet cannot be read.
    """
    path = corrections_path(sheet)
    digest = _digest(sheet)
    with _alone(path) as file:
        content = file.read()
        others = Corrections(_read(content, path, digest)).of(place)
        if len(others) != expected:
            if others:
                raise CorrectedSince(others[-1])
            raise InvalidInput((Problem(place, "has no corrections any more; open it again"),))
        made = Correction(place, expected + 1, by, at, dict(cells), dict(before))
        tell()
        file.truncate(len(_whole_lines(content)))
        file.seek(0, os.SEEK_END)
        file.write(json.dumps({"sheet": digest, **asdict(made)}).encode() + b"\n")
        file.flush()
        os.fsync(file.fileno())
    return made
