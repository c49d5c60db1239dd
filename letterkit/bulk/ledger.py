"""What was made of every row, in two tables and their runs: SQLite beside the letters by default, PostgreSQL by URL.

A letter is known by its row's key (the reference, or who was seen when), so that the same row of a corrected sheet
finds it again. A row's words are kept only until its letter is made; its digest, files and queries stay.
"""

from __future__ import annotations

import json
import os
import secrets
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

import sqlalchemy as sa

FORMAT = "1"  # of these tables and of the steps recorded about them

metadata = sa.MetaData()

folders = sa.Table(
    "bulk_folder", metadata,
    sa.Column("id", sa.Integer, primary_key=True),
    sa.Column("path", sa.Text, nullable=False, unique=True),
    sa.Column("salt", sa.String(32), nullable=False),  # of the keys of rows without a reference
)  # fmt: skip

runs = sa.Table(
    "bulk_run", metadata,
    sa.Column("id", sa.String(32), primary_key=True),
    sa.Column("folder_id", sa.ForeignKey("bulk_folder.id"), nullable=False),
    sa.Column("number", sa.Integer, nullable=False),  # of the folder's runs
    sa.Column("sheet", sa.Text, nullable=False),
    sa.Column("digest", sa.String(64), nullable=False),  # of sheet, mapping and settings
    sa.Column("settings", sa.Text, nullable=False),
    sa.Column("drafted", sa.String(10), nullable=False),
    sa.Column("state", sa.String(12), nullable=False),  # reading, drafting, done, superseded
    sa.Column("rows", sa.Integer, nullable=False, default=0),
    sa.Column("tasks", sa.Integer, nullable=False, default=0),  # letters to draft
    sa.Column("stopped", sa.Text),  # why drafting could not go on; never words of a row
    sa.UniqueConstraint("folder_id", "number"),
)  # fmt: skip

letters = sa.Table(
    "bulk_letter", metadata,
    sa.Column("id", sa.String(40), primary_key=True),  # folder and serial
    sa.Column("folder_id", sa.ForeignKey("bulk_folder.id"), nullable=False),
    sa.Column("key", sa.Text, nullable=False),
    sa.Column("serial", sa.Integer, nullable=False),
    sa.Column("reference", sa.Text),
    sa.Column("name", sa.Text, nullable=False),  # of its files, without version and ending
    sa.Column("name_folded", sa.Text, nullable=False),
    sa.Column("version", sa.Integer, nullable=False, default=0),  # the last that was drafted
    sa.Column("digest", sa.String(64), nullable=False),
    sa.Column("made", sa.String(64), nullable=False, default=""),  # digest of that version
    sa.Column("made_on", sa.String(10), nullable=False, default=""),  # its date of drafting
    sa.Column("outputs", sa.Text, nullable=False, default=""),  # formats and readers it was made for
    sa.Column("maker", sa.Text, nullable=False, default=""),  # version of the package that refused it
    sa.Column("state", sa.String(12), nullable=False),  # waiting, drafted, refused, conflict
    sa.Column("run_id", sa.String(32), nullable=False),
    sa.Column("task", sa.Integer, nullable=False),  # its turn in that run
    sa.Column("again", sa.Boolean, nullable=False, default=False),  # the same content once more: no new version
    sa.Column("drafted", sa.String(10), nullable=False),
    sa.Column("payload", sa.Text),  # the row's words, until its letter is made
    sa.Column("sort", sa.Text, nullable=False, default=""),  # recipient, for the print run
    sa.Column("queries", sa.Integer, nullable=False, default=0),
    sa.Column("issues", sa.Text, nullable=False, default="[]"),
    sa.Column("files", sa.Text, nullable=False, default="[]"),
    sa.UniqueConstraint("folder_id", "key"),
    sa.UniqueConstraint("folder_id", "name_folded"),
    sa.Index("bulk_letter_turn", "run_id", "task"),
)  # fmt: skip

rows = sa.Table(
    "bulk_row", metadata,
    sa.Column("run_id", sa.ForeignKey("bulk_run.id"), primary_key=True),
    sa.Column("seq", sa.Integer, primary_key=True),
    sa.Column("place", sa.Text, nullable=False),
    sa.Column("letter_id", sa.ForeignKey("bulk_letter.id")),
    sa.Column("fate", sa.String(12), nullable=False),  # draft, unchanged, duplicate, conflict, refused
    sa.Column("issues", sa.Text, nullable=False, default="[]"),
    sa.Index("bulk_row_letter", "run_id", "letter_id"),
)  # fmt: skip


def embedded_url(folder: Path) -> str:
    """The URL of the SQLite file that goes with a folder of letters."""
    return f"sqlite:///{(folder / '.letterkit' / 'bulk.sqlite').resolve()}"


def is_sqlite(url: str) -> bool:
    """Whether a store's URL names an embedded file."""
    return url.startswith("sqlite")


def driver_url(url: str) -> str:
    """The URL with the driver that the package brings along."""
    for short in ("postgresql://", "postgres://"):
        if url.startswith(short):
            return "postgresql+psycopg://" + url.removeprefix(short)
    return url


@cache
def engine(url: str) -> sa.Engine:
    """The engine of a store, one a process. SQLite waits for its turn to write, and survives a loss of power."""
    if not is_sqlite(url):
        return sa.create_engine(driver_url(url), pool_pre_ping=True)
    file = Path(url.removeprefix("sqlite:///"))
    file.parent.mkdir(parents=True, exist_ok=True)
    if not file.exists():  # it holds words of patients: for its owner alone
        os.close(os.open(file, os.O_CREAT | os.O_RDWR, 0o600))
    made = sa.create_engine(url, connect_args={"timeout": 30})

    @sa.event.listens_for(made, "connect")
    def _connected(connection: Any, _record: Any) -> None:
        connection.isolation_level = None  # transactions are begun by hand, below
        for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "secure_delete=ON"):
            connection.execute(f"PRAGMA {pragma}")

    @sa.event.listens_for(made, "begin")
    def _begun(connection: sa.Connection) -> None:
        reading = connection.get_execution_options().get("reading", False)
        connection.exec_driver_sql("BEGIN" if reading else "BEGIN IMMEDIATE")

    return made


def prepare(url: str) -> None:
    """Make the tables where they are not there yet."""
    with engine(url).begin() as connection:
        if not is_sqlite(url):  # processes that start together take turns
            connection.execute(sa.text("SELECT pg_advisory_xact_lock(hashtextextended('letterkit-bulk-setup', 0))"))
        metadata.create_all(connection)


@contextmanager
def reading(url: str) -> Iterator[sa.Connection]:
    """A connection that only reads, and holds up nobody."""
    with engine(url).connect().execution_options(reading=True) as connection:
        yield connection


@contextmanager
def writing(url: str) -> Iterator[sa.Connection]:
    """A connection whose changes all stand at the end, or none of them."""
    with engine(url).begin() as connection:
        yield connection


def find_folder(connection: sa.Connection, path: str) -> int | None:
    """The number of a folder of letters that a run has written to."""
    found: int | None = connection.execute(sa.select(folders.c.id).where(folders.c.path == path)).scalar()
    return found


def folder_id(connection: sa.Connection, path: str) -> int:
    """The number of a folder of letters, given at its first run."""
    found = find_folder(connection, path)
    if found is None:
        made = connection.execute(sa.insert(folders).values(path=path, salt=secrets.token_hex(16)))
        key = made.inserted_primary_key
        assert key is not None
        found = int(key[0])
    return found


def unfinished(connection: sa.Connection, folder: int) -> sa.Row[Any] | None:
    """The run of a folder that was begun and not ended."""
    query = sa.select(runs).where(runs.c.folder_id == folder, runs.c.state.in_(("reading", "drafting")))
    return connection.execute(query.order_by(runs.c.number.desc())).first()


def latest(connection: sa.Connection, folder: int) -> sa.Row[Any] | None:
    """The last run of a folder."""
    return connection.execute(
        sa.select(runs).where(runs.c.folder_id == folder).order_by(runs.c.number.desc()).limit(1)
    ).first()


def begin(connection: sa.Connection, folder: int, values: Mapping[str, Any]) -> str:
    """A new run of a folder, in place of any that was not ended; gives its id."""
    connection.execute(
        sa.update(runs)
        .where(runs.c.folder_id == folder, runs.c.state.in_(("reading", "drafting")))
        .values(state="superseded")
    )
    last = connection.execute(sa.select(sa.func.max(runs.c.number)).where(runs.c.folder_id == folder)).scalar() or 0
    identity = secrets.token_hex(8)
    connection.execute(
        sa.insert(runs).values(
            id=identity, folder_id=folder, number=last + 1, state="reading", rows=0, tasks=0, **values
        )
    )
    return identity


def counts(connection: sa.Connection, run_id: str) -> dict[str, int]:
    """How many letters of a run are waiting, drafted, drafted with queries, and refused."""
    state = sa.case((sa.and_(letters.c.state == "drafted", letters.c.queries > 0), "queried"), else_=letters.c.state)
    found = connection.execute(
        sa.select(state, sa.func.count()).where(letters.c.run_id == run_id, letters.c.task > 0).group_by(state)
    ).all()
    result = {"waiting": 0, "drafted": 0, "queried": 0, "refused": 0}
    for name, count in found:
        result["refused" if name == "conflict" else name] += count
    return result


def in_order(url: str, run_id: str, block: int = 500) -> Iterator[Sequence[sa.Row[Any]]]:
    """The rows of a run with their letters, in the sheet's order, a block at a time."""
    query = (
        sa.select(rows.c.seq, rows.c.place, rows.c.fate, rows.c.issues.label("row_issues"), letters)
        .select_from(rows.outerjoin(letters, rows.c.letter_id == letters.c.id))
        .where(rows.c.run_id == run_id)
        .order_by(rows.c.seq)
        .limit(block)
    )
    last = 0
    while True:
        with reading(url) as connection:
            found = connection.execute(query.where(rows.c.seq > last)).all()
        if not found:
            return
        yield found
        last = found[-1].seq


def settings_of(connection: sa.Connection, run_id: str) -> dict[str, Any]:
    """The settings of a run, with its state under 'state' and the date of drafting under 'drafted'."""
    found = connection.execute(sa.select(runs).where(runs.c.id == run_id)).one()
    return {**json.loads(found.settings), "state": found.state}
