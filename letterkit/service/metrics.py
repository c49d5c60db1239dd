"""Figures for Prometheus: how many, how long, how many of which kind; never about whom."""

from __future__ import annotations

import os

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, generate_latest
from prometheus_client.multiprocess import MultiProcessCollector

CONTENT_TYPE = "text/plain; version=0.0.4; charset=utf-8"
_BUCKETS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)


class Metrics:
    """The figures of one process; with several workers each writes its own and all are summed when asked."""

    def __init__(self) -> None:
        self._registry = CollectorRegistry()
        self.requests = Counter(
            "letterkit_requests", "Requests answered.", ["method", "route", "status"], registry=self._registry
        )
        self.seconds = Histogram(
            "letterkit_request_seconds", "How long requests took.", ["route"], buckets=_BUCKETS,
            registry=self._registry,
        )  # fmt: skip
        self.busy = Gauge(
            "letterkit_requests_in_progress", "Requests being worked on.", multiprocess_mode="livesum",
            registry=self._registry,
        )  # fmt: skip
        self.letters = Counter(
            "letterkit_letters", "Letters drafted, changed, answered and approved.", ["kind"], registry=self._registry
        )
        self.queries = Counter("letterkit_queries", "Queries raised.", ["rule"], registry=self._registry)

    def text(self) -> bytes:
        """The figures in Prometheus' text format."""
        if os.environ.get("PROMETHEUS_MULTIPROC_DIR"):
            registry = CollectorRegistry()
            MultiProcessCollector(registry)  # type: ignore[no-untyped-call]  # the library is partly typed
            return generate_latest(registry)
        return generate_latest(self._registry)
