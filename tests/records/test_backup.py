from __future__ import annotations

import gzip

import pytest
from records_fixtures import DOING, content_of, fresh_database
from sqlalchemy import select

from letterkit.records import access, backup, retention
from letterkit.records.access import Role, Scope
from letterkit.records.errors import RecordsError
from letterkit.records.store import Store
from letterkit.records.tables import metadata


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
