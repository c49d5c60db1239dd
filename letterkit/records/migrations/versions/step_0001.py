"""The tables as they were first, and the triggers that keep what was written as it was written."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from letterkit.records.tables import Moment

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

# Erasure takes the content of a version and leaves the rest. Nothing else may be changed, and no row may go.
_VERSION_KEPT = """NEW.content IS NOT NULL OR NEW.letter_id <> OLD.letter_id OR NEW.number <> OLD.number
    OR NEW.digest <> OLD.digest OR NEW.letter_digest <> OLD.letter_digest OR NEW.kind <> OLD.kind
    OR NEW.actor <> OLD.actor OR NEW.at <> OLD.at"""
_GUARDS = (
    ("audit_entries", "UPDATE", None, "an entry of the audit trail cannot be changed"),
    ("audit_entries", "DELETE", None, "an entry of the audit trail cannot be removed"),
    ("letter_versions", "UPDATE", _VERSION_KEPT, "a version of a letter cannot be changed"),
    ("letter_versions", "DELETE", None, "a version of a letter cannot be removed"),
    ("approvals", "UPDATE", None, "an approval cannot be changed"),
    ("approvals", "DELETE", None, "an approval cannot be removed"),
)


def _guard(table: str, change: str, condition: str | None, message: str) -> None:
    name = f"keep_{table}_{change.lower()}"
    when = f"WHEN ({condition})" if condition else ""
    if op.get_bind().dialect.name == "sqlite":
        op.execute(
            f"CREATE TRIGGER {name} BEFORE {change} ON {table} FOR EACH ROW {when} "
            f"BEGIN SELECT RAISE(ABORT, '{message}'); END"
        )
        return
    op.execute(
        f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION '{message}'; END $$"
    )
    op.execute(f"CREATE TRIGGER {name} BEFORE {change} ON {table} FOR EACH ROW {when} EXECUTE FUNCTION {name}()")


def upgrade() -> None:
    """Makes the tables and their guards."""
    op.create_table(
        "api_keys",
        sa.Column("id", sa.String(length=16), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("secret", sa.String(length=200), nullable=False),
        sa.Column("scopes", sa.String(length=200), nullable=False),
        sa.Column("created", Moment, nullable=False),
        sa.Column("expires", Moment, nullable=True),
        sa.Column("revoked", Moment, nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_api_keys")),
    )
    op.create_table(
        "audit_entries",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", Moment, nullable=False),
        sa.Column("actor", sa.String(length=200), nullable=False),
        sa.Column("action", sa.String(length=40), nullable=False),
        sa.Column("subject", sa.String(length=64), nullable=False),
        sa.Column("version", sa.Integer(), nullable=True),
        sa.Column("content_digest", sa.String(length=64), nullable=True),
        sa.Column("request_id", sa.String(length=64), nullable=True),
        sa.Column("previous", sa.String(length=64), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_audit_entries")),
        sa.UniqueConstraint("digest", name=op.f("uq_audit_entries_digest")),
        sa.UniqueConstraint("previous", name=op.f("uq_audit_entries_previous")),
    )
    op.create_index(op.f("ix_audit_entries_subject"), "audit_entries", ["subject", "number"], unique=False)
    op.create_table(
        "idempotency",
        sa.Column("caller", sa.String(length=200), nullable=False),
        sa.Column("key", sa.String(length=255), nullable=False),
        sa.Column("fingerprint", sa.String(length=64), nullable=False),
        sa.Column("subject", sa.String(length=64), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("expires", Moment, nullable=False),
        sa.PrimaryKeyConstraint("caller", "key", name=op.f("pk_idempotency")),
    )
    op.create_index(op.f("ix_idempotency_expires"), "idempotency", ["expires"], unique=False)
    op.create_table(
        "letters",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("created", Moment, nullable=False),
        sa.Column("created_by", sa.String(length=200), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(length=10), nullable=False),
        sa.Column("erased", Moment, nullable=True),
        sa.CheckConstraint("state in ('draft', 'final', 'erased')", name=op.f("ck_letters_state")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_letters")),
    )
    op.create_index(op.f("ix_letters_created"), "letters", ["created", "id"], unique=False)
    op.create_table(
        "people",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("login", sa.String(length=100), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("role", sa.String(length=20), nullable=False),
        sa.Column("job_title", sa.String(length=200), nullable=True),
        sa.Column("identifier", sa.String(length=200), nullable=True),
        sa.Column("password", sa.String(length=200), nullable=False),
        sa.Column("created", Moment, nullable=False),
        sa.Column("disabled", Moment, nullable=True),
        sa.CheckConstraint("role in ('clinician', 'secretary', 'administrator')", name=op.f("ck_people_role")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_people")),
        sa.UniqueConstraint("login", name=op.f("uq_people_login")),
    )
    op.create_table(
        "answers",
        sa.Column("letter_id", sa.String(length=32), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("rule", sa.String(length=200), nullable=False),
        sa.Column("findings", sa.Text(), nullable=False),
        sa.Column("answer", sa.String(length=10), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("by", sa.String(length=200), nullable=True),
        sa.Column("actor", sa.String(length=200), nullable=False),
        sa.Column("at", Moment, nullable=False),
        sa.ForeignKeyConstraint(["letter_id"], ["letters.id"], name=op.f("fk_answers_letter_id_letters")),
        sa.PrimaryKeyConstraint("letter_id", "version", "position", name=op.f("pk_answers")),
    )
    op.create_table(
        "approvals",
        sa.Column("letter_id", sa.String(length=32), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at", Moment, nullable=False),
        sa.Column("by", sa.String(length=200), nullable=False),
        sa.Column("role", sa.String(length=200), nullable=True),
        sa.Column("identifier", sa.String(length=200), nullable=True),
        sa.Column("replaces", sa.String(length=200), nullable=True),
        sa.Column("letter_digest", sa.String(length=64), nullable=False),
        sa.Column("actor", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(["letter_id"], ["letters.id"], name=op.f("fk_approvals_letter_id_letters")),
        sa.PrimaryKeyConstraint("letter_id", name=op.f("pk_approvals")),
    )
    op.create_table(
        "letter_versions",
        sa.Column("letter_id", sa.String(length=32), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("at", Moment, nullable=False),
        sa.Column("actor", sa.String(length=200), nullable=False),
        sa.Column("kind", sa.String(length=10), nullable=False),
        sa.Column("letter_digest", sa.String(length=64), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=True),
        sa.CheckConstraint(
            "kind in ('drafted', 'changed', 'answered', 'approved')", name=op.f("ck_letter_versions_kind")
        ),
        sa.ForeignKeyConstraint(["letter_id"], ["letters.id"], name=op.f("fk_letter_versions_letter_id_letters")),
        sa.PrimaryKeyConstraint("letter_id", "number", name=op.f("pk_letter_versions")),
    )
    op.create_table(
        "sessions",
        sa.Column("token", sa.String(length=64), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("created", Moment, nullable=False),
        sa.Column("expires", Moment, nullable=False),
        sa.Column("ended", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name=op.f("fk_sessions_person_id_people")),
        sa.PrimaryKeyConstraint("token", name=op.f("pk_sessions")),
    )
    op.create_index(op.f("ix_sessions_expires"), "sessions", ["expires"], unique=False)
    for table, change, condition, message in _GUARDS:
        _guard(table, change, condition, message)
