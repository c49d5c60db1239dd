"""A page: its template, its headers, who looks at it, and what is said when something went wrong."""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from typing import Annotated, Any, TypeAlias
from urllib.parse import quote

from fastapi import Depends
from fastapi.exceptions import RequestValidationError
from fastapi.routing import APIRoute
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from letterkit import __version__
from letterkit.errors import LetterkitError
from letterkit.letter.templates import shipped_templates
from letterkit.records.access import Role, Scope
from letterkit.service.callers import LOCAL, Caller, needs
from letterkit.service.problems import TYPES, Refusal, refusal_of

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; form-action 'self'; "
    "frame-ancestors 'none'; base-uri 'none'"
)
_HTML = "text/html"
_REMEDIES = {
    "not-allowed": "Ask for someone whose role allows it, or sign in as another person.",
    "not-found": "It may have been approved, discarded or erased. Look for it among the earlier letters.",
    "erased": "Nothing of it can be shown any more.",
    "unavailable": "Wait a moment and load the page again. What was saved is kept.",
    "too-many-requests": "Wait a little and try again.",
    "stateless": "This service stores nothing, so it has no pages. Start it with records.",
    "internal": "Load the page again. If it stays so, give the number below to whoever looks after the service.",
}


@cache
def _environment() -> Environment:
    found = Environment(
        loader=FileSystemLoader(str(shipped_templates() / "web")), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    found.filters["moment"] = moment
    found.filters["day"] = day
    found.filters["day_and_time"] = day_and_time
    return found


def moment(value: datetime) -> str:
    """A moment as a clinic writes it, in this machine's own time."""
    return f"{value.astimezone():%d-%b-%Y %H:%M}"


def day_and_time(value: str) -> str:
    """A moment that was kept as ISO text, as a clinic writes it."""
    return moment(datetime.fromisoformat(value))


def day(value: date | str | None) -> str:
    """A date as a clinic writes it, or nothing; what is no date as it was written."""
    if not value:
        return ""
    if isinstance(value, str):
        try:
            return f"{date.fromisoformat(value):%d-%b-%Y}"
        except ValueError:  # half written, or of a calendar that does not have it
            return value
    return f"{value:%d-%b-%Y}"


@dataclass(frozen=True, slots=True)
class Viewer:
    """Who looks at a page. `name` is empty for whoever sits at a machine where nobody was ever added."""

    caller: Caller

    @property
    def name(self) -> str:
        """The name that goes under a letter."""
        return self.caller.person.name if self.caller.person else ""

    @property
    def shown(self) -> str:
        """How others see who this is."""
        return self.name or "someone at this computer"

    @property
    def may_draft(self) -> bool:
        """Whether letters may be written."""
        return Scope.DRAFT in self.caller.scopes

    @property
    def may_approve(self) -> bool:
        """Whether letters may be approved."""
        return Scope.APPROVE in self.caller.scopes

    @property
    def may_run_sheets(self) -> bool:
        """Whether sheets may be run."""
        return Scope.BULK in self.caller.scopes

    @property
    def is_local(self) -> bool:
        """Whether nobody had to sign in."""
        return self.caller is LOCAL

    @property
    def role(self) -> str:
        """The role in a word."""
        person = self.caller.person
        return person.role.value if person else Role.CLINICIAN.value


def _viewer(*scopes: Scope) -> Callable[[Request], Viewer]:
    required = needs(*scopes)

    def dependency(request: Request) -> Viewer:
        return Viewer(required(request))

    return dependency


Drafting: TypeAlias = Annotated[Viewer, Depends(_viewer(Scope.DRAFT))]
Reading: TypeAlias = Annotated[Viewer, Depends(_viewer(Scope.READ))]
Running: TypeAlias = Annotated[Viewer, Depends(_viewer(Scope.BULK))]
Approving: TypeAlias = Annotated[Viewer, Depends(_viewer(Scope.APPROVE))]
Anyone: TypeAlias = Annotated[Viewer, Depends(_viewer(Scope.DRAFT, Scope.READ, Scope.APPROVE, Scope.BULK, Scope.ADMIN))]


def page(name: str, values: Mapping[str, Any], status: int = 200) -> HTMLResponse:
    """The page made by a template, with the policy that lets only our own files run."""
    text = _environment().get_template(name).render(release=__version__, **values)
    # Without its own origin in a form's request, a page of this machine could not be told from one of another site.
    return HTMLResponse(text, status, {"Content-Security-Policy": POLICY, "Referrer-Policy": "same-origin"})


def go(path: str) -> RedirectResponse:
    """To another page, after something was done."""
    return RedirectResponse(path, 303)


def _told(request: Request, refusal: Refusal) -> Response:
    if refusal.slug == "not-authenticated":
        wanted = request.url.path if request.method == "GET" else "/"
        return RedirectResponse(f"/sign-in?next={quote(wanted)}", 303)
    status, title = TYPES[refusal.slug]
    request.state.problem = refusal.slug
    values = {
        "viewer": None, "here": "", "title": title, "detail": refusal.detail,
        "faults": [fault.detail for fault in refusal.errors], "remedy": _REMEDIES.get(refusal.slug, ""),
        "request_id": request.state.request_id,
    }  # fmt: skip
    found = page("problem.j2", values, status)
    found.headers.update(refusal.headers)
    return found


class PageRoute(APIRoute):
    """A route whose refusals are told as a page to whoever asks for one; programs still get problem details."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """The route's handler with our way of telling what went wrong."""
        handle = super().get_route_handler()

        async def handler(request: Request) -> Response:
            if _HTML not in request.headers.get("accept", ""):
                return await handle(request)
            try:
                return await handle(request)
            except Refusal as refusal:
                return _told(request, refusal)
            except LetterkitError as error:
                return _told(request, refusal_of(error))
            except RequestValidationError:
                return _told(request, Refusal("not-found", "The address is not one of ours."))

        return handler


def known_json(request: Request, content: bytes, tag: str) -> Response:
    """JSON that scripts of a page ask for each time and seldom get anew: nothing where they have what has that tag."""
    headers = {"ETag": tag, "Cache-Control": "private, no-cache"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    return Response(content, 200, headers, "application/json")
