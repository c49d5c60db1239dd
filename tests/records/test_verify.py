"""Each way to tamper with the records is found, and the place is named."""

from __future__ import annotations

import pytest
from records_fixtures import DOING, content_of
from sqlalchemy import text

from letterkit.records import retention
from letterkit.records.content import Content, digest_of, packed, unpacked
from letterkit.records.database import is_sqlite, writing
from letterkit.records.errors import TrailBroken
from letterkit.records.store import Store

APPROVAL = {"by": "Miss R. Calder", "role": "Consultant hand surgeon", "at": "2026-11-18T10:00:00+00:00"}


@pytest.fixture
def filled(store):
    given = [{"rule": "side-differs", "answer": "kept", "reason": "It is so"}]
    first = store.create(content_of(), DOING).letter_id
    store.add(first, 1, "answered", content_of(record={"answers": given}), DOING)
    store.add(first, 2, "approved", content_of(approval=APPROVAL), DOING)
    store.create(content_of("ganglion"), DOING)
    retention.verify(store)
    return store


def _without_guards(store: Store, *statements: str) -> None:
    """As someone would who owns the database and takes its triggers away."""
    with writing(store.engine) as connection:
        for table, change in [("audit_entries", "update"), ("audit_entries", "delete"), ("letter_versions", "update"),
                              ("letter_versions", "delete"), ("approvals", "update")]:  # fmt: skip
            on = "" if is_sqlite(connection) else f" ON {table}"
            connection.execute(text(f"DROP TRIGGER keep_{table}_{change}{on}"))
        for statement in statements:
            connection.execute(text(statement))


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE audit_entries SET actor = 'x' WHERE number = 2", "entry 2 was changed"),
        ("DELETE FROM audit_entries WHERE number = 2", "entry 2 is missing"),
        ("DELETE FROM audit_entries WHERE number = 4", "does not tell of it"),
        ("UPDATE letter_versions SET content = NULL WHERE number = 3", "no erasure is recorded"),
        ("UPDATE letter_versions SET letter_digest = 'x' WHERE number = 3", "the digest of its letter was changed"),
        ("UPDATE letter_versions SET digest = 'x' WHERE number = 3", "does not tell of it"),
        ("DELETE FROM letter_versions WHERE number = 2", "it is not there"),
        ("UPDATE answers SET reason = 'other'", "its answers were changed"),
        ("DELETE FROM answers", "its answers were changed"),
        ("""UPDATE approvals SET "by" = 'someone else'""", "its approval was changed"),
    ],
)
def test_tampering_is_found(filled, statement, said):
    _without_guards(filled, statement)
    with pytest.raises(TrailBroken, match=said):
        retention.verify(filled)


def test_a_changed_finding_is_found_even_with_a_new_digest(filled):
    with filled.engine.connect() as connection:
        row = connection.execute(text("SELECT letter_id, content FROM letter_versions WHERE number = 3")).one()
    content = Content.from_bytes(unpacked(row.content))
    content.encounter["examination"]["findings"][0]["side"] = "right"
    written = content.to_bytes()
    _without_guards(filled)
    with writing(filled.engine) as connection:
        connection.execute(
            text("UPDATE letter_versions SET content = :c, digest = :d WHERE number = 3"),
            {"c": packed(written), "d": digest_of(written)},
        )
    with pytest.raises(TrailBroken, match="version 3: the audit trail does not tell of it"):
        retention.verify(filled)


def test_a_cut_end_is_found_against_a_noted_head(filled):
    filled.create(content_of(), DOING)
    head = retention.verify(filled).head
    _without_guards(
        filled,
        "DELETE FROM audit_entries WHERE number = 5",
        "DELETE FROM letter_versions WHERE letter_id = (SELECT id FROM letters ORDER BY created DESC LIMIT 1)",
    )
    retention.verify(filled)
    with pytest.raises(TrailBroken, match="cut off at its end"):
        retention.verify(filled, head)
