"""The outermost layer: bounds on what comes in, headers on what goes out, one log line and one figure a request.

It is plain ASGI, since context bound in the framework's own middleware does not reach the endpoint.
"""

from __future__ import annotations

import asyncio
import re
import secrets
import time
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any, TypeAlias

import structlog
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from letterkit.errors import LetterkitError
from letterkit.service.logs import log, where
from letterkit.service.metrics import Metrics
from letterkit.service.problems import Refusal, answer, refusal_of
from letterkit.settings import Settings

SHEETS = frozenset({"/v1/bulk-runs", "/sheets"})
_REQUEST_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")
_STRING = re.compile(rb'"[^"\\]*(?:\\.[^"\\]*)*"?', re.DOTALL)
_NO_BRACKETS = bytes(byte for byte in range(256) if byte not in b"[]{}")
_METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})
SECURITY: tuple[tuple[bytes, bytes], ...] = (
    (b"x-content-type-options", b"nosniff"),
    (b"cache-control", b"no-store"),
    (b"referrer-policy", b"no-referrer"),
    (b"content-security-policy", b"default-src 'none'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"),
    (b"x-frame-options", b"DENY"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), geolocation=(), microphone=()"),
)
_OVER_TLS = (b"strict-transport-security", b"max-age=31536000")
Headers: TypeAlias = list[tuple[bytes, bytes]]


def too_deep(body: bytes, deepest: int) -> bool:
    """Whether JSON text nests deeper than that; found without parsing it, and at once where it does."""
    depth = 0
    for bracket in _STRING.sub(b"", body).translate(None, _NO_BRACKETS):
        depth += 1 if bracket in b"[{" else -1
        if depth > deepest:
            return True
    return False


def _header(scope: Scope, name: bytes) -> str:
    return next((value.decode("latin-1") for key, value in scope["headers"] if key == name), "")


class Guard:
    """Wraps the application."""

    def __init__(self, app: ASGIApp, settings: Settings, metrics: Metrics) -> None:
        self._app = app
        self._settings = settings
        self._metrics = metrics

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request: bounded, answered, counted and logged."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        given = _header(scope, b"x-request-id")
        request_id = given if _REQUEST_ID.fullmatch(given) else secrets.token_hex(8)
        scope.setdefault("state", {})["request_id"] = request_id
        structlog.contextvars.clear_contextvars()
        structlog.contextvars.bind_contextvars(request_id=request_id)
        exchange = _Exchange(scope, send, request_id)
        self._metrics.busy.inc()
        problem = ""
        try:
            body = await self._bounded(scope, receive)
            await self._app(scope, body, exchange.send)
        except Refusal as refusal:
            problem = refusal.slug
            await exchange.refuse(refusal)
        except LetterkitError as error:
            log().error("failed", error=type(error).__name__, where=where(error))
            await exchange.refuse(refusal_of(error))
        except asyncio.CancelledError:
            raise
        except Exception as error:  # noqa: BLE001 - the last resort: the caller gets a problem, the log its place
            problem = "internal"
            log().error("failed", error=type(error).__name__, where=where(error))
            await exchange.refuse(Refusal("internal", "The service failed; its log has the request's id."))
        finally:
            self._metrics.busy.dec()
            self._tell(scope, exchange, problem)

    def _tell(self, scope: Scope, exchange: _Exchange, problem: str) -> None:
        route = getattr(scope.get("route"), "path", None) or "(none)"
        method = scope["method"] if scope["method"] in _METHODS else "(other)"
        seconds = time.perf_counter() - exchange.began
        self._metrics.requests.labels(method, route, str(exchange.status)).inc()
        self._metrics.seconds.labels(route).observe(seconds)
        log().info(
            "request", method=method, route=route, status=exchange.status, duration_ms=round(seconds * 1000, 1),
            bytes_out=exchange.sent, caller=scope["state"].get("caller", ""),
            problem=problem or scope["state"].get("problem", ""),
        )  # fmt: skip

    async def _bounded(self, scope: Scope, receive: Receive) -> Receive:
        """A `receive` whose body has been bounded in size, time and depth."""
        is_sheet = scope["path"] in SHEETS
        limit = self._settings.max_sheet if is_sheet else self._settings.max_body
        declared = _header(scope, b"content-length")
        if declared and (not declared.isdigit() or int(declared) > limit):
            raise _too_large(limit)
        if is_sheet:
            return self._counting(receive, limit)
        chunks: list[bytes] = []
        size = 0
        try:
            async with asyncio.timeout(self._settings.body_within):
                while True:
                    message = await receive()
                    if message["type"] != "http.request":
                        break
                    chunks.append(message.get("body", b""))
                    size += len(chunks[-1])
                    if size > limit:
                        raise _too_large(limit)
                    if not message.get("more_body", False):
                        break
        except TimeoutError:
            raise Refusal(
                "body-too-slow", f"Send the body within {self._settings.body_within:g} seconds.",
                headers={"Connection": "close"},
            ) from None  # fmt: skip
        body = b"".join(chunks)
        if too_deep(body, self._settings.max_depth):
            raise Refusal("bad-request", f"The JSON nests deeper than {self._settings.max_depth} levels.")
        return _replayed(body, receive)

    def _counting(self, receive: Receive, limit: int) -> Receive:
        size = 0
        ends = time.monotonic() + self._settings.body_within * 10  # a sheet may be large and the line slow

        async def counted() -> Message:
            nonlocal size
            try:
                async with asyncio.timeout(max(0.0, ends - time.monotonic())):
                    message = await receive()
            except TimeoutError:
                raise Refusal("body-too-slow", "Send the sheet faster.", headers={"Connection": "close"}) from None
            size += len(message.get("body", b""))
            if size > limit:
                raise _too_large(limit)
            return message

        return counted


def _too_large(limit: int) -> Refusal:
    return Refusal("body-too-large", f"At most {limit} bytes are taken.", headers={"Connection": "close"})


def _replayed(body: bytes, receive: Receive) -> Callable[[], Awaitable[MutableMapping[str, Any]]]:
    given = False

    async def replay() -> MutableMapping[str, Any]:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return replay


class _Exchange:
    """One request and its answer."""

    def __init__(self, scope: Scope, send: Send, request_id: str) -> None:
        self._scope = scope
        self._send = send
        self.request_id = request_id
        self.status = 0
        self.sent = 0
        self.began = time.perf_counter()

    async def send(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.status = message["status"]
            headers: Headers = list(message.get("headers", ()))
            present = {name.lower() for name, _ in headers}
            secure = (*SECURITY, _OVER_TLS) if self._scope.get("scheme") == "https" else SECURITY
            headers += [(name, value) for name, value in secure if name not in present]
            headers.append((b"x-request-id", self.request_id.encode()))
            message = {**message, "headers": headers}
        elif message["type"] == "http.response.body":
            self.sent += len(message.get("body", b""))
        await self._send(message)

    async def refuse(self, refusal: Refusal) -> None:
        """Answers with a problem, unless an answer has begun already."""
        if self.status:
            return
        response = answer(refusal, self.request_id)
        await response(self._scope, _nothing, self.send)


async def _nothing() -> Message:
    return {"type": "http.disconnect"}
