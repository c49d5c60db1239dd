"""The desk: letters in the making, and where a new one begins. Also what the pages share of the running service."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Annotated, Any, TypeAlias

from fastapi import APIRouter, Depends, Path
from starlette.requests import Request
from starlette.responses import Response

from letterkit.records.store import Store
from letterkit.service.documented import demo_folder
from letterkit.service.pages.page import Anyone, Drafting, PageRoute, go, page
from letterkit.service.pages.worktable import Worktable
from letterkit.service.paper import forget_pages
from letterkit.service.state import The

router = APIRouter(route_class=PageRoute, include_in_schema=False)
WorkId: TypeAlias = Annotated[str, Path(pattern=r"^[0-9a-f]{32}$")]
DEMO = "early_nerve_compression.json"


def _table(request: Request, service: The) -> Worktable:
    store: Store = service.records
    found: Worktable | None = getattr(request.app.state, "worktable", None)
    if found is None:
        found = request.app.state.worktable = Worktable(store.engine)
    return found


Desk: TypeAlias = Annotated[Worktable, Depends(_table)]


def today() -> str:
    """The clinic's own day, as a record has it."""
    return datetime.now().astimezone().date().isoformat()


def demo_body() -> dict[str, Any]:
    """An invented encounter of today to try things with."""
    encounter = json.loads((demo_folder() / DEMO).read_text(encoding="utf-8"))
    encounter.pop("drafted", None)
    encounter["visit"]["date"] = today()
    return {"encounter": encounter, "note": "", "demo": True}


@router.get("/")
def desk(viewer: Anyone, service: The, table: Desk) -> Response:
    """The letters in the making; on first use an invented encounter to try."""
    if not viewer.may_draft:
        return go("/people")
    waiting = table.listed()
    if not waiting and not service.records.listed(1):
        return go("/compose?demo=1")
    return page("desk.j2", {"viewer": viewer, "here": "desk", "title": "Desk", "waiting": waiting})


@router.post("/work/{work_id}/discard")
def discard(request: Request, viewer: Drafting, table: Desk, work_id: WorkId) -> Response:
    """Throws a letter in the making away."""
    table.load(work_id)
    table.end(work_id, viewer.caller.id, "work.discarded")
    forget_pages(request, work_id)
    return go("/")
