"""Names and files of letters: no patient's data in a name unless asked for, no way out of the folder, no half file."""

from __future__ import annotations

import os
import re
import string
import unicodedata
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from letterkit.errors import InvalidInput, Problem

MARKER = "run-folder"  # says that a folder is the one a run writes to, on every machine that takes part
DEFAULT_PATTERN = "{reference}"
FIELDS = ("reference", "serial", "date", "family", "given", "recipient", "problem")
_UNSAFE = re.compile(r"[^\w-]+|_+")
_LONGEST = 80  # characters; with version and ending well below every file system's limit in bytes
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{number}" for port in ("com", "lpt") for number in range(10))}


def safe(text: str) -> str:
    """Text as part of a file's name: letters, digits and hyphens; nothing that names a folder or a device."""
    name = _UNSAFE.sub("-", unicodedata.normalize("NFC", text)).strip("-")
    return f"{name}-" if name.casefold() in _DEVICES else name


def check_pattern(pattern: str) -> str:
    """The pattern, if every field it names exists. Raises `InvalidInput` listing those that do."""
    allowed = ", ".join(f"{{{name}}}" for name in FIELDS)
    try:
        parts = list(string.Formatter().parse(pattern))
    except ValueError as error:
        raise InvalidInput((Problem("pattern", f"{pattern!r}: {error}; fields: {allowed}"),)) from None
    names = [name for _, name, _, _ in parts if name is not None]
    if not {"reference", "serial"} & set(names):
        raise InvalidInput(
            (Problem("pattern", f"{pattern!r} needs {{reference}} or {{serial}}, or letters share a name"),)
        )
    for _, name, form, conversion in parts:
        if name is not None and (name not in FIELDS or form or conversion):
            raise InvalidInput((Problem("pattern", f"{{{name}}} in {pattern!r} is not a field; fields: {allowed}"),))
    return pattern


def _at(record: Mapping[str, Any], *path: str) -> str:
    found: Any = record
    for step in path:
        found = found.get(step) if isinstance(found, dict) else None
    if isinstance(found, list):
        found = " ".join(str(each) for each in found)
    return found if isinstance(found, str) else ""


def stem(pattern: str, record: Mapping[str, Any], serial: int) -> str:
    """The name of a row's files by a checked pattern. Without a reference it is the serial number."""
    number = f"letter-{serial:06d}"
    values = {
        "reference": _at(record, "reference") or number,
        "serial": number,
        "date": _at(record, "visit", "date"),
        "family": _at(record, "patient", "name", "family") or _at(record, "patient", "name", "text"),
        "given": _at(record, "patient", "name", "given"),
        "recipient": _at(record, "recipient", "organization") or _at(record, "recipient", "name"),
        "problem": _at(record, "reason", "problem"),
    }
    name = "".join(
        literal + (safe(values[field]) if field else "") for literal, field, _, _ in string.Formatter().parse(pattern)
    )
    return safe(name)[:_LONGEST].strip("-") or number


def file_name(name: str, reader: str, version: int, suffix: str) -> str:
    """A file's name from a letter's: full stops, which no letter's name holds, part it from reader and version."""
    reader = "" if reader == "doctor" else f".{reader}"
    return f"{name}{reader}{f'.v{version}' if version > 1 else ''}{suffix}"


def hidden(folder: Path) -> Path:
    """The folder for what goes with a folder of letters and is none: bookkeeping, and files being written."""
    return folder / ".letterkit"


def put(folder: Path, contents: Sequence[tuple[str, bytes]]) -> None:
    """Write files so that each is whole or not there, also after a loss of power: aside, to disk, then renamed."""
    aside = hidden(folder) / "aside"
    aside.mkdir(parents=True, exist_ok=True)
    ready: list[tuple[Path, Path]] = []
    try:
        for name, content in contents:
            path = aside / f"{os.getpid()}-{name}"
            ready.append((path, folder / name))
            with path.open("wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
        for path, target in ready:
            path.replace(target)
    except BaseException:
        for path, _ in ready:
            path.unlink(missing_ok=True)
        raise
    sync_folder(folder)


def sync_folder(folder: Path) -> None:
    """Bring the names in a folder to disk, where the system can."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
