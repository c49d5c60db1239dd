"""The steps of a run under dbos, so that it goes on where it was stopped: the only place that knows that library.

A run is cut into parts, each a workflow on one queue; a part's steps are chunks of turns. Into its tables go a run's
id, ranges and counts, never a word of a row. What it needs to hold:

- an executor's id is its own: on SQLite one process holds a lock file, on PostgreSQL each holds an advisory lock;
- nobody notices a dead executor but ourselves: whoever gets its lock puts its parts back on the queue;
- the version of the run's format stands in for the application's, so that an upgrade does not orphan a run;
- a step may run twice, so a chunk drafts only what still waits.
"""

from __future__ import annotations

import os
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Any

import sqlalchemy as sa
from dbos import DBOS, DBOSConfig, SetWorkflowID

from letterkit.bulk.ledger import FORMAT, driver_url, is_sqlite
from letterkit.errors import CatalogueError, LetterheadError, LetterkitError

CHUNK = 25  # letters: what is drafted again after a stop
_CHUNKS = 8  # of a part at most
_PARTS = 16  # of a run at least, where it has that many chunks: enough for every worker to get some
_QUEUE = "letterkit-bulk"
_VERSION = f"letterkit-bulk-{FORMAT}"
_EMBEDDED = "embedded"
_ACTIVE = ["ENQUEUED", "PENDING"]
_LOCK = "pg_try_advisory_lock(hashtextextended(:name, 0))"
_UNLOCK = "pg_advisory_unlock(hashtextextended(:name, 0))"
_ALIVE = {
    "keepalives": 1,
    "keepalives_idle": 10,
    "keepalives_interval": 5,
    "keepalives_count": 3,
}  # a cut network shows

Chunk = Callable[[str, int, int], dict[str, int]]


def part_size(letters: int) -> int:
    """How many letters a worker takes at a time; the same each time a run of so many goes on."""
    return CHUNK * max(1, min(_CHUNKS, letters // (CHUNK * _PARTS)))


class FolderInUse(LetterkitError):
    """Another process is at work on the same folder."""


@contextmanager
def sole(path: Path) -> Iterator[None]:
    """Hold the lock file of a folder, which ends with the process. Raises `FolderInUse` if another process has it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("a+b") as file:
        _lock_file(file, path)
        yield


def _lock_file(file: IO[bytes], path: Path) -> None:
    try:
        if os.name == "nt":
            import msvcrt  # noqa: PLC0415 - of that system only

            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        else:
            import fcntl  # noqa: PLC0415 - of the others

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        raise FolderInUse(
            f"{path.parent.parent}: another run is at work in this folder; wait for it, or see letterkit bulk status"
        ) from None


class Executor:
    """A process that takes part in runs."""

    def __init__(self, beat: sa.Connection | None, name: str) -> None:
        self._beat, self._name = beat, name

    def submit(self, run_id: str, letters: int, part: Callable[..., Any]) -> None:
        """Put a run's parts on the queue; those that are there already stay, those that failed are put there again."""
        size = part_size(letters)
        for number, first in enumerate(range(1, letters + 1, size)):
            base = f"{run_id}.{number}"
            tries = DBOS.list_workflows(workflow_id_prefix=f"{base}.", load_input=False, load_output=False)
            failed = sum(each.status not in {*_ACTIVE, "SUCCESS"} for each in tries)
            if len(tries) > failed:
                continue
            with SetWorkflowID(f"{base}.{failed}"):
                DBOS.enqueue_workflow(_QUEUE, part, run_id, first, min(first + size - 1, letters))

    def active(self, run_id: str) -> bool:
        """Whether a part of the run is queued or at work anywhere."""
        return bool(DBOS.list_workflows(
            workflow_id_prefix=f"{run_id}.", status=_ACTIVE, limit=1, load_input=False, load_output=False
        ))  # fmt: skip

    def sweep(self) -> int:
        """Put the parts of dead executors back on the queue; gives how many."""
        if self._beat is None:
            return 0
        pending = DBOS.list_workflows(status="PENDING", app_version=_VERSION, load_input=False, load_output=False)
        taken = 0
        for name in {each.executor_id for each in pending if each.executor_id} - {self._name}:
            if not self._beat.execute(sa.text(f"SELECT {_LOCK}"), {"name": name}).scalar():
                continue  # its owner lives
            try:
                for each in pending:
                    if each.executor_id == name:
                        DBOS.resume_workflow(each.workflow_id, queue_name=_QUEUE)
                        taken += 1
            finally:
                self._beat.execute(sa.text(f"SELECT {_UNLOCK}"), {"name": name})
        return taken


def _steps_url(url: str) -> str:
    return url.replace("bulk.sqlite", "steps.sqlite") if is_sqlite(url) else driver_url(url)


def _beat(url: str, name: str) -> sa.Connection | None:
    if is_sqlite(url):
        return None
    engine = sa.create_engine(driver_url(url), poolclass=sa.NullPool, connect_args=_ALIVE, isolation_level="AUTOCOMMIT")
    connection = engine.connect()
    if not connection.execute(sa.text(f"SELECT {_LOCK}"), {"name": name}).scalar():
        raise FolderInUse(f"{name}: the lock of this process is held by another")
    return connection


@contextmanager
def _turn(beat: sa.Connection | None) -> Iterator[None]:
    """Let processes that start together set up their tables one after another."""
    name = {"name": "letterkit-bulk-launch"}
    # Asked for again and again: a statement that waited for the lock would hold up the index that its holder makes.
    while beat is not None and not beat.execute(sa.text(f"SELECT {_LOCK}"), name).scalar():
        time.sleep(0.1)
    try:
        yield
    finally:
        if beat is not None:
            beat.execute(sa.text(f"SELECT {_UNLOCK}"), name)


@contextmanager
def executing(
    url: str, chunk: Chunk, at_once: int, failed: Callable[[str, str], None]
) -> Iterator[tuple[Executor, Any]]:
    """Take part in the runs of a store while the context lasts; gives the executor and the workflow of a part.

    `chunk` drafts turns of a run, `at_once` is how many parts are worked on at a time, and `failed` is told why a
    chunk could not be done.
    """
    embedded = is_sqlite(url)
    name = _EMBEDDED if embedded else f"{socket.gethostname()}-{os.getpid()}-{os.urandom(4).hex()}"
    beat = _beat(url, name)
    config: DBOSConfig = {
        "name": "letterkit-bulk", "system_database_url": _steps_url(url), "executor_id": name, "log_level": "CRITICAL",
        "application_version": _VERSION, "use_listen_notify": False, "scheduler_polling_interval_sec": 3600.0,
    }  # fmt: skip
    DBOS(config=config)

    @DBOS.step(name="letterkit-bulk-chunk")
    def step(run_id: str, first: int, last: int) -> dict[str, int]:
        try:
            return chunk(run_id, first, last)
        except (CatalogueError, LetterheadError) as error:  # their words are of a file, not of a row
            failed(run_id, str(error))
            raise LetterkitError("no letter could be made") from None
        except LetterkitError:
            raise  # interrupted; the same command continues
        except OSError as error:
            failed(run_id, error.strerror or type(error).__name__)
            raise LetterkitError("the folder of letters could not be written") from None
        except Exception as error:  # noqa: BLE001 - its words may be a row's, and would be kept in the tables
            failed(run_id, type(error).__name__)
            raise LetterkitError("a chunk could not be drafted") from None

    @DBOS.workflow(name="letterkit-bulk-part")
    def part(run_id: str, first: int, last: int) -> int:
        done = 0
        for start in range(first, last + 1, CHUNK):
            done += sum(step(run_id, start, min(start + CHUNK - 1, last)).values())
        return done

    try:
        with _turn(beat):
            DBOS.launch()
            DBOS.register_queue(_QUEUE, worker_concurrency=at_once, polling_interval_sec=0.1 if embedded else 0.25)
        yield Executor(beat, name), part
    finally:
        with suppress(Exception):
            DBOS.destroy(destroy_registry=True, workflow_completion_timeout_sec=0)
        if beat is not None:
            beat.close()


def sweeping(executor: Executor, stop: threading.Event, every: float = 1.0) -> None:
    """Sweep until told to stop; a sweep that fails is made again."""
    while not stop.wait(every):
        with suppress(sa.exc.SQLAlchemyError):
            executor.sweep()
