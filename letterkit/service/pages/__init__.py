"""The pages people use: server-rendered, a few plain modules beside them, nothing fetched from elsewhere.

`page` sets a page and its errors; `worktable` keeps letters in the making; `desk`, `compose`, `finish`, `earlier` and
`signin` are the pages. A page decides nothing of what a letter says.
"""

from __future__ import annotations

from fastapi import APIRouter

from letterkit.service.pages import (
    compose,
    desk,
    earlier,
    finish,
    matching,
    paper,
    people,
    rows,
    sheets,
    signin,
    static,
)

router = APIRouter()
"""All pages."""
for _part in (desk, compose, finish, paper, earlier, matching, rows, sheets, people, signin, static):
    router.include_router(_part.router)
