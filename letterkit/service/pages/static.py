"""The pages' own style and modules: a closed list of files that ship with the package."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib import resources
from typing import Annotated

from fastapi import APIRouter, Path
from starlette.requests import Request
from starlette.responses import Response

from letterkit.service.problems import Refusal

router = APIRouter(include_in_schema=False)
_KINDS = {".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8", ".svg": "image/svg+xml"}


@cache
def _file(name: str) -> tuple[bytes, str] | None:
    found = resources.files("letterkit.service") / "static" / name
    if not found.is_file():
        return None
    content = found.read_bytes()
    return content, f'"{hashlib.sha256(content).hexdigest()[:16]}"'


@router.get("/static/{name}")
async def static(request: Request, name: Annotated[str, Path(pattern=r"^[a-z_-]{1,40}\.(js|css|svg)$")]) -> Response:
    """One of them; anybody may see it."""
    found = _file(name)
    if found is None:
        raise Refusal("not-found")
    content, tag = found
    headers = {"ETag": tag, "Cache-Control": "no-cache"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    return Response(content, 200, headers, _KINDS[name[name.rindex(".") :]])
