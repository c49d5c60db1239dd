"""The OpenAPI document itself."""

from __future__ import annotations

import jsonschema
import pytest
from service_fixtures import open_service


@pytest.fixture(scope="module")
def document(tmp_path_factory):
    return open_service(tmp_path_factory.mktemp("document"), stateless=True).app.openapi()


def _operations(document):
    for path, operations in document["paths"].items():
        for method, operation in operations.items():
            yield f"{method.upper()} {path}", operation


def _schema(document, schema):
    return {**schema, "components": document["components"]}


def test_it_is_of_version_3_1_and_names_how_to_authenticate(document):
    assert document["openapi"] == "3.1.0"
    assert document["security"] == [{"key": []}]
    assert document["components"]["securitySchemes"]["key"]["scheme"] == "bearer"


def test_every_reference_leads_somewhere(document):
    def references(value):
        if isinstance(value, dict):
            if isinstance(value.get("$ref"), str):
                yield value["$ref"]
            for each in value.values():
                yield from references(each)
        elif isinstance(value, list):
            for each in value:
                yield from references(each)

    found = set(references(document))
    assert len(found) > 20
    for reference in found:
        assert reference.rpartition("/")[2] in document["components"]["schemas"], reference


def test_every_json_body_and_answer_has_an_example_that_fits_its_schema(document):
    seen = 0
    for name, operation in _operations(document):
        contents = [answer.get("content", {}) for status, answer in operation["responses"].items() if status[0] == "2"]
        contents.append(operation.get("requestBody", {}).get("content", {}))
        for content in contents:
            told = content.get("application/json")
            if told is None:
                continue
            example = told["example"] if "example" in told else told["examples"]["invented"]["value"]
            jsonschema.validate(example, _schema(document, told["schema"]))
            assert example, name
            seen += 1
    assert seen > 20


def test_every_refusal_is_a_problem(document):
    for name, operation in _operations(document):
        for status, answer in operation["responses"].items():
            if status[0] in "45":
                assert list(answer["content"]) == ["application/problem+json"], name
        if name not in {"GET /healthz", "GET /readyz"}:
            assert {"401", "403", "429", "500"} <= set(operation["responses"]), name


def test_pages_are_no_part_of_it(document):
    assert all(path.startswith("/v1/") or path in {"/healthz", "/readyz", "/metrics"} for path in document["paths"])
