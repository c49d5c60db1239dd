"""`/v1/checks`, `/v1/readings`, `/v1/previews`: work that stores nothing."""

from __future__ import annotations

from typing import Annotated, Any, TypeAlias

from fastapi import APIRouter, Depends
from starlette.requests import Request
from starlette.responses import Response

from letterkit.pipeline import check_whole
from letterkit.records.access import Scope
from letterkit.service.bodies import MEDIA, body_of, chosen_form, encounter_of, parsed
from letterkit.service.callers import Caller, needs_soon
from letterkit.service.documented import ENCOUNTER, body, refusals
from letterkit.service.letters import Form, document
from letterkit.service.making import content_of, queries_out
from letterkit.service.resources import ChecksOut, LetterOut, NoteIn, ReadingOut
from letterkit.service.state import The

router = APIRouter(prefix="/v1", tags=["without storing"])
Body: TypeAlias = Annotated[bytes, Depends(body_of)]
Drafter: TypeAlias = Annotated[Caller, Depends(needs_soon(Scope.DRAFT))]
_REFUSED = refusals(400, 401, 403, 408, 413, 415, 422, 429, 503)


@router.post("/checks", response_model=ChecksOut, summary="The queries about an encounter", responses=_REFUSED,
             openapi_extra=body(ENCOUNTER))  # fmt: skip
def checks(caller: Drafter, given: Body) -> ChecksOut:  # noqa: ARG001 - the caller is checked
    """Urgent ones first; a finding is never changed."""
    encounter, notices = encounter_of(given)
    told = [{"path": each.path, "kind": each.kind, "message": each.message} for each in notices]
    return ChecksOut.model_validate({"queries": queries_out(*check_whole(encounter)), "notices": told})


@router.post("/readings", response_model=ReadingOut, summary="The findings of a pasted note", responses=_REFUSED,
             openapi_extra=body(NoteIn))  # fmt: skip
def readings(caller: Drafter, given: Body) -> ReadingOut:  # noqa: ARG001 - the caller is checked
    """With where they stand, how sure they are, and what was left unread; nothing is guessed."""
    from letterkit.reading.read import read  # noqa: PLC0415 - the reader is heavy, and only this route needs it

    note = parsed(NoteIn, given)
    found = read(note.text, language=note.language)
    return ReadingOut.model_validate({
        "examination": found.encounter["examination"],
        "findings": [
            {"finding": each.record, "start": each.start, "end": each.end, "sure": each.sure,
             "reasons": list(each.reasons)}
            for each in found.findings
        ],
        "spans": [
            {"start": span.start, "end": span.end, "kind": span.kind, "why": span.why} for span in found.spans
        ],
        "unread": len(found.unread),
    })  # fmt: skip


_FILES: dict[int | str, dict[str, Any]] = {200: {"description": "The letter", "content": {
    "application/vnd.openxmlformats-officedocument.wordprocessingml.document": {"schema": {}},
    "application/pdf": {"schema": {}}, "text/html": {"schema": {}}, "text/plain": {"schema": {}},
    "application/fhir+json": {"schema": {}},
}}}  # fmt: skip


@router.post("/previews", response_model=LetterOut, summary="A draft letter that is not stored",
             responses={**_FILES, **refusals(400, 401, 403, 406, 408, 413, 415, 422, 429, 503)},
             openapi_extra=body(ENCOUNTER))  # fmt: skip
def previews(request: Request, service: The, caller: Drafter, given: Body, format: Form = None) -> Response:  # noqa: A002, ARG001
    """In the form asked for; without a form, the letter resource."""
    form = chosen_form(request.headers.get("accept", ""), format)
    encounter, notices = encounter_of(given)
    made = service.maker.draft(encounter)
    if form == "fhir":
        return Response(service.maker.bundle(made), 200, {"Vary": "Accept"}, MEDIA["fhir"])
    if form != "json":
        return document(service, made.letter, form, {"Vary": "Accept"})
    out = service.maker.resource(content_of(made, notices), made.letter, None)
    return Response(out.model_dump_json(), 200, {"Vary": "Accept"}, "application/json")
