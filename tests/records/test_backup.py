from __future__ import annotations

import gzip
import hashlib
import json

import pytest
from records_fixtures import DOING, content_of, fresh_database
from sqlalchemy import select

from letterkit.records import access, backup, retention
from letterkit.records.access import Role, Scope
from letterkit.records.database import open_engine, prepare, revision
from letterkit.records.errors import RecordsError
from letterkit.records.store import Store
from letterkit.records.tables import HEAD, metadata, work
from letterkit.service.pages.worktable import Worktable, new_id


def _filled(store):
    letter = store.create(content_of(), DOING).letter_id
    given = [{"rule": "side-differs", "answer": "kept", "reason": "It is so", "by": "Miss R. Calder"}]
    store.add(letter, 1, "answered", content_of(record={"answers": given}), DOING)
    approval = {"by": "Miss R. Calder", "at": "2026-11-18T10:00:00+01:00"}
    store.add(letter, 2, "approved", content_of(approval=approval), DOING)
    retention.erase(store, store.create(content_of("ganglion"), DOING).letter_id, DOING)
    access.add_key(store, "clinic system", frozenset({Scope.READ}), DOING)
    access.add_person(store, "a", "A", Role.SECRETARY, "a long enough phrase", DOING)
    return letter


def _everything(store):
    with store.engine.connect() as connection:
        return {
            table.name: [tuple(row) for row in connection.execute(select(table).order_by(*table.primary_key.columns))]
            for table in metadata.sorted_tables
        }


def test_a_restored_store_holds_the_same_and_verifies(store, other_url, tmp_path):
    _filled(store)
    file = tmp_path / "records.backup"
    rows = backup.backup(store, file)
    assert file.stat().st_mode & 0o077 == 0
    other = Store.open(other_url)
    assert backup.restore(other, file) == rows
    assert _everything(other) == _everything(store)
    assert retention.verify(other, retention.verify(store).head) == retention.verify(store)
    other.close()


@pytest.mark.postgres
def test_records_move_from_the_file_to_the_server(cluster, tmp_path):
    store = Store.open(f"sqlite:///{tmp_path / 'records.db'}")
    _filled(store)
    backup.backup(store, tmp_path / "records.backup")
    other = Store.open(fresh_database(cluster))
    backup.restore(other, tmp_path / "records.backup")
    assert _everything(other) == _everything(store)
    retention.verify(other)
    other.close()
    store.close()


def test_a_backup_is_never_overwritten(store, tmp_path):
    file = tmp_path / "records.backup"
    backup.backup(store, file)
    with pytest.raises(RecordsError, match="never overwritten"):
        backup.backup(store, file)


def test_only_an_empty_store_is_restored_into(store, tmp_path):
    _filled(store)
    backup.backup(store, tmp_path / "records.backup")
    with pytest.raises(RecordsError, match="not empty"):
        backup.restore(store, tmp_path / "records.backup")


@pytest.mark.parametrize("harm", ["cut", "changed", "last row gone", "not a backup"])
def test_a_damaged_backup_leaves_the_store_empty(store, other_url, tmp_path, harm):
    _filled(store)
    file = tmp_path / "records.backup"
    backup.backup(store, file)
    lines = gzip.decompress(file.read_bytes()).splitlines(keepends=True)
    match harm:
        case "cut":
            file.write_bytes(file.read_bytes()[:-200])
        case "changed":
            file.write_bytes(gzip.compress(b"".join(lines).replace(b"clinic system", b"clinic sistem")))
        case "last row gone":
            file.write_bytes(gzip.compress(b"".join([*lines[:-2], lines[-1]])))
        case _:
            file.write_bytes(b"hello")
    other = Store.open(other_url)
    empty = _everything(other)
    with pytest.raises(RecordsError, match="take another"):
        backup.restore(other, file)
    assert _everything(other) == empty
    other.close()


def test_letters_in_the_making_come_back_and_can_be_written_on(store, other_url, tmp_path):
    table, kept = Worktable(store.engine), new_id()
    table.save(kept, 0, {"encounter": {"reference": "HHC-0777"}}, "person:a", "Tom Quill")
    table.save(kept, 1, {"encounter": {"reference": "HHC-0778"}}, "person:a", "Tom Quill")
    table.others(kept, "1" * 32, "Tom Quill")
    backup.backup(store, tmp_path / "records.backup")
    other = Store.open(other_url)
    backup.restore(other, tmp_path / "records.backup")
    again = Worktable(other.engine)

    assert again.load(kept) == table.load(kept)
    assert again.load(kept).reference == "HHC-0778"
    assert again.save(kept, 2, {"encounter": {}}, "person:b", "Nell Brook") == 3
    assert again.others(kept, "2" * 32, "Nell Brook") == ()  # who was there is not there after a restore
    retention.verify(other)
    other.close()


def test_a_backup_of_the_release_before_is_restored(store, other_url, tmp_path):
    _filled(store)
    file, older = tmp_path / "records.backup", tmp_path / "older.backup"
    backup.backup(store, file)
    lines = gzip.decompress(file.read_bytes()).splitlines(keepends=True)
    lines[0] = lines[0].replace(HEAD.encode(), b"0001")
    end = json.loads(lines[-1]) | {"digest": hashlib.sha256(b"".join(lines[:-1])).hexdigest()}
    older.write_bytes(gzip.compress(b"".join([*lines[:-1], json.dumps(end).encode() + b"\n"])))
    other = Store.open(other_url)
    backup.restore(other, older)
    assert _everything(other) == _everything(store)
    other.close()


def test_work_of_the_release_before_stays_where_it_is(tmp_path):
    """There the pages made the tables themselves, beside a database at the first migration."""
    engine = open_engine(f"sqlite:///{tmp_path / 'records.db'}")
    prepare(engine)
    table, kept = Worktable(engine), new_id()
    table.save(kept, 0, {"encounter": {"reference": "HHC-0777"}}, "person:a", "Tom Quill")
    with engine.begin() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '0001'")
    prepare(engine)
    assert revision(engine) == HEAD
    assert table.load(kept).reference == "HHC-0777"
    with engine.begin() as connection:
        for name in ("work", "work_present"):
            connection.exec_driver_sql(f"DROP TABLE {name}")
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '0001'")
    prepare(engine)
    with engine.connect() as connection:
        assert connection.execute(select(work)).all() == []
    engine.dispose()
