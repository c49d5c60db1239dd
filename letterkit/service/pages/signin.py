"""Signing in and out."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from limits import RateLimitItemPerMinute
from limits.strategies import SlidingWindowCounterRateLimiter
from starlette.requests import Request
from starlette.responses import Response

from letterkit.records import access
from letterkit.records.store import Doing
from letterkit.service.callers import COOKIE
from letterkit.service.counting import Counts
from letterkit.service.pages.page import PageRoute, go, page
from letterkit.service.problems import Refusal
from letterkit.service.state import The

router = APIRouter(route_class=PageRoute, include_in_schema=False)
_OWN = r"^/([a-z-]+(/[0-9a-f-]*)*)?$"
Next = Annotated[str, Query(pattern=_OWN, max_length=100)]


def _limiter(request: Request) -> SlidingWindowCounterRateLimiter:
    found: SlidingWindowCounterRateLimiter | None = getattr(request.app.state, "sign_in_limiter", None)
    if found is None:
        found = request.app.state.sign_in_limiter = SlidingWindowCounterRateLimiter(Counts())
    return found


def _form(next_page: str, fault: str = "", login: str = "", status: int = 200) -> Response:
    values = {"viewer": None, "here": "", "title": "Sign in", "next": next_page, "fault": fault, "login": login}
    return page("sign_in.j2", values, status)


@router.get("/sign-in")
def sign_in_page(next: Next = "/") -> Response:  # noqa: A002 - the address says it
    """The form."""
    return _form(next)


@router.post("/sign-in")
def sign_in(
    request: Request, service: The, login: Annotated[str, Form(max_length=100)],
    password: Annotated[str, Form(max_length=500)], next: Annotated[str, Form(pattern=_OWN, max_length=100)] = "/",  # noqa: A002
) -> Response:  # fmt: skip
    """Begins a session, or says that it did not."""
    if request.headers.get("sec-fetch-site", "same-origin") not in {"same-origin", "none"}:
        raise Refusal("not-allowed", "A page of another site may not do this.")
    rate = RateLimitItemPerMinute(service.settings.failures_per_minute)
    address = request.client.host if request.client else "unknown"
    limiter = _limiter(request)
    if not limiter.test(rate, address):
        return _form(next, "Too many attempts. Wait a minute, then try again.", login, 429)
    doing = Doing("nobody", request.state.request_id)
    found = access.sign_in(service.records, login, password, doing)
    if found is None:
        limiter.hit(rate, address)
        return _form(next, "The name or the password is not right. Check both, then try again.", login, 401)
    answer = go(next)
    answer.set_cookie(
        COOKIE, found[1], max_age=int(access.SESSION_FOR.total_seconds()), httponly=True, samesite="strict",
        secure=request.url.scheme == "https", path="/",
    )  # fmt: skip
    return answer


@router.post("/sign-out")
def sign_out(request: Request, service: The) -> Response:
    """Ends the session."""
    if request.headers.get("sec-fetch-site", "same-origin") not in {"same-origin", "none"}:
        raise Refusal("not-allowed", "A page of another site may not do this.")
    if token := request.cookies.get(COOKIE):
        access.sign_out(service.records, token)
    answer = go("/sign-in")
    answer.delete_cookie(COOKIE, path="/")
    return answer
