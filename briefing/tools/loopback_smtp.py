"""A mail server's controller on a port that the system gives; needs aiosmtpd, which the product does not."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Awaitable
from typing import Any

from aiosmtpd.controller import Controller

#: Only a machine that hangs takes so long to start a server (s).
_READY_S = 1800.0


class LoopbackController(Controller):
    """Binds a free port itself, so that no other process can take it before, and waits for however slow a start."""

    def __init__(self, handler: Any, **options: Any) -> None:
        super().__init__(handler, hostname="127.0.0.1", port=0, ready_timeout=_READY_S, **options)

    def _create_server(self) -> Awaitable[asyncio.AbstractServer]:
        listening = socket.create_server((self.hostname, 0))
        self.port = int(listening.getsockname()[1])
        return self.loop.create_server(self._factory_invoker, sock=listening, ssl=self.ssl_context)
