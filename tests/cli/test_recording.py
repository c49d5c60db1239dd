"""`letterkit records`, `keys`, `people` and `settings`, as their users run them."""

from __future__ import annotations

import re

import pytest
from click.testing import CliRunner
from records_fixtures import DOING, content_of

from letterkit.cli.main import cli
from letterkit.records import access, retention
from letterkit.records.store import Store

PASSWORD = "a long enough phrase"


@pytest.fixture
def records(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    url = f"sqlite:///{tmp_path / 'records.db'}"
    monkeypatch.setenv("LETTERKIT_RECORDS", url)
    store = Store.open(url)
    yield store
    store.close()


def _run(*arguments: str, given: str = "", code: int = 0):
    result = CliRunner().invoke(cli, list(arguments), input=given)
    assert result.exit_code == code, result.output
    return result


def test_verify_proves_the_trail_and_shows_its_head(records):
    records.create(content_of(), DOING)
    said = _run("records", "verify").output
    assert said.startswith("1 entries, 1 versions, all as they were written.\nHead ")
    head = said.split()[-1]
    records.create(content_of(), DOING)
    assert "2 entries" in _run("records", "verify", "--head", head).output
    assert "cut off at its end" in _run("records", "verify", "--head", "f" * 64, code=2).output


def test_verify_names_what_was_changed(records):
    records.create(content_of(), DOING)
    with records.engine.connect() as connection:
        connection.exec_driver_sql("DROP TRIGGER keep_audit_entries_update")
        connection.exec_driver_sql("UPDATE audit_entries SET actor = 'someone else'")
        connection.commit()
    assert "audit trail: entry 1 was changed" in _run("records", "verify", code=2).output


def test_a_backup_is_restored_elsewhere(records, tmp_path):
    records.create(content_of(), DOING)
    assert "saved: 3 rows" in _run("records", "backup", "saved").output
    assert "never overwritten" in _run("records", "backup", "saved", code=2).output
    other = f"sqlite:///{tmp_path / 'other.db'}"
    assert (
        "1 entries, 1 versions, all as they were written"
        in _run("records", "restore", "saved", "--records", other).output
    )
    assert "not empty" in _run("records", "restore", "saved", code=2).output


def test_erasing_by_letter_and_by_patient(records):
    first, second, other = (
        records.create(content_of(case), DOING).letter_id for case in ("thumb_base", "thumb_base", "ganglion")
    )
    assert "erased" in _run("records", "erase", first, "--yes").output
    assert _run("records", "erase", second, given="n\n", code=1).output
    said = _run("records", "erase", "--patient", given="999 000 2061\ny\n").output
    assert f"{second}: erased" in said
    assert "999 000 2061" not in said
    assert "no letter of this patient" in _run("records", "erase", "--patient", given="999 000 2061\n", code=2).output
    assert [info.letter_id for info in records.listed(10)] == [other]
    retention.verify(records)


def test_retention_counts_first_and_erases_when_told(records):
    records.create(content_of(), DOING)
    assert "0 letters are older" in _run("records", "retain", "--for", "8y").output
    assert "0 letters erased" in _run("records", "retain", "--for", "8y", "--erase").output
    assert "is not an age" in _run("records", "retain", "--for", "8", code=2).output
    assert len(records.listed(10)) == 1


def test_keys_are_made_listed_and_revoked(records):
    shown = re.search(r"lk_[0-9a-f]{16}_\S{43}", _run("keys", "add", "x", "--scope", "read", "--for", "90d").output)[0]
    key_id, secret = access.split_key(shown)
    listed = _run("keys", "list").output
    assert listed.startswith(f"{key_id}  x  read  until ")
    assert secret not in listed
    assert access.matches(access.key_of(records, key_id).secret, secret)
    _run("keys", "revoke", key_id)
    assert "revoked" in _run("keys", "list").output
    assert "was revoked before" in _run("keys", "revoke", key_id, code=2).output


def test_people_are_added_and_disabled(records):
    _run(
        "people",
        "add",
        "r.calder",
        "--name",
        "Miss R. Calder",
        "--role",
        "clinician",
        given=f"{PASSWORD}\n{PASSWORD}\n",
    )
    assert _run("people", "list").output == "r.calder  Miss R. Calder  clinician\n"
    assert access.sign_in(records, "r.calder", PASSWORD, DOING) is not None
    _run("people", "password", "r.calder", given="another long phrase\nanother long phrase\n")
    assert access.sign_in(records, "r.calder", PASSWORD, DOING) is None
    assert "at least 12" in _run("people", "password", "r.calder", given="short\nshort\n", code=2).output
    _run("people", "disable", "r.calder")
    assert "disabled" in _run("people", "list").output


def test_settings_come_from_the_file_and_the_environment_first(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "letterkit.toml").write_text('port = 9000\nworkers = 3\nhost = "::1"\n')
    monkeypatch.setenv("LETTERKIT_PORT", "9001")
    said = _run("settings").output
    assert "LETTERKIT_PORT=9001\n" in said
    assert "LETTERKIT_WORKERS=3\n" in said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("wrokers = 3\n", "wrokers: no such setting; did you mean workers?"),
        ("workers = 0\n", "workers: Input should be greater than or equal to 1"),
        ("workers 3\n", "not TOML"),
        ('records = "nonsense"\n', "records: not a database URL"),
    ],
)
def test_a_wrong_setting_is_named(tmp_path, monkeypatch, text, said):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "letterkit.toml").write_text(text)
    assert said in _run("settings", code=2).output


def test_a_settings_file_that_is_not_there_is_named(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LETTERKIT_SETTINGS", "elsewhere.toml")
    assert "'elsewhere.toml' is not a file" in _run("settings", code=2).output
