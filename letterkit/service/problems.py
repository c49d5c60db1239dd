"""Every error as problem details (RFC 9457): a type, a title, a status, and what would mend it."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import Response

from letterkit.errors import InvalidInput, InvalidValue, LetterheadError, LetterkitError, LetterWithheld
from letterkit.errors import Problem as InputProblem
from letterkit.records.errors import (
    AlreadyFinal,
    Erased,
    KeyReused,
    NotStored,
    RecordsError,
    VersionConflict,
)

MEDIA_TYPE = "application/problem+json"
TYPES: Mapping[str, tuple[int, str]] = {
    "bad-request": (400, "The request cannot be read"),
    "not-authenticated": (401, "Who is asking is not known"),
    "not-allowed": (403, "The caller may not do this"),
    "not-found": (404, "There is nothing here"),
    "method-not-allowed": (405, "This cannot be done here"),
    "not-acceptable": (406, "There is no such form of the letter"),
    "body-too-slow": (408, "The body did not come in time"),
    "letter-final": (409, "The letter is approved and cannot be changed"),
    "not-done": (409, "The run is not done"),
    "stateless": (409, "This service stores nothing"),
    "erased": (410, "The letter was erased"),
    "changed-since": (412, "The letter was changed since it was read"),
    "body-too-large": (413, "The body is too large"),
    "media-type": (415, "The body is of another media type"),
    "invalid-input": (422, "The input cannot be used"),
    "key-reused": (422, "The idempotency key was used for another request"),
    "letter-withheld": (422, "The finished letter does not say what was recorded"),
    "not-approvable": (422, "The letter cannot be approved as it is"),
    "condition-needed": (428, "The change must say which version it changes"),
    "too-many-requests": (429, "Too many requests"),
    "internal": (500, "The service failed"),
    "unavailable": (503, "The service cannot answer now"),
}
_EXAMINED = re.compile(r"(examination|earlier|options|reason\.(problem|side))\b")
_GIVEN_FIRST = re.compile(r"^(?:'.*'|\".*\"|\S+) is not(?= )", re.DOTALL)
_GIVEN_AT_END = re.compile(r", given .*$", re.DOTALL)
_STEP = re.compile(r"\.?([^.\[\]]+)|\[(\d+)\]")


class Fault(BaseModel):
    """One fault of the input and where it stands."""

    detail: str
    pointer: Annotated[str, Field(description="JSON Pointer into the body, as a URI fragment")] = "#"


class ProblemDetails(BaseModel):
    """What went wrong, as RFC 9457 has it."""

    model_config = ConfigDict(json_schema_extra={"examples": [{
        "type": "/v1/problems/invalid-input", "title": "The input cannot be used", "status": 422,
        "detail": "One fault was found.", "request_id": "6f1c2d3e4f5a6b7c",
        "errors": [{"detail": "not a date; give it as YYYY-MM-DD", "pointer": "#/patient/birthDate"}],
    }]})  # fmt: skip

    type: str
    title: str
    status: int
    detail: str = ""
    request_id: str = ""
    errors: list[Fault] = []


@dataclass(eq=False)
class Refusal(Exception):
    """A request is answered with this problem."""

    slug: str
    detail: str = ""
    errors: Sequence[Fault] = ()
    headers: Mapping[str, str] = field(default_factory=dict)

    @property
    def status(self) -> int:
        """The HTTP status of its type."""
        return TYPES[self.slug][0]


def pointer(path: str) -> str:
    """A path such as `examination.findings[3].side` as a JSON Pointer in a URI fragment."""
    steps = [name or index for name, index in _STEP.findall(path)]
    safe = [step.replace("~", "~0").replace("/", "~1").replace(" ", "%20") for step in steps]
    return "#" + "".join(f"/{step}" for step in safe)


def _without_echo(problem: InputProblem) -> str:
    """The message of a fault; outside the examination without the value that was given, which may name the patient."""
    if _EXAMINED.match(problem.path) or not problem.path:
        return problem.message
    return _GIVEN_AT_END.sub("", _GIVEN_FIRST.sub("what was given is not", problem.message))


def faults(problems: Sequence[InputProblem]) -> list[Fault]:
    """The faults of an input, each with its pointer."""
    return [Fault(detail=_without_echo(problem), pointer=pointer(problem.path)) for problem in problems]


def counted(found: Sequence[Any]) -> str:
    """How many faults there are, in words."""
    return "One fault was found." if len(found) == 1 else f"{len(found)} faults were found."


def refusal_of(error: LetterkitError) -> Refusal:
    """The answer to an error that was made on purpose."""
    match error:
        case InvalidInput():
            return Refusal("invalid-input", counted(error.problems), faults(error.problems))
        case InvalidValue():
            return Refusal("invalid-input", str(error))
        case LetterWithheld():
            return Refusal("letter-withheld", str(error))
        case VersionConflict():
            return Refusal("changed-since", str(error))
        case AlreadyFinal():
            return Refusal("letter-final", str(error))
        case KeyReused():
            return Refusal("key-reused", str(error))
        case Erased():
            return Refusal("erased", "The letter was erased; only its audit trail is left.")
        case NotStored():
            return Refusal("not-found", str(error))
        case RecordsError():
            return Refusal("unavailable", "The records cannot be used now.", headers={"Retry-After": "5"})
        case LetterheadError():
            return Refusal("internal", "The clinic's letterhead or template cannot be used; see the service's log.")
        case _:
            return Refusal("internal", "The letter could not be made; see the service's log.")


def answer(refusal: Refusal, request_id: str) -> Response:
    """The response that says a refusal."""
    status, title = TYPES[refusal.slug]
    body: dict[str, Any] = {"type": f"/v1/problems/{refusal.slug}", "title": title, "status": status}
    if refusal.detail:
        body["detail"] = refusal.detail
    body["request_id"] = request_id
    if refusal.errors:
        body["errors"] = [fault.model_dump() for fault in refusal.errors]
    # Escaped to ASCII: a fault may echo a field name that no UTF-8 text can hold.
    return Response(json.dumps(body), status, dict(refusal.headers), MEDIA_TYPE)
