"""What the commands share: reading input, writing letters, and saying what is wrong with either."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from letterkit.errors import InvalidInput, LetterkitError, Problem

INVALID = 2  # exit code for input that cannot be used


def read_input(name: str) -> bytes:
    """The bytes of a file, or of standard input for '-'."""
    try:
        return sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()
    except OSError as error:
        raise InvalidInput((Problem("", f"cannot be read: {error.strerror}"),)) from None


class UnusableInput(click.ClickException):
    """Ends a command with the exit code of input that cannot be used."""

    exit_code = INVALID


def folder_for_letters(folder: Path) -> None:
    """Makes the folder that letters go to, and says plainly where that cannot be done."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError as error:
        raise UnusableInput(f"--out {folder}: letters cannot be written there: {error.strerror}") from None


def write_file(path: Path, content: bytes) -> None:
    """Writes aside and renames, so that no letter is ever half there."""
    handle, aside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        Path(aside).chmod(0o644)
        Path(aside).replace(path)
    except BaseException:
        Path(aside).unlink(missing_ok=True)
        raise


@contextmanager
def told_plainly(name: str) -> Iterator[None]:
    """Errors made on purpose leave as lines on standard error with the input's name, and exit code 2."""
    try:
        yield
    except LetterkitError as error:
        shown = "standard input" if name == "-" else name
        for line in str(error).splitlines():
            click.echo(f"{shown}: {line}", err=True)
        raise click.exceptions.Exit(INVALID) from None
