"""Two processes that write one file take turns, and who waits is woken when the other is done."""

from __future__ import annotations

import threading
import time

import pytest
from sqlalchemy import text

from letterkit.records.database import open_engine, writing

fcntl = pytest.importorskip("fcntl")


def test_a_writer_that_waits_is_woken_at_once(tmp_path):
    url = f"sqlite:///{tmp_path / 'records.db'}"
    first, second = open_engine(url), open_engine(url)
    with writing(first) as connection:
        connection.execute(text("CREATE TABLE told (at REAL)"))
    waits: list[float] = []
    for _ in range(5):
        begun, done = threading.Event(), []

        def write(begun=begun, done=done) -> None:
            begun.set()
            with writing(second) as connection:
                done.append(time.monotonic())
                connection.execute(text("INSERT INTO told VALUES (1)"))

        with writing(first) as connection:
            connection.execute(text("INSERT INTO told VALUES (0)"))
            waiter = threading.Thread(target=write)
            waiter.start()
            assert begun.wait(10)
            time.sleep(0.15)  # SQLite itself would by now sleep a tenth of a second at a time
            assert done == []
        released = time.monotonic()
        waiter.join()
        waits.append(done[0] - released)
    assert min(waits) < 0.02
    with writing(first) as connection:
        assert connection.execute(text("SELECT count(*) FROM told")).scalar() == 10
    assert (tmp_path / "records.db-turn").stat().st_mode & 0o077 == 0


def test_the_turn_is_given_back_when_a_change_fails(tmp_path):
    engine = open_engine(f"sqlite:///{tmp_path / 'records.db'}")
    with pytest.raises(ValueError, match="on purpose"), writing(engine):
        raise ValueError("on purpose")
    with writing(engine) as connection:
        connection.execute(text("CREATE TABLE told (at REAL)"))
