"""The application: its routes under its guard."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import cache
from typing import Any

import anyio.to_thread
from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as PoolTimeout
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp

from letterkit.errors import LetterkitError
from letterkit.records.store import Store
from letterkit.service import about, bulk, changes, checks, letters, pages
from letterkit.service.callers import Callers
from letterkit.service.documented import openapi_of
from letterkit.service.guard import Guard
from letterkit.service.logs import log, where
from letterkit.service.making import Maker
from letterkit.service.metrics import Metrics
from letterkit.service.problems import Fault, Refusal, answer, counted, refusal_of
from letterkit.service.runs import Runs
from letterkit.service.state import Service
from letterkit.settings import Settings

_BY_STATUS = {404: "not-found", 405: "method-not-allowed", 413: "body-too-large", 415: "media-type"}


def _refused(request: Request, refusal: Refusal) -> Response:
    request.state.problem = refusal.slug
    return answer(refusal, request.state.request_id)


def _allowed(app: FastAPI, path: str) -> str:
    """The methods that a path has; the framework names those of one route only."""
    methods: set[str] = set()
    for template, operations in app.openapi()["paths"].items():
        if re.fullmatch(re.sub(r"\{[^}]+\}", "[^/]+", template), path):
            methods |= {method.upper() for method in operations}
    return ", ".join(sorted(methods))


def _handlers(app: FastAPI) -> None:
    @app.exception_handler(Refusal)
    async def refusal(request: Request, error: Exception) -> Response:
        assert isinstance(error, Refusal)
        return _refused(request, error)

    @app.exception_handler(LetterkitError)
    async def known(request: Request, error: Exception) -> Response:
        assert isinstance(error, LetterkitError)
        found = refusal_of(error)
        if found.status >= 500:  # noqa: PLR2004 - a fault of ours: its kind and place go to the log, not its words
            log().error("failed", error=type(error).__name__, where=where(error))
        return _refused(request, found)

    @app.exception_handler(RequestValidationError)
    async def invalid(request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)
        found = [
            Fault(detail=f"{'.'.join(map(str, each['loc']))}: {each['msg']}", pointer="#") for each in error.errors()
        ]
        return _refused(request, Refusal("invalid-input", counted(found), found))

    @app.exception_handler(HTTPException)
    async def framework(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        slug = _BY_STATUS.get(error.status_code, "bad-request")
        headers = dict(error.headers or {})
        if slug == "method-not-allowed" and (allowed := _allowed(app, request.url.path)):
            headers = {"Allow": allowed}
        return _refused(request, Refusal(slug, headers=headers))

    async def unavailable(request: Request, error: Exception) -> Response:
        log().error("failed", error=type(error).__name__, where=where(error))
        detail = "The records cannot be used now."
        return _refused(request, Refusal("unavailable", detail, headers={"Retry-After": "5"}))

    async def failed(request: Request, _error: Exception) -> Response:
        # The framework raises the error on, and the guard logs where it came from.
        return _refused(request, Refusal("internal", "The service failed; its log has the request's id."))

    app.add_exception_handler(Exception, failed)
    app.add_exception_handler(DBAPIError, unavailable)
    app.add_exception_handler(PoolTimeout, unavailable)


def create_app(settings: Settings, store: Store | None = None) -> FastAPI:
    """The application of these settings; `store` is opened from them where it is not given and something is stored."""
    if store is None and not settings.stateless:
        store = Store.open(settings.records.get_secret_value())
    maker = Maker(settings)
    runs = Runs(settings.runs_folder, settings.letterhead, settings.templates)

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        # One drafts, the others wait for the disk: what waits together is written together.
        anyio.to_thread.current_default_thread_limiter().total_tokens = settings.threads
        maker.warm()
        if store is not None:
            runs.see_to_all()
        yield
        if (paper := getattr(app.state, "paper", None)) is not None:
            paper.close()
        runs.close()
        if store is not None:
            store.close()

    app = FastAPI(title="letterkit", lifespan=lifespan, docs_url=None, redoc_url=None, openapi_url=None)
    metrics = Metrics()
    app.state.service = Service(settings, store, Callers(settings, store), maker, metrics, runs)
    _handlers(app)
    for router in (changes.router, letters.router, checks.router, bulk.router, about.router, pages.router):
        app.include_router(router)

    @cache
    def openapi() -> dict[str, Any]:
        return openapi_of(app)

    app.openapi = openapi  # type: ignore[method-assign]  # the way the framework documents

    @app.get("/v1/openapi.json", include_in_schema=False)
    def document(caller: about.Anyone) -> dict[str, Any]:  # noqa: ARG001 - the caller is checked
        return openapi()

    return app


def guarded(app: FastAPI) -> ASGIApp:
    """The application inside its guard: what a server runs."""
    service: Service = app.state.service
    return Guard(app, service.settings, service.metrics)
