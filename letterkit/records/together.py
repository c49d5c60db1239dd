"""Writing together: changes that wait at the same time go into one transaction, and so share its flush to the disk.

The first to come leads: it takes whatever waits, carries each change out behind a savepoint of its own, and commits.
Nobody is told that a change was made before the commit that holds it.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable
from typing import Any, Generic, TypeVar

from sqlalchemy import Connection, Engine

from letterkit.records.database import writing

_Made = TypeVar("_Made")
_MOST = 32  # changes in one transaction


class _Change(Generic[_Made]):
    """One change that waits for its turn."""

    def __init__(self, work: Callable[[Connection], _Made]) -> None:
        self.work = work
        self.made: _Made | None = None
        self.error: BaseException | None = None
        self.done = False


class Together:
    """The writers of one process."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._turn = threading.Condition()
        self._waiting: deque[_Change[Any]] = deque()
        self._led = False

    def write(self, work: Callable[[Connection], _Made]) -> _Made:
        """What `work` gives, once it is safely kept. Raises what `work` raises, and then nothing of it is kept."""
        change = _Change(work)
        with self._turn:
            self._waiting.append(change)
            while self._led and not change.done:
                self._turn.wait()
            if not change.done:
                self._led = True
        if not change.done:
            self._lead(change)
        if change.error is not None:
            raise change.error
        return change.made  # type: ignore[return-value]  # it was made, or there is an error

    def _lead(self, own: _Change[Any]) -> None:
        while not own.done:
            with self._turn:
                batch = [self._waiting.popleft() for _ in range(min(_MOST, len(self._waiting)))]
            try:
                self._carry_out(batch)
            finally:
                with self._turn:
                    for change in batch:
                        change.done = True
                    self._led = not own.done
                    self._turn.notify_all()

    def _carry_out(self, batch: list[_Change[Any]]) -> None:
        try:
            with writing(self._engine) as connection:
                for change in batch:
                    if len(batch) == 1:
                        change.made = change.work(connection)
                        continue
                    try:
                        with connection.begin_nested():
                            change.made = change.work(connection)
                    except Exception as error:  # noqa: BLE001 - it is raised again to whom it belongs
                        change.error = error
        except BaseException as error:  # noqa: BLE001 - the transaction failed, and with it every change in it
            for change in batch:
                change.error = error
