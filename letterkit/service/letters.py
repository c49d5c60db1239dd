"""`/v1/letters`: reading letters, their versions and their approval, each in the form asked for."""

from __future__ import annotations

from typing import Annotated, Any, Literal, TypeAlias

from fastapi import APIRouter, Depends, Header, Path, Query
from starlette.requests import Request
from starlette.responses import Response

from letterkit.records.access import Scope
from letterkit.records.content import letter_from_json
from letterkit.records.errors import NotStored
from letterkit.records.store import Version
from letterkit.service.bodies import (
    MEDIA,
    chosen_form,
    doing,
    etag,
    not_modified,
)
from letterkit.service.callers import Caller, needs_soon
from letterkit.service.documented import letter_answers, refusals
from letterkit.service.problems import Refusal
from letterkit.service.resources import (
    LETTER_ID,
    ApprovalOut,
    LetterOut,
    LettersOut,
    VersionsOut,
)
from letterkit.service.state import Service, The

router = APIRouter(prefix="/v1/letters", tags=["letters"])

LetterId: TypeAlias = Annotated[str, Path(pattern=LETTER_ID, description="The letter's id")]
Number: TypeAlias = Annotated[int, Path(ge=1, le=999_999, description="The version's number")]
Form: TypeAlias = Annotated[
    Literal["json", "docx", "pdf", "html", "text", "fhir"] | None, Query(description="Comes before the Accept header")
]
Reader: TypeAlias = Annotated[Caller, Depends(needs_soon(Scope.READ))]


@router.get(
    "",
    response_model=LettersOut,
    summary="List letters, newest first",
    responses=refusals(401, 403, 404, 409, 422, 429, 503),
)
def listed(
    service: The, caller: Reader, limit: Annotated[int, Query(ge=1, le=200)] = 50,  # noqa: ARG001 - the caller is checked
    after: Annotated[str | None, Query(pattern=LETTER_ID, description="The last letter of the page before")] = None,
) -> LettersOut:  # fmt: skip
    """Ids, states and digests; nothing of a patient."""
    found = service.records.listed(limit, after)
    rows = [
        {"id": info.letter_id, "version": info.number, "state": info.state, "at": info.at, "digest": info.letter_digest}
        for info in found
    ]
    more = f"/v1/letters?limit={limit}&after={found[-1].letter_id}" if len(found) == limit else None
    return LettersOut.model_validate({"letters": rows, "next": more})


def _answered(
    service: Service, request: Request, stored: Version, form: str | None, copy: bool  # noqa: FBT001
) -> Response:  # fmt: skip
    chosen = chosen_form(request.headers.get("accept", ""), form)
    tag = etag(stored.info, f"{'patient-' if copy else ''}{chosen}")
    headers = {"ETag": tag, "Vary": "Accept"}
    if not_modified(request.headers.get("if-none-match"), tag):
        return Response(status_code=304, headers=headers)
    if chosen == "fhir" and not copy:
        return Response(service.maker.stored_bundle(stored), 200, headers, MEDIA["fhir"])
    letter = service.maker.stored_patient_copy(stored) if copy else letter_from_json(stored.content.letter)
    if chosen == "json":
        if copy:
            raise Refusal("not-acceptable", "The patient's copy is a document: ask for docx, pdf, html or text.")
        out = service.maker.resource(stored.content, letter, stored.info)
        return Response(out.model_dump_json(), 200, headers, "application/json")
    return document(service, letter, chosen, headers)


def document(service: Service, letter: Any, form: str, headers: dict[str, str]) -> Response:
    """A letter as a file; its name says nothing of the patient."""
    content, media_type, suffix = service.maker.file(letter, form)
    headers["Content-Disposition"] = f'{"attachment" if form == "docx" else "inline"}; filename="letter{suffix}"'
    if form == "html":  # the page brings its style with it, and nothing else
        headers["Content-Security-Policy"] = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'"
    return Response(content, 200, headers, media_type)


@router.get("/{letter_id}", response_model=LetterOut, summary="The last version of a letter, in the form asked for",
            responses=letter_answers())  # fmt: skip
def read(
    request: Request, service: The, caller: Reader, letter_id: LetterId, format: Form = None,  # noqa: A002
    if_none_match: Annotated[str | None, Header(max_length=300)] = None,  # noqa: ARG001 - for the document
) -> Response:  # fmt: skip
    """JSON, DOCX, PDF, HTML or plain text, by the Accept header or `format`. The reading is told in the audit trail."""
    stored = service.records.version(letter_id, reader=doing(request, caller))
    return _answered(service, request, stored, format, copy=False)


@router.get("/{letter_id}/patient-copy", summary="The letter to the patient, in plain English",
            response_class=Response, responses=letter_answers())  # fmt: skip
def patient_copy(request: Request, service: The, caller: Reader, letter_id: LetterId,
                 format: Literal["docx", "pdf", "html", "text"] = "html") -> Response:  # noqa: A002  # fmt: skip
    """Of the last version."""
    stored = service.records.version(letter_id, reader=doing(request, caller))
    return _answered(service, request, stored, format, copy=True)


@router.get("/{letter_id}/versions", response_model=VersionsOut, summary="All versions of a letter",
            responses=refusals(401, 403, 404, 409, 422, 429, 503))  # fmt: skip
def versions(service: The, caller: Reader, letter_id: LetterId) -> VersionsOut:  # noqa: ARG001 - the caller is checked
    """The first one first; what a version says is behind its link."""
    found = service.records.versions(letter_id)
    rows = [
        {"version": info.number, "at": info.at, "kind": info.kind, "by": info.actor, "digest": info.letter_digest,
         "link": f"/v1/letters/{letter_id}/versions/{info.number}"}
        for info in found
    ]  # fmt: skip
    return VersionsOut.model_validate({"id": letter_id, "state": found[-1].state, "versions": rows})


@router.get("/{letter_id}/versions/{number}", response_model=LetterOut, summary="One version, in the form asked for",
            responses=letter_answers())  # fmt: skip
def version(
    request: Request, service: The, caller: Reader, letter_id: LetterId, number: Number, format: Form = None,  # noqa: A002
) -> Response:  # fmt: skip
    """As it was; a version never changes."""
    stored = service.records.version(letter_id, number, reader=doing(request, caller))
    return _answered(service, request, stored, format, copy=False)


@router.get("/{letter_id}/approval", response_model=ApprovalOut, summary="Who approved a letter, and when",
            responses=refusals(401, 403, 404, 409, 410, 422, 429, 503))  # fmt: skip
def approval(request: Request, service: The, caller: Reader, letter_id: LetterId) -> ApprovalOut:
    """Of a final letter."""
    stored = service.records.version(letter_id, reader=doing(request, caller))
    if stored.content.approval is None:
        raise NotStored(f"letter {letter_id}: it is not approved")
    return ApprovalOut.model_validate(stored.content.approval)
