"""Compose: what was recorded, the letter as it will read, and the queries, side by side and live."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query
from pydantic import BaseModel, ConfigDict, Field
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from letterkit.catalogue import catalogue
from letterkit.records.access import Scope
from letterkit.records.store import Doing
from letterkit.service.bodies import model_body
from letterkit.service.callers import Caller, needs
from letterkit.service.pages.desk import Desk, WorkId, demo_body, today
from letterkit.service.pages.examination import STAGES, form, hands
from letterkit.service.pages.page import Drafting, PageRoute, Viewer, known_json, page
from letterkit.service.pages.preview import see, told
from letterkit.service.pages.worktable import name_of, new_id
from letterkit.service.resources import LETTER_ID
from letterkit.service.state import Service, The

router = APIRouter(route_class=PageRoute, include_in_schema=False)
Drafter = Annotated[Caller, Depends(needs(Scope.DRAFT))]
_NOTE = 50_000


class _Sent(BaseModel):
    """What the page sends: closed at the top, and as deep as a record is."""

    model_config = ConfigDict(extra="forbid", frozen=True, hide_input_in_errors=True)


class Body(_Sent):
    """A letter in the making. `marks` go with the findings, one each; `unexamined` are entries of items."""

    encounter: dict[str, Any]
    note: Annotated[str, Field(max_length=_NOTE)] = ""
    marks: Annotated[list[dict[str, Any]], Field(max_length=500)] = []
    dismissed: Annotated[list[str], Field(max_length=2000)] = []
    stages: Annotated[list[str], Field(max_length=200)] = []
    previous: Annotated[str | None, Field(pattern=LETTER_ID)] = None
    replaces: Annotated[str | None, Field(max_length=200)] = None
    demo: bool = False


class Save(_Sent):
    """A state to be kept over the version that was read."""

    version: Annotated[int, Field(ge=0)]
    window: Annotated[str, Field(max_length=32)]
    body: Body


class Wanted(_Sent):
    """A record to be previewed."""

    encounter: dict[str, Any]
    previous: Annotated[str | None, Field(pattern=LETTER_ID)] = None


class Note(_Sent):
    """A pasted note to be read."""

    text: Annotated[str, Field(max_length=_NOTE)]
    language: Annotated[str, Field(pattern="^en-(GB|US)$")] = "en-GB"


def earlier_visit(service: Service, letter_id: str | None, reader: Doing | None = None) -> Mapping[str, Any] | None:
    """The record of the earlier visit that a letter compares with."""
    if letter_id is None:
        return None
    return service.records.version(letter_id, reader=reader).content.encounter


def _begun(viewer: Viewer) -> dict[str, Any]:
    person = viewer.caller.person
    encounter: dict[str, Any] = {"visit": {"date": today()}, "examination": {"findings": []}}
    if person is not None and viewer.may_approve:
        encounter["author"] = {"name": person.name} | ({"role": person.job_title} if person.job_title else {})
    return {"encounter": encounter}


def _after(service: Service, letter_id: str, viewer: Viewer, reader: Doing) -> dict[str, Any]:
    """A new encounter of the same clinic and author as the letter before."""
    before = service.records.version(letter_id, reader=reader).content.encounter
    body = _begun(viewer)
    body["encounter"] |= {key: before[key] for key in ("author", "clinic") if key in before}
    return body


def _next_visit(service: Service, letter_id: str, viewer: Viewer, reader: Doing) -> dict[str, Any]:
    """A new encounter of the same patient, with the letter as its earlier visit."""
    before = service.records.version(letter_id, reader=reader).content.encounter
    body = _after(service, letter_id, viewer, reader)
    kept = ("patient", "recipient", "gpPractice", "copies", "reason", "allergies", "medication")
    body["encounter"] |= {key: before[key] for key in kept if key in before}
    body["encounter"]["visit"]["kind"] = "follow-up"
    return body | {"previous": letter_id}


def _correction(service: Service, letter_id: str, reader: Doing) -> dict[str, Any]:
    """The record of an approved letter again, for one that replaces it; of a draft, the draft."""
    before = service.records.version(letter_id, reader=reader)
    return {"encounter": dict(before.content.encounter), "replaces": before.info.letter_digest}


def _compose(service: Service, viewer: Viewer, work_id: str, version: int, body: Mapping[str, Any]) -> Response:
    known = catalogue()
    previous = None
    if body.get("previous"):
        before = earlier_visit(service, body["previous"])
        assert before is not None
        previous = {"date": before.get("visit", {}).get("date"), "name": name_of(before)}
    # Every field is there, whichever release wrote the work.
    whole = Body.model_validate({"encounter": {}} | dict(body)).model_dump()
    return page("compose.j2", {
        "viewer": viewer, "here": "compose", "title": "Compose", "work_id": work_id, "version": version,
        "body": whole, "stages": [(stage.value, name) for stage, name in STAGES.items()], "hands": hands(),
        "problems": [(each.slug, each.name) for each in known.problems.values()], "previous": previous,
    })  # fmt: skip


@router.get("/compose")
def begin(
    request: Request, viewer: Drafting, service: The, demo: bool = False,  # noqa: FBT001, FBT002 - of the address
    after: Annotated[str | None, Query(pattern=LETTER_ID)] = None,
    earlier: Annotated[str | None, Query(pattern=LETTER_ID)] = None,
    replaces: Annotated[str | None, Query(pattern=LETTER_ID)] = None,
) -> Response:  # fmt: skip
    """A letter that is not kept until something is written: empty, invented, or begun from an earlier one."""
    reader = Doing(viewer.caller.id, request.state.request_id)
    if demo:
        body = demo_body()
    elif replaces:
        body = _correction(service, replaces, reader)
    elif earlier:
        body = _next_visit(service, earlier, viewer, reader)
    elif after:
        body = _after(service, after, viewer, reader)
    else:
        body = _begun(viewer)
    return _compose(service, viewer, new_id(), 0, body)


@router.get("/compose/examination.json")
def examination(request: Request, caller: Drafter) -> Response:  # noqa: ARG001 - the caller is checked
    """The items, for the form."""
    return known_json(request, *form())


@router.get("/compose/{work_id}")
def compose(viewer: Drafting, service: The, table: Desk, work_id: WorkId) -> Response:
    """A letter in the making, as it was left."""
    found = table.load(work_id)
    return _compose(service, viewer, work_id, found.version, found.body)


@router.post("/compose/preview")
def preview(
    caller: Drafter, service: The, sent: Annotated[Wanted, Depends(model_body(Wanted))]  # noqa: ARG001 - as above
) -> Response:  # fmt: skip
    """The letter as it will read now, with its queries."""
    before = earlier_visit(service, sent.previous)
    return JSONResponse(told(see(sent.encounter, before, service.settings.templates)))


@router.post("/compose/reading")
def reading(caller: Drafter, sent: Annotated[Note, Depends(model_body(Note))]) -> Response:  # noqa: ARG001 - as above
    """What a pasted note says."""
    from letterkit.reading.read import read  # noqa: PLC0415 - the reader is heavy, and only this route needs it

    found = read(sent.text, language=sent.language)
    return JSONResponse({
        "text": sent.text,
        "findings": [
            {"record": each.record, "start": each.start, "end": each.end, "sure": each.is_clear,
             "reasons": list(each.reasons)}
            for each in found.findings
        ],
        "stages": [
            {"record": dict(each.record), "start": each.start, "end": each.end, "of": of,
             "sure": each.sure == "certain", "reasons": list(each.reasons)}
            for of, group in (("normal", found.normal), ("notExamined", found.not_examined)) for each in group
        ],
        "spans": [{"start": each.start, "end": each.end, "kind": each.kind, "why": each.why} for each in found.spans],
    })  # fmt: skip


@router.put("/compose/{work_id}")
def save(viewer: Drafting, table: Desk, work_id: WorkId, sent: Annotated[Save, Depends(model_body(Save))]) -> Response:
    """Keeps the letter as it is now. Refused, with who it was, where another has written in the meantime."""
    body = json.loads(sent.body.model_dump_json())
    version = table.save(work_id, sent.version, body, viewer.caller.id, viewer.shown)
    return JSONResponse({"version": version})


class Presence(_Sent):
    """Somebody has the letter open in a window of the browser, or closes it."""

    window: Annotated[str, Field(pattern="^[0-9a-f]{8,32}$")]
    leaving: bool = False


@router.post("/compose/{work_id}/presence")
def presence(
    viewer: Drafting, table: Desk, work_id: WorkId, sent: Annotated[Presence, Depends(model_body(Presence))]
) -> Response:
    """Who else has this letter open, and which version stands."""
    if sent.leaving:
        table.leave(work_id, sent.window)
        return JSONResponse({"others": [], "version": None})
    others = table.others(work_id, sent.window, viewer.shown)
    try:
        found = table.load(work_id)
    except LookupError:
        return JSONResponse({"others": others, "version": None})
    return JSONResponse({"others": others, "version": found.version, "by": found.by})
