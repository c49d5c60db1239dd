"""Drafts corrected rows in a process that has begun already: what a run of the command does, without its start.

Run as `python -m letterkit.service.redraft` by `letterkit.service.warm`, which gives it a line for each run that is
due. It holds the lock of the run's folder and notes how it ended, as the keeper does, so that a run it leaves
unfinished is due still. What it cannot do at once (many rows, a sheet that cannot be read) it leaves to the keeper.
"""

from __future__ import annotations

import io
import json
import os
import select
import sys
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from letterkit.bulk import ledger
from letterkit.bulk.run import Alongside, Options, Result, digest_of, run
from letterkit.bulk.work import warm_up
from letterkit.service.keeper import ENDED, LEFT, OVER, READY, SAID, STANDING, beside, ended, held, put

_IDLE_S = 600.0  # without work before it ends
_LOOK_S = 0.05  # between looks at whether a print run is still wanted
_REFUSED, _QUERIED = 2, 1  # the command's exit codes


class _Changed(Exception):
    """What the run is made from changed while its print run was written."""


class _Alongside(Alongside):
    """Notes when the letters stand, and stops a print run that is out of date before it is written."""

    def __init__(self, folder: Path, state: str) -> None:
        self._folder, self._state = folder, state
        self._looked = time.monotonic()

    def standing(self) -> None:
        put(self._folder / STANDING, self._state)

    def still_wanted(self) -> None:
        if time.monotonic() > self._looked + _LOOK_S:
            self._looked = time.monotonic()
            if beside(self._folder) != self._state:
                raise _Changed


def _code(result: Result) -> int:
    return _REFUSED if result.totals.refused else _QUERIED if result.totals.queried else 0


def _options(job: Mapping[str, Any]) -> Options:
    return Options(
        sheet=Path(f"sheet{job['suffix']}"), out=Path("letters"), formats=tuple(job["formats"]),
        readers=tuple(job["readers"]), print_all=job["print"], quiet=True, here=True,
        letterhead=_path(job["letterhead"]), templates=_path(job["templates"]),
    )  # fmt: skip


def _path(text: str | None) -> Path | None:
    return Path(text) if text else None


def redraft(folder: Path, job: Mapping[str, Any]) -> str:
    """Brings a run up to what is kept beside its sheet: `over`, or `left` where that is the keeper's to do."""
    os.chdir(folder)
    with held(folder) as mine:
        if not mine:
            return LEFT
        while not ended(folder):
            state = beside(folder)  # before any of it is read

            (folder / ENDED).unlink(missing_ok=True)
            try:
                result = run(_options(job), lambda _: None, _Alongside(folder, state))
            except _Changed:
                continue
            except Exception:  # noqa: BLE001 - the command meets the same, and tells it in its own words
                return LEFT
            finally:
                ledger.engine(ledger.embedded_url(Path("letters"))).dispose()
            put(folder / SAID, "")
            put(folder / ENDED, f"{_code(result)} {state}")
    return OVER


def main() -> int:
    """Works on what it is given until nobody is there to give it anything, or for long nothing comes."""
    warm_up()
    look: dict[tuple[str | None, ...], tuple[str, ...]] = {}
    sys.stdout.write(f"{READY}\n")
    sys.stdout.flush()
    lines = io.FileIO(sys.stdin.fileno(), closefd=False)  # not buffered: what is read ahead, `select` does not see
    while select.select([lines], [], [], _IDLE_S)[0] and (line := lines.readline()):
        job = json.loads(line)
        stationery = (job["letterhead"], job["templates"])
        digests = tuple(digest_of(_path(each)) for each in stationery)
        if look.setdefault(stationery, digests) != digests:
            return 0  # what was loaded of it is of yesterday
        told = redraft(Path(job["folder"]), job)
        os.chdir("/")
        sys.stdout.write(f"{told}\n")
        sys.stdout.flush()
    return 0


if __name__ == "__main__":
    sys.exit(main())
