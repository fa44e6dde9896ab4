"""A mail server on the loopback address in a process of its own, which can hold a session at a chosen step.

The process reads commands from standard input and writes one JSON line for each thing that happens. For the long runs
of the service only; it needs aiosmtpd, which the product does not.
"""

from __future__ import annotations

import hashlib
import json
import select
import subprocess
import sys
import threading
from email import message_from_bytes
from types import TracebackType
from typing import Any, Self

#: Steps at which a session can be held, in their order.
STEPS = ("ehlo", "mail", "rcpt", "data", "stored")


class LoopbackMail:
    """Starts the server and talks to it. Use it in a ``with`` block."""

    def __enter__(self) -> Self:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "briefing.tools.loopback_mail"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            bufsize=1,
        )
        self.taken: list[tuple[str, str]] = []
        self.port = int(self._read(60.0)["port"])
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        assert self._process.stdin is not None
        self._process.stdin.close()
        self._process.wait(timeout=20)
        assert self._process.stdout is not None
        self._process.stdout.close()

    def arm(self, step: str) -> None:
        """Hold the next session at a step; empty: let everything pass."""
        self._tell({"arm": step})

    def release(self) -> None:
        """Let a held session go on."""
        self._tell({"release": True})

    def held(self, seconds: float) -> bool:
        """Wait up to some seconds for a session to be held."""
        return bool(self._read(seconds).get("held"))

    def collect(self) -> list[tuple[str, str]]:
        """Message-ID and digest of every mail taken so far, in order."""
        self._tell({"list": True})
        while True:
            line = self._read(20.0)
            if "taken" in line:
                self.taken = [(one[0], one[1]) for one in line["taken"]]
                return self.taken
            if not line:
                raise RuntimeError("the mail server does not answer")

    def _tell(self, command: dict[str, Any]) -> None:
        assert self._process.stdin is not None
        self._process.stdin.write(json.dumps(command) + "\n")
        self._process.stdin.flush()

    def _read(self, seconds: float) -> dict[str, Any]:
        assert self._process.stdout is not None
        ready, _, _ = select.select([self._process.stdout], [], [], seconds)
        return dict(json.loads(self._process.stdout.readline() or "{}")) if ready else {}


class _Handler:
    """The server's side."""

    def __init__(self) -> None:
        self.armed = ""
        self.gate = threading.Event()
        self.taken: list[tuple[str, str]] = []
        self.lock = threading.Lock()

    def say(self, **fields: object) -> None:
        with self.lock:
            print(json.dumps(fields), flush=True)

    async def _pass(self, step: str) -> None:
        import asyncio

        if self.armed == step:
            self.armed = ""
            self.gate.clear()
            self.say(held=step)
            while not self.gate.is_set():
                await asyncio.sleep(0.005)

    async def handle_EHLO(self, server: Any, session: Any, envelope: Any, name: str, answers: list[str]) -> list[str]:  # noqa: N802, ARG002
        session.host_name = name
        await self._pass("ehlo")
        return answers

    async def handle_MAIL(self, server: Any, session: Any, envelope: Any, address: str, options: list[str]) -> str:  # noqa: N802, ARG002
        await self._pass("mail")
        envelope.mail_from = address
        return "250 OK"

    async def handle_RCPT(self, server: Any, session: Any, envelope: Any, address: str, options: list[str]) -> str:  # noqa: N802, ARG002
        await self._pass("rcpt")
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:  # noqa: N802, ARG002
        await self._pass("data")
        body = bytes(envelope.content)
        ident = str(message_from_bytes(body)["Message-ID"])
        self.taken.append((ident, hashlib.sha256(body).hexdigest()))
        await self._pass("stored")
        return "250 taken"


def main() -> None:
    """Serve until standard input ends."""
    import socket

    from aiosmtpd.controller import Controller

    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    handler = _Handler()
    controller = Controller(handler, hostname="127.0.0.1", port=port)
    controller.start()
    handler.say(port=port)
    for line in sys.stdin:
        command = json.loads(line)
        handler.armed = command.get("arm", handler.armed)
        if command.get("release"):
            handler.gate.set()
        if command.get("list"):
            handler.say(taken=handler.taken)
    handler.gate.set()
    controller.stop(no_assert=True)


if __name__ == "__main__":
    main()
