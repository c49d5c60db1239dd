"""The letters: kept in immutable versions, changed only by adding one, each change told in the audit trail."""

from __future__ import annotations

import json
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal, TypeAlias

from sqlalchemy import Connection, Engine, Row, and_, insert, or_, select, update

from letterkit.records.audit import Act, append
from letterkit.records.content import Content, digest_of, packed, unpacked
from letterkit.records.database import open_engine, prepare, reading
from letterkit.records.errors import AlreadyDone, AlreadyFinal, Erased, NotStored, VersionConflict
from letterkit.records.once import Once, done_before, now, remember_once
from letterkit.records.tables import answers, approvals, letter_versions, letters
from letterkit.records.together import Together

__all__ = ["Doing", "Once", "Store", "Version", "VersionInfo", "now"]

Kind: TypeAlias = Literal["drafted", "changed", "answered", "approved"]


@dataclass(frozen=True, slots=True)
class Doing:
    """Who changes the records, in which request."""

    actor: str
    request_id: str | None = None
    once: Once | None = None


@dataclass(frozen=True, slots=True)
class VersionInfo:
    """One version of a letter without what it holds."""

    letter_id: str
    number: int
    at: datetime
    actor: str
    kind: Kind
    letter_digest: str
    digest: str
    latest: int
    state: Literal["draft", "final", "erased"]


@dataclass(frozen=True, slots=True)
class Version:
    """One version of a letter with what it holds."""

    info: VersionInfo
    content: Content


def _info(row: Row[*tuple[Any, ...]]) -> VersionInfo:
    return VersionInfo(
        row.letter_id, row.number, row.at, row.actor, row.kind, row.letter_digest, row.digest, row.version, row.state
    )


_ADD_LETTER, _ADD_VERSION = insert(letters), insert(letter_versions)
_JOINED = letter_versions.join(letters, letters.c.id == letter_versions.c.letter_id)
_INFO = (
    letter_versions.c.letter_id, letter_versions.c.number, letter_versions.c.at, letter_versions.c.actor,
    letter_versions.c.kind, letter_versions.c.letter_digest, letter_versions.c.digest, letters.c.version,
    letters.c.state,
)  # fmt: skip


class Store:
    """The letters of one database; safe to use from several threads and processes."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine
        self._together = Together(engine)

    @classmethod
    def open(cls, url: str) -> Store:
        """The store at a database URL, its tables brought up to date."""
        engine = open_engine(url)
        prepare(engine)
        return cls(engine)

    def close(self) -> None:
        """Lets go of all connections."""
        self.engine.dispose()

    def create(self, content: Content, doing: Doing) -> VersionInfo:
        """Keeps a new letter. Raises AlreadyDone or KeyReused for an idempotency key that was used before."""
        return self.create_many((content,), doing)[0]

    def create_many(self, contents: Sequence[Content], doing: Doing) -> tuple[VersionInfo, ...]:
        """Keeps new letters in one transaction, all or none, in their order."""
        at = now()
        prepared = [_Row(secrets.token_hex(16), 1, "drafted", at, doing.actor, each) for each in contents]

        def keep(connection: Connection) -> None:
            self._once(connection, doing, prepared[0].letter_id, 1)
            connection.execute(
                _ADD_LETTER,
                [{"id": row.letter_id, "created": at, "created_by": doing.actor, "version": 1, "state": "draft"}
                 for row in prepared],
            )  # fmt: skip
            connection.execute(_ADD_VERSION, [row.values() for row in prepared])
            append(connection, tuple(row.act("letter.drafted", doing) for row in prepared), at)

        self._together.write(keep)
        return tuple(row.info("draft") for row in prepared)

    def add(self, letter_id: str, expected: int, kind: Kind, content: Content, doing: Doing) -> VersionInfo:
        """Adds a version to the letter whose last version is `expected`.

        Raises NotStored, Erased, AlreadyFinal, VersionConflict where it is not, AlreadyDone or KeyReused for an
        idempotency key that was used before.
        """
        at = now()
        row = _Row(letter_id, expected + 1, kind, at, doing.actor, content)
        state: Literal["draft", "final"] = "final" if kind == "approved" else "draft"

        def keep(connection: Connection) -> VersionInfo:
            self._once(connection, doing, letter_id, expected + 1)
            found = connection.execute(
                select(letters.c.version, letters.c.state).where(letters.c.id == letter_id).with_for_update()
            ).first()
            if found is None:
                raise NotStored(f"letter {letter_id}: there is none")
            if found.state == "erased":
                raise Erased(f"letter {letter_id}: it was erased")
            if found.state == "final":
                raise AlreadyFinal(
                    f"letter {letter_id}: it is approved and cannot be changed; make a new letter that replaces it"
                )
            if found.version != expected:
                raise VersionConflict(
                    f"letter {letter_id}: version {expected} was changed since; version {found.version} stands now",
                    found.version,
                )
            connection.execute(update(letters).where(letters.c.id == letter_id).values(version=row.number, state=state))
            connection.execute(_ADD_VERSION, [row.values()])
            if kind == "answered":
                _keep_answers(connection, row)
            if kind == "approved":
                _keep_approval(connection, row)
            append(connection, (row.act(f"letter.{kind}", doing),), at)
            return row.info(state)

        return self._together.write(keep)

    def version(self, letter_id: str, number: int | None = None, *, reader: Doing | None = None) -> Version:
        """A version of a letter, the last without `number`; with `reader` the reading is told in the audit trail.

        Raises NotStored, and Erased for a letter that was.
        """
        wanted = letter_versions.c.number == (letters.c.version if number is None else number)
        with reading(self.engine) as connection:
            row = connection.execute(
                select(*_INFO, letter_versions.c.content).select_from(_JOINED)
                .where(letter_versions.c.letter_id == letter_id, wanted)
            ).first()  # fmt: skip
        if row is None:
            raise NotStored(f"letter {letter_id}: there is no such letter or version")
        if row.content is None:
            raise Erased(f"letter {letter_id}: it was erased")
        if reader:
            self.note(Act(reader.actor, "letter.read", letter_id, row.number, request_id=reader.request_id))
        return Version(_info(row), Content.from_bytes(unpacked(row.content)))

    def versions(self, letter_id: str) -> tuple[VersionInfo, ...]:
        """All versions of a letter, the first one first. Raises NotStored."""
        with reading(self.engine) as connection:
            rows = connection.execute(
                select(*_INFO).select_from(_JOINED).where(letter_versions.c.letter_id == letter_id)
                .order_by(letter_versions.c.number)
            ).all()  # fmt: skip
        if not rows:
            raise NotStored(f"letter {letter_id}: there is none")
        return tuple(_info(row) for row in rows)

    def listed(self, limit: int, after: str | None = None) -> tuple[VersionInfo, ...]:
        """The last versions of up to `limit` letters, newest first, those older than the letter `after`."""
        query = (
            select(*_INFO).select_from(_JOINED)
            .where(letter_versions.c.number == letters.c.version, letters.c.state != "erased")
            .order_by(letters.c.created.desc(), letters.c.id.desc()).limit(limit)
        )  # fmt: skip
        with reading(self.engine) as connection:
            if after is not None:
                last = connection.execute(select(letters.c.created).where(letters.c.id == after)).scalar()
                if last is None:
                    raise NotStored(f"letter {after}: there is none")
                query = query.where(
                    or_(letters.c.created < last, and_(letters.c.created == last, letters.c.id < after))
                )
            return tuple(_info(row) for row in connection.execute(query))

    def note(self, act: Act) -> None:
        """Tells something in the audit trail that changed no letter."""
        self._together.write(lambda connection: append(connection, (act,), now()))

    def begin(self, subject: str, action: str, doing: Doing) -> None:
        """Tells that something was begun, once a key. Raises AlreadyDone with what was begun first, or KeyReused."""

        def keep(connection: Connection) -> None:
            remember_once(connection, doing.once, subject, 0)
            append(connection, (Act(doing.actor, action, subject, request_id=doing.request_id),), now())

        self._together.write(keep)

    def done_before(self, once: Once) -> AlreadyDone | None:
        """What a request under this key gave before. Raises KeyReused where it was another request."""
        with reading(self.engine) as connection:
            return done_before(connection, once)

    def _once(self, connection: Connection, doing: Doing, subject: str, version: int) -> None:
        remember_once(connection, doing.once, subject, version)


class _Row:
    """A version about to be kept."""

    def __init__(self, letter_id: str, number: int, kind: Kind, at: datetime, actor: str, content: Content) -> None:
        written = content.to_bytes()
        self.letter_id, self.number, self.kind, self.at, self.actor = letter_id, number, kind, at, actor
        self.content = content
        self.digest = digest_of(written)
        self._packed = packed(written)

    def values(self) -> dict[str, Any]:
        return {
            "letter_id": self.letter_id, "number": self.number, "at": self.at, "actor": self.actor, "kind": self.kind,
            "letter_digest": self.content.letter_digest, "digest": self.digest, "content": self._packed,
        }  # fmt: skip

    def act(self, action: str, doing: Doing) -> Act:
        return Act(doing.actor, action, self.letter_id, self.number, self.digest, doing.request_id)

    def info(self, state: Literal["draft", "final"]) -> VersionInfo:
        return VersionInfo(
            self.letter_id, self.number, self.at, self.actor, self.kind, self.content.letter_digest, self.digest,
            self.number, state,
        )  # fmt: skip


def _keep_answers(connection: Connection, row: _Row) -> None:
    given = row.content.encounter.get("answers", ())
    values = [
        {"letter_id": row.letter_id, "version": row.number, "position": position, "rule": answer["rule"],
         "findings": json.dumps(answer.get("findings", [])), "answer": answer["answer"],
         "reason": answer.get("reason"), "by": answer.get("by"), "actor": row.actor, "at": row.at}
        for position, answer in enumerate(given)
    ]  # fmt: skip
    if values:
        connection.execute(insert(answers), values)


def _keep_approval(connection: Connection, row: _Row) -> None:
    approval = row.content.approval or {}
    connection.execute(
        insert(approvals).values(
            letter_id=row.letter_id, version=row.number, at=datetime.fromisoformat(approval["at"]), by=approval["by"],
            role=approval.get("role"), identifier=approval.get("identifier"), replaces=approval.get("replaces"),
            letter_digest=row.content.letter_digest, actor=row.actor,
        )
    )  # fmt: skip
