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
            bufsize=0,
        )
        self._unread = b""
        self.taken: list[tuple[str, str]] = []
        self.port = int(self._read()["port"])
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        assert self._process.stdin is not None
        self._process.stdin.close()
        self._process.wait()
        assert self._process.stdout is not None
        self._process.stdout.close()

    def arm(self, step: str) -> None:
        """Hold the next session at a step; empty: let everything pass."""
        self._tell({"arm": step})

    def release(self) -> None:
        """Let a held session go on."""
        self._tell({"release": True})

    def held(self, seconds: float) -> bool:
        """Wait up to some seconds for word of a session that is held."""
        return bool(self._read(seconds).get("held"))

    def collect(self) -> list[tuple[str, str]]:
        """Message-ID and digest of every mail taken so far, in order."""
        self._tell({"list": True})
        while "taken" not in (line := self._read()):
            pass
        self.taken = [(one[0], one[1]) for one in line["taken"]]
        return self.taken

    def _tell(self, command: dict[str, Any]) -> None:
        assert self._process.stdin is not None
        self._process.stdin.write(json.dumps(command).encode() + b"\n")

    def _read(self, seconds: float | None = None) -> dict[str, Any]:
        """The next thing that happened; empty when nothing did within ``seconds`` (None: however long it takes)."""
        assert self._process.stdout is not None
        while b"\n" not in self._unread:
            if not select.select([self._process.stdout], [], [], seconds)[0]:
                return {}
            piece = self._process.stdout.read(65536)
            if not piece:
                raise RuntimeError("the mail server has ended")
            self._unread += piece
        line, _, self._unread = self._unread.partition(b"\n")
        return dict(json.loads(line))


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
    from briefing.tools.loopback_smtp import LoopbackController

    handler = _Handler()
    controller = LoopbackController(handler)
    controller.start()
    handler.say(port=controller.port)
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
