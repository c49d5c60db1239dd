"""The tables of the records, the same on SQLite and PostgreSQL."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    DateTime,
    Dialect,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)
from sqlalchemy.types import TypeDecorator

# Constraints have names on both databases, or a later migration could not find them again.
NAMING = {
    "ix": "ix_%(column_0_label)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}
STEPS = ("0001", "0002")
"""The migrations that this program knows, in their order."""
HEAD = STEPS[-1]
"""The migration that these tables are the result of."""

metadata = MetaData(naming_convention=NAMING)


class Moment(TypeDecorator[datetime]):
    """A moment in time with its offset; kept as UTC, since SQLite keeps none."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """As UTC. Raises ValueError for a moment without an offset."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment needs its offset from UTC")
        moment = value.astimezone(UTC)
        return moment.replace(tzinfo=None) if dialect.name == "sqlite" else moment

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:  # noqa: ARG002 - its signature
        """With its offset again."""
        if value is None:
            return None
        moment: datetime = value
        return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


letters = Table(
    "letters",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("created", Moment, nullable=False),
    Column("created_by", String(200), nullable=False),
    Column("version", Integer, nullable=False),
    Column("state", String(10), nullable=False),
    Column("erased", Moment),
    CheckConstraint("state in ('draft', 'final', 'erased')", name="state"),
)
Index(None, letters.c.created, letters.c.id)

letter_versions = Table(
    "letter_versions",
    metadata,
    Column("letter_id", ForeignKey("letters.id"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("at", Moment, nullable=False),
    Column("actor", String(200), nullable=False),
    Column("kind", String(10), nullable=False),
    Column("letter_digest", String(64), nullable=False),  # of the letter's words
    Column("digest", String(64), nullable=False),  # of the whole content, before compression
    Column("content", LargeBinary),  # None once erased
    CheckConstraint("kind in ('drafted', 'changed', 'answered', 'approved')", name="kind"),
)

answers = Table(
    "answers",
    metadata,
    Column("letter_id", ForeignKey("letters.id"), primary_key=True),
    Column("version", Integer, primary_key=True),
    Column("position", Integer, primary_key=True),
    Column("rule", String(200), nullable=False),
    Column("findings", Text, nullable=False),
    Column("answer", String(10), nullable=False),
    Column("reason", Text),  # None where none was given, and once erased
    Column("by", String(200)),
    Column("actor", String(200), nullable=False),
    Column("at", Moment, nullable=False),
)

approvals = Table(
    "approvals",
    metadata,
    Column("letter_id", ForeignKey("letters.id"), primary_key=True),
    Column("version", Integer, nullable=False),
    Column("at", Moment, nullable=False),
    Column("by", String(200), nullable=False),
    Column("role", String(200)),
    Column("identifier", String(200)),
    Column("replaces", String(200)),
    Column("letter_digest", String(64), nullable=False),
    Column("actor", String(200), nullable=False),
)

audit_entries = Table(
    "audit_entries",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("at", Moment, nullable=False),
    Column("actor", String(200), nullable=False),
    Column("action", String(40), nullable=False),
    Column("subject", String(64), nullable=False),
    Column("version", Integer),
    Column("content_digest", String(64)),
    Column("request_id", String(64)),
    Column("previous", String(64), nullable=False),
    Column("digest", String(64), nullable=False),
    UniqueConstraint("previous"),
    UniqueConstraint("digest"),
)
Index(None, audit_entries.c.subject, audit_entries.c.number)

idempotency = Table(
    "idempotency",
    metadata,
    Column("caller", String(200), primary_key=True),
    Column("key", String(255), primary_key=True),
    Column("fingerprint", String(64), nullable=False),
    Column("subject", String(64), nullable=False),
    Column("version", Integer, nullable=False),
    Column("expires", Moment, nullable=False),
)
Index(None, idempotency.c.expires)

api_keys = Table(
    "api_keys",
    metadata,
    Column("id", String(16), primary_key=True),
    Column("name", String(200), nullable=False),
    Column("secret", String(200), nullable=False),  # argon2
    Column("scopes", String(200), nullable=False),
    Column("created", Moment, nullable=False),
    Column("expires", Moment),
    Column("revoked", Moment),
)

people = Table(
    "people",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("login", String(100), nullable=False),
    Column("name", String(200), nullable=False),
    Column("role", String(20), nullable=False),
    Column("job_title", String(200)),
    Column("identifier", String(200)),
    Column("password", String(200), nullable=False),  # argon2
    Column("created", Moment, nullable=False),
    Column("disabled", Moment),
    UniqueConstraint("login"),
    CheckConstraint("role in ('clinician', 'secretary', 'administrator')", name="role"),
)

sessions = Table(
    "sessions",
    metadata,
    Column("token", String(64), primary_key=True),  # SHA-256 of what the browser holds
    Column("person_id", ForeignKey("people.id"), nullable=False),
    Column("created", Moment, nullable=False),
    Column("expires", Moment, nullable=False),
    Column("ended", Boolean, nullable=False),
)
Index(None, sessions.c.expires)

# Letters in the making: one state each, the last, and gone once the letter is approved or discarded.
work = Table(
    "work",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("version", Integer, nullable=False),
    Column("at", Moment, nullable=False),
    Column("actor", String(200), nullable=False),
    Column("by", String(200), nullable=False),
    Column("body", LargeBinary, nullable=False),
)

work_present = Table(
    "work_present",
    metadata,
    Column("work_id", String(32), primary_key=True),
    Column("window", String(32), primary_key=True),
    Column("by", String(200), nullable=False),
    Column("at", Moment, nullable=False),
)
