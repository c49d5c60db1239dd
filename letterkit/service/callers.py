"""Who is calling, and what they may do."""

from __future__ import annotations

import hashlib
import hmac
import json
import secrets
import threading
import time
from collections import OrderedDict
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from limits import RateLimitItemPerMinute
from limits.strategies import SlidingWindowCounterRateLimiter
from pydantic import AwareDatetime, BaseModel, ConfigDict, TypeAdapter, ValidationError
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request

from letterkit.errors import InvalidInput, Problem
from letterkit.records import access
from letterkit.records.access import Key, Person, Role, Scope
from letterkit.records.audit import Act
from letterkit.records.store import Store, now
from letterkit.service.counting import Counts
from letterkit.service.problems import Refusal
from letterkit.settings import Settings, is_loopback

_LONG_AGO = datetime.min.replace(tzinfo=UTC)
_FRESH_S = 1.0  # a revoked key is refused within this time
_REMEMBERED = 256  # keys whose secret was verified lately; argon2 is slow on purpose
COOKIE = "letterkit_session"
ROLE_SCOPES = {
    Role.CLINICIAN: frozenset({Scope.DRAFT, Scope.READ, Scope.APPROVE, Scope.BULK}),
    Role.SECRETARY: frozenset({Scope.DRAFT, Scope.READ, Scope.BULK}),
    Role.ADMINISTRATOR: frozenset({Scope.ADMIN}),
}


@dataclass(frozen=True, slots=True)
class Caller:
    """Who makes a request: a key, a person, or whoever sits at this machine while no key was ever made."""

    id: str
    scopes: frozenset[Scope]
    person: Person | None = None


LOCAL = Caller("local", frozenset(Scope))


class _KeyRecord(BaseModel):
    """One line of a stateless service's key file."""

    model_config = ConfigDict(extra="forbid", hide_input_in_errors=True)

    id: str
    name: str
    scopes: frozenset[Scope]
    secret: str
    expires: AwareDatetime | None = None


def read_key_file(path: Path) -> dict[str, Key]:
    """The keys of a file, one JSON object a line. Raises InvalidInput for a line that is not a key's record."""
    found: dict[str, Key] = {}
    reader = TypeAdapter(_KeyRecord)
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        if not line.strip():
            continue
        try:
            record = reader.validate_python(json.loads(line))
        except (ValidationError, ValueError):
            message = "not a key's record; make it with `letterkit keys add --as-record`"
            raise InvalidInput((Problem(f"{path}, line {number}", message),)) from None
        found[record.id] = Key(record.id, record.name, record.scopes, _LONG_AGO, record.expires, None, record.secret)
    return found


class Callers:
    """Tells who is calling: by key, by session, or nobody."""

    def __init__(self, settings: Settings, store: Store | None) -> None:
        self._settings = settings
        self._store = store
        self._file = read_key_file(settings.stateless_keys) if store is None and settings.stateless_keys else {}
        self._remembered: OrderedDict[bytes, str] = OrderedDict()
        self._looked_up: dict[str, tuple[float, Key]] = {}
        self._open: tuple[float, bool] = (0.0, True)
        self._secret = secrets.token_bytes(32)
        self._lock = threading.Lock()
        self._hashing = threading.Semaphore(2)  # argon2 takes 64 MiB a time
        self._limiter = SlidingWindowCounterRateLimiter(Counts())
        self._rate = RateLimitItemPerMinute(max(1, settings.rate_per_minute // settings.workers))
        self._failures = RateLimitItemPerMinute(max(1, settings.failures_per_minute // settings.workers))

    def open_to_this_machine(self) -> bool:
        """Whether no key and nobody was ever made, so that whoever sits here may do everything."""
        if self._store is None:
            return not self._file
        until, is_open = self._open
        if is_open and time.monotonic() >= until:  # a key once made is never unmade
            is_open = not access.any_access(self._store)
            self._open = (time.monotonic() + _FRESH_S, is_open)
        return is_open

    def _key(self, key_id: str) -> Key | None:
        """The key with that id, as it was within the last second."""
        if self._store is None:
            return self._file.get(key_id)
        until, known = self._looked_up.get(key_id, (0.0, None))
        if known is not None and time.monotonic() < until:
            return known
        key = access.key_of(self._store, key_id)
        if key is not None:  # only keys that exist, so that guesses take no memory
            self._looked_up[key_id] = (time.monotonic() + _FRESH_S, key)
        return key

    def knows(self, request: Request) -> bool:
        """Whether `caller` can answer without asking the records or hashing a secret."""
        presented = request.headers.get("authorization")
        if presented is None:
            return COOKIE not in request.cookies and (not self._open[1] or time.monotonic() < self._open[0])
        value = presented.partition(" ")[2].strip()
        split = access.split_key(value)
        if split is None:
            return True
        until, _ = self._looked_up.get(split[0], (0.0, None))
        return time.monotonic() < until and self._mark(value) in self._remembered

    def _mark(self, value: str) -> bytes:
        """A digest of a presented key that means nothing outside this process."""
        return hmac.digest(self._secret, value.encode(), "sha256")

    def caller(self, request: Request) -> Caller:
        """Who makes the request. Raises Refusal for nobody, for a key that is over, and beyond the rate."""
        presented = request.headers.get("authorization", "")
        address = request.client.host if request.client else "unknown"
        found = self._by_key(presented, address) if presented else self._by_session(request)
        if found is None and not presented and self.open_to_this_machine():
            # A page of another site may reach this machine through the browser, under a name of its own.
            host = request.headers.get("host", "").rsplit(":", 1)[0]
            origin = request.headers.get("origin", "")
            if not is_loopback(host) or (origin and not is_loopback(origin.rpartition("//")[2].rsplit(":", 1)[0])):
                raise Refusal("not-allowed", "Without keys the service answers to localhost only.")
            found = LOCAL
        if found is None:
            raise Refusal("not-authenticated", "Give a valid key.", headers={"WWW-Authenticate": "Bearer"})
        request.state.caller = found.id
        if not self._limiter.hit(self._rate, found.id):
            raise self._too_many(self._rate, found.id)
        return found

    def _too_many(self, item: RateLimitItemPerMinute, who: str) -> Refusal:
        resets = self._limiter.get_window_stats(item, who).reset_time
        wait = max(1, round(resets - now().timestamp()))
        return Refusal("too-many-requests", f"Try again in {wait} seconds.", headers={"Retry-After": str(wait)})

    def _by_session(self, request: Request) -> Caller | None:
        token = request.cookies.get(COOKIE)
        if not token or self._store is None:
            return None
        if (
            request.method not in {"GET", "HEAD"}
            and request.headers.get("sec-fetch-site", "same-origin") != "same-origin"
        ):
            raise Refusal("not-allowed", "A page of another site may not do this.")
        person = access.person_of_session(self._store, token)
        return Caller(f"person:{person.id}", ROLE_SCOPES[person.role], person) if person else None

    def _by_key(self, presented: str, address: str) -> Caller | None:
        kind, _, value = presented.partition(" ")
        split = access.split_key(value.strip()) if kind.casefold() == "bearer" else None
        if split is None:
            return None
        key_id, secret = split
        key = self._key(key_id)
        if not self._right(key, value.strip(), secret, address) or key is None or not key.usable(now()):
            return None
        return Caller(f"key:{key.id}", key.scopes)

    def _right(self, key: Key | None, value: str, secret: str, address: str) -> bool:
        """Whether the secret is the key's; remembered for a while under a digest that means nothing elsewhere."""
        mark = self._mark(value)
        with self._lock:
            known = self._remembered.get(mark)
        if key is not None and known is not None and hmac.compare_digest(known, key.secret):
            return True
        if not self._limiter.test(self._failures, address):
            raise self._too_many(self._failures, address)
        with self._hashing:
            right = access.matches(key.secret if key else None, secret)
        if not right or key is None:
            self._limiter.hit(self._failures, address)
            return False
        with self._lock:
            self._remembered[mark] = key.secret
            while len(self._remembered) > _REMEMBERED:
                self._remembered.popitem(last=False)
        return True


def _refuse(store: Store | None, caller: Caller, scope: Scope, request: Request) -> None:
    """Tells a refusal in the audit trail, and raises it."""
    if store is not None:
        store.note(Act(caller.id, "access.refused", scope.value, request_id=request.state.request_id))
    raise Refusal("not-allowed", f"This needs the scope {scope.value}.")


def needs(scope: Scope, *others: Scope) -> Callable[[Request], Caller]:
    """A dependency: the caller, who must have one of these scopes. A refusal is told in the audit trail."""

    def dependency(request: Request) -> Caller:
        service: Any = request.app.state.service
        caller: Caller = service.callers.caller(request)
        if not caller.scopes & {scope, *others}:
            _refuse(service.store, caller, scope, request)
        return caller

    return dependency


def needs_soon(scope: Scope, *others: Scope) -> Callable[[Request], Awaitable[Caller]]:
    """As `needs`, and without a thread where who is calling is known already."""
    slowly = needs(scope, *others)

    async def dependency(request: Request) -> Caller:
        service: Any = request.app.state.service
        callers: Callers = service.callers
        if not callers.knows(request):
            return await run_in_threadpool(slowly, request)
        caller = callers.caller(request)
        if not caller.scopes & {scope, *others}:
            await run_in_threadpool(_refuse, service.store, caller, scope, request)
        return caller

    return dependency


def fingerprint(*parts: bytes) -> str:
    """The SHA-256 of what was sent."""
    return hashlib.sha256(b"\0".join(parts)).hexdigest()
