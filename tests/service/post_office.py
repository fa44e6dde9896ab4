"""A loopback mail server that keeps what it takes, and can hold, refuse or hang up at a chosen reply."""

from __future__ import annotations

import hashlib
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from email import message_from_bytes, policy
from email.message import EmailMessage
from typing import Any

from aiosmtpd.smtp import SMTP, Envelope, Session

from briefing.tools.loopback_smtp import LoopbackController


@contextmanager
def dead_port() -> Iterator[int]:
    """A port where nothing listens, and where nobody else can begin to as long as it is held."""
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        yield int(held.getsockname()[1])


class PostOffice:
    """Use in a ``with`` block. ``answers``: by step (mail, rcpt, data, stored) a reply, or None for the usual one.

    ``once``: the same, for one time.

    ``hang_up``: step at which the connection is closed: connect, mail, rcpt, data, body (after it is stored).
    ``hold``: called with the step before it is answered.
    """

    def __init__(self, **options: Any) -> None:
        self.taken: list[tuple[str, bytes]] = []
        self.answers: dict[str, str] = {}
        self.once: dict[str, str] = {}
        self.hang_up = ""
        self.hold: Callable[[str], None] = lambda _: None
        self._lock = threading.Lock()
        self._controller = LoopbackController(self, **options)

    def __enter__(self) -> PostOffice:
        self._controller.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._controller.stop(no_assert=True)

    @property
    def port(self) -> int:
        return int(self._controller.port)

    def letters(self) -> list[EmailMessage]:
        """Mails taken, parsed."""
        return [message_from_bytes(body, policy=policy.default) for _, body in self.taken]  # type: ignore[misc]

    def digests(self) -> list[str]:
        return [hashlib.sha256(body).hexdigest() for _, body in self.taken]

    async def handle_MAIL(  # noqa: N802
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        return self._reply("mail", server) or self._note_sender(envelope, address, options)

    def _note_sender(self, envelope: Envelope, address: str, options: list[str]) -> str:
        envelope.mail_from = address
        envelope.mail_options.extend(options)
        return "250 OK"

    async def handle_RCPT(  # noqa: N802
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        reply = self._reply("rcpt", server)
        if reply is None:
            envelope.rcpt_tos.append(address)
        return reply or "250 OK"

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:  # noqa: N802
        reply = self._reply("data", server)
        if reply is not None:
            return reply
        with self._lock:
            assert isinstance(envelope.content, bytes)
            self.taken.append((envelope.rcpt_tos[0], envelope.content))
        return self._reply("stored", server) or "250 taken"

    def _reply(self, step: str, server: SMTP) -> str | None:
        self.hold(step)
        if step in self.once:
            return self.once.pop(step)
        if self.hang_up == step:
            assert server.transport is not None
            server.transport.abort()
            return "421 gone"
        return self.answers.get(step)
