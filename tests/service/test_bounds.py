"""Hostile and broken requests: refused in bounded time and memory, and with a problem."""

from __future__ import annotations

import asyncio
import json
import socket
import time

import pytest
import service_fixtures
from service_fixtures import DEMO, open_service
from starlette.testclient import TestClient

from letterkit.service.guard import too_deep

JSON = {"Content-Type": "application/json"}
SLOW_S = 0.4


@pytest.fixture(scope="module")
def opened(tmp_path_factory):
    return open_service(tmp_path_factory.mktemp("bounds"), body_within=SLOW_S, max_body=100_000)


@pytest.fixture(scope="module")
def client(opened):
    with TestClient(opened.asgi, base_url="http://localhost", raise_server_exceptions=False) as client:
        yield client


def _kind(answer) -> tuple[int, str]:
    return answer.status_code, answer.json()["type"].rpartition("/")[2]


@pytest.mark.parametrize("length", ["1073741824", "100001", "-1", "1e9", "0x10"])
def test_a_body_declared_too_large_is_not_read(client, length):
    assert _kind(client.post("/v1/letters", content=b"{}", headers=JSON | {"Content-Length": length})) == (
        413,
        "body-too-large",
    )


def test_a_body_that_grows_beyond_the_limit_is_cut_off(opened):
    taken = 0

    async def receive():
        nonlocal taken
        taken += 10_000
        return {"type": "http.request", "body": b"x" * 10_000, "more_body": True}

    assert asyncio.run(_status(opened.asgi, receive)) == 413
    assert taken <= 110_000


def test_a_slow_body_is_given_up(opened):
    async def receive():
        await asyncio.sleep(60)

    began = time.monotonic()
    assert asyncio.run(_status(opened.asgi, receive)) == 408
    assert time.monotonic() - began < SLOW_S + 2


async def _status(app, receive) -> int:
    sent = []

    async def send(message):
        sent.append(message)

    scope = {
        "type": "http", "method": "POST", "path": "/v1/letters", "raw_path": b"/v1/letters", "query_string": b"",
        "headers": [(b"host", b"localhost"), (b"content-type", b"application/json")], "http_version": "1.1",
        "scheme": "http", "client": ("127.0.0.1", 1), "server": ("127.0.0.1", 80), "root_path": "", "asgi": {"version": "3.0"},
    }  # fmt: skip
    await app(scope, receive, send)
    return sent[0]["status"]


@pytest.mark.parametrize(
    "body",
    [b"[" * 50_000, b'{"a":' * 10_000, b"[" * 40 + b"]" * 40, b'{"patient":' + b"[" * 33 + b"]" * 33 + b"}"],
    ids=["arrays", "objects", "just too deep", "inside a field"],
)
def test_deep_json_is_refused_without_being_parsed(client, body):
    began = time.process_time()
    assert _kind(client.post("/v1/letters", content=body, headers=JSON)) == (400, "bad-request")
    assert time.process_time() - began < 1


@pytest.mark.parametrize(
    ("body", "deep"),
    [
        (b'{"a": "' + b"[" * 100 + b'"}', False),
        (b'"' + b'\\"' * 10 + b"[" * 100 + b'"', False),
        (b'{"a": "\\\\"' + b"[" * 100, True),
        (b"[" * 32, False),
        (b"[" * 33, True),
        (b'"' * 1_000_001, False),
        (b'"' + b"\\" * 1_000_000, False),
    ],
)
def test_only_brackets_outside_texts_count_as_depth(body, deep):
    began = time.process_time()
    assert too_deep(body, 32) is deep
    assert time.process_time() - began < 1


@pytest.mark.parametrize(
    ("body", "slug"),
    [
        (b"", "invalid-input"),
        (b"nonsense", "invalid-input"),
        (b"\xff\xfe", "invalid-input"),
        (b"[]", "invalid-input"),
        (b'{"patient": NaN}', "invalid-input"),
        (b'{"patient": {}, "patient": {}}', "invalid-input"),
        (b'{"a": 1' + b"0" * 5000 + b"}", "invalid-input"),
        (b'{"\\ud800": 1}', "invalid-input"),
        (b'{"patient": {"name": {"family": "\\ud800"}}, "examination": {}}', "invalid-input"),
        (b'{"patient": {"name": {"family": "A\\u0000B"}}, "examination": {}}', "invalid-input"),
        (b'{"examination": {"findings": [' + b"1," * 20_000 + b"1]}}", "invalid-input"),
        (b'{"resourceType": "Bundle"}', "invalid-input"),
        (b'{"resourceType": 1}', "invalid-input"),
    ],
)
def test_what_is_no_encounter_is_refused(client, body, slug):
    for path in ("/v1/letters", "/v1/checks", "/v1/previews"):
        assert _kind(client.post(path, content=body, headers=JSON)) == (422, slug)


@pytest.mark.parametrize(
    "media",
    ["text/plain", "application/xml", "multipart/form-data; boundary=x", "application/json; charset=latin-1", ""],
)
def test_another_media_type_is_refused(client, media):
    assert _kind(client.post("/v1/letters", content=b"{}", headers={"Content-Type": media})) == (415, "media-type")


@pytest.mark.parametrize(
    ("method", "path", "slug"),
    [
        ("GET", "/v1", "not-found"),
        ("GET", "/docs", "not-found"),
        ("GET", "/v1/letters/../../etc/passwd", "not-found"),
        ("GET", "/v1/letters/%00", "invalid-input"),
        ("GET", "/v1/letters/abc", "invalid-input"),
        ("DELETE", "/v1/letters", "method-not-allowed"),
        ("TRACE", "/v1/rules", "method-not-allowed"),
        ("GET", "/v1/letters?limit=100000", "invalid-input"),
        ("GET", "/v1/letters?limit=1e3", "invalid-input"),
    ],
)
def test_other_addresses_and_methods_are_problems_too(client, method, path, slug):
    answer = client.request(method, path)
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["type"] == f"/v1/problems/{slug}"


def test_a_long_note_is_read_in_bounded_time(client):
    began = time.monotonic()
    answer = client.post("/v1/readings", json={"text": "(" * 40_000})
    assert answer.status_code == 200
    assert client.post("/v1/readings", json={"text": "x" * 60_000}).status_code == 422
    assert time.monotonic() - began < 10


def test_every_answer_has_the_security_headers(client):
    for path in ("/healthz", "/v1/rules", "/nowhere"):
        headers = client.get(path).headers
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cache-control"] == "no-store"
        assert headers["x-frame-options"] == "DENY"
        assert "default-src 'none'" in headers["content-security-policy"]
        assert "server" not in headers
        assert "access-control-allow-origin" not in headers


@pytest.mark.parametrize("given", ["abc-1.2_3", "x" * 65, "a b", "a\tb", ""])
def test_a_request_id_is_taken_over_only_where_it_is_harmless(client, given):
    answer = client.get("/healthz", headers={"X-Request-Id": given})
    assert (answer.headers["x-request-id"] == given) is (given == "abc-1.2_3")


def test_a_failure_inside_says_nothing_of_itself(opened, client, monkeypatch):
    def fail(*_args, **_more):
        raise RuntimeError("Yarrow 999 000 2061")

    monkeypatch.setattr("letterkit.service.making.draft", fail)
    answer = client.post("/v1/letters", content=(DEMO / "thumb_base.json").read_bytes(), headers=JSON)
    assert _kind(answer) == (500, "internal")
    assert "Yarrow" not in answer.text


def test_broken_records_are_unavailable_not_a_failure(tmp_path):
    opened = open_service(tmp_path)
    with TestClient(opened.asgi, base_url="http://localhost", raise_server_exceptions=False) as client:
        opened.store.engine.dispose()
        (tmp_path / "records.db").write_bytes(b"not a database" * 1000)
        answer = client.get("/readyz")
        assert _kind(answer) == (503, "unavailable")
        assert answer.headers["retry-after"] == "5"
        assert client.get("/healthz").status_code == 200


def test_a_real_server_bounds_what_it_reads(tmp_path):
    """A gigabyte that is only declared, a head that never ends, and requests that are none, each on its own line."""
    body = json.dumps({"text": "Right hand: no wasting."}).encode()
    with service_fixtures.running(tmp_path, LETTERKIT_BODY_WITHIN="1") as running:
        assert b" 413 " in _raw(
            running.port, b"POST /v1/letters HTTP/1.1\r\nHost: localhost\r\nContent-Length: 1073741824\r\n\r\n"
        )
        assert b" 408 " in _raw(
            running.port, b"POST /v1/letters HTTP/1.1\r\nHost: localhost\r\nContent-Length: 100\r\n\r\n{"
        )
        assert b" 400 " in _raw(running.port, b"GET / HTTP/1.1\r\nHost: localhost\r\nX: " + b"a" * 100_000)
        assert b" 400 " in _raw(running.port, b"nonsense\r\n\r\n")
        head = f"POST /v1/readings HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: {len(body)}\r\nConnection: close\r\n\r\n"
        assert b" 200 " in _raw(running.port, head.encode() + body)


def _raw(port: int, sent: bytes) -> bytes:
    with socket.create_connection(("127.0.0.1", port), timeout=20) as line:
        try:
            line.sendall(sent)
            return line.recv(200)
        except (BrokenPipeError, ConnectionResetError):
            return b" 400 the line was closed"
