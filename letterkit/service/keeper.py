"""Keeps one bulk run: holds the lock of its folder, runs its command, and notes how it ended.

Run as `python -m letterkit.service.keeper FOLDER COMMAND...`. It imports next to nothing, so that it is there at once.
"""

from __future__ import annotations

import fcntl
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

STOPPED = 3  # exit code of a run that was stopped and can go on
SAID, ENDED = "said.txt", "ended"


@contextmanager
def held(folder: Path) -> Iterator[bool]:
    """Holds the lock of a run while the context lasts; gives False where another process has it."""
    with (folder / "lock").open("a+b") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            yield False
            return
        yield True


def keep(folder: Path, command: list[str]) -> int:
    """The exit code of the command; 0 where another keeper has the run."""
    with held(folder) as mine:
        sys.stdout.write("ready\n")
        sys.stdout.flush()
        if not mine:
            return 0
        with (folder / SAID).open("wb") as said:
            code = subprocess.run(command, stdout=said, stderr=said, cwd=folder, check=False).returncode  # noqa: S603 - ours
        if code >= 0 and code != STOPPED:  # a run that was killed, or stopped, is begun again
            (folder / ENDED).write_text(str(code), encoding="utf-8")
        return code


if __name__ == "__main__":
    sys.exit(keep(Path(sys.argv[1]), sys.argv[2:]))
