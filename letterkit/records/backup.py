"""Backup and restore: the whole of the records in one file, the same for SQLite and PostgreSQL.

The file is compressed JSON lines: a head, every row of every table from one moment, parts of files that go with them,
and a last line with the number of rows and a digest of all before it. It holds patient data; it is made readable for
its owner only.
"""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
import os
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any, Protocol

from sqlalchemy import func, insert, select

from letterkit.records.database import reading, writing
from letterkit.records.errors import RecordsError
from letterkit.records.store import Store, now
from letterkit.records.tables import HEAD, metadata

FORMAT = 2
_FORMATS = frozenset({1, FORMAT})  # the first knew no files
FILE = "file"
_BATCH = 500
_NOT_KEPT = frozenset({"idempotency", "sessions", "work_present"})  # they would be over before a restore
_RESTORED = frozenset({"0001", HEAD})  # migrations whose rows fit today's tables as they are: 0002 added tables only


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return {"moment": value.isoformat()}
    if isinstance(value, bytes):
        return {"bytes": base64.b64encode(value).decode()}
    return value


def _rich(value: Any) -> Any:
    if isinstance(value, dict):
        if "moment" in value:
            return datetime.fromisoformat(value["moment"])
        return base64.b64decode(value["bytes"])
    return value


class Files(Protocol):
    """Where the files of a backup go: taken one part after another, then all of them placed, or none."""

    def take(self, row: Sequence[Any]) -> None:
        """Takes a part."""

    def place(self) -> None:
        """Puts all of them into their places."""

    def undo(self) -> None:
        """Leaves nothing of them behind."""


class _Writer:
    def __init__(self, file: gzip.GzipFile) -> None:
        self._file = file
        self._digest = hashlib.sha256()

    def line(self, value: Any) -> None:
        text = json.dumps(value, ensure_ascii=True, separators=(",", ":")).encode() + b"\n"
        self._digest.update(text)
        self._file.write(text)

    def close(self, rows: int) -> str:
        digest = self._digest.hexdigest()
        self._file.write(json.dumps({"rows": rows, "digest": digest}).encode() + b"\n")
        return digest


def backup(store: Store, target: Path, files: Iterable[Sequence[Any]] = ()) -> int:
    """Writes a backup and gives the number of rows; the file appears only when it is whole. Never overwrites one.

    `files` are parts of files that are kept with the rows; they count as none.
    """
    if target.exists():
        raise RecordsError(f"{target}: exists already; a backup is never overwritten")
    aside = target.with_name(f".{target.name}.part")
    rows = 0
    with os.fdopen(os.open(aside, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600), "wb") as raw:
        with gzip.GzipFile(fileobj=raw, mode="wb", compresslevel=1, mtime=0) as packed:
            writer = _Writer(packed)
            writer.line({"format": FORMAT, "migration": HEAD, "made": now().isoformat()})
            with reading(store.engine) as connection:
                for table in metadata.sorted_tables:
                    if table.name in _NOT_KEPT:
                        continue
                    every = select(table).order_by(*table.primary_key.columns).execution_options(yield_per=_BATCH)
                    with connection.execute(every) as found:
                        for row in found:
                            writer.line([table.name, [_plain(value) for value in row]])
                            rows += 1
            parts = 0
            for part in files:
                writer.line([FILE, [_plain(value) for value in part]])
                parts += 1
            writer.close(rows + parts)
        raw.flush()
        os.fsync(raw.fileno())
    aside.replace(target)
    return rows


def _rows(source: Path) -> Iterator[tuple[str, list[Any]]]:
    """Every row of a backup, its tables in order. Raises RecordsError at the end where the file is not whole."""
    digest, count, last = hashlib.sha256(), 0, None
    try:
        with gzip.open(source, "rb") as file:
            first = file.readline()
            digest.update(first)
            head = json.loads(first)
            if head.get("format") not in _FORMATS or head.get("migration") not in _RESTORED:
                raise RecordsError(
                    f"{source}: made at migration {head.get('migration')}, this program restores {HEAD}; "
                    "restore it with the release that made it, then upgrade"
                )
            for line in file:
                value = json.loads(line)
                if isinstance(value, dict):
                    last = value
                    break
                digest.update(line)
                count += 1
                yield value[0], [_rich(each) for each in value[1]]
    except (OSError, EOFError, ValueError, AttributeError, KeyError) as error:
        raise RecordsError(f"{source}: not a whole backup ({type(error).__name__}); take another") from None
    if last != {"rows": count, "digest": digest.hexdigest()}:
        raise RecordsError(f"{source}: its end does not agree with what it holds; take another backup")


def restore(store: Store, source: Path, files: Files | None = None) -> int:
    """Fills an empty store from a backup, all or nothing, and gives the number of rows. Raises RecordsError.

    A backup that holds files is restored only where `files` takes them.
    """
    try:
        return _restore(store, source, files)
    except BaseException:
        if files is not None:
            files.undo()
        raise


def _restore(store: Store, source: Path, files: Files | None) -> int:
    columns = {table.name: (table, [column.name for column in table.columns]) for table in metadata.sorted_tables}
    total = 0
    with writing(store.engine) as connection:
        for table, _ in columns.values():
            if connection.execute(select(func.count()).select_from(table)).scalar():
                raise RecordsError(f"records: the table {table.name} is not empty; restore into a new database")
        waiting: list[dict[str, Any]] = []
        current = ""
        for name, values in _rows(source):
            if name == FILE and files is not None:
                files.take(values)
                continue
            if name not in columns:
                raise RecordsError(f"{source}: holds a table {name!r} that is not known; take another backup")
            if waiting and (name != current or len(waiting) == _BATCH):
                connection.execute(insert(columns[current][0]), waiting)
                waiting = []
            current = name
            waiting.append(dict(zip(columns[name][1], values, strict=True)))
            total += 1
        if waiting:
            connection.execute(insert(columns[current][0]), waiting)
        if files is not None:
            files.place()
    return total
