"""Where the rate limits count: in this process, and without a thread of its own."""

from __future__ import annotations

import time
from typing import Any

from limits.storage import MemoryStorage

_PURGE_EVERY_S = 1.0


class Counts(MemoryStorage):
    """The library's storage in memory, which drops what is over while it counts, once a second at most.

    As it comes it starts a thread for that at nearly every hit, ten milliseconds later. Who starts a thread waits until
    it runs; under load that is two turns at the interpreter's lock, and in the event loop everybody waits with it.
    """

    def __init__(self, uri: str | None = None, **options: Any) -> None:
        self._purged = 0.0
        super().__init__(uri, **options)

    # The name under which Python keeps the private method of the parent; a test holds that it is still asked for.
    def _MemoryStorage__schedule_expiry(self) -> None:  # noqa: N802
        at = time.monotonic()
        if at < self._purged + _PURGE_EVERY_S:
            return
        self._purged = at
        ends = time.time()
        for key in [key for key, over in list(self.expirations.items()) if over <= ends]:
            self.clear(key)
