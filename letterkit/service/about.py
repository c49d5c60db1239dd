"""What the service knows, and how it is: catalogue, rules, schema, kinds of problem, health, figures."""

from __future__ import annotations

from functools import cache
from typing import Annotated, Any, TypeAlias

from fastapi import APIRouter, Depends, Path, Query
from sqlalchemy.exc import SQLAlchemyError
from starlette.responses import Response

from letterkit.catalogue import catalogue
from letterkit.catalogue.page import matching
from letterkit.consistency.registry import rules
from letterkit.findings.schema import encounter_schema
from letterkit.records.access import Scope
from letterkit.records.database import revision
from letterkit.records.errors import NotStored, RecordsError
from letterkit.records.tables import HEAD
from letterkit.service.callers import Caller, needs_soon
from letterkit.service.documented import refusals
from letterkit.service.metrics import CONTENT_TYPE
from letterkit.service.problems import TYPES, Refusal
from letterkit.service.resources import HealthOut, ProblemTypeOut
from letterkit.service.state import The

router = APIRouter()
Anyone: TypeAlias = Annotated[
    Caller, Depends(needs_soon(Scope.DRAFT, Scope.READ, Scope.APPROVE, Scope.BULK, Scope.ADMIN))
]
Administrator: TypeAlias = Annotated[Caller, Depends(needs_soon(Scope.ADMIN))]
_REFUSED = refusals(401, 403, 422, 429, 503)


@cache
def _catalogue(words: str) -> dict[str, Any]:
    known = catalogue()
    return {
        "items": [
            item.model_dump(mode="json", exclude_defaults=True, exclude={"doctor", "patient"})
            for item in matching(known, words)
        ],
        "sites": [{"slug": site.slug, "name": site.name} for site in known.sites.values()],
        "problems": [{"slug": problem.slug, "name": problem.name} for problem in known.problems.values()],
    }


@router.get("/v1/catalogue", tags=["what is known"], summary="The examination: items, sites, problems",
            responses=_REFUSED)  # fmt: skip
def examination(
    caller: Anyone,  # noqa: ARG001 - the caller is checked
    matching: Annotated[str, Query(max_length=100, description="Words of a name, slug or synonym")] = "",
) -> dict[str, Any]:
    """All items, or those that match."""
    words = " ".join(matching.split())
    return _catalogue.__wrapped__(words) if words else _catalogue("")


@router.get("/v1/rules", tags=["what is known"], summary="The query rules", responses=_REFUSED)
def query_rules(caller: Anyone) -> dict[str, Any]:  # noqa: ARG001 - the caller is checked
    """What each asks, why, and from where."""
    return {"rules": [
        {"rule": each.slug, "class": each.query_class.value, "family": each.family, "asks": each.asks,
         "rationale": each.rationale, "settle": each.settle, "source": each.source}
        for each in rules()
    ]}  # fmt: skip


@router.get("/v1/schema", tags=["what is known"], summary="The JSON Schema of an encounter", responses=_REFUSED)
def schema(caller: Anyone) -> dict[str, Any]:  # noqa: ARG001 - the caller is checked
    """JSON Schema 2020-12, with what each item of the catalogue allows."""
    return encounter_schema()


@router.get("/v1/problems/{slug}", tags=["what is known"], response_model=ProblemTypeOut,
            summary="What a kind of problem means", responses=refusals(401, 403, 404, 422, 429, 503))  # fmt: skip
def problem(caller: Anyone, slug: Annotated[str, Path(max_length=40)]) -> ProblemTypeOut:  # noqa: ARG001 - as above
    """The kinds that `type` of a problem names."""
    if slug not in TYPES:
        raise NotStored("problem: there is no such kind")
    status, title = TYPES[slug]
    return ProblemTypeOut(type=f"/v1/problems/{slug}", title=title, status=status)


@router.get("/healthz", tags=["health"], response_model=HealthOut, summary="Whether the process lives",
            responses=refusals())  # fmt: skip
async def health(service: The) -> HealthOut:
    """Asks nothing of anyone else."""
    return HealthOut(status="ok", stateless=service.store is None)


@router.get("/readyz", tags=["health"], response_model=HealthOut, summary="Whether the service can do its work",
            responses=refusals(503))  # fmt: skip
def ready(service: The) -> HealthOut:
    """Asks the records."""
    if service.store is not None:
        try:
            stands_at = revision(service.store.engine)
        except (SQLAlchemyError, RecordsError):
            stands_at = None
        if stands_at != HEAD:
            raise Refusal("unavailable", "The records cannot be used now.", headers={"Retry-After": "5"})
    return HealthOut(status="ok", stateless=service.store is None)


@router.get("/metrics", tags=["health"], summary="Figures for Prometheus", response_class=Response, responses={
    200: {"description": "The figures", "content": {"text/plain": {"schema": {"type": "string"}}}},
    **refusals(401, 403, 429, 503),
})  # fmt: skip
def figures(service: The, caller: Administrator) -> Response:  # noqa: ARG001 - the caller is checked
    """Counts and times; nothing of anyone."""
    return Response(service.metrics.text(), 200, media_type=CONTENT_TYPE)
