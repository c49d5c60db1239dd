from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from records_fixtures import DOING
from sqlalchemy import text

from letterkit.errors import InvalidInput
from letterkit.records import access, retention
from letterkit.records.access import Role, Scope
from letterkit.records.errors import NotStored

PASSWORD = "a long enough phrase"


def test_a_key_is_shown_once_and_kept_as_a_hash(store):
    key, shown = access.add_key(store, "clinic system", frozenset({Scope.DRAFT, Scope.READ}), DOING)
    key_id, secret = access.split_key(shown)
    kept = access.key_of(store, key_id)
    assert kept == key
    assert kept.secret.startswith("$argon2id$")
    assert secret not in kept.secret
    assert access.matches(kept.secret, secret)
    assert not access.matches(kept.secret, secret[:-1] + ("A" if secret[-1] != "A" else "B"))


@pytest.mark.parametrize("presented", ["", "lk_", "lk_0123456789abcdef_short", "xx_0123456789abcdef_" + "a" * 43])
def test_what_cannot_be_a_key_is_not_looked_up(presented):
    assert access.split_key(presented) is None


def test_a_secret_of_nobody_never_matches():
    assert not access.matches(None, "nobody")


def test_keys_end_by_revocation_and_by_time(store):
    at = datetime.now(UTC)
    short, _ = access.add_key(store, "short", frozenset({Scope.READ}), DOING, expires=at + timedelta(hours=1))
    key, _ = access.add_key(store, "key", frozenset({Scope.READ}), DOING)
    assert short.usable(at)
    assert not short.usable(at + timedelta(hours=2))
    access.revoke_key(store, key.id, DOING)
    assert not access.key_of(store, key.id).usable(at)
    with pytest.raises(NotStored):
        access.revoke_key(store, key.id, DOING)
    assert access.any_access(store)
    retention.verify(store)


def test_a_person_signs_in_and_out(store):
    assert not access.any_access(store)
    person = access.add_person(store, "R.Calder", "Miss R. Calder", Role.CLINICIAN, PASSWORD, DOING)
    assert access.sign_in(store, "r.calder", "a wrong phrase", DOING) is None
    assert access.sign_in(store, "nobody", PASSWORD, DOING) is None
    found, token = access.sign_in(store, "R.CALDER", PASSWORD, DOING)
    assert found == person == access.person_of_session(store, token)
    with store.engine.connect() as connection:
        assert token not in str(connection.execute(text("SELECT * FROM sessions")).all())
    access.sign_out(store, token)
    assert access.person_of_session(store, token) is None
    with store.engine.connect() as connection:
        acts = connection.execute(text("SELECT action FROM audit_entries ORDER BY number")).scalars().all()
    assert acts == ["person.added", "person.refused", "person.refused", "person.signed-in"]


def test_a_new_password_and_a_disabled_person_end_the_sessions(store):
    access.add_person(store, "a", "A", Role.SECRETARY, PASSWORD, DOING)
    _, token = access.sign_in(store, "a", PASSWORD, DOING)
    access.set_password(store, "a", PASSWORD + "!", DOING)
    assert access.person_of_session(store, token) is None
    _, token = access.sign_in(store, "a", PASSWORD + "!", DOING)
    access.disable_person(store, "a", DOING)
    assert access.person_of_session(store, token) is None
    assert access.sign_in(store, "a", PASSWORD + "!", DOING) is None


def test_short_passwords_and_taken_logins_are_refused(store):
    access.add_person(store, "a", "A", Role.SECRETARY, PASSWORD, DOING)
    with pytest.raises(InvalidInput, match="taken"):
        access.add_person(store, "A", "B", Role.SECRETARY, PASSWORD, DOING)
    with pytest.raises(InvalidInput, match="at least 12"):
        access.add_person(store, "b", "B", Role.SECRETARY, "short", DOING)
    with pytest.raises(NotStored):
        access.disable_person(store, "c", DOING)
