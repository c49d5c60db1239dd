from __future__ import annotations

import sqlite3
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from records_fixtures import DEMO_CASES, DOING, content_of
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

import letterkit.records
from letterkit.pipeline import draft
from letterkit.records import retention
from letterkit.records.audit import BEGINNING
from letterkit.records.content import Content, letter_from_json, letter_to_json
from letterkit.records.database import HEAD, open_engine, prepare, revision, writing
from letterkit.records.errors import (
    AlreadyDone,
    AlreadyFinal,
    Erased,
    KeyReused,
    NotStored,
    RecordsError,
    VersionConflict,
)
from letterkit.records.store import Doing, Once, Store
from letterkit.records.tables import metadata

APPROVAL = {"by": "Miss R. Calder", "role": "Consultant hand surgeon", "at": "2026-11-18T10:00:00+00:00"}


@pytest.mark.parametrize("path", DEMO_CASES, ids=lambda path: path.stem)
def test_a_letter_comes_back_from_json_as_it_was(path):
    made = draft(path.read_bytes())
    for letter in (made.letter, made.patient_copy()):
        assert letter_from_json(letter_to_json(letter)) == letter


def test_content_survives_being_written(content):
    assert Content.from_bytes(content.to_bytes()).to_bytes() == content.to_bytes()


def test_a_new_letter_is_version_one_and_reads_back(store, content):
    info = store.create(content, DOING)
    found = store.version(info.letter_id)
    assert (found.info, found.content.to_bytes()) == (info, content.to_bytes())
    assert info.number == 1
    assert info.state == "draft"


def test_versions_are_added_and_the_earlier_ones_stay(store, content):
    first = store.create(content, DOING)
    changed = content_of("ganglion")
    second = store.add(first.letter_id, 1, "changed", changed, DOING)
    assert second.number == 2
    assert store.version(first.letter_id).content.letter_digest == changed.letter_digest
    assert store.version(first.letter_id, 1).content.letter_digest == content.letter_digest
    assert [info.number for info in store.versions(first.letter_id)] == [1, 2]


def test_a_change_of_an_old_version_is_refused(store, content):
    letter = store.create(content, DOING).letter_id
    store.add(letter, 1, "changed", content, DOING)
    with pytest.raises(VersionConflict, match="version 2 stands now"):
        store.add(letter, 1, "changed", content, DOING)


def test_of_many_changes_at_once_one_is_kept(store, content):
    letter = store.create(content, DOING).letter_id

    def change(_):
        try:
            return store.add(letter, 1, "changed", content, DOING).number
        except VersionConflict:
            return None

    with ThreadPoolExecutor(8) as pool:
        done = list(pool.map(change, range(8)))
    assert sorted(each for each in done if each) == [2]
    retention.verify(store)


def test_many_letters_at_once_are_all_kept_in_one_chain(store, content):
    with ThreadPoolExecutor(8) as pool:
        made = list(pool.map(lambda _: store.create(content, DOING).letter_id, range(40)))
    assert len(set(made)) == 40
    assert retention.verify(store).entries == 40


def test_an_approved_letter_is_final(store, content):
    letter = store.create(content, DOING).letter_id
    final = content_of(approval=APPROVAL)
    assert store.add(letter, 1, "approved", final, DOING).state == "final"
    with pytest.raises(AlreadyFinal, match="new letter that replaces it"):
        store.add(letter, 2, "changed", content, DOING)
    retention.verify(store)


def test_answers_are_kept_beside_their_version(store, content):
    letter = store.create(content, DOING).letter_id
    given = [{"rule": "side-differs", "answer": "kept", "reason": "It is so", "findings": [1], "by": "Miss R. Calder"}]
    store.add(letter, 1, "answered", content_of(record={"answers": given}), DOING)
    with store.engine.connect() as connection:
        row = connection.execute(text("SELECT rule, reason, version FROM answers")).one()
    assert tuple(row) == ("side-differs", "It is so", 2)
    retention.verify(store)


def test_what_is_not_there_is_said(store):
    with pytest.raises(NotStored):
        store.version("0" * 32)
    with pytest.raises(NotStored):
        store.versions("0" * 32)


def test_the_list_goes_from_new_to_old_page_by_page(store, content):
    made = [store.create(content, DOING).letter_id for _ in range(5)]
    first = store.listed(3)
    rest = store.listed(3, first[-1].letter_id)
    assert [info.letter_id for info in (*first, *rest)] == made[::-1]


def test_the_same_key_gives_the_same_letter_once(store, content):
    once = Doing("tests", None, Once("tests", "k1", "a" * 64))
    made = store.create(content, once)
    with pytest.raises(AlreadyDone) as before:
        store.create(content, once)
    assert (before.value.letter_id, before.value.version) == (made.letter_id, 1)
    assert len(store.listed(10)) == 1


def test_the_same_key_with_another_request_is_refused(store, content):
    store.create(content, Doing("tests", None, Once("tests", "k1", "a" * 64)))
    with pytest.raises(KeyReused):
        store.create(content, Doing("tests", None, Once("tests", "k1", "b" * 64)))


def test_another_caller_may_use_the_same_key(store, content):
    for caller in ("one", "other"):
        store.create(content, Doing(caller, None, Once(caller, "k1", "a" * 64)))
    assert len(store.listed(10)) == 2


def test_the_same_key_at_the_same_moment_makes_one_letter(store, content):
    once = Doing("tests", None, Once("tests", "k1", "a" * 64))

    def create(_):
        try:
            return store.create(content, once).letter_id
        except AlreadyDone as before:
            return before.letter_id

    with ThreadPoolExecutor(8) as pool:
        made = set(pool.map(create, range(16)))
    assert len(made) == 1
    assert len(store.listed(10)) == 1


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE audit_entries SET actor = 'someone else'", "cannot be changed"),
        ("DELETE FROM audit_entries", "cannot be removed"),
        ("UPDATE letter_versions SET digest = 'x'", "cannot be changed"),
        ("DELETE FROM letter_versions", "cannot be removed"),
        ("UPDATE approvals SET by = 'someone else'".replace("by", '"by"'), "cannot be changed"),
        ("DELETE FROM approvals", "cannot be removed"),
    ],
)
def test_the_database_itself_keeps_what_was_written(store, content, statement, said):
    letter = store.create(content, DOING).letter_id
    store.add(letter, 1, "approved", content_of(approval=APPROVAL), DOING)
    with pytest.raises(DBAPIError, match=said), writing(store.engine) as connection:
        connection.execute(text(statement))


def test_reading_is_told_in_the_trail(store, content):
    letter = store.create(content, DOING).letter_id
    store.version(letter, reader=Doing("reader", "request-2"))
    with store.engine.connect() as connection:
        rows = connection.execute(text("SELECT actor, action, subject FROM audit_entries ORDER BY number")).all()
    assert [tuple(row) for row in rows] == [("tests", "letter.drafted", letter), ("reader", "letter.read", letter)]


def test_an_empty_store_verifies(store):
    assert retention.verify(store).head == BEGINNING


def test_erasing_takes_what_was_said_and_leaves_that_it_was_there(store, content):
    letter = store.create(content, Doing("tests", None, Once("tests", "k", "a" * 64))).letter_id
    store.add(letter, 1, "changed", content, DOING)
    retention.erase(store, letter, DOING)
    with pytest.raises(Erased):
        store.version(letter)
    with pytest.raises(Erased):
        retention.erase(store, letter, DOING)
    assert len(store.versions(letter)) == 2
    assert store.listed(10) == ()
    verified = retention.verify(store)
    assert (verified.entries, verified.versions) == (3, 2)


def test_nothing_of_an_erased_patient_is_left_in_the_file(tmp_path):
    store = Store.open(f"sqlite:///{tmp_path / 'records.db'}")
    given = [{"rule": "side-differs", "answer": "kept", "reason": "Zanthoxylum said so"}]
    letter = store.create(content_of(), DOING).letter_id
    store.add(letter, 1, "answered", content_of(record={"answers": given}), DOING)
    with store.engine.connect() as connection:
        blob = connection.execute(text("SELECT content FROM letter_versions")).scalars().first()
    raw = b"".join(path.read_bytes() for path in tmp_path.iterdir())
    assert b"Zanthoxylum" in raw
    retention.erase(store, letter, DOING)
    raw = b"".join(path.read_bytes() for path in tmp_path.iterdir())
    assert b"Zanthoxylum" not in raw
    assert blob[20:60] not in raw
    store.close()


def test_letters_of_a_patient_are_found_by_identifier(store, content):
    mine = store.create(content, DOING).letter_id
    store.create(content_of("ganglion"), DOING)
    assert list(retention.of_patient(store, "9990002061")) == [mine]


def test_letters_older_than_a_moment_are_found(store, content):
    letter = store.create(content, DOING).letter_id
    assert retention.older_than(store, datetime.now(UTC) + timedelta(seconds=5)) == (letter,)
    assert retention.older_than(store, datetime.now(UTC) - timedelta(days=1)) == ()


def test_sqlite_is_set_up_safely(tmp_path):
    store = Store.open(f"sqlite:///{tmp_path / 'records.db'}")
    with store.engine.connect() as connection:
        found = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "foreign_keys", "busy_timeout", "synchronous", "secure_delete")
        }
    store.close()
    assert found == {
        "journal_mode": "wal",
        "foreign_keys": 1,
        "busy_timeout": 30000,
        "synchronous": 2,
        "secure_delete": 1,
    }
    assert (tmp_path / "records.db").stat().st_mode & 0o077 == 0


def test_the_migrations_give_the_tables_of_the_program(store):
    with store.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": False})
        assert compare_metadata(context, metadata) == []
    folder = letterkit.records.__path__[0] + "/migrations"
    assert ScriptDirectory(folder).get_current_head() == HEAD == revision(store.engine)


def test_preparing_twice_and_at_once_is_harmless(url):
    engine = open_engine(url)
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda _: prepare(engine), range(4)))
    assert revision(engine) == HEAD
    engine.dispose()


@pytest.mark.parametrize("given", ["", "records.db", "sqlite://", "mysql://localhost/x", "sqlite:///:memory:"])
def test_a_url_that_cannot_be_used_is_refused(given):
    with pytest.raises(RecordsError):
        open_engine(given)


def test_a_database_of_a_later_release_is_refused(tmp_path):
    path = tmp_path / "records.db"
    Store.open(f"sqlite:///{path}").close()
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.close()
    with pytest.raises(RecordsError, match="9999"):
        Store.open(f"sqlite:///{path}")
