"""Requests that are carried out once, however often they are sent: the keys of the last day with what they gave."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from sqlalchemy import Connection, insert, select

from letterkit.records.errors import AlreadyDone, KeyReused
from letterkit.records.tables import idempotency

KEPT_FOR = timedelta(hours=24)
"""How long an idempotency key is remembered."""


def now() -> datetime:
    """The present moment in UTC."""
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True)
class Once:
    """A request that must be carried out once: who sent it, under which key, and the SHA-256 of what was sent."""

    caller: str
    key: str
    fingerprint: str


def done_before(connection: Connection, once: Once) -> AlreadyDone | None:
    """What a request under this key gave before. Raises KeyReused where it was another request."""
    row = connection.execute(
        select(idempotency).where(idempotency.c.caller == once.caller, idempotency.c.key == once.key)
    ).first()
    if row is None or row.expires <= now():
        return None
    if row.fingerprint != once.fingerprint:
        raise KeyReused("Idempotency-Key: it was used before with another request; take a new key")
    return AlreadyDone(row.subject, row.version)


def remember_once(connection: Connection, once: Once | None, subject: str, version: int) -> None:
    """Claims an idempotency key inside the transaction that does what was asked, so that both happen or neither."""
    if once is None:
        return
    if before := done_before(connection, once):
        raise before
    at = now()
    connection.execute(idempotency.delete().where(idempotency.c.expires <= at))
    connection.execute(
        insert(idempotency).values(
            caller=once.caller, key=once.key, fingerprint=once.fingerprint, subject=subject, version=version,
            expires=at + KEPT_FOR,
        )
    )  # fmt: skip
