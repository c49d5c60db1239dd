"""Runs on PostgreSQL with a worker beside them, and one of the two killed: nothing is lost and nothing made twice."""

from __future__ import annotations

import os
import select
import signal
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from bulk_rows import DAY, bulk_process, command, environment, made, outcome, rows, write_csv
from records_fixtures import cluster, fresh_database
from sqlalchemy import create_engine, text

pytestmark = pytest.mark.postgres
assert cluster  # the fixture, known to pytest by being here
ROWS = 320


@contextmanager
def started(*words: object, out: Path | None = None) -> Iterator[subprocess.Popen[str]]:
    """A command at work, killed at the end if it is not done."""
    given = {"stdout": subprocess.PIPE if out is None else subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    with subprocess.Popen(command(*words), text=True, env=environment(), **given) as process:
        try:
            yield process
        finally:
            if process.poll() is None:
                process.kill()


def until(true: Callable[[], bool], seconds: float = 120) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "it did not come to pass in time"
        time.sleep(0.02)


@pytest.fixture
def database(cluster):
    url = fresh_database(cluster)
    engine = create_engine(url, isolation_level="AUTOCOMMIT")
    yield url, engine
    engine.dispose()


def parts(engine, where: str) -> int:
    """How many parts of runs there are that fit a condition."""
    with engine.connect() as connection:
        return connection.execute(text(f"SELECT count(*) FROM dbos.workflow_status WHERE {where}")).scalar_one()


def compare(out: Path, undisturbed: Path) -> None:
    assert made(out) == made(undisturbed)
    lines = outcome(out)[0]
    assert [line[0] for line in lines] == [f"row {number}" for number in range(2, ROWS + 2)]
    assert all(line[3] == "new" and line[4] == 1 for line in lines)


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory) -> tuple[Path, Path]:
    folder = tmp_path_factory.mktemp("undisturbed")
    sheet = write_csv(folder / "friday.csv", rows(ROWS))
    assert bulk_process(sheet, folder / "out").returncode < 2
    return sheet, folder / "out"


def ready(worker: subprocess.Popen[str]) -> None:
    assert worker.stdout is not None
    assert select.select([worker.stdout], [], [], 60)[0], "the worker did not get ready"
    assert worker.stdout.readline().strip() == "ready"


def run_words(sheet: Path, out: Path, url: str) -> list[object]:
    return ["bulk", sheet, "--out", out, "--date", DAY, "--quiet", "--for", "doctor", "--store", url, "--processes", 1]


def test_of_two_workers_one_is_killed_and_its_share_is_taken_over(tmp_path: Path, database, undisturbed):
    (url, engine), (sheet, clean) = database, undisturbed
    out = tmp_path / "out"
    worker_words = ("worker", "--store", url, "--processes", 1)
    with started(*worker_words) as killed, started(*worker_words) as other:
        ready(killed)
        ready(other)
        with started(*run_words(sheet, out, url), out=out) as run:
            mine = f"status = 'PENDING' AND executor_id LIKE '%-{killed.pid}-%'"
            until(lambda: parts(engine, mine) > 0 and sum(1 for _ in out.glob("*.docx")) > 20)
            os.kill(killed.pid, signal.SIGKILL)
            killed.wait()
            left = parts(engine, mine)
            assert left > 0, "the worker was killed between two parts"
            assert run.wait(timeout=240) < 2
        assert parts(engine, f"executor_id LIKE '%-{other.pid}-%'") > 0
        assert parts(engine, "status <> 'SUCCESS'") == 0
        other.send_signal(signal.SIGTERM)
        assert other.wait(timeout=60) == 0
    compare(out, clean)


def test_the_run_itself_is_killed_and_a_worker_ends_its_letters(tmp_path: Path, database, undisturbed):
    (url, _), (sheet, clean) = database, undisturbed
    out = tmp_path / "out"
    with started("worker", "--store", url, "--processes", 1) as worker:
        ready(worker)
        with started(*run_words(sheet, out, url), out=out) as run:
            until(lambda: sum(1 for _ in out.glob("*.docx")) > 20)
            os.kill(run.pid, signal.SIGKILL)
            run.wait()
        until(lambda: sum(1 for _ in out.glob("*.docx")) == ROWS)
        assert not (out / "outcome.xlsx").exists()
        done = bulk_process(sheet, out, "--store", url, "--processes", 1)
        assert done.returncode < 2, done.stderr
    compare(out, clean)


def test_no_word_of_a_patient_in_the_tables_of_steps(tmp_path: Path, database):
    url, engine = database
    sheet = write_csv(tmp_path / "s.csv", [row | {"Surname": "Quuxworthy"} for row in rows(3)])
    assert bulk_process(sheet, tmp_path / "out", "--store", url).returncode < 2
    with engine.connect() as connection:
        names = connection.execute(
            text("SELECT quote_ident(schemaname) || '.' || quote_ident(tablename) FROM pg_tables "
                 "WHERE schemaname NOT IN ('pg_catalog', 'information_schema')")
        ).scalars().all()  # fmt: skip
        assert any(name.startswith("dbos.") for name in names)
        for name in names:
            found = connection.execute(text(f"SELECT count(*) FROM {name} AS t WHERE t::text LIKE '%Quuxworthy%'"))
            assert found.scalar_one() == 0, name


def test_a_worker_without_the_folder_drafts_nothing_into_another(tmp_path: Path):
    from letterkit.bulk.files import MARKER, hidden  # noqa: PLC0415
    from letterkit.bulk.work import _check_folder  # noqa: PLC0415

    with pytest.raises(OSError, match="not the run's folder"):
        _check_folder(tmp_path, "abc")
    hidden(tmp_path).mkdir()
    (hidden(tmp_path) / MARKER).write_text("abc", encoding="utf-8")
    _check_folder(tmp_path, "abc")
