"""Stores for tests of the records and the service: SQLite in a file, and PostgreSQL in a cluster of its own where the program is installed."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
import time
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text

from letterkit.letter.approval import content_digest
from letterkit.pipeline import draft
from letterkit.records.content import Content, letter_to_json
from letterkit.records.store import Doing, Store

DEMO = Path(__file__).resolve().parents[1] / "demo_cases"
DEMO_CASES = sorted(DEMO.glob("*.json"))
DOING = Doing("tests", "request-1")


def _program(name: str) -> str | None:
    found = shutil.which(name)
    if found:
        return found
    others = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))
    return str(others[-1]) if others else None


@pytest.fixture(scope="session")
def cluster():
    """The URL of a PostgreSQL server that lives as long as the tests, with durability off."""
    if given := os.environ.get("LETTERKIT_TEST_POSTGRES"):
        yield given
        return
    initdb, server = _program("initdb"), _program("postgres")
    if not initdb or not server:
        pytest.skip(
            "PostgreSQL is not installed (initdb and postgres not found), and LETTERKIT_TEST_POSTGRES is not set"
        )
    folder = Path(tempfile.mkdtemp(prefix="letterkit-postgres-"))
    user: dict[str, object] = {}
    if os.getuid() == 0:  # the server refuses to run as root
        shutil.chown(folder, "postgres", "postgres")
        user = {"user": "postgres", "group": "postgres", "extra_groups": []}
    data = folder / "data"
    subprocess.run(
        [initdb, "-D", str(data), "-U", "postgres", "-A", "trust", "--no-sync", "-E", "UTF8"],
        check=True, capture_output=True, cwd=folder, **user,
    )  # fmt: skip
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    process = subprocess.Popen(
        [server, "-D", str(data), "-p", str(port), "-k", str(folder), "-c", "listen_addresses=127.0.0.1", "-c", "fsync=off"],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd=folder, **user,
    )  # fmt: skip
    url = f"postgresql+psycopg://postgres@127.0.0.1:{port}/postgres"
    try:
        _wait(data / "postmaster.pid")
        yield url
    finally:
        process.terminate()
        process.wait(timeout=30)
        shutil.rmtree(folder, ignore_errors=True)


def _wait(lock: Path) -> None:
    """Until the server's lock file says that it is ready."""
    for _ in range(500):
        if lock.exists() and "ready" in lock.read_text():
            return
        time.sleep(0.02)
    raise RuntimeError("the test's PostgreSQL did not start")


_numbers = iter(range(10_000))


def fresh_database(cluster: str) -> str:
    """The URL of an empty database of the cluster."""
    name = f"letterkit_{os.getpid()}_{next(_numbers)}"
    engine = create_engine(cluster, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    engine.dispose()
    return cluster.rsplit("/", 1)[0] + f"/{name}"


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def url(request, tmp_path) -> str:
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'records.db'}"
    return fresh_database(request.getfixturevalue("cluster"))


@pytest.fixture
def other_url(request, tmp_path, url) -> str:
    """A second, empty database, of the other kind where there is one."""
    if url.startswith("sqlite"):
        return f"sqlite:///{tmp_path / 'other.db'}"
    return fresh_database(request.getfixturevalue("cluster"))


@pytest.fixture
def store(url):
    opened = Store.open(url)
    yield opened
    opened.close()


def content_of(case: str = "thumb_base", **more) -> Content:
    """What a version of a demo case holds."""
    made = draft((DEMO / f"{case}.json").read_bytes())
    return Content(
        encounter=made.encounter.model_dump(mode="json", by_alias=True, exclude_none=True) | more.pop("record", {}),
        letter=letter_to_json(made.letter),
        letter_digest=content_digest(made.letter),
        **more,
    )


@pytest.fixture(scope="session")
def content() -> Content:
    return content_of()
