"""What can go wrong with the records, each with what would mend it."""

from __future__ import annotations

from letterkit.errors import LetterkitError


class RecordsError(LetterkitError, RuntimeError):
    """The records cannot be used as they are: names the place and the remedy."""


class NotStored(LetterkitError, LookupError):
    """There is nothing under that id."""


class Erased(LetterkitError, LookupError):
    """The letter was there and has been erased; only its audit trail is left."""


class VersionConflict(LetterkitError, ValueError):
    """Someone changed the letter since it was read; `current` is the version that now stands."""

    def __init__(self, message: str, current: int) -> None:
        super().__init__(message, current)
        self.current = current

    def __str__(self) -> str:
        return str(self.args[0])


class AlreadyFinal(LetterkitError, ValueError):
    """The letter is approved and cannot be changed; a correction is a new letter that replaces it."""


class KeyReused(LetterkitError, ValueError):
    """An idempotency key was used before with another request."""


class AlreadyDone(LetterkitError, ValueError):
    """The same request under the same key was carried out before; `letter_id` and `version` are what it gave."""

    def __init__(self, letter_id: str, version: int) -> None:
        super().__init__(letter_id, version)
        self.letter_id = letter_id
        self.version = version


class TrailBroken(RecordsError):
    """The audit trail or a version does not agree with its digest: names the entry."""
