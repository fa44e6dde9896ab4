"""A mail as bytes: deterministic, one recipient, text and HTML, images by Content-ID.

Names come from files that people share, so no header may hold what a name brings along: control characters are taken
out, encoded words broken, and the finished bytes are read back and compared with what was meant.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from email import message_from_bytes, policy
from email.headerregistry import Address
from email.message import EmailMessage
from email.utils import format_datetime
from urllib.parse import quote

from briefing.errors import InputError

#: Headers stay on one line: folded message ids and addresses come out as encoded words that break threads.
_OUT = policy.SMTP.clone(max_line_length=998)
_BODY = policy.SMTP
NAME_LENGTH = 60
SUBJECT_LENGTH = 160
SENDER_NAME = "Lake morning briefing"
_ADDRESS = re.compile(r"[A-Za-z0-9.!#$%&'*+/=?^_`{|}~-]{1,64}@[A-Za-z0-9](?:[A-Za-z0-9.-]{0,250}[A-Za-z0-9])?")


@dataclass(frozen=True, slots=True)
class Image:
    """A PNG shown in the HTML as ``cid:NAME``."""

    cid: str
    png: bytes = field(repr=False)


@dataclass(frozen=True, slots=True)
class Letter:
    """All that a mail is made of. ``date`` is when it was made, ``valid_until`` when it is of no use any more."""

    key: str
    sender: str
    recipient: str
    subject: str
    text: str
    html: str
    date: datetime
    valid_until: datetime
    images: Sequence[Image] = ()
    unsubscribe: str = ""
    thread: Sequence[str] = ()  # Message-IDs of the first and the last letter of a thread


def check_address(address: str) -> str:
    """Return a mail address that may stand in a header. Raises InputError."""
    if not _ADDRESS.fullmatch(address) or ".." in address:
        raise InputError(
            f"{clean(address, 80)!r} is no mail address; write it as name@example.org, plain letters only."
        )
    return address


def clean(text: str, length: int) -> str:
    """Return text that may stand in a header: one line, no control characters, no encoded words, not too long."""
    plain = "".join(ch if ch.isprintable() else " " for ch in text)
    plain = " ".join(plain.replace("=?", "= ?").replace("?=", "? =").split())
    return plain if len(plain) <= length else plain[: length - 1].rstrip() + "…"


def message_id(key: str, sender: str) -> str:
    """Message-ID of a key: the same for every try."""
    return f"<{key}@{sender.rpartition('@')[2].lower()}>"


def build_letter(letter: Letter) -> bytes:
    """Return the mail's bytes; the same letter gives the same bytes. Raises InputError for what may not stand in it."""
    message = EmailMessage(policy=_BODY)
    for name, value in _headers(letter):
        message[name] = value
    message.set_content(letter.text, subtype="plain", cte="quoted-printable")
    message.add_alternative(letter.html, subtype="html", cte="quoted-printable")
    page = message.get_payload(1)
    assert isinstance(page, EmailMessage)
    for image in letter.images:
        page.add_related(image.png, "image", "png", cid=f"<{image.cid}>", disposition="inline", filename="chart.png")
    for number, part in enumerate(part for part in message.walk() if part.is_multipart()):
        part.set_boundary(f"=_{letter.key}_{number}")
    body = message.as_bytes(policy=_OUT)
    _read_back(body, letter)
    return body


def _headers(letter: Letter) -> list[tuple[str, object]]:
    sender = check_address(letter.sender)
    local, _, domain = sender.rpartition("@")
    leave = check_address(letter.unsubscribe or sender)
    headers: list[tuple[str, object]] = [
        ("From", Address(SENDER_NAME, local, domain)),
        ("To", check_address(letter.recipient)),
        ("Subject", clean(letter.subject, SUBJECT_LENGTH)),
        ("Date", format_datetime(letter.date)),
        ("Expires", format_datetime(letter.valid_until)),
        ("Message-ID", message_id(letter.key, sender)),
        ("Auto-Submitted", "auto-generated"),
        ("List-Unsubscribe", f"<mailto:{leave}?subject={quote('unsubscribe')}>"),
    ]
    if letter.thread:
        headers.append(("In-Reply-To", letter.thread[-1]))
        headers.append(("References", " ".join(dict.fromkeys(letter.thread))))
    return headers


def _read_back(body: bytes, letter: Letter) -> None:
    """Refuse bytes whose headers are not exactly those that were meant."""
    head = body.partition(b"\r\n\r\n")[0]
    found = message_from_bytes(head + b"\r\n\r\n", policy=policy.default)
    wanted = {name for name, _ in _headers(letter)} | {"MIME-Version", "Content-Type"}
    names = [name for name in found if not name.lower().startswith("content-transfer")]
    if sorted(names) != sorted(wanted) or found["To"] != letter.recipient or b"?==?" in head:
        raise InputError("The mail's headers can't be written as they should be; check the lake's name and addresses.")
