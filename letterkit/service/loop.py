"""The event loop of a worker: connections that arrive together are shared between the workers.

Where all workers wait at one socket, whoever wakes first takes what waits there: of fifty connections that are opened
together, and then kept open, one worker often gets forty or all, and the others have nothing to do. With a socket each
at the same port the system deals them out: about half and half between two.
"""

from __future__ import annotations

import asyncio
import socket
import sys
from collections.abc import Callable
from typing import Any


def _own(shared: socket.socket) -> socket.socket:
    """A further socket at the address of one that all workers hold, and that keeps the port for them."""
    shared.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
    made = socket.socket(shared.family, shared.type, shared.proto)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
    if shared.family == socket.AF_INET6:
        made.setsockopt(
            socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, shared.getsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY)
        )
    made.bind(shared.getsockname())
    return made


class SharingLoop(asyncio.SelectorEventLoop):
    """Listens at a socket of its own, where it is given one that others have too."""

    async def create_server(
        self, protocol_factory: Callable[[], asyncio.BaseProtocol], *where: Any, **options: Any
    ) -> asyncio.Server:
        """As an ordinary loop."""
        shared: socket.socket | None = options.get("sock")
        if shared is not None and shared.family in {socket.AF_INET, socket.AF_INET6} and sys.platform == "linux":
            options["sock"] = _own(shared)  # other systems take such sockets, and do not deal out
        server: asyncio.Server = await super().create_server(protocol_factory, *where, **options)
        return server
