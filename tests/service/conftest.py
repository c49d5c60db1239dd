"""A service in process, with a key of each scope, and a client for each."""

from __future__ import annotations

import json

import pytest
from service_fixtures import DEMO, open_service
from starlette.testclient import TestClient

from letterkit.records import access
from letterkit.records.access import Scope
from letterkit.records.store import Doing


@pytest.fixture(scope="module")
def service(tmp_path_factory):
    """A service with keys: `headers` are those of a key of each scope, and of one with all."""
    opened = open_service(tmp_path_factory.mktemp("service"))
    opened.headers = {}
    for name, scopes in [*((scope.value, {scope}) for scope in Scope), ("all", set(Scope))]:
        _, shown = access.add_key(opened.store, name, frozenset(scopes), Doing("tests"))
        opened.headers[name] = {"Authorization": f"Bearer {shown}"}
    with TestClient(opened.asgi, base_url="http://localhost", raise_server_exceptions=False) as client:
        opened.client = client
        yield opened


@pytest.fixture
def client(service):
    """A client that may do everything."""
    return _With(service.client, service.headers["all"])


class _With:
    def __init__(self, client, headers):
        self._client, self._headers = client, headers

    def request(self, method, path, *, headers=None, **more):
        return self._client.request(method, path, headers=self._headers | (headers or {}), **more)

    def get(self, path, **more):
        return self.request("GET", path, **more)

    def post(self, path, **more):
        return self.request("POST", path, **more)


@pytest.fixture(scope="session")
def encounter() -> dict:
    return json.loads((DEMO / "thumb_base.json").read_bytes())


@pytest.fixture
def letter(client, encounter):
    """A letter that was just drafted."""
    answer = client.post("/v1/letters", json=encounter)
    assert answer.status_code == 201, answer.text
    return answer.json()
