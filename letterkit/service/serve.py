"""Running the service: address, workers, logs, and a stop that finishes what was begun."""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile

import uvicorn
from starlette.types import ASGIApp

from letterkit.errors import InvalidInput, Problem
from letterkit.records.access import any_access
from letterkit.records.store import Store
from letterkit.service.callers import read_key_file
from letterkit.service.logs import configure, log
from letterkit.settings import Settings, load_settings

_GIVEN = "LETTERKIT_"


def check_address(settings: Settings) -> None:
    """Raises InvalidInput for an address that others reach while nobody needs a key."""
    if settings.loopback:
        return
    if settings.stateless:
        guarded = settings.stateless_keys is not None and bool(read_key_file(settings.stateless_keys))
    else:
        store = Store.open(settings.records.get_secret_value())
        guarded = any_access(store)
        store.close()
    if not guarded:
        raise InvalidInput((
            Problem("host", f"{settings.host} can be reached by others, and nobody needs a key; make one first with "
                    "`letterkit keys add`, or listen on 127.0.0.1"),
        ))  # fmt: skip


def worker() -> ASGIApp:
    """The application of one worker process, made from the environment that `run` left."""
    from letterkit.service.app import create_app, guarded  # noqa: PLC0415 - heavy, and not needed by the parent

    settings = load_settings()
    configure(settings.log_level)
    return guarded(create_app(settings))


def _hand_down(settings: Settings) -> None:
    """Puts the effective settings into the environment, where worker processes find them."""
    for name in Settings.model_fields:
        value = getattr(settings, name)
        if name == "records":
            value = value.get_secret_value()
        if value is not None:
            os.environ[f"{_GIVEN}{name.upper()}"] = str(value)


def run(settings: Settings) -> None:
    """Serves until it is told to stop. Raises InvalidInput for an address that may not be listened on."""
    configure(settings.log_level)
    check_address(settings)
    if not settings.stateless:
        Store.open(settings.records.get_secret_value()).close()  # the tables are made once, before any worker starts
    if settings.workers > 1:
        folder = tempfile.mkdtemp(prefix="letterkit-figures-")
        atexit.register(shutil.rmtree, folder, ignore_errors=True)
        os.environ["PROMETHEUS_MULTIPROC_DIR"] = folder
    _hand_down(settings)
    log().info(
        "serving", host=settings.host, port=settings.port, workers=settings.workers, stateless=settings.stateless
    )
    uvicorn.run(
        "letterkit.service.serve:worker",
        factory=True,
        host=settings.host,
        port=settings.port,
        workers=settings.workers,
        timeout_graceful_shutdown=settings.stop_after,
        timeout_keep_alive=15,
        limit_concurrency=1000,
        h11_max_incomplete_event_size=32_768,
        log_config=None,
        access_log=False,
        server_header=False,
        date_header=True,
        lifespan="on",
        loop="letterkit.service.loop:SharingLoop",
    )
