"""Erasure and retention: what was said of a patient goes, that it was there and went stays in the audit trail."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, delete, select, update

from letterkit.records.audit import Act, Verified, append, verify_trail
from letterkit.records.content import Content, digest_of, unpacked
from letterkit.records.database import is_sqlite, reading, writing
from letterkit.records.errors import Erased, NotStored, RecordsError
from letterkit.records.store import Doing, Store, now
from letterkit.records.tables import answers, approvals, idempotency, letter_versions, letters


def _erase(connection: Connection, letter_id: str, doing: Doing, action: str, at: datetime) -> None:
    connection.execute(update(letters).where(letters.c.id == letter_id).values(state="erased", erased=at))
    connection.execute(update(letter_versions).where(letter_versions.c.letter_id == letter_id).values(content=None))
    connection.execute(update(answers).where(answers.c.letter_id == letter_id).values(reason=None))
    connection.execute(delete(idempotency).where(idempotency.c.subject == letter_id))
    append(connection, (Act(doing.actor, action, letter_id, request_id=doing.request_id),), at)


def _sweep(store: Store) -> None:
    """Makes sure that nothing of it is left in the write-ahead log; free pages were overwritten as they were freed."""
    if is_sqlite(store.engine):
        connection = store.engine.raw_connection()
        try:
            connection.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
        finally:
            connection.close()


def erase(store: Store, letter_id: str, doing: Doing, action: str = "letter.erased") -> None:
    """Erases all versions of a letter and the reasons of its answers. Raises NotStored, Erased."""
    with writing(store.engine) as connection:
        state = connection.execute(select(letters.c.state).where(letters.c.id == letter_id)).scalar()
        if state is None:
            raise NotStored(f"letter {letter_id}: there is none")
        if state == "erased":
            raise Erased(f"letter {letter_id}: it was erased before")
        _erase(connection, letter_id, doing, action, now())
    _sweep(store)


def erase_sheet(store: Store, run_id: str, doing: Doing, action: str = "bulk.erased") -> None:
    """Tells that a sheet goes with its letters, which are kept beside the records."""
    with writing(store.engine) as connection:
        connection.execute(delete(idempotency).where(idempotency.c.subject == run_id))
        append(connection, (Act(doing.actor, action, run_id, request_id=doing.request_id),), now())


def older_than(store: Store, moment: datetime) -> tuple[str, ...]:
    """The ids of the letters created before a moment and not erased, oldest first."""
    with reading(store.engine) as connection:
        found = select(letters.c.id).where(letters.c.created < moment, letters.c.state != "erased")
        return tuple(connection.execute(found.order_by(letters.c.created)).scalars())


def of_patient(store: Store, identifier: str) -> Iterator[str]:
    """The ids of the letters about the patient with that identifier, whoever assigned it; spaces do not count."""
    wanted = "".join(identifier.split()).casefold()
    with reading(store.engine) as connection:
        found = (
            select(letters.c.id, letter_versions.c.content)
            .join(letter_versions, letter_versions.c.letter_id == letters.c.id)
            .where(letter_versions.c.content.is_not(None))
            .order_by(letters.c.created, letters.c.id)
            .execution_options(yield_per=200)
        )
        last = ""
        with connection.execute(found) as rows:
            for row in rows:
                patient = Content.from_bytes(unpacked(row.content)).encounter.get("patient", {})
                known = {"".join(each["value"].split()).casefold() for each in patient.get("identifier", ())}
                if wanted in known and row.id != last:
                    last = row.id
                    yield row.id


def verify(store: Store, noted: str | None = None) -> Verified:
    """Goes through the audit trail, every version, answer and approval. Raises TrailBroken where one does not agree."""
    with reading(store.engine) as connection:
        approved = {
            row.letter_id: (row.version, row.by, row.role, row.identifier, row.replaces, row.letter_digest)
            for row in connection.execute(select(approvals))
        }
        answered: dict[tuple[str, int], list[tuple[str, str, str | None]]] = {}
        for row in connection.execute(select(answers).order_by(answers.c.position)):
            answered.setdefault((row.letter_id, row.version), []).append((row.rule, row.answer, row.reason))

        def fault(version: Row[Any]) -> str | None:
            try:
                written = unpacked(version.content)
            except RecordsError:
                return "its content is damaged"
            if digest_of(written) != version.digest:
                return "its content was changed after it was written"
            content = Content.from_bytes(written)
            if content.letter_digest != version.letter_digest:
                return "the digest of its letter was changed after it was written"
            key = (version.letter_id, version.number)
            if version.kind == "answered":
                given = [(a["rule"], a["answer"], a.get("reason")) for a in content.encounter.get("answers", ())]
                if answered.get(key, []) != given:
                    return "its answers were changed after they were given"
            if version.kind == "approved":
                told = content.approval or {}
                expected = (
                    key[1], told.get("by"), told.get("role"), told.get("identifier"), told.get("replaces"),
                    content.letter_digest,
                )  # fmt: skip
                if approved.get(key[0]) != expected:
                    return "its approval was changed after it was given"
            return None

        return verify_trail(connection, noted, fault)
