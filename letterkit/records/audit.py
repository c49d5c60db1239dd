"""The audit trail: who did what to which letter and when, each entry chained to the one before by its digest.

No entry holds anything of a patient. An entry that is changed, removed from the middle or slipped in breaks the chain
at its place. What is cut off at the end shows only against a digest that was noted elsewhere: `verify` takes one.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Row, desc, insert, select

from letterkit.records.errors import TrailBroken
from letterkit.records.tables import audit_entries, letter_versions, letters

BEGINNING = "0" * 64
"""What the first entry is chained to."""


@dataclass(frozen=True, slots=True)
class Act:
    """One thing that was done. `subject` is the id of a letter, key, person or run; `content_digest` that of
    the version as a whole."""

    actor: str
    action: str
    subject: str
    version: int | None = None
    content_digest: str | None = None
    request_id: str | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the trail, as it is kept."""

    number: int
    at: datetime
    act: Act
    previous: str
    digest: str


@dataclass(frozen=True, slots=True)
class Verified:
    """What a verification went through; `head` is the digest of the last entry, to be noted elsewhere."""

    entries: int
    versions: int
    head: str


def _told(act: Act) -> dict[str, Any]:
    return {
        "actor": act.actor, "action": act.action, "subject": act.subject, "version": act.version,
        "content_digest": act.content_digest, "request_id": act.request_id,
    }  # fmt: skip


# Made once: every change goes through these two.
_LAST = select(audit_entries.c.number, audit_entries.c.digest).order_by(desc(audit_entries.c.number)).limit(1)
_ADD = insert(audit_entries)


def entry_digest(number: int, at: datetime, act: Act, previous: str) -> str:
    """The SHA-256 of an entry with that of the entry before, in hexadecimal digits."""
    fields = {"number": number, "at": at.astimezone(UTC).isoformat(timespec="microseconds"), "previous": previous}
    text_of_it = json.dumps(fields | _told(act), sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text_of_it.encode()).hexdigest()


def append(connection: Connection, acts: tuple[Act, ...], at: datetime) -> None:
    """Adds entries inside the writing transaction that does what they tell of."""
    last = connection.execute(_LAST).first()
    number, previous = (last.number, last.digest) if last else (0, BEGINNING)
    rows = []
    for act in acts:
        number += 1
        digest = entry_digest(number, at, act, previous)
        rows.append({"number": number, "at": at, "previous": previous, "digest": digest, **_told(act)})
        previous = digest
    connection.execute(_ADD, rows)


def as_entry(row: Row[Any]) -> Entry:
    """An entry from its row."""
    act = Act(row.actor, row.action, row.subject, row.version, row.content_digest, row.request_id)
    return Entry(row.number, row.at, act, row.previous, row.digest)


def _verify_chain(connection: Connection, noted: str | None) -> tuple[int, str, dict[tuple[str, int], str]]:
    """Number of entries, digest of the last, and what the trail says of each version of each letter."""
    previous, number, found = BEGINNING, 0, noted is None
    told: dict[tuple[str, int], str] = {}
    every = select(audit_entries).order_by(audit_entries.c.number).execution_options(yield_per=1000)
    with connection.execute(every) as rows:
        for row in rows:
            entry = as_entry(row)
            number += 1
            if entry.number != number:
                raise TrailBroken(f"audit trail: entry {number} is missing; {entry.number} follows {number - 1}")
            if entry.previous != previous:
                raise TrailBroken(f"audit trail: entry {number} is not chained to the one before it")
            if entry_digest(entry.number, entry.at, entry.act, entry.previous) != entry.digest:
                raise TrailBroken(f"audit trail: entry {number} was changed after it was written")
            previous = entry.digest
            found = found or previous == noted
            act = entry.act
            if act.version is not None and act.content_digest is not None:
                told[act.subject, act.version] = act.content_digest
    if not found:
        raise TrailBroken("audit trail: the digest that was noted is not in it; entries were cut off at its end")
    return number, previous, told


def verify_trail(connection: Connection, noted: str | None, fault: Callable[[Row[Any]], str | None]) -> Verified:
    """Goes through the trail and every version. Raises TrailBroken at the first that does not agree.

    `noted` is a head noted at an earlier time. `fault` says what is wrong with the content of a version's row.
    """
    entries, head, told = _verify_chain(connection, noted)
    erased = {row.id for row in connection.execute(select(letters.c.id).where(letters.c.state == "erased"))}
    seen = 0
    with connection.execute(select(letter_versions).execution_options(yield_per=200)) as rows:
        for row in rows:
            where = f"letter {row.letter_id}, version {row.number}"
            if told.pop((row.letter_id, row.number), None) != row.digest:
                raise TrailBroken(f"{where}: the audit trail does not tell of it as it stands")
            if row.content is None and row.letter_id not in erased:
                raise TrailBroken(f"{where}: its content is gone, and no erasure is recorded")
            if row.content is not None and (wrong := fault(row)):
                raise TrailBroken(f"{where}: {wrong}")
            seen += 1
    if told:
        letter_id, number = next(iter(told))
        raise TrailBroken(f"letter {letter_id}, version {number}: the audit trail tells of it, and it is not there")
    return Verified(entries, seen, head)
