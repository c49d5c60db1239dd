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
        self.left: set[int] = set()
        self.over = False
        self._waiting: dict[int, Callable[[], None]] = {}
        self._lock = threading.Lock()
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        assert self._process.stdout is not None
        done = 0
        for line in self._process.stdout:
            told = line.decode().strip()
            if told == READY:
                continue
            done += 1
            with self._lock:
                if told == LEFT:
                    self.left.add(done)
                otherwise = self._waiting.pop(done, None)
            if otherwise is not None and told == LEFT:
                otherwise()
        with self._lock:
            self.over = True
            never = list(self._waiting.values())
        for otherwise in never:
            otherwise()
        self._process.stdout.close()
        self._process.wait()

    def otherwise(self, number: int, call: Callable[[], None]) -> None:
        """Has something called once that work turns out to be left, or the process has ended without doing it."""
        with self._lock:
            late = number in self.left or self.over
            if not late:
                self._waiting[number] = call
        if late:
            call()

    def give(self, job: Mapping[str, Any]) -> int:
        """Gives it work; the number of that. Raises OSError where it has ended."""
        assert self._process.stdin is not None
        self._process.stdin.write(json.dumps(job).encode() + b"\n")
        self._process.stdin.flush()
        self.given += 1
        return self.given

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

    def redraft(self, folder: Path, job: Mapping[str, Any], otherwise: Callable[[], None]) -> bool:
        """Whether the letters of a run stand, or will soon; False where it is left to the keeper.

        Where that is known only after whoever waits has been answered, `otherwise` is called.
        """
        with self._lock:
            process = self._begun()
            try:
                number = process.give({"folder": str(folder.resolve()), **job})
            except OSError:  # it ended in this moment
                return False
        ends = time.monotonic() + _WAIT_S
        while time.monotonic() < ends and not standing(folder):
            if process.over or number in process.left:
                return False
            time.sleep(_LOOK_S)
        if not standing(folder):
            process.otherwise(number, otherwise)
        return True

    def close(self) -> None:
        """Lets the process end."""
        with self._lock:
            if self._process is not None:
                self._process.end()
            self._process = None
