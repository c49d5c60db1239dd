"""Structured logs: one JSON object a line, and only fields of a list, so that no patient's word can slip in."""

from __future__ import annotations

import logging
import sys
from collections.abc import MutableMapping
from typing import Any

import structlog

ALLOWED = frozenset({
    "event", "level", "timestamp", "logger", "request_id", "caller", "method", "route", "status", "duration_ms",
    "bytes_in", "bytes_out", "problem", "error", "where", "worker", "host", "port", "workers", "stateless", "action",
    "reason",
})  # fmt: skip


def only_allowed(_logger: Any, _name: str, event: MutableMapping[str, Any]) -> MutableMapping[str, Any]:
    """The fields that may be logged; the rest is dropped without a word of it."""
    return {key: value for key, value in event.items() if key in ALLOWED}


def _quiet(_logger: Any, _name: str, event: MutableMapping[str, Any]) -> MutableMapping[str, Any]:
    """Of a foreign library's line: where it comes from and what failed, never its text or traceback."""
    record = event.get("_record")
    if record is None or record.name in {"letterkit", "uvicorn.error"}:
        return event
    told = {"event": "library", "logger": record.name, "level": record.levelname.lower()}
    if record.exc_info and record.exc_info[0]:
        told["error"] = record.exc_info[0].__name__
    kept = {key: event[key] for key in ("timestamp", "_record", "_from_structlog") if key in event}
    return told | kept


def configure(level: str) -> None:
    """Sends every log line of this process, ours and the libraries', through the list to standard error."""
    shared: list[Any] = [
        structlog.contextvars.merge_contextvars,
        structlog.stdlib.add_log_level,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
    ]
    structlog.configure(
        processors=[*shared, structlog.stdlib.ProcessorFormatter.wrap_for_formatter],
        wrapper_class=structlog.make_filtering_bound_logger(level),
        logger_factory=structlog.stdlib.LoggerFactory(),
        cache_logger_on_first_use=False,
    )
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(
        structlog.stdlib.ProcessorFormatter(
            foreign_pre_chain=shared,
            processors=[
                _quiet,
                structlog.stdlib.ProcessorFormatter.remove_processors_meta,
                only_allowed,
                structlog.processors.JSONRenderer(),
            ],
        )
    )
    root = logging.getLogger()
    root.handlers = [handler]
    root.setLevel("WARNING")  # of the libraries
    for name in ("letterkit", "uvicorn.error"):
        logging.getLogger(name).setLevel(level.upper())
    for name in ("uvicorn", "uvicorn.error", "uvicorn.access"):
        logger = logging.getLogger(name)
        logger.handlers = []
        logger.propagate = name != "uvicorn.access"  # the guard logs accesses, without addresses


def log() -> Any:
    """The service's logger."""
    return structlog.get_logger("letterkit")


def where(error: BaseException) -> str:
    """The place in our own code where an error came from, without its text."""
    place, trace = "", error.__traceback__
    while trace is not None:
        name = trace.tb_frame.f_globals.get("__name__", "")
        if name.startswith("letterkit"):
            place = f"{name}:{trace.tb_lineno}"
        trace = trace.tb_next
    return place
