"""The connection to the records: SQLite in a file, or PostgreSQL by URL, with safe settings on each."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, inspect, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, OperationalError

from letterkit.records.errors import RecordsError
from letterkit.records.tables import HEAD, STEPS

try:
    import fcntl
except ImportError:  # where the system has no such lock, SQLite's sleeping is all there is
    fcntl = None  # type: ignore[assignment]

BUSY_S = 30  # how long a writer of SQLite waits for another
TRAIL_LOCK = 7_151_203  # advisory lock of PostgreSQL under which records and their audit trail are written
MIGRATION_LOCK = 7_151_204


def _sqlite_connection(connection: Any, _record: Any) -> None:
    # The driver would begin transactions by itself, and late; `_begin` does it at the right time and in the right way.
    connection.isolation_level = None
    cursor = connection.cursor()
    for setting in (
        f"busy_timeout={BUSY_S * 1000}", "journal_mode=WAL", "foreign_keys=ON", "synchronous=FULL", "secure_delete=ON",
        "trusted_schema=OFF",
    ):  # fmt: skip
        cursor.execute(f"PRAGMA {setting}")
    cursor.close()


def _begin(connection: Connection) -> None:
    # A transaction that will write takes the lock at its start: one that reads first and writes later may find that
    # another has written in between, and fails.
    writes = connection.get_execution_options().get("writes")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def open_engine(url: str) -> Engine:
    """The engine of a database URL. Raises RecordsError for a URL that cannot be used."""
    try:
        parsed = make_url(url)
    except ArgumentError:
        raise RecordsError("records url: not a database URL; give sqlite:///FILE or postgresql://HOST/NAME") from None
    if parsed.drivername in {"postgresql", "postgres"}:
        parsed = parsed.set(drivername="postgresql+psycopg")
    if parsed.drivername == "sqlite":
        if not parsed.database or parsed.database == ":memory:":
            raise RecordsError("records url: records need a file; give sqlite:///FILE")
        path = Path(parsed.database)
        path.parent.mkdir(parents=True, exist_ok=True)
        if not path.exists():
            os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
        engine = create_engine(parsed, hide_parameters=True, connect_args={"timeout": BUSY_S}, max_overflow=20)
        event.listen(engine, "connect", _sqlite_connection)
        event.listen(engine, "begin", _begin)
        return engine
    if parsed.drivername == "postgresql+psycopg":
        return create_engine(parsed, hide_parameters=True, pool_pre_ping=True, max_overflow=20)
    raise RecordsError(f"records url: {parsed.drivername} is not supported; allowed: sqlite, postgresql")


def is_sqlite(engine: Engine | Connection) -> bool:
    """Whether this is the embedded database."""
    return engine.dialect.name == "sqlite"


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A transaction that only reads, and sees one state of the records from its start to its end."""
    options = {} if is_sqlite(engine) else {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
    with engine.connect().execution_options(**options) as connection, connection.begin():
        yield connection


@contextmanager
def _turn(engine: Engine) -> Iterator[None]:
    """The turn to write to a file. SQLite waits by sleeping, up to a tenth of a second a time, and between two busy
    processes both sleep most of the time; a lock of the system wakes who waits at once. SQLite's own still holds."""
    if fcntl is None or not is_sqlite(engine):
        yield
        return
    file = os.open(f"{engine.url.database}-turn", os.O_CREAT | os.O_RDWR | os.O_CLOEXEC, 0o600)
    try:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield
    finally:
        os.close(file)


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that writes: all of it, or nothing; one at a time, on PostgreSQL as on SQLite.

    The lock comes before any other: changes that were written together held rows while they waited for the trail, and
    so two processes could each wait for the other.
    """
    with _turn(engine), engine.connect().execution_options(writes=True) as connection, connection.begin():
        if not is_sqlite(engine):
            connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": TRAIL_LOCK})
        yield connection


def revision(engine: Engine) -> str | None:
    """The migration the database stands at, None for an empty one. Raises RecordsError where it cannot be reached."""
    try:
        with reading(engine) as connection:
            if not inspect(connection).has_table("alembic_version"):
                return None
            found: str | None = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
            return found
    except OperationalError as error:
        raise RecordsError(f"records: the database cannot be reached ({type(error.orig).__name__})") from None


def prepare(engine: Engine) -> None:
    """Brings the tables to the version this program needs; safe to call from several processes at once."""
    found = revision(engine)
    if found == HEAD:
        return
    if found is not None and found not in STEPS:
        raise RecordsError(f"records: the database stands at migration {found}, this program knows {HEAD}; upgrade it")
    from alembic import command  # noqa: PLC0415 - heavy, and needed once in the life of a database
    from alembic.config import Config  # noqa: PLC0415

    config = Config()
    config.set_main_option("script_location", "letterkit.records:migrations")
    config.set_main_option("path_separator", "os")
    with writing(engine) as connection:
        if not is_sqlite(connection):
            connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": MIGRATION_LOCK})
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
