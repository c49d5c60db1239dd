"""Reading bodies, headers and what the caller would like back."""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable
from collections.abc import Set as AbstractSet
from typing import Annotated, TypeVar

from fastapi import Header
from pydantic import BaseModel, ValidationError
from starlette.requests import Request

from letterkit.errors import Problem
from letterkit.findings.fhir_bundle import Notice
from letterkit.findings.models import Encounter
from letterkit.pipeline import receive
from letterkit.records.store import Doing, Once, VersionInfo
from letterkit.service.callers import Caller, fingerprint
from letterkit.service.problems import Refusal, counted, faults

_Model = TypeVar("_Model", bound=BaseModel)
_JSON = re.compile(r"application/(?:fhir\+)?json(\s*;\s*charset\s*=\s*\"?utf-8\"?)?\s*", re.IGNORECASE)
_QUOTED = re.compile(r'"([\x20-\x21\x23-\x5b\x5d-\x7e]{1,255})"')
_ETAG = re.compile(r'"(\d{1,9})-[a-z-]+"')
MEDIA = {
    "json": "application/json",
    "docx": "application/vnd.openxmlformats-officedocument.wordprocessingml.document",
    "pdf": "application/pdf",
    "html": "text/html",
    "text": "text/plain",
    "fhir": "application/fhir+json",
}
IdempotencyKey = Annotated[
    str | None,
    Header(
        alias="Idempotency-Key",
        description="A text in double quotes, such as a UUID. The same key with the same request within 24 hours gives "
        "the first answer again and does nothing twice.",
        max_length=300,
        json_schema_extra={
            "pattern": '^"[A-Za-z0-9._~-]{1,64}"$',
            "examples": ['"8e03978e-40d5-43dd-bc93-6894a57f9324"'],
        },
    ),
]
IfMatch = Annotated[
    str | None,
    Header(
        alias="If-Match",
        description="The ETag of the version that is to be changed.",
        max_length=300,
        json_schema_extra={"pattern": '^"[0-9]{1,6}-json"$', "examples": ['"1-json"']},
    ),
]


async def body_of(request: Request) -> bytes:
    """A dependency: the JSON body as it came. Raises Refusal for another media type."""
    if not _JSON.fullmatch(request.headers.get("content-type", "")):
        raise Refusal("media-type", "Send application/json, or application/fhir+json, in UTF-8.")
    return await request.body()


def _described(error: ValidationError, kinds: AbstractSet[str] | None = None) -> list[Problem]:
    found = []
    for fault in error.errors(include_url=False, include_input=False, include_context=False):
        if kinds is not None and fault["type"] not in kinds:
            continue
        path = ""
        for step in fault["loc"]:
            if isinstance(step, int):
                path += f"[{step}]"
            elif not step.startswith(("function-", "literal[", "tuple[", "constrained-str")):
                path += f".{step}" if path else step
        message = fault["msg"].removeprefix("Value error, ")
        found.append(Problem(path, message[0].lower() + message[1:]))
    return list(dict.fromkeys(found))


def parsed(model: type[_Model], body: bytes) -> _Model:
    """The body as that model, strictly. Raises Refusal with every fault."""
    try:
        return model.model_validate_json(body, strict=True)
    except ValidationError as error:
        if error.errors(include_url=False, include_input=False)[0]["type"] == "json_invalid":
            raise Refusal("bad-request", "The body is not JSON.") from None
        problems = _described(error)
        raise Refusal("invalid-input", counted(problems), faults(problems)) from None


def encounter_of(body: bytes) -> tuple[Encounter, tuple[Notice, ...]]:
    """The encounter of a body, ours or a FHIR Bundle, and what a Bundle carried beyond it.

    Ours is read twice: once with the messages that name what is allowed, once strictly, so that false is not 0. Raises
    InvalidInput or Refusal with every fault.
    """
    encounter, notices = receive(body)
    try:
        Encounter.model_validate_json(body, strict=True)
    except ValidationError as error:
        # A day is text in JSON and was read above; what strictness adds are numbers, texts and truth values. Of a
        # Bundle nothing here is ours, and all its fields are only unknown.
        kinds = {"int_type", "float_type", "bool_type", "string_type"}
        if problems := _described(error, kinds):
            raise Refusal("invalid-input", counted(problems), faults(problems)) from None
    return encounter, notices


def model_body(model: type[_Model]) -> Callable[[Request], Awaitable[_Model]]:
    """A dependency: the body as that model."""

    async def dependency(request: Request) -> _Model:
        return parsed(model, await body_of(request))

    return dependency


def doing(request: Request, caller: Caller, key: str | None = None, body: bytes = b"") -> Doing:
    """Who does what in this request, and under which idempotency key."""
    request_id: str = request.state.request_id
    if key is None:
        return Doing(caller.id, request_id)
    found = _QUOTED.fullmatch(key.strip())
    if not found:
        raise Refusal("bad-request", "Idempotency-Key: give a text of 1 to 255 characters in double quotes.")
    sent = fingerprint(request.method.encode(), request.url.path.encode(), body)
    return Doing(caller.id, request_id, Once(caller.id, found[1], sent))


def etag(info: VersionInfo, form: str) -> str:
    """The entity tag of one form of one version."""
    return f'"{info.number}-{form}"'


def expected_version(if_match: str | None) -> int:
    """The version that a change is meant for. Raises Refusal where the request does not say it."""
    if if_match is None:
        raise Refusal("condition-needed", "Send If-Match with the ETag of the version you read.")
    found = _ETAG.fullmatch(if_match.strip())
    if not found:
        raise Refusal("bad-request", "If-Match: give one ETag as it was sent to you.")
    return int(found[1])


def not_modified(if_none_match: str | None, tag: str) -> bool:
    """Whether the caller has this version already."""
    if if_none_match is None:
        return False
    return tag in {each.strip().removeprefix("W/") for each in if_none_match.split(",")}


def chosen_form(accept: str, asked: str | None) -> str:
    """The form to answer in: json, or a format of letters; `asked` comes before the Accept header. Raises Refusal."""
    if asked is not None:
        return asked
    best, form = 0.0, ""
    for part in (accept or "*/*").split(","):
        media, *parameters = [each.strip().casefold() for each in part.split(";")]
        quality = 1.0
        for parameter in parameters:
            name, _, value = parameter.partition("=")
            if name.strip() == "q":
                try:
                    quality = float(value)
                except ValueError:
                    quality = 0.0
        for name, known in MEDIA.items():
            matches = media in {known, "*/*"} or (media.endswith("/*") and known.startswith(media[:-1]))
            if matches and quality > best:
                best, form = quality, name
                break
    if not form:
        raise Refusal("not-acceptable", f"A letter is to be had as {', '.join(MEDIA.values())}.")
    return form
