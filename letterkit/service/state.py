"""What the routes of one application share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends
from starlette.requests import Request

from letterkit.records.store import Store
from letterkit.service.callers import Callers
from letterkit.service.making import Maker
from letterkit.service.metrics import Metrics
from letterkit.service.problems import Refusal
from letterkit.service.runs import Runs
from letterkit.settings import Settings


@dataclass(frozen=True)
class Service:
    """The parts of a running service; `store` is None where nothing is stored."""

    settings: Settings
    store: Store | None
    callers: Callers
    maker: Maker
    metrics: Metrics
    runs: Runs

    @property
    def records(self) -> Store:
        """The store. Raises Refusal where nothing is stored."""
        if self.store is None:
            raise Refusal("stateless", "This service stores nothing; use /v1/checks, /v1/readings and /v1/previews.")
        return self.store


async def _service(request: Request) -> Service:
    service: Service = request.app.state.service
    return service


The = Annotated[Service, Depends(_service)]
"""The parts of the service, for a route."""
