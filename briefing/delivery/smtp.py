"""Mail by SMTP, step by step, so that what a failure means is known from where it happened.

Nothing has been taken before the line with the single dot; with it, the message may have been taken whatever happens
next. ``commit`` is called between the two, after the whole body is on its way and before its last line.
"""

from __future__ import annotations

import contextlib
import re
import smtplib
import socket
import ssl
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache, partial
from pathlib import Path

from briefing.delivery.parcel import Commit, Fate, Outcome, Parcel
from briefing.delivery.secret import Secret
from briefing.errors import InputError

#: Messages a connection: some servers end one that brings more.
MOST_A_CONNECTION = 50
_BRACKETED = re.compile(r"[^\s<>:]+@[^\s<>,;]+")


@dataclass(frozen=True, slots=True)
class Account:
    """A mail account and its time limits (s)."""

    host: str
    port: int
    security: str  # tls | starttls | none
    sender: str
    user: str = ""
    secret: Secret = field(default_factory=lambda: Secret(""))
    ca_file: str = ""
    connect_s: float = 15.0
    command_s: float = 60.0
    answer_s: float = 600.0


class _SaidError(Exception):
    """The server, or the way to it, ended the hand-over."""

    def __init__(self, fate: Fate, words: str) -> None:
        super().__init__(words)
        self.outcome = Outcome(fate, words)


Tell = Callable[[str], None]


class SmtpChannel:
    """Hands messages to a mail server, one recipient a message. ``tell`` hears of each step that worked.

    A connection takes up to ``most`` messages, one after the other, until `close`; any end but "taken" ends it.
    """

    name = "mail"

    def __init__(self, account: Account, tell: Tell | None = None, most: int = 1) -> None:
        self.account = account
        self._tell = tell or (lambda _: None)
        self._most = most
        self._session: smtplib.SMTP | None = None
        self._taken = 0

    def hand_over(self, parcel: Parcel, commit: Commit) -> Outcome:
        """Hand over once; see `Outcome`. The bytes go out as they are."""
        try:
            session = self._opened(parcel)
            outcome = self._body(session, parcel, commit)
        except _SaidError as said:
            outcome = said.outcome
        except BaseException:
            self._hang_up()  # never left inside a message
            raise
        if outcome.fate is not Fate.SENT:
            self._hang_up()
        elif self._taken >= self._most:
            self.close()
        return outcome

    def close(self) -> None:
        """Take leave of the server, if a connection is open. What it answered to messages stands, whatever happens."""
        session = self._session
        if session is not None:
            with contextlib.suppress(OSError, smtplib.SMTPException):
                _patience(session, self.account.connect_s)
                session.quit()
        self._hang_up()

    def _hang_up(self) -> None:
        session, self._session, self._taken = self._session, None, 0
        if session is not None:
            # A server that hangs up after its answer has still answered.
            with contextlib.suppress(OSError, smtplib.SMTPException):
                session.close()

    def _opened(self, parcel: Parcel) -> smtplib.SMTP:
        """A session that waits for the body. One that was kept may have ended meanwhile: then a new one is begun."""
        if self._session is not None:
            try:
                self._envelope(self._session, parcel)
            except _SaidError:
                # Nothing was taken yet. It may be the session that the server is tired of: a new one tells.
                self._hang_up()
            else:
                return self._session
        self._session = self._connect()
        self._login(self._session)
        self._envelope(self._session, parcel)
        return self._session

    def _connect(self) -> smtplib.SMTP:
        account = self.account
        context = None if account.security == "none" else _context(account.ca_file)
        try:
            if account.security == "tls":
                session: smtplib.SMTP = smtplib.SMTP_SSL(
                    account.host, account.port, timeout=account.connect_s, context=context
                )
            else:
                session = smtplib.SMTP(account.host, account.port, timeout=account.connect_s)
        except (OSError, smtplib.SMTPException) as error:
            raise _SaidError(*_connect_failure(account, error)) from None
        _patience(session, account.command_s)
        # The body and its last line are two writes: held back, the second would wait for the first one's receipt.
        with contextlib.suppress(OSError):
            _socket_of(session).setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._tell(f"connected to {account.host}, port {account.port}")
        try:
            session.ehlo_or_helo_if_needed()
            if context is not None and account.security == "starttls":
                self._start_tls(session, context)
        except (OSError, smtplib.SMTPException) as error:
            session.close()
            raise _SaidError(*_connect_failure(account, error)) from None
        except _SaidError:
            session.close()
            raise
        return session

    def _start_tls(self, session: smtplib.SMTP, context: ssl.SSLContext) -> None:
        if not session.has_extn("starttls"):
            raise _SaidError(
                Fate.BLOCKED,
                'the server offers no STARTTLS on this port; set port = 465 and security = "tls"',
            )
        code, reply = session.starttls(context=context)
        if code != 220:
            raise _SaidError(Fate.LATER, f"the server refused STARTTLS ({code} {_words(reply)})")
        session.ehlo()
        self._tell("encrypted, certificate checked")

    def _login(self, session: smtplib.SMTP) -> None:
        account = self.account
        if not account.user:
            return
        if not account.secret:
            raise _SaidError(Fate.BLOCKED, "no password was found in the environment, a file or the keyring")
        if account.security == "none":
            raise _SaidError(Fate.BLOCKED, "a password is never sent over an unencrypted connection")
        try:
            _log_in(session, account)
        except smtplib.SMTPAuthenticationError as error:
            # The server's own words may repeat what it was sent.
            fate = Fate.LATER if 400 <= error.smtp_code < 500 else Fate.BLOCKED
            raise _SaidError(fate, f"the server refused user and password (code {error.smtp_code})") from None
        except smtplib.SMTPNotSupportedError:
            raise _SaidError(Fate.BLOCKED, "the server offers no login here; check port and security") from None
        except (OSError, smtplib.SMTPException):
            raise _SaidError(Fate.LATER, "the connection broke during the login") from None
        self._tell(f"logged in as {account.user}")

    def _envelope(self, session: smtplib.SMTP, parcel: Parcel) -> None:
        steps: tuple[tuple[str, Callable[[], tuple[int, bytes]], tuple[int, ...]], ...] = (
            ("the sender", partial(session.mail, self.account.sender), (250,)),
            ("the recipient", partial(session.rcpt, parcel.recipient), (250, 251)),
            ("the message", partial(session.docmd, "DATA"), (354,)),
        )
        for what, step, good in steps:
            try:
                code, reply = step()
            except (OSError, smtplib.SMTPException):
                raise _SaidError(Fate.LATER, f"the connection broke before {what} was taken") from None
            if code == 530:
                raise _SaidError(Fate.BLOCKED, "the server wants a login first; set user and a password")
            if code not in good:
                raise _SaidError(_fate(code), f"the server refused {what} ({code} {_words(reply)})")
            self._tell(f"{what} accepted")

    def _body(self, session: smtplib.SMTP, parcel: Parcel, commit: Commit) -> Outcome:
        try:
            session.send(_stuffed(parcel.body))
        except (OSError, smtplib.SMTPException):
            return Outcome(Fate.LATER, "the connection broke within the message")
        if not commit():
            return Outcome(Fate.LATER, "another process has it")
        try:
            _patience(session, self.account.answer_s)
            session.send(b".\r\n")
            code, reply = session.getreply()
        except (OSError, smtplib.SMTPException):
            return Outcome(Fate.UNCERTAIN, "the whole message went out, and no answer came")
        if code != 250:
            return Outcome(_fate(code), f"the server refused the message ({code} {_words(reply)})")
        self._tell("message taken")
        self._taken += 1
        with contextlib.suppress(OSError):
            _patience(session, self.account.command_s)
        return Outcome(Fate.SENT, f"taken ({code})")


def _log_in(session: smtplib.SMTP, account: Account) -> None:
    """Log in by one mechanism: a second try with the same password makes some servers hang up without an answer."""
    session.user, session.password = account.user, account.secret.reveal()
    offered = session.esmtp_features.get("auth", "").upper().split()
    if "PLAIN" in offered:
        session.auth("PLAIN", session.auth_plain)
    elif "LOGIN" in offered:
        session.auth("LOGIN", session.auth_login)
    else:
        session.login(account.user, account.secret.reveal())


def _context(ca_file: str) -> ssl.SSLContext:
    """The certificates that are trusted; kept until the file changes, for reading the system's takes long."""
    try:
        stat = Path(ca_file).stat() if ca_file else None
        return _context_of(ca_file, (stat.st_mtime_ns, stat.st_size) if stat else (0, 0))
    except OSError as error:
        raise InputError(f"The certificate file {ca_file} can't be read: {error.strerror or error}.") from None


@lru_cache(maxsize=4)
def _context_of(ca_file: str, stamp: tuple[int, int]) -> ssl.SSLContext:  # noqa: ARG001 - a changed file is read anew
    return ssl.create_default_context(cafile=ca_file or None)


def _socket_of(session: smtplib.SMTP) -> socket.socket:
    if session.sock is None:
        raise OSError("not connected")
    return session.sock


def _patience(session: smtplib.SMTP, seconds: float) -> None:
    if session.sock is not None:
        session.sock.settimeout(seconds)


def _stuffed(body: bytes) -> bytes:
    """Lines end in CRLF, a leading dot is doubled (RFC 5321, section 4.5.2), and the last line is complete."""
    lines = re.sub(rb"\r\n|\r|\n", b"\r\n", body)
    if not lines.endswith(b"\r\n"):
        lines += b"\r\n"
    return re.sub(rb"(?m)^\.", b"..", lines)


def _fate(code: int) -> Fate:
    return Fate.REFUSED if 500 <= code < 600 else Fate.LATER


def _words(reply: bytes) -> str:
    """A server's words without addresses, on one line, cut."""
    text = " ".join(reply.decode("utf-8", "replace").split())
    return _BRACKETED.sub("(address)", "".join(ch for ch in text if ch.isprintable()))[:160]


def _connect_failure(account: Account, error: Exception) -> tuple[Fate, str]:
    """What a failed connection means, in words that name the setting to change."""
    where = f"{account.host}, port {account.port}"
    if isinstance(error, ssl.SSLCertVerificationError):
        return Fate.BLOCKED, f"the certificate of {account.host} was refused: {error.verify_message}; see ca_file"
    if isinstance(error, ssl.SSLError):
        hint = 'security = "starttls" with port 587' if account.security == "tls" else 'security = "tls" with port 465'
        return Fate.BLOCKED, f"{where} speaks no TLS in this way; try {hint}"
    if isinstance(error, socket.gaierror):
        return Fate.LATER, f"the name {account.host} was not found: no network, or a wrong host"
    if isinstance(error, TimeoutError) or (isinstance(error, smtplib.SMTPServerDisconnected) and "timed" in str(error)):
        hint = '; port 465 wants security = "tls"' if account.port == 465 and account.security != "tls" else ""
        return Fate.LATER, f"{where} did not answer in {account.connect_s:g} s{hint}"
    if isinstance(error, smtplib.SMTPConnectError):
        return _fate(error.smtp_code), f"{where} turned the connection down (code {error.smtp_code})"
    if isinstance(error, smtplib.SMTPServerDisconnected):
        hint = '; port 465 wants security = "tls"' if account.security != "tls" else ""
        return Fate.LATER, f"{where} closed the connection{hint}"
    if isinstance(error, OSError):
        return Fate.LATER, f"{where} can't be reached: {error.strerror or error}"
    return Fate.LATER, f"{where} gave an answer that is no SMTP"
