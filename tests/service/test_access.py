"""Who may do what: every operation with every key and every role, and with none."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from service_fixtures import DEMO, open_service
from starlette.testclient import TestClient

from letterkit.records import access
from letterkit.records.access import Role, Scope
from letterkit.records.store import Doing
from letterkit.service.callers import COOKIE, ROLE_SCOPES, Callers

LETTER = "/v1/letters/{id}"
RUN = f"/v1/bulk-runs/{'0' * 32}"
DRAFT, READ, APPROVE, BULK, ADMIN = Scope
ANY = frozenset(Scope)
OPERATIONS: dict[tuple[str, str], frozenset[Scope]] = {
    ("POST", "/v1/letters"): frozenset({DRAFT}),
    ("GET", "/v1/letters"): frozenset({READ}),
    ("GET", LETTER): frozenset({READ}),
    ("GET", f"{LETTER}/patient-copy"): frozenset({READ}),
    ("GET", f"{LETTER}/versions"): frozenset({READ}),
    ("POST", f"{LETTER}/versions"): frozenset({DRAFT}),
    ("GET", f"{LETTER}/versions/1"): frozenset({READ}),
    ("POST", f"{LETTER}/answers"): frozenset({DRAFT}),
    ("POST", f"{LETTER}/approval"): frozenset({APPROVE}),
    ("GET", f"{LETTER}/approval"): frozenset({READ}),
    ("POST", "/v1/checks"): frozenset({DRAFT}),
    ("POST", "/v1/readings"): frozenset({DRAFT}),
    ("POST", "/v1/previews"): frozenset({DRAFT}),
    ("POST", "/v1/bulk-runs"): frozenset({BULK}),
    ("GET", RUN): frozenset({BULK}),
    ("GET", f"{RUN}/events"): frozenset({BULK}),
    ("GET", f"{RUN}/results"): frozenset({BULK}),
    ("GET", "/v1/catalogue"): ANY,
    ("GET", "/v1/rules"): ANY,
    ("GET", "/v1/schema"): ANY,
    ("GET", "/v1/openapi.json"): ANY,
    ("GET", "/v1/problems/not-found"): ANY,
    ("GET", "/metrics"): frozenset({ADMIN}),
}
PASSWORD = "a long enough phrase"


def _template(path: str, given: str) -> str:
    return path.replace("{id}", given)


def _send(service, method, path, headers):
    body = {"json": {}} if method == "POST" else {}
    return service.client.request(method, path, headers=headers, **body)


@pytest.fixture(scope="module")
def letter_id(service):
    answer = service.client.post(
        "/v1/letters", content=(DEMO / "ganglion.json").read_bytes(),
        headers=service.headers["draft"] | {"Content-Type": "application/json"},
    )  # fmt: skip
    return answer.json()["id"]


@pytest.fixture(scope="module")
def people(service):
    cookies = {}
    for role in Role:
        access.add_person(service.store, role.value, f"The {role.value}", role, PASSWORD, Doing("tests"))
        _, token = access.sign_in(service.store, role.value, PASSWORD, Doing("tests"))
        cookies[role] = {"Cookie": f"{COOKIE}={token}"}
    return cookies


def test_the_table_names_every_operation(service):
    documented = {
        (
            method.upper(),
            path.replace("{letter_id}", "{id}")
            .replace("{number}", "1")
            .replace("{slug}", "not-found")
            .replace("{run_id}", "0" * 32),
        )
        for path, operations in service.app.openapi()["paths"].items()
        for method in operations
    }
    known = set(OPERATIONS) | {("GET", "/healthz"), ("GET", "/readyz")}
    assert documented == known - {("GET", "/v1/openapi.json")}


TABLE = [(*operation, scopes) for operation, scopes in OPERATIONS.items()]


@pytest.mark.parametrize(("method", "path", "scopes"), TABLE)
@pytest.mark.parametrize("scope", list(Scope))
def test_a_key_may_do_what_its_scope_says(service, letter_id, method, path, scopes, scope):
    answer = _send(service, method, _template(path, letter_id), service.headers[scope.value])
    if scope in scopes:
        assert answer.status_code not in {401, 403}
    else:
        assert answer.status_code == 403
        assert answer.json()["type"] == "/v1/problems/not-allowed"


@pytest.mark.parametrize(("method", "path", "scopes"), TABLE)
@pytest.mark.parametrize("role", list(Role))
def test_a_person_may_do_what_their_role_says(service, letter_id, people, method, path, scopes, role):
    answer = _send(service, method, _template(path, letter_id), people[role])
    if scopes & ROLE_SCOPES[role]:
        assert answer.status_code not in {401, 403}
    else:
        assert answer.status_code == 403


@pytest.mark.parametrize(
    "presented",
    ["", "Bearer", "Bearer nonsense", "Basic YTpi", f"Bearer lk_{'0' * 16}_{'A' * 43}", "wrong", "revoked", "expired"],
)
def test_without_a_valid_key_nothing_is_done(service, letter_id, presented):
    if presented == "wrong":
        presented = service.headers["all"]["Authorization"][:-3] + "xyz"
    if presented in {"revoked", "expired"}:
        until = datetime.now(UTC) - timedelta(seconds=1) if presented == "expired" else None
        key, shown = access.add_key(service.store, "x", frozenset(Scope), Doing("tests"), expires=until)
        if presented == "revoked":
            access.revoke_key(service.store, key.id, Doing("tests"))
        presented = f"Bearer {shown}"
    headers = {"Authorization": presented} if presented else {}
    for method, path in OPERATIONS:
        if path == "/v1/rules" or method == "POST":
            answer = _send(service, method, _template(path, letter_id), headers)
            assert answer.status_code in {401, 429}
            if answer.status_code == 401:
                assert answer.headers["www-authenticate"] == "Bearer"
    # guesses of one address are counted; the next test begins anew
    service.app.state.service.callers._limiter.storage.reset()


def test_a_secretary_does_not_approve_and_a_clinician_in_no_other_name(service, letter_id, people):
    path = f"/v1/letters/{letter_id}/approval"
    body = {"by": "Miss R. Calder"}
    headers = {"If-Match": '"1-json"'}
    for role in (Role.SECRETARY, Role.CLINICIAN):
        assert service.client.post(path, json=body, headers=headers | people[role]).status_code == 403
    answer = service.client.post(path, json={}, headers=headers | people[Role.CLINICIAN])
    assert answer.status_code == 201, answer.text
    assert answer.json()["approval"]["by"] == "The clinician"


def test_a_page_of_another_site_cannot_use_a_session(service, people):
    headers = people[Role.CLINICIAN] | {"Sec-Fetch-Site": "cross-site"}
    assert service.client.post("/v1/checks", json={}, headers=headers).status_code == 403


def test_refusals_are_told_in_the_trail(service, letter_id):
    _send(service, "GET", "/metrics", service.headers["read"] | {"X-Request-Id": "told-in-the-trail"})
    with service.store.engine.connect() as connection:
        found = connection.exec_driver_sql(
            "SELECT action, subject FROM audit_entries WHERE request_id = 'told-in-the-trail'"
        ).all()
    assert [tuple(row) for row in found] == [("access.refused", "admin")]


def test_a_revoked_key_is_refused_within_a_second(service):
    key, shown = access.add_key(service.store, "x", frozenset({READ}), Doing("tests"))
    headers = {"Authorization": f"Bearer {shown}"}
    assert service.client.get("/v1/rules", headers=headers).status_code == 200
    access.revoke_key(service.store, key.id, Doing("tests"))
    callers: Callers = service.app.state.service.callers
    until, known = callers._looked_up[key.id]
    callers._looked_up[key.id] = (until - 1.0, known)
    assert service.client.get("/v1/rules", headers=headers).status_code == 401


def test_beyond_the_rate_a_key_waits(tmp_path):
    opened = open_service(tmp_path, rate=3)
    _, shown = access.add_key(opened.store, "x", frozenset({READ}), Doing("tests"))
    headers = {"Authorization": f"Bearer {shown}"}
    with TestClient(opened.asgi, base_url="http://localhost") as client:
        answers = [client.get("/v1/rules", headers=headers) for _ in range(5)]
    assert [answer.status_code for answer in answers] == [200, 200, 200, 429, 429]
    assert 1 <= int(answers[-1].headers["retry-after"]) <= 120
    assert answers[-1].json()["type"] == "/v1/problems/too-many-requests"


def test_guesses_of_one_address_are_bounded(tmp_path):
    opened = open_service(tmp_path, failures=3)
    access.add_key(opened.store, "x", frozenset({READ}), Doing("tests"))
    with TestClient(opened.asgi, base_url="http://localhost") as client:
        statuses = [
            client.get("/v1/rules", headers={"Authorization": f"Bearer lk_{number:016x}_{'A' * 43}"}).status_code
            for number in range(5)
        ]
    assert statuses == [401, 401, 401, 429, 429]


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 200),
        ({"Host": "127.0.0.1:8021"}, 200),
        ({"Host": "letters.example"}, 403),
        ({"Origin": "http://localhost:8021"}, 200),
        ({"Origin": "https://elsewhere.example"}, 403),
        ({"Origin": "null"}, 403),
    ],
)
def test_without_keys_only_this_machine_is_answered(tmp_path, headers, status):
    with TestClient(open_service(tmp_path).asgi, base_url="http://localhost") as client:
        assert client.get("/v1/rules", headers=headers).status_code == status
