"""`/v1/letters`: what drafts and changes a letter. Each change is a version, and says which version it changes."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any, TypeAlias

from fastapi import APIRouter, Depends
from starlette.requests import Request
from starlette.responses import Response

from letterkit.findings.read_input import read_encounter
from letterkit.letter.model import Letter
from letterkit.records.access import Scope
from letterkit.records.content import Content, letter_from_json
from letterkit.records.errors import AlreadyDone
from letterkit.records.store import Version, VersionInfo
from letterkit.service.bodies import (
    IdempotencyKey,
    IfMatch,
    body_of,
    doing,
    encounter_of,
    etag,
    expected_version,
    parsed,
)
from letterkit.service.callers import Caller, needs_soon
from letterkit.service.documented import ENCOUNTER, body, refusals
from letterkit.service.letters import LetterId
from letterkit.service.making import content_of, with_answers
from letterkit.service.problems import Refusal
from letterkit.service.resources import AnswersIn, ApprovalIn, LetterOut
from letterkit.service.state import Service, The

router = APIRouter(prefix="/v1/letters", tags=["letters"])

Body: TypeAlias = Annotated[bytes, Depends(body_of)]
Drafter: TypeAlias = Annotated[Caller, Depends(needs_soon(Scope.DRAFT))]
Approver: TypeAlias = Annotated[Caller, Depends(needs_soon(Scope.APPROVE))]


def _resource(
    service: Service, info: VersionInfo, content: Content, status: int, letter: Letter | None = None
) -> Response:
    letter = letter or letter_from_json(content.letter)
    out = service.maker.resource(content, letter, info)
    headers = {"ETag": etag(info, "json")}
    if status == 201:  # noqa: PLR2004 - Created
        headers["Location"] = f"/v1/letters/{info.letter_id}"
    return Response(out.model_dump_json(), status, headers, "application/json")


def _made_before(service: Service, before: AlreadyDone, status: int) -> Response:
    stored = service.records.version(before.letter_id, before.version)
    return _resource(service, stored.info, stored.content, status)


def _counted(service: Service, kind: str, content: Content) -> None:
    service.metrics.letters.labels(kind).inc()
    for query in content.queries:
        service.metrics.queries.labels(query["rule"]).inc()


@router.post(
    "", status_code=201, response_model=LetterOut, summary="Draft a letter from an encounter",
    responses=refusals(400, 401, 403, 408, 409, 410, 413, 415, 422, 429, 503), openapi_extra=body(ENCOUNTER),
)  # fmt: skip
def create(request: Request, service: The, caller: Drafter, given: Body, key: IdempotencyKey = None) -> Response:
    """Checks and words the encounter, keeps the letter as version 1, and answers it with its queries."""
    store = service.records
    act = doing(request, caller, key, given)
    try:
        if act.once and (before := store.done_before(act.once)):
            raise before
        encounter, notices = encounter_of(given)
        made = service.maker.draft(encounter)
        content = content_of(made, notices)
        info = store.create(content, act)
    except AlreadyDone as before:
        return _made_before(service, before, 201)
    _counted(service, "drafted", content)
    return _resource(service, info, content, 201, made.letter)


_CHANGES = refusals(400, 401, 403, 404, 408, 409, 410, 412, 413, 415, 422, 428, 429, 503)


@router.post("/{letter_id}/versions", status_code=201, response_model=LetterOut, responses=_CHANGES,
             summary="Draft the letter again from a corrected encounter", openapi_extra=body(ENCOUNTER))  # fmt: skip
def change(
    request: Request, service: The, caller: Drafter, letter_id: LetterId, given: Body, key: IdempotencyKey = None,
    if_match: IfMatch = None,
) -> Response:  # fmt: skip
    """Adds a version; the earlier ones stay as they were."""
    store = service.records
    act = doing(request, caller, key, given)
    try:
        if act.once and (before := store.done_before(act.once)):
            raise before
        expected = expected_version(if_match)
        store.versions(letter_id)
        encounter, notices = encounter_of(given)
        content = content_of(service.maker.draft(encounter), notices)
        info = store.add(letter_id, expected, "changed", content, act)
    except AlreadyDone as before:
        return _made_before(service, before, 201)
    _counted(service, "changed", content)
    return _resource(service, info, content, 201)


@router.post("/{letter_id}/answers", status_code=201, response_model=LetterOut, responses=_CHANGES,
             summary="Answer queries about the record", openapi_extra=body(AnswersIn))  # fmt: skip
def answer(
    request: Request, service: The, caller: Drafter, letter_id: LetterId, given: Body, key: IdempotencyKey = None,
    if_match: IfMatch = None,
) -> Response:  # fmt: skip
    """Keeps the answers with the record, as a new version: corrected, or kept as it is for a reason."""
    store = service.records
    act = doing(request, caller, key, given)
    try:
        if act.once and (before := store.done_before(act.once)):
            raise before
        expected = expected_version(if_match)
        answers = parsed(AnswersIn, given).answers
        stored = store.version(letter_id)
        encounter = with_answers(read_encounter(stored.content.encounter), answers)
        made = service.maker.draft(encounter, _day(stored))
        content = replace(content_of(made), notices=stored.content.notices)
        info = store.add(letter_id, expected, "answered", content, act)
    except AlreadyDone as before:
        return _made_before(service, before, 201)
    _counted(service, "answered", content)
    return _resource(service, info, content, 201)


def _day(stored: Version) -> Any:
    return letter_from_json(stored.content.letter).properties.created


@router.post("/{letter_id}/approval", status_code=201, response_model=LetterOut, responses=_CHANGES,
             summary="Approve a letter in the name of a clinician", openapi_extra=body(ApprovalIn))  # fmt: skip
def approve(
    request: Request, service: The, caller: Approver, letter_id: LetterId, given: Body, key: IdempotencyKey = None,
    if_match: IfMatch = None,
) -> Response:  # fmt: skip
    """Makes the final letter, which nobody can change. Refused while a query stands in the way."""
    store = service.records
    act = doing(request, caller, key, given)
    try:
        if act.once and (before := store.done_before(act.once)):
            raise before
        expected = expected_version(if_match)
        wanted = parsed(ApprovalIn, given)
        stored = store.version(letter_id)
        if stored.info.state == "final" or stored.info.number != expected:
            store.add(letter_id, expected, "approved", stored.content, act)  # says which, and keeps nothing
        by, role, identifier = _approver(caller, wanted)
        content = service.maker.approved(
            service.maker.again(stored),
            stored.content.notices,
            by=by,
            role=role,
            identifier=identifier,
            replaces=wanted.replaces,
        )
        info = store.add(letter_id, expected, "approved", content, act)
    except AlreadyDone as before:
        return _made_before(service, before, 201)
    _counted(service, "approved", content)
    return _resource(service, info, content, 201)


def _approver(caller: Caller, wanted: ApprovalIn) -> tuple[str, str | None, str | None]:
    """Name, role and identifier of who approves: a signed-in person is nobody else."""
    person = caller.person
    if person is not None:
        if wanted.by not in {None, person.name}:
            raise Refusal("not-allowed", "A signed-in clinician approves in their own name only.")
        return person.name, person.job_title, person.identifier
    if wanted.by is None:
        raise Refusal("invalid-input", "by: missing; name the clinician who checked the letter.")
    return wanted.by, wanted.role, wanted.identifier
