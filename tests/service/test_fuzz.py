"""The whole OpenAPI document, tried with generated requests and a key of each scope."""

from __future__ import annotations

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis import GenerationMode
from schemathesis.config import SchemathesisConfig
from service_fixtures import DEMO, open_service
from starlette.testclient import TestClient

from letterkit.records import access
from letterkit.records.access import Scope
from letterkit.records.store import Doing
from letterkit.service.app import create_app
from letterkit.settings import load_settings

# What the catalogue knows cannot all be said in the document: a request that fits the schema may name an item that
# there is not, and is refused. Everything else that the checks demand holds.
CONFIG = {"checks": {"positive_data_acceptance": {"expected-statuses": ["2xx", "4xx"]}}}


pytestmark = pytest.mark.slow
POSITIVE, NEGATIVE = GenerationMode.POSITIVE, GenerationMode.NEGATIVE
OPERATIONS = [
    (method, path)
    for path, operations in create_app(load_settings(stateless=True)).openapi()["paths"].items()
    for method in operations
]


@pytest.fixture(scope="module")
def opened(tmp_path_factory):
    return open_service(tmp_path_factory.mktemp("fuzz"))


@pytest.fixture(scope="module")
def keys(opened):
    return {scope: access.add_key(opened.store, scope.value, frozenset({scope}), Doing("tests"))[1] for scope in Scope}


@pytest.fixture(scope="module")
def api(opened, keys):
    return schemathesis.openapi.from_asgi(
        "/v1/openapi.json", opened.asgi, config=SchemathesisConfig.from_dict(CONFIG),
        headers={"Authorization": f"Bearer {keys[Scope.READ]}"},
    )  # fmt: skip


@pytest.fixture(scope="module")
def letter_id(opened, keys):
    """A letter that is there, so that well-formed requests come further than to its absence."""
    with TestClient(opened.asgi, base_url="http://localhost") as client:
        headers = {"Authorization": f"Bearer {keys[Scope.DRAFT]}", "Content-Type": "application/json"}
        body = (DEMO / "four_findings_only.json").read_bytes()
        yield client.post("/v1/letters", content=body, headers=headers).json()["id"]


@pytest.mark.parametrize("scope", list(Scope))
@pytest.mark.parametrize(("method", "path"), OPERATIONS)
def test_every_answer_is_documented(api, keys, letter_id, scope, method, path):
    operation = api[path][method]

    def of_the_letter(case):
        if "letter_id" in case.path_parameters:
            case.path_parameters["letter_id"] = letter_id
        return case

    cases = operation.as_strategy(generation_mode=POSITIVE).map(of_the_letter)
    if path not in {"/healthz", "/readyz"}:  # they take nothing that could be wrong
        cases |= operation.as_strategy(generation_mode=NEGATIVE)

    @settings(max_examples=12, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck))
    @given(case=cases)
    def try_it(case):
        case.call_and_validate(headers={"Authorization": f"Bearer {keys[scope]}"})

    try_it()
