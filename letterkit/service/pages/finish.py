"""Finish: answer the queries, look at the letter and the patient's copy, approve in one's own name, next patient."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Form
from starlette.requests import Request
from starlette.responses import Response

from letterkit.consistency.answers import ANSWER_WITHOUT_QUERY
from letterkit.errors import InvalidInput, LetterWithheld, Problem
from letterkit.findings.read_input import read_encounter
from letterkit.pipeline import Draft, draft
from letterkit.records.store import Doing
from letterkit.service.making import content_of
from letterkit.service.pages.compose import earlier_visit
from letterkit.service.pages.desk import Desk, WorkId
from letterkit.service.pages.page import Approving, Drafting, PageRoute, Viewer, go, page
from letterkit.service.pages.preview import page_of, queries_of
from letterkit.service.pages.worktable import Work
from letterkit.service.paper import forget_pages
from letterkit.service.problems import Refusal
from letterkit.service.state import Service, The

router = APIRouter(prefix="/finish", route_class=PageRoute, include_in_schema=False)


@dataclass(frozen=True, slots=True)
class Unseen:
    """What the clinician must look at before the letter leaves: words of the note that were not read, or with doubt."""

    unread: tuple[str, ...]
    doubtful: tuple[str, ...]

    @property
    def any(self) -> bool:
        """Whether there is anything."""
        return bool(self.unread or self.doubtful)


def _unseen(body: Mapping[str, Any]) -> Unseen:
    note = body.get("note") or ""
    unread: tuple[str, ...] = ()
    if note.strip():
        from letterkit.reading.read import read  # noqa: PLC0415 - only where a note was pasted

        language = body["encounter"].get("options", {}).get("language", "en-GB")
        found = read(note, language=language)
        unread = tuple(" ".join(found.quote(span).split()) for span in found.unread)
    doubtful = tuple(
        f"{mark.get('quote', '')}: {'; '.join(mark.get('reasons') or ['read with doubt'])}"
        for mark in body.get("marks", ())
        if mark.get("origin") == "note" and not mark.get("sure", True) and not mark.get("seen")
    )
    return Unseen(unread, doubtful)


def draft_of(service: Service, body: Mapping[str, Any]) -> Draft:
    """The draft of the whole record, strictly. Raises InvalidInput."""
    before = earlier_visit(service, body.get("previous"))
    return draft(read_encounter(body["encounter"]), previous=before, templates=service.settings.templates)


def _finish(service: Service, viewer: Viewer, work: Work, fault: str = "", status: int = 200, **more: Any) -> Response:
    values: dict[str, Any] = {
        "viewer": viewer, "here": "finish", "title": "Finish", "work": work, "fault": fault, "copy": False,
        "unseen": _unseen(work.body), "problems": [], "queries": [], "letter": "", "blocked": True, "patient": "",
        "pages": False,
        "by": (work.encounter.get("author") or {}).get("name", "") if viewer.is_local else viewer.name,
    }  # fmt: skip
    try:
        made = draft_of(service, work.body)
        queries = queries_of(made, range(len(made.encounter.examination.findings)))
        values |= {
            "queries": queries, "letter": page_of(made.letter), "blocked": any(query["blocks"] for query in queries),
            "patient": page_of(made.patient_copy(service.settings.templates)),
        }  # fmt: skip
    except InvalidInput as error:
        values["problems"] = error.problems
    except LetterWithheld as error:
        values["problems"] = (Problem("letter", str(error)),)
    return page("finish.j2", values | more, status)


@router.get("/{work_id}")
def finish(
    viewer: Drafting, service: The, table: Desk, work_id: WorkId, copy: bool = False, pages: bool = False  # noqa: FBT001, FBT002 - of the address
) -> Response:  # fmt: skip
    """The letter whole, its open queries, and the approval; with `pages` as the pages of its file."""
    return _finish(service, viewer, table.load(work_id), copy=copy, pages=pages)


@router.post("/{work_id}/answers")
def answer(
    viewer: Drafting, service: The, table: Desk, work_id: WorkId, version: Annotated[int, Form(ge=1)],
    rule: Annotated[str, Form(max_length=200)], findings: Annotated[str, Form(pattern=r"^[\d ]*$", max_length=99)] = "",
    reason: Annotated[str, Form(max_length=4000)] = "",
) -> Response:  # fmt: skip
    """Keeps the record as it is against one query, for a reason; an answer that no query asks for is taken back."""
    found = table.load(work_id)
    if rule == ANSWER_WITHOUT_QUERY:
        left = [each for at, each in enumerate(found.encounter.get("answers", ())) if str(at) != findings.strip()]
        body = {**found.body, "encounter": {**found.encounter, "answers": left}}
        table.save(work_id, version, body, viewer.caller.id, viewer.shown)
        return go(f"/finish/{work_id}#queries")
    if not reason.strip():
        return _finish(service, viewer, found, f"Say why the record stays as it is ({rule}).", 422)
    given: dict[str, Any] = {"rule": rule, "answer": "kept", "reason": " ".join(reason.split())}
    if findings.strip():
        given["findings"] = [int(each) for each in findings.split()]
    if viewer.name:
        given["by"] = viewer.name
    answers = [
        each for each in found.encounter.get("answers", ())
        if (each.get("rule"), each.get("findings")) != (rule, given.get("findings"))
    ]  # fmt: skip
    body = {**found.body, "encounter": {**found.encounter, "answers": [*answers, given]}}
    table.save(work_id, version, body, viewer.caller.id, viewer.shown)
    return go(f"/finish/{work_id}#queries")


@router.get("/{work_id}/{reader}.{form}")
def file(
    viewer: Drafting, service: The, table: Desk, work_id: WorkId, reader: Literal["letter", "patient-copy"],  # noqa: ARG001
    form: Literal["docx", "pdf"],
) -> Response:  # fmt: skip
    """The draft, or the patient's copy of it, as a file; its name says nothing of the patient."""
    made = draft_of(service, table.load(work_id).body)
    letter = made.letter if reader == "letter" else made.patient_copy(service.settings.templates)
    content, media_type, suffix = service.maker.file(letter, form)
    kind = "inline" if form == "pdf" else "attachment"
    headers = {"Content-Disposition": f'{kind}; filename="{reader}-draft{suffix}"'}
    return Response(content, 200, headers, media_type)


@router.post("/{work_id}/approval")
def approve(
    request: Request, viewer: Approving, service: The, table: Desk, work_id: WorkId,
    version: Annotated[int, Form(ge=1)], by: Annotated[str, Form(max_length=200)] = "",
    seen: Annotated[str, Form(max_length=10)] = "",
) -> Response:  # fmt: skip
    """Makes the final letter in the name of who approves it, and ends the work on it."""
    found = table.load(work_id)
    if found.version != version:
        message = f"{found.by} has changed this letter since you opened this page. Read it again, then approve."
        return _finish(service, viewer, found, message, 409)
    if _unseen(found.body).any and not seen:
        message = "Look at the words that were not read, or read with doubt, and say that you have."
        return _finish(service, viewer, found, message, 422)
    person = viewer.caller.person
    name = person.name if person else " ".join(by.split())
    if not name:
        return _finish(service, viewer, found, "Give the name of the clinician who approves the letter.", 422)
    try:
        made = draft_of(service, found.body)
        final = service.maker.approved(
            made, by=name, role=person.job_title if person else None, identifier=person.identifier if person else None,
            replaces=found.body.get("replaces"),
        )  # fmt: skip
    except (InvalidInput, LetterWithheld):
        return _finish(service, viewer, found, "The record is not whole yet; see below.", 422)
    except Refusal as refusal:
        detail = " ".join(fault.detail for fault in refusal.errors) or refusal.detail
        return _finish(service, viewer, found, detail, refusal.status)
    doing = Doing(viewer.caller.id, request.state.request_id)
    info = service.records.create(content_of(made), doing)
    service.records.add(info.letter_id, info.number, "approved", final, doing)
    service.metrics.letters.labels("approved").inc()
    table.end(work_id, viewer.caller.id, "work.approved")
    forget_pages(request, work_id)
    return go(f"/letters/{info.letter_id}")
