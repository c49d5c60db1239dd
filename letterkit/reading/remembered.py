"""What sentences gave when they were read, kept so that the same sentence of another letter is not read anew.

A sentence read by itself gives the same findings each time: it depends on its characters, the language and the
catalogue, which stands as long as the process. Letters repeat each other's sentences ('Phalen's test was negative on
both sides.'), and reading one takes a hundred times as long as knowing it again.

No words are kept: a sentence is known by a keyed digest of its characters, and what is kept of it are findings in the
catalogue's terms.
"""

from __future__ import annotations

import secrets
from hashlib import blake2b
from threading import Lock
from typing import Generic, TypeVar

_MOST = 4096  # sentences; about 4 MB
Kept = TypeVar("Kept")


class Remembered(Generic[Kept]):
    """What was made of sentences, those asked for last; safe to share between threads."""

    def __init__(self, most: int = _MOST) -> None:
        self._most = most
        self._secret = secrets.token_bytes(32)
        self._kept: dict[bytes, Kept] = {}
        self._lock = Lock()

    def __len__(self) -> int:
        return len(self._kept)

    def key(self, text: str, language: str) -> bytes:
        """What a sentence of a language is known by."""
        given = f"{language}\n{text}".encode("utf-8", "surrogatepass")
        return blake2b(given, key=self._secret, digest_size=20).digest()

    def get(self, key: bytes) -> Kept | None:
        """What was kept of a sentence, or None; it is now the last that was asked for."""
        with self._lock:
            found = self._kept.pop(key, None)
            if found is not None:
                self._kept[key] = found
            return found

    def put(self, key: bytes, made: Kept) -> None:
        """Keeps what was made of a sentence, in place of the one that nobody has asked for the longest."""
        with self._lock:
            self._kept[key] = made
            if len(self._kept) > self._most:
                del self._kept[next(iter(self._kept))]

    def clear(self) -> None:
        """Forgets everything."""
        with self._lock:
            self._kept.clear()
