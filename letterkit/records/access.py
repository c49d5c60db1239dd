"""Who may use the service: API keys of other systems, and people with a password and a role.

Secrets are shown once and kept as argon2 hashes. What anyone may *do* with them is decided by the service.
"""

from __future__ import annotations

import hashlib
import re
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from functools import cache
from typing import Any

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from sqlalchemy import Row, insert, select, update
from sqlalchemy.exc import IntegrityError

from letterkit.errors import InvalidInput, Problem
from letterkit.records.audit import Act, append
from letterkit.records.database import reading, writing
from letterkit.records.errors import NotStored
from letterkit.records.store import Doing, Store, now
from letterkit.records.tables import api_keys, people, sessions

PREFIX = "lk"
SHORTEST_PASSWORD = 12
SESSION_FOR = timedelta(hours=10)  # a clinic's day
_HASHER = PasswordHasher()  # RFC 9106, second recommended option: 64 MiB, three passes, four lanes
_KEY = re.compile(rf"{PREFIX}_([0-9a-f]{{16}})_([A-Za-z0-9_-]{{43}})")


@cache
def _nobody() -> str:
    """Verified against where there is no such key or person, so that the answer takes as long as for a wrong secret."""
    return _HASHER.hash("nobody")


class Scope(StrEnum):
    """What a key may do."""

    DRAFT = "draft"  # draft letters, check, read notes, preview, answer queries
    READ = "read"  # read stored letters
    APPROVE = "approve"  # make a final letter in the name of a clinician
    BULK = "bulk"  # bulk runs
    ADMIN = "admin"  # figures of the service


class Role(StrEnum):
    """What a person is to the clinic."""

    CLINICIAN = "clinician"
    SECRETARY = "secretary"
    ADMINISTRATOR = "administrator"


@dataclass(frozen=True, slots=True)
class Key:
    """An API key without its secret."""

    id: str
    name: str
    scopes: frozenset[Scope]
    created: datetime
    expires: datetime | None
    revoked: datetime | None
    secret: str  # its argon2 hash

    def usable(self, at: datetime) -> bool:
        """Whether it is neither revoked nor past its time."""
        return self.revoked is None and (self.expires is None or at < self.expires)


@dataclass(frozen=True, slots=True)
class Person:
    """Someone with a password. `job_title` and `identifier` are those of the register, as a letter names them."""

    id: str
    login: str
    name: str
    role: Role
    job_title: str | None
    identifier: str | None
    created: datetime
    disabled: datetime | None


def hashed(secret: str) -> str:
    """The argon2 hash of a secret."""
    return _HASHER.hash(secret)


def matches(kept: str | None, secret: str) -> bool:
    """Whether a secret is that of a hash; takes as long where there is no hash."""
    try:
        return _HASHER.verify(kept or _nobody(), secret) and kept is not None
    except (VerificationError, InvalidHashError):
        return False


def split_key(presented: str) -> tuple[str, str] | None:
    """Id and secret of a key as it is presented, or None where it cannot be one."""
    found = _KEY.fullmatch(presented)
    return (found[1], found[2]) if found else None


def new_key() -> tuple[str, str, str]:
    """The id of a new key, its secret, and the whole as it is shown once."""
    key_id, secret = secrets.token_hex(8), secrets.token_urlsafe(32)
    return key_id, secret, f"{PREFIX}_{key_id}_{secret}"


def _key(row: Row[Any]) -> Key:
    scopes = frozenset(Scope(scope) for scope in row.scopes.split())
    return Key(row.id, row.name, scopes, row.created, row.expires, row.revoked, row.secret)


def add_key(
    store: Store, name: str, scopes: frozenset[Scope], doing: Doing, *, expires: datetime | None = None
) -> tuple[Key, str]:
    """A new key and, once, what its owner presents."""
    key_id, secret, shown = new_key()
    at = now()
    key = Key(key_id, name, scopes, at, expires, None, hashed(secret))
    with writing(store.engine) as connection:
        connection.execute(
            insert(api_keys).values(
                id=key_id, name=name, secret=key.secret, scopes=" ".join(sorted(scopes)), created=at, expires=expires
            )
        )
        append(connection, (Act(doing.actor, "key.added", key_id),), at)
    return key, shown


def key_of(store: Store, key_id: str) -> Key | None:
    """The key with that id, usable or not."""
    with reading(store.engine) as connection:
        row = connection.execute(select(api_keys).where(api_keys.c.id == key_id)).first()
    return _key(row) if row else None


def keys(store: Store) -> tuple[Key, ...]:
    """All keys, oldest first."""
    with reading(store.engine) as connection:
        return tuple(_key(row) for row in connection.execute(select(api_keys).order_by(api_keys.c.created)))


def any_access(store: Store) -> bool:
    """Whether a key or a person was ever made; from then on nobody gets in without."""
    with reading(store.engine) as connection:
        made = connection.execute(select(api_keys.c.id).limit(1)).first()
        return made is not None or connection.execute(select(people.c.id).limit(1)).first() is not None


def revoke_key(store: Store, key_id: str, doing: Doing) -> None:
    """Ends a key for good. Raises NotStored."""
    at = now()
    with writing(store.engine) as connection:
        done = connection.execute(
            update(api_keys).where(api_keys.c.id == key_id, api_keys.c.revoked.is_(None)).values(revoked=at)
        )
        if done.rowcount == 0:
            raise NotStored(f"key {key_id}: there is none, or it was revoked before")
        append(connection, (Act(doing.actor, "key.revoked", key_id),), at)


def _checked_password(password: str) -> str:
    if len(password) < SHORTEST_PASSWORD:
        raise InvalidInput((Problem("password", f"give at least {SHORTEST_PASSWORD} characters"),))
    return hashed(password)


def _person(row: Row[Any]) -> Person:
    return Person(row.id, row.login, row.name, Role(row.role), row.job_title, row.identifier, row.created, row.disabled)


def add_person(
    store: Store, login: str, name: str, role: Role, password: str, doing: Doing, *,
    job_title: str | None = None, identifier: str | None = None,
) -> Person:  # fmt: skip
    """A new person. Raises InvalidInput for a login that is taken or a password that is too short."""
    person = Person(secrets.token_hex(16), login.casefold(), name, role, job_title, identifier, now(), None)
    try:
        with writing(store.engine) as connection:
            connection.execute(
                insert(people).values(
                    id=person.id, login=person.login, name=name, role=role.value, job_title=job_title,
                    identifier=identifier, password=_checked_password(password), created=person.created,
                )
            )  # fmt: skip
            append(connection, (Act(doing.actor, "person.added", person.id),), person.created)
    except IntegrityError:
        raise InvalidInput((Problem("login", f"{login!r} is taken; choose another"),)) from None
    return person


def set_password(store: Store, login: str, password: str, doing: Doing) -> None:
    """Gives a person a new password and ends all their sessions. Raises NotStored, InvalidInput."""
    _change(store, login, {"password": _checked_password(password)}, "person.password", doing)


def disable_person(store: Store, login: str, doing: Doing) -> None:
    """Lets a person in no more; what they did stays in the trail. Raises NotStored."""
    _change(store, login, {"disabled": now()}, "person.disabled", doing)


def _change(store: Store, login: str, values: dict[str, Any], action: str, doing: Doing) -> None:
    with writing(store.engine) as connection:
        person_id = connection.execute(select(people.c.id).where(people.c.login == login.casefold())).scalar()
        if person_id is None:
            raise NotStored(f"person {login}: there is none")
        connection.execute(update(people).where(people.c.id == person_id).values(**values))
        connection.execute(update(sessions).where(sessions.c.person_id == person_id).values(ended=True))
        append(connection, (Act(doing.actor, action, person_id),), now())


def everyone(store: Store) -> tuple[Person, ...]:
    """All people, by login."""
    with reading(store.engine) as connection:
        return tuple(_person(row) for row in connection.execute(select(people).order_by(people.c.login)))


def sign_in(store: Store, login: str, password: str, doing: Doing) -> tuple[Person, str] | None:
    """The person and the token of a new session, or None; a failed attempt is told in the audit trail."""
    with reading(store.engine) as connection:
        row = connection.execute(select(people).where(people.c.login == login.casefold())).first()
    right = matches(row.password if row else None, password)
    at = now()
    with writing(store.engine) as connection:
        if row is None or not right or row.disabled is not None:
            subject = row.id if row else "unknown"
            append(connection, (Act(doing.actor, "person.refused", subject, request_id=doing.request_id),), at)
            return None
        token = secrets.token_urlsafe(32)
        connection.execute(sessions.delete().where(sessions.c.expires <= at))
        connection.execute(
            insert(sessions).values(
                token=_token(token), person_id=row.id, created=at, expires=at + SESSION_FOR, ended=False
            )
        )
        append(connection, (Act(f"person:{row.id}", "person.signed-in", row.id, request_id=doing.request_id),), at)
    return _person(row), token


def _token(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def person_of_session(store: Store, token: str) -> Person | None:
    """The person whose session a token is, or None where it is over or was never begun."""
    with reading(store.engine) as connection:
        row = connection.execute(
            select(people).join(sessions, sessions.c.person_id == people.c.id)
            .where(sessions.c.token == _token(token), sessions.c.ended.is_(False), sessions.c.expires > now(),
                   people.c.disabled.is_(None))
        ).first()  # fmt: skip
    return _person(row) if row else None


def sign_out(store: Store, token: str) -> None:
    """Ends a session."""
    with writing(store.engine) as connection:
        connection.execute(update(sessions).where(sessions.c.token == _token(token)).values(ended=True))
