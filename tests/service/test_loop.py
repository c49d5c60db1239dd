"""Workers at one port: connections that arrive together are dealt out, and not all taken by whoever wakes first."""

from __future__ import annotations

import asyncio
import socket
import sys
import threading

import pytest

from letterkit.service.loop import SharingLoop


class _Counting(asyncio.Protocol):
    def __init__(self, taken: list[int]) -> None:
        self._taken = taken

    def connection_made(self, transport) -> None:
        self._taken.append(1)
        transport.write(b"here")


def _worker(shared: socket.socket, taken: list[int], stop: threading.Event, ready: threading.Event) -> None:
    async def serve() -> None:
        loop = asyncio.get_running_loop()
        server = await loop.create_server(lambda: _Counting(taken), sock=shared, backlog=100)
        ready.set()
        await asyncio.to_thread(stop.wait)
        server.close()

    with asyncio.Runner(loop_factory=SharingLoop) as runner:
        runner.run(serve())


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux deals connections out to sockets at one port")
def test_connections_that_arrive_together_are_shared():
    taken: list[list[int]] = [[], []]
    stop = threading.Event()
    with socket.socket() as shared:
        shared.bind(("127.0.0.1", 0))
        threads = []
        for own in taken:
            ready = threading.Event()
            threads.append(threading.Thread(target=_worker, args=(shared, own, stop, ready)))
            threads[-1].start()
            assert ready.wait(10)
        callers = [socket.create_connection(shared.getsockname(), timeout=10) for _ in range(60)]
        assert all(caller.recv(4) == b"here" for caller in callers)
        for caller in callers:
            caller.close()
        stop.set()
        for thread in threads:
            thread.join()
    assert sum(map(len, taken)) == 60
    assert min(map(len, taken)) >= 10  # by chance alone once in ten million times
