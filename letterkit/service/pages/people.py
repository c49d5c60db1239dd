"""People: who may sign in, and as what. For the administrator."""

from __future__ import annotations

from typing import Annotated, TypeAlias

from fastapi import APIRouter, Depends, Form
from starlette.requests import Request
from starlette.responses import Response

from letterkit.errors import InvalidInput
from letterkit.records import access
from letterkit.records.access import Role, Scope
from letterkit.records.store import Doing
from letterkit.service.callers import needs
from letterkit.service.pages.page import PageRoute, Viewer, go, page
from letterkit.service.state import Service, The

router = APIRouter(prefix="/people", route_class=PageRoute, include_in_schema=False)


def _administrator(request: Request) -> Viewer:
    return Viewer(needs(Scope.ADMIN)(request))


Administrator: TypeAlias = Annotated[Viewer, Depends(_administrator)]


def _people(service: Service, viewer: Viewer, fault: str = "", status: int = 200) -> Response:
    return page("people.j2", {
        "viewer": viewer, "here": "people", "title": "People", "people": access.everyone(service.records),
        "roles": [role.value for role in Role], "shortest": access.SHORTEST_PASSWORD, "fault": fault,
    }, status)  # fmt: skip


@router.get("")
def people(viewer: Administrator, service: The) -> Response:
    """Everyone, and the form for somebody new."""
    return _people(service, viewer)


@router.post("")
def add(
    request: Request, viewer: Administrator, service: The, login: Annotated[str, Form(min_length=1, max_length=100)],
    name: Annotated[str, Form(min_length=1, max_length=200)], role: Annotated[Role, Form()],
    password: Annotated[str, Form(max_length=500)], job_title: Annotated[str, Form(max_length=200)] = "",
) -> Response:  # fmt: skip
    """Somebody new. The first should be an administrator: from then on everybody must sign in."""
    doing = Doing(viewer.caller.id, request.state.request_id)
    if viewer.is_local and role is not Role.ADMINISTRATOR:
        return _people(service, viewer, "Add an administrator first: from then on everybody must sign in.", 422)
    try:
        access.add_person(
            service.records, login.strip(), " ".join(name.split()), role, password, doing,
            job_title=" ".join(job_title.split()) or None,
        )  # fmt: skip
    except InvalidInput as error:
        return _people(service, viewer, " ".join(str(each) for each in error.problems), 422)
    return go("/people")


@router.post("/{login}/disable")
def disable(request: Request, viewer: Administrator, service: The, login: str) -> Response:
    """Lets a person in no more."""
    if viewer.caller.person is not None and viewer.caller.person.login == login:
        return _people(service, viewer, "You cannot shut yourself out.", 422)
    access.disable_person(service.records, login, Doing(viewer.caller.id, request.state.request_id))
    return go("/people")
