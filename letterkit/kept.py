"""What is made of the package's own data once and kept beside Python's compiled modules, so that a start need not.

The reader's vocabulary takes two seconds to make of the catalogue and the words, and a tenth to load again. As with
compiled modules, what is kept stands in `__pycache__` (or where `PYTHONPYCACHEPREFIX` says), is written when it is
missing or no longer fits, unless the folder may not be written to or Python is told to write none
(`PYTHONDONTWRITEBYTECODE`). It holds the package's words and nothing of a patient. Who may write there may change the
package itself, which is why it may be a pickle.

It fits while all files of data and code of the packages it was made from are the same to the byte, and Python and
pydantic too; otherwise it is made anew. It is a copy: what is wrong with it costs time and nothing else.
"""

from __future__ import annotations

import os
import pickle
import sys
from collections.abc import Callable, Iterable
from contextlib import suppress
from functools import cache
from hashlib import blake2b
from importlib.util import cache_from_source, find_spec
from pathlib import Path
from tempfile import mkstemp
from typing import TypeVar, cast

from pydantic import VERSION

_Made = TypeVar("_Made")
_DIGEST = 32  # bytes
_SOURCES = (".py", ".toml")


def _folder(package: str) -> Path | None:
    """Where a package lies, or None if it lies in no folder (in an archive)."""
    spec = find_spec(package)
    if spec is None or spec.origin is None or not spec.has_location:
        return None
    folder = Path(spec.origin).parent
    return folder if folder.is_dir() else None


@cache
def _of_folder(folder: Path) -> bytes:
    """A digest of a package's data and code, read once a process: what has been imported stays as it was, too."""
    digest = blake2b(digest_size=_DIGEST)
    for root, below, files in os.walk(folder):
        below.sort()
        for name in sorted(files):
            if name.endswith(_SOURCES):
                content = Path(root, name).read_bytes()
                digest.update(f"{name}\n{len(content)}\n".encode())
                digest.update(content)
    return digest.digest()


def _of_sources(folders: Iterable[Path]) -> bytes:
    """A digest of all that may change what is made: the packages' data and code, Python and pydantic."""
    versions = f"{sys.version}\n{VERSION}\n".encode()
    return blake2b(versions + b"".join(map(_of_folder, folders)), digest_size=_DIGEST).digest()


def _read(file: Path, sources: bytes) -> object:
    """What is kept in `file`. Raises `ValueError` if it does not fit, and what reading a broken file may raise."""
    content = memoryview(file.read_bytes())
    if content[:_DIGEST] != sources:
        raise ValueError("made from other sources")
    if content[_DIGEST : 2 * _DIGEST] != blake2b(content[2 * _DIGEST :], digest_size=_DIGEST).digest():
        raise ValueError("not written to its end")
    return pickle.loads(content[2 * _DIGEST :])  # noqa: S301 - as trusted as the compiled modules beside it


def _write(file: Path, sources: bytes, made: object) -> None:
    """Keeps what was made, whole or not at all, where the folder may be written to."""
    content = pickle.dumps(made, protocol=5)
    with suppress(OSError):
        file.parent.mkdir(parents=True, exist_ok=True)
        descriptor, name = mkstemp(dir=file.parent, prefix=f"{file.name}.")
        written = Path(name)
        try:
            with os.fdopen(descriptor, "wb") as new:
                new.write(sources + blake2b(content, digest_size=_DIGEST).digest() + content)
            written.chmod(file.parent.stat().st_mode & 0o644)  # read by others as the modules are, never written
            written.replace(file)
        except OSError:
            written.unlink(missing_ok=True)


def kept(name: str, packages: tuple[str, ...], make: Callable[[], _Made]) -> _Made:
    """What `make` makes of the data and code of `packages`, of which the last keeps it under `name`.

    Raises what `make` raises, and nothing of its own: where it cannot be kept or read again it is made anew.
    """
    folders = [folder for package in packages if (folder := _folder(package)) is not None]
    if len(folders) < len(packages) or sys.implementation.cache_tag is None:  # a Python that compiles into no folder
        return make()
    file = Path(cache_from_source(str(folders[-1] / f"{name}.py"))).with_suffix(".kept")
    try:
        sources = _of_sources(folders)
    except OSError:  # a file that may not be read
        return make()
    with suppress(Exception):  # there is none; it is older, torn, or of a class that has changed: make it anew
        return cast("_Made", _read(file, sources))
    made = make()
    if not sys.dont_write_bytecode:
        _write(file, sources, made)
    return made
