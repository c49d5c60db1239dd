"""Keeps one bulk run: holds the lock of its folder, runs its command, and notes how it ended.

Run as `python -m letterkit.service.keeper FOLDER COMMAND...`. It imports next to nothing, so that it is there at once.
"""

from __future__ import annotations

import fcntl
import hashlib
import os
import secrets
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

STOPPED = 3  # exit code of a run that was stopped and can go on
SAID, ENDED, STANDING = "said.txt", "ended", "standing"
READY, OVER, LEFT = "ready", "over", "left"
"""What a process that drafts rows says: that it has begun, that a run is over, that it is left to the keeper."""
_BESIDE = ("sheet.*.columns.toml", "sheet.*.corrections.jsonl")


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


def beside(folder: Path) -> str:
    """A digest of what people keep beside the sheet: a run that began before it changed is not the last."""
    whole = hashlib.sha256()
    for path in sorted(path for pattern in _BESIDE for path in folder.glob(pattern)):
        whole.update(path.name.encode() + hashlib.sha256(path.read_bytes()).digest())
    return whole.hexdigest()


def ended(folder: Path) -> bool:
    """Whether the run came to an end, and nothing that it was made from has changed since it began."""
    try:
        _, _, state = (folder / ENDED).read_text(encoding="utf-8").partition(" ")
    except FileNotFoundError:
        return False
    return (state or hashlib.sha256().hexdigest()) == beside(folder)


def standing(folder: Path) -> bool:
    """Whether every letter stands as what people keep beside the sheet says, though a print run may be to come."""
    if ended(folder):
        return True
    try:
        return (folder / STANDING).read_text(encoding="utf-8") == beside(folder)
    except FileNotFoundError:
        return False


def put(path: Path, text: str) -> None:
    """Writes a small file whole or not at all."""
    aside = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    with os.fdopen(os.open(aside, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    aside.replace(path)


def keep(folder: Path, command: list[str]) -> int:
    """The exit code of the command; 0 where another keeper has the run."""
    with held(folder) as mine:
        sys.stdout.write("ready\n")
        sys.stdout.flush()
        if not mine:
            return 0
        while True:
            state = beside(folder)  # before the command reads any of it
            (folder / ENDED).unlink(missing_ok=True)
            with (folder / SAID).open("wb") as said:
                code = subprocess.run(command, stdout=said, stderr=said, cwd=folder, check=False).returncode  # noqa: S603 - ours
            if code < 0 or code == STOPPED:  # a run that was killed, or stopped, is begun again by whoever looks at it
                return code
            (folder / ENDED).write_text(f"{code} {state}", encoding="utf-8")
            if beside(folder) == state:
                return code


if __name__ == "__main__":
    sys.exit(keep(Path(sys.argv[1]), sys.argv[2:]))
