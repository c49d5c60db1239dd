"""A run seen: a bar with rate, time left and counts on a terminal, plain lines elsewhere, nothing where asked for."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import TYPE_CHECKING, Protocol, TextIO

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID

_EVERY = 5.0  # seconds between plain lines


class Shown(Protocol):
    """What shows a run."""

    def update(self, counts: Mapping[str, int]) -> None:
        """Show how far it is."""


class _Silent:
    def update(self, counts: Mapping[str, int]) -> None:
        """Show nothing."""


def _words(counts: Mapping[str, int]) -> str:
    return f"{counts['queried']} with queries, {counts['refused']} refused"


def _done(counts: Mapping[str, int]) -> int:
    return counts["drafted"] + counts["queried"] + counts["refused"]


class _Lines:
    def __init__(self, total: int, out: TextIO) -> None:
        self._total, self._out = total, out
        self._began = self._last = time.monotonic()
        self._first: int | None = None

    def update(self, counts: Mapping[str, int]) -> None:
        now, done = time.monotonic(), _done(counts)
        self._first = done if self._first is None else self._first
        if now - self._last < _EVERY and done < self._total:
            return
        self._last = now
        rate = (done - self._first) / max(now - self._began, 0.001)
        left = f", about {(self._total - done) / rate:.0f} s left" if rate and done < self._total else ""
        self._out.write(f"{done} of {self._total} rows, {rate:.0f} a second{left}; {_words(counts)}\n")
        self._out.flush()


class _Bar:
    def __init__(self, progress: Progress, task: TaskID) -> None:
        self._progress, self._task = progress, task

    def update(self, counts: Mapping[str, int]) -> None:
        self._progress.update(self._task, completed=_done(counts), words=_words(counts))


@contextmanager
def shown(total: int, *, quiet: bool = False, out: TextIO | None = None) -> Iterator[Shown]:
    """Show a run of `total` letters on standard error while the context lasts."""
    out = out or sys.stderr
    if quiet:
        yield _Silent()
    elif not out.isatty():
        yield _Lines(total, out)
    else:
        from rich.console import Console  # noqa: PLC0415 - only on a terminal
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn  # noqa: PLC0415

        speed = TextColumn("{task.fields[words]}")
        columns = (BarColumn(), MofNCompleteColumn(), TimeRemainingColumn(), speed)
        with Progress(*columns, console=Console(file=out)) as progress:
            yield _Bar(progress, progress.add_task("rows", total=total, words=""))
