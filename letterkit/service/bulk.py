"""`/v1/bulk-runs`: a sheet in, progress as server-sent events, the letters and the outcome sheet as a zip stream."""

from __future__ import annotations

import asyncio
import hashlib
import json
from collections.abc import AsyncIterator
from pathlib import PurePath
from typing import Annotated, Any, Literal, TypeAlias

from fastapi import APIRouter, Depends, File, Form, Path, UploadFile
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from zipstream import ZipStream

from letterkit.bulk import READERS
from letterkit.records.access import Scope
from letterkit.records.errors import AlreadyDone
from letterkit.service.bodies import IdempotencyKey, doing
from letterkit.service.callers import Caller, needs_soon
from letterkit.service.documented import refusals
from letterkit.service.problems import Fault, Refusal
from letterkit.service.resources import LETTER_ID, BulkRunOut
from letterkit.service.runs import SUFFIXES, Asked, Runs, as_json
from letterkit.service.state import Service, The

router = APIRouter(prefix="/v1/bulk-runs", tags=["bulk runs"])
Runner: TypeAlias = Annotated[Caller, Depends(needs_soon(Scope.BULK))]
RunId: TypeAlias = Annotated[str, Path(pattern=LETTER_ID, description="The run's id")]
_EVERY_S = 1.0  # between looks at a run
_STREAM_S = 25.0  # a stream ends before a stopping service would cut it; the reader's next request goes on
_CHUNK = 1 << 20


def runs_of(service: Service) -> Runs:
    """The bulk runs of a service. Raises Refusal where nothing is stored."""
    assert service.records is not None
    return service.runs


@router.post("", status_code=202, response_model=BulkRunOut, summary="Draft a letter from every row of a sheet",
             responses=refusals(400, 401, 403, 408, 409, 413, 415, 422, 429, 503))  # fmt: skip
def create(
    request: Request, service: The, caller: Runner,
    sheet: Annotated[UploadFile, File(description="CSV, TSV, XLSX, ODS or JSON Lines; its name says which")],
    formats: Annotated[list[Literal["docx", "pdf", "html", "text"]] | None, Form(min_length=1, max_length=4)] = None,
    readers: Annotated[list[Literal["doctor", "patient"]] | None, Form(min_length=1, max_length=2)] = None,
    print_run: Annotated[bool, Form(description="Also one document of all letters, in order of recipient")] = False,  # noqa: FBT002
    key: IdempotencyKey = None,
) -> Response:  # fmt: skip
    """Keeps the sheet and begins the run; look at it, or listen to its events."""
    runs = runs_of(service)
    suffix = PurePath(sheet.filename or "").suffix.lower()
    if suffix not in SUFFIXES:
        fault = Fault(detail=f"give a file whose name ends in {', '.join(SUFFIXES)}", pointer="#/sheet")
        raise Refusal("invalid-input", "One fault was found.", [fault])
    asked = Asked(
        suffix,
        tuple(dict.fromkeys(formats or ["docx"])),
        tuple(dict.fromkeys(readers or READERS)),
        print_run,
    )
    run_id, folder = runs.new()
    try:
        digest = hashlib.sha256(repr(asked).encode())
        with (folder / f"sheet{suffix}").open("wb") as kept:
            while chunk := sheet.file.read(_CHUNK):
                digest.update(chunk)
                kept.write(chunk)
        service.records.begin(run_id, "bulk.begun", doing(request, caller, key, digest.digest()))
    except AlreadyDone as before:
        runs.drop(run_id)
        run_id = before.letter_id
    except BaseException:
        runs.drop(run_id)
        raise
    runs.begin(run_id, asked)
    headers = {"Location": f"/v1/bulk-runs/{run_id}"}
    return Response(json.dumps(as_json(runs.progress(run_id))), 202, headers, "application/json")


@router.get("/{run_id}", response_model=BulkRunOut, summary="How far a run is",
            responses=refusals(401, 403, 404, 409, 422, 429, 503))  # fmt: skip
def look(service: The, caller: Runner, run_id: RunId) -> dict[str, Any]:  # noqa: ARG001 - the caller is checked
    """Counts of letters drafted, drafted with queries, refused and waiting."""
    return as_json(runs_of(service).progress(run_id))


@router.get("/{run_id}/events", summary="A run's progress as server-sent events", response_class=Response,
            responses={200: {"description": "Events `progress`, and `end` at the end",
                             "content": {"text/event-stream": {"schema": {"type": "string"}}}},
                       **refusals(401, 403, 404, 409, 422, 429, 503)})  # fmt: skip
async def events(service: The, caller: Runner, run_id: RunId) -> Response:  # noqa: ARG001 - the caller is checked
    """One event at each change. The stream ends from time to time; a reader connects again."""
    runs = runs_of(service)
    first = await run_in_threadpool(runs.progress, run_id)

    async def stream() -> AsyncIterator[str]:
        yield "retry: 1000\n\n"
        told, progress = "", first
        for _ in range(round(_STREAM_S / _EVERY_S)):
            now = json.dumps(as_json(progress))
            over = progress.state in {"done", "failed"}
            if now != told:
                yield f"event: {'end' if over else 'progress'}\ndata: {now}\n\n"
                told = now
            if over:
                return
            await asyncio.sleep(_EVERY_S)
            progress = await run_in_threadpool(runs.progress, run_id)

    return StreamingResponse(stream(), media_type="text/event-stream")


@router.get("/{run_id}/results", summary="The letters and the outcome sheet of a run, as one archive",
            response_class=Response,
            responses={200: {"description": "The archive", "content": {"application/zip": {"schema": {}}}},
                       **refusals(401, 403, 404, 409, 422, 429, 503)})  # fmt: skip
def results(service: The, caller: Runner, run_id: RunId) -> Response:  # noqa: ARG001 - the caller is checked
    """Streamed: nothing is packed beforehand, and its length is known."""
    archive = ZipStream(sized=True)
    for path, name in runs_of(service).results(run_id):
        archive.add_path(path, name)
    headers = {
        "Content-Length": str(len(archive)),
        "Content-Disposition": f'attachment; filename="letters-{run_id[:8]}.zip"',
    }
    return StreamingResponse(iter(archive), media_type="application/zip", headers=headers)
