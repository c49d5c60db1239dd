"""A running service for tests: started as its users start it, on a free port, with records of its own."""

from __future__ import annotations

import asyncio
import multiprocessing as mp
import os
import re
import signal
import socket
import subprocess
import sys
import time
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace
from urllib.request import urlopen

import pytest

from letterkit.cli.main import main
from letterkit.records.store import Store
from letterkit.service.app import create_app, guarded
from letterkit.settings import load_settings

DEMO = Path(__file__).resolve().parents[1] / "demo_cases"
BASE_ENVIRONMENT = {name: value for name, value in os.environ.items() if not name.startswith("LETTERKIT_")}


def open_service(folder, *, rate: int = 1_000_000, failures: int = 1000, **given) -> SimpleNamespace:
    """A service in this process with its store and its settings, not yet started."""
    settings = load_settings(
        records=f"sqlite:///{folder / 'records.db'}", rate_per_minute=rate, failures_per_minute=failures, **given
    )
    store = None if settings.stateless else Store.open(settings.records.get_secret_value())
    app = create_app(settings, store)
    return SimpleNamespace(app=app, asgi=guarded(app), store=store, settings=settings)


def free_port() -> int:
    with closing(socket.socket()) as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def command(*arguments: str) -> list[str]:
    return [sys.executable, "-m", "letterkit", *arguments]


def _serve(words: list[str], folder: Path, environment: dict[str, str], log: Path) -> None:
    """What the command does, in a process that has loaded already."""
    with log.open("ab") as output:
        os.dup2(output.fileno(), 1)
        os.dup2(output.fileno(), 2)
    os.chdir(folder)
    os.environ.clear()
    os.environ.update(environment)
    sys.argv = ["letterkit", *words]
    main()


class Forked:
    """A process of its own, forked from one that has loaded the service: what it takes to start one is spent once."""

    def __init__(self, *given: object) -> None:
        context = mp.get_context("forkserver")
        context.set_forkserver_preload(["preloaded"])
        self._process = context.Process(target=_serve, args=given, daemon=True)
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("PYTHONPATH", str(Path(__file__).parent / "warm"))  # where the server to fork from finds it
            self._process.start()

    def poll(self) -> int | None:
        return self._process.exitcode

    def wait(self, timeout: float | None = None) -> int:
        self._process.join(timeout)
        if self._process.exitcode is None:
            raise subprocess.TimeoutExpired("serve", timeout)
        return self._process.exitcode

    def send_signal(self, number: int) -> None:
        os.kill(self._process.pid, number)

    def terminate(self) -> None:
        self.send_signal(signal.SIGTERM)

    def kill(self) -> None:
        self.send_signal(signal.SIGKILL)


@dataclass
class Running:
    port: int
    process: subprocess.Popen | Forked
    log: Path

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"


def start(folder: Path, *options: str, port: int | None = None, forked: bool = False, **settings: str) -> Running:
    """Starts the service and waits until it is ready. `forked` does without the start of Python and of the reader."""
    port = port or free_port()
    environment = BASE_ENVIRONMENT | {"LETTERKIT_RECORDS": f"sqlite:///{folder / 'records.db'}"} | settings
    log = folder / f"service-{port}.log"
    words = ["serve", "--port", str(port), *options]
    process: subprocess.Popen | Forked
    if forked:
        process = Forked(words, folder, environment, log)
    else:
        with log.open("ab") as output:
            process = subprocess.Popen(command(*words), stdout=output, stderr=output, cwd=folder, env=environment)
    ends = time.monotonic() + 120
    while time.monotonic() < ends and process.poll() is None:
        try:
            with urlopen(f"http://127.0.0.1:{port}/readyz", timeout=2) as answer:
                if answer.status == 200:
                    return Running(port, process, log)
        except OSError:
            time.sleep(0.05)
    process.kill()
    process.wait()
    raise RuntimeError(f"the service did not start:\n{log.read_text()[-3000:]}")


@contextmanager
def running(folder: Path, *options: str, **settings: str):
    service = start(folder, *options, **settings)
    try:
        yield service
    finally:
        if service.process.poll() is None:
            service.process.terminate()
            service.process.wait(timeout=40)


_LENGTH = re.compile(rb"\r\ncontent-length: (\d+)\r\n", re.IGNORECASE)


@dataclass
class Answer:
    status: int
    body: bytes
    seconds: float


async def exchange(reader, writer, path: str, body: bytes, headers: dict[str, str]) -> Answer:
    """One POST over an open connection, with as little work as can be."""
    began = time.perf_counter()
    head = (
        f"POST {path} HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: {len(body)}\r\n"
    )
    head += "".join(f"{name}: {value}\r\n" for name, value in headers.items())
    writer.write(head.encode() + b"\r\n" + body)
    await writer.drain()
    answer_head = await reader.readuntil(b"\r\n\r\n")
    answer = await reader.readexactly(int(_LENGTH.search(answer_head)[1]))
    return Answer(int(answer_head[9:12]), answer, time.perf_counter() - began)


async def load(
    port: int, path: str, bodies: list[bytes], connections: int, requests: int, headers=dict
) -> list[Answer]:
    """That many requests over that many connections at once; `headers()` gives those of the next request."""
    answers: list[Answer] = []
    left = iter(range(requests))

    async def one() -> None:
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        for number in left:
            answer = await exchange(reader, writer, path, bodies[number % len(bodies)], headers())
            answers.append(answer)
        writer.close()

    await asyncio.gather(*(one() for _ in range(connections)))
    return answers
