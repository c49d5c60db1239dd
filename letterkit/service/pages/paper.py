"""The pages of a letter in the making, as pictures beside Finish: how many there are, and each of them."""

from __future__ import annotations

from concurrent.futures import Future
from datetime import date
from typing import Annotated, Literal

from fastapi import APIRouter, Path
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from letterkit.errors import LetterkitError
from letterkit.letter.model import Letter
from letterkit.service.pages.desk import Desk, WorkId, today
from letterkit.service.pages.finish import draft_of
from letterkit.service.pages.page import Drafting, PageRoute
from letterkit.service.pages.worktable import Work
from letterkit.service.paper import LIMIT_S, Pages, paper_of, ready
from letterkit.service.problems import Refusal
from letterkit.service.state import Service, The

router = APIRouter(prefix="/finish", route_class=PageRoute, include_in_schema=False)
Reader = Literal["letter", "patient-copy"]
_SOON_S = 0.25  # a page that asks is answered by then; it asks again
_SAID = {
    "word": "These are the pages of the Word document, set by LibreOffice. Word itself may break a page elsewhere.",
    "pdf": "These are the pages of the PDF. The Word document may break its pages elsewhere, and has the clinic’s "
    "letterhead.",
}  # fmt: skip


def _asked(request: Request, service: Service, work: Work, reader: Reader) -> Future[Pages]:
    def letter() -> Letter:
        made = draft_of(service, work.body)
        return made.letter if reader == "letter" else made.patient_copy(service.settings.templates)

    key = (work.id, work.version, reader, date.fromisoformat(today()))  # a draft bears the day it is made on
    return paper_of(request, with_word=service.settings.word_pages).ask(
        key, letter, lambda given: service.maker.file(given, "docx")[0]
    )


def _ready(future: Future[Pages], within: float) -> Pages | None:
    try:
        return ready(future, within)
    except LetterkitError:
        raise Refusal("not-done", "The letter cannot be shown; put right what stands beside it.") from None


@router.get("/{work_id}/{reader}/pages.json")
def count(
    request: Request, viewer: Drafting, service: The, table: Desk, work_id: WorkId, reader: Reader  # noqa: ARG001
) -> Response:  # fmt: skip
    """How many pages there are, once they are made, and of what they are."""
    work = table.load(work_id)
    pages = _ready(_asked(request, service, work, reader), _SOON_S)
    if pages is None:
        return JSONResponse({"state": "working"}, 202)
    base = f"/finish/{work_id}/{reader}/{work.version}"
    whose = "the letter" if reader == "letter" else "the patient’s copy"
    total = len(pages.pictures)
    return JSONResponse({
        "state": "ready", "how": pages.how, "said": _SAID[pages.how],
        "pages": [
            {"src": f"{base}/{number}.png", "alt": f"Page {number} of {total} of {whose}, as a picture. Its words "
             "stand as text under the tabs Letter and Patient’s copy."}
            for number in range(1, total + 1)
        ],
    })  # fmt: skip


@router.get("/{work_id}/{reader}/{version}/{number}.png")
def picture(
    request: Request, viewer: Drafting, service: The, table: Desk, work_id: WorkId, reader: Reader,  # noqa: ARG001
    version: Annotated[int, Path(ge=0)], number: Annotated[int, Path(ge=1, le=99)],
) -> Response:  # fmt: skip
    """One page."""
    work = table.load(work_id)
    if work.version != version:
        raise Refusal("changed-since", f"{work.by} has changed this letter. Load the page again.")
    pages = _ready(_asked(request, service, work, reader), LIMIT_S)  # at once, but where another process made them
    if pages is None or number > len(pages.pictures):
        raise Refusal("not-found")
    return Response(pages.pictures[number - 1], 200, {"Cache-Control": "no-store"}, "image/png")
