"""A process kept ready for corrected rows: begun when a row is opened, and ended when none was for some time."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from letterkit.service.keeper import LEFT, READY, standing

_WAIT_S = 6.0  # what a person would rather wait than look at the progress of a run
_LOOK_S = 0.02


def child_environment() -> dict[str, str]:
    """The environment of a process that drafts: none of the service's own settings."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("LETTERKIT_")}
    kept.pop("PROMETHEUS_MULTIPROC_DIR", None)
    return kept


class _Process:
    """One such process. It ends by itself when nobody is there to give it work, or none was given for long."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "letterkit.service.redraft"], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL, env=child_environment(), start_new_session=True,
        )  # fmt: skip
        self.pid = self._process.pid
        self.given = 0
        self.over = False
        self._otherwise: dict[int, Callable[[], None]] = {}  # by the number of work that it has: what if it is left
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        assert self._process.stdout is not None
        done = 0
        for line in self._process.stdout:
            told = line.decode().strip()
            if told == READY:
                continue
            done += 1
            otherwise = self._otherwise.pop(done, None)
            if told == LEFT and otherwise is not None:
                otherwise()
        self.over = True
        for number in tuple(self._otherwise):
            self.give_back(number)
        self._process.stdout.close()
        self._process.wait()

    def give(self, job: Mapping[str, Any], otherwise: Callable[[], None]) -> int:
        """Gives it work; the number of that. `otherwise` is called once where the work is left or never done."""
        assert self._process.stdin is not None
        self.given += 1
        number = self.given
        self._otherwise[number] = otherwise
        try:
            self._process.stdin.write(json.dumps(job).encode() + b"\n")
            self._process.stdin.flush()
        except OSError:  # it ended in this moment
            self.give_back(number)
        if self.over:
            self.give_back(number)
        return number

    def give_back(self, number: int) -> None:
        """Lets work be done otherwise, unless that was seen to already."""
        if (otherwise := self._otherwise.pop(number, None)) is not None:
            otherwise()

    def has(self, number: int) -> bool:
        """Whether it has not said yet what became of that work."""
        return number in self._otherwise

    def end(self) -> None:
        """Lets it end after the work it has."""
        assert self._process.stdin is not None
        with suppress(OSError):  # it may have ended already, with work that was on its way
            self._process.stdin.close()


class Redrafter:
    """Gives runs to a process that has begun already; its methods may be called from several threads."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._process: _Process | None = None

    def begin(self) -> _Process:
        """Begins the process where there is none."""
        with self._lock:
            return self._begun()

    def _begun(self) -> _Process:
        if self._process is not None and self._process.over:
            self._process.end()
            self._process = None
        if self._process is None:
            self._process = _Process()
        return self._process

    def redraft(self, folder: Path, job: Mapping[str, Any], otherwise: Callable[[], None]) -> None:
        """Has the letters of a run drafted, and waits a little for them; `otherwise` is called where that is left.

        It may be called after whoever asked was answered, from a thread of its own.
        """
        with self._lock:
            process = self._begun()
            number = process.give({"folder": str(folder.resolve()), **job}, otherwise)
        ends = time.monotonic() + _WAIT_S
        while time.monotonic() < ends and process.has(number) and not standing(folder):
            time.sleep(_LOOK_S)

    def close(self) -> None:
        """Lets the process end."""
        with self._lock:
            if self._process is not None:
                self._process.end()
            self._process = None
