"""How operations stand in the OpenAPI document: bodies that are read by hand, answers and refusals, examples."""

from __future__ import annotations

import json
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from pydantic import BaseModel
from pydantic.json_schema import models_json_schema

from letterkit import __version__
from letterkit.findings.models import Encounter
from letterkit.service.bodies import MEDIA
from letterkit.service.problems import MEDIA_TYPE, TYPES, ProblemDetails
from letterkit.service.resources import AnswersIn, ApprovalIn, NoteIn

ENCOUNTER = Encounter
_REF = "#/components/schemas/{model}"
_BODIES: tuple[type[BaseModel], ...] = (Encounter, AnswersIn, ApprovalIn, NoteIn, ProblemDetails)
_EXAMPLES: dict[type[BaseModel], dict[str, Any]] = {
    AnswersIn: {"answers": [{"rule": "grip-sides-differ", "answer": "kept", "reason": "Measured twice",
                             "by": "Miss R. Calder"}]},
    ApprovalIn: {"by": "Miss R. Calder", "role": "Consultant hand surgeon"},
    NoteIn: {"text": "Right hand: thenar wasting. Phalen's positive at 20 s. APB 4/5."},
}  # fmt: skip


def demo_folder() -> Path:
    """The folder of the invented cases that ship: in the package, or beside it in a checkout."""
    inside = Path(str(resources.files("letterkit"))) / "demo_cases"
    return inside if inside.is_dir() else inside.parent.parent / "demo_cases"


@cache
def example_encounter() -> dict[str, Any]:
    """An invented encounter, the shortest of the demo cases."""
    found: dict[str, Any] = json.loads((demo_folder() / "four_findings_only.json").read_text(encoding="utf-8"))
    return found


def body(model: type[BaseModel]) -> dict[str, Any]:
    """The request body of an operation that reads it by hand."""
    example = example_encounter() if model is Encounter else _EXAMPLES[model]
    content = {"schema": {"$ref": _REF.format(model=model.__name__)}, "examples": {"invented": {"value": example}}}
    accepted = {"application/json": content}
    if model is Encounter:
        bundle = {"type": "object", "required": ["resourceType"], "properties": {"resourceType": {"const": "Bundle"}}}
        accepted["application/fhir+json"] = {"schema": bundle}
    return {"requestBody": {"required": True, "content": accepted}}


def refusals(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """The problems an operation may answer with; 405 and 500 can come from any."""
    found: dict[int | str, dict[str, Any]] = {}
    for status in (*statuses, 500):
        titles = [title for known, title in TYPES.values() if known == status]
        headers = {429: "Retry-After", 503: "Retry-After", 401: "WWW-Authenticate"}
        answer: dict[str, Any] = {
            "description": "; ".join(titles),
            "content": {MEDIA_TYPE: {"schema": {"$ref": _REF.format(model="ProblemDetails")}}},
        }
        if status in headers:
            answer["headers"] = {headers[status]: {"schema": {"type": "string"}}}
        found[status] = answer
    return found


def letter_answers() -> dict[int | str, dict[str, Any]]:
    """The answers of an operation that gives a letter in the form asked for."""
    files: dict[str, Any] = {media: {"schema": {}} for name, media in MEDIA.items() if name != "json"}
    return {
        200: {"description": "The letter", "content": files, "headers": {"ETag": {"schema": {"type": "string"}}}},
        304: {"description": "The caller has it already"},
        **refusals(401, 403, 404, 406, 409, 410, 422, 429, 503),
    }


def _with_examples(document: dict[str, Any]) -> None:
    """An example for every JSON answer that has none: the shortest the schema tells of."""
    from letterkit.service.examples import answers  # noqa: PLC0415 - made by drafting a demo case, once

    for path, operations in document["paths"].items():
        for method, operation in operations.items():
            for status, answer in operation["responses"].items():
                content = answer.get("content", {}).get("application/json")
                if content is not None and status.startswith("2"):
                    content["example"] = answers()[method, path]


def _plain_headers(document: dict[str, Any]) -> None:
    """A header is a text or is not there; If-Match must be, though an answer of our own says so where it is not."""
    for operations in document["paths"].values():
        for operation in operations.values():
            for parameter in operation.get("parameters", ()):
                if parameter["in"] != "header":
                    continue
                told = parameter["schema"]
                kind: dict[str, Any] = next((each for each in told.pop("anyOf", ()) if each.get("type") != "null"), {})
                parameter["schema"] = {**kind, **told}
                parameter["required"] = parameter["name"] == "If-Match"


def openapi_of(app: FastAPI) -> dict[str, Any]:
    """The whole OpenAPI 3.1 document."""
    document = get_openapi(
        title="letterkit", version=__version__, routes=app.routes, openapi_version="3.1.0",
        summary="Recorded findings of a hand and wrist examination in, a draft clinic letter out",
        description="The service drafts. It does not diagnose, advise treatment or set an urgency. A draft becomes a "
        "letter when a named clinician approves it. Errors are problem details (RFC 9457).",
    )  # fmt: skip
    _, schemas = models_json_schema([(model, "validation") for model in _BODIES], ref_template=_REF)
    components = document.setdefault("components", {})
    components["schemas"] = components.get("schemas", {}) | schemas["$defs"]
    for unused in ("HTTPValidationError", "ValidationError"):
        components["schemas"].pop(unused, None)
    components["securitySchemes"] = {
        "key": {"type": "http", "scheme": "bearer", "description": "An API key made with `letterkit keys add`."}
    }
    document["security"] = [{"key": []}]
    for path in ("/healthz", "/readyz"):
        for operation in document["paths"].get(path, {}).values():
            operation["security"] = []
    _plain_headers(document)
    _with_examples(document)
    return document
