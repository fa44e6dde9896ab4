"""Mail: try the account, and write a briefing as a mail file."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from briefing.app.assembly import App
from briefing.app.brief import Asked, brief
from briefing.app.service_settings import ServiceSettings
from briefing.app.ways_out import mail_account
from briefing.delivery.folder import write_whole
from briefing.delivery.letter import Image, Letter, build_letter
from briefing.delivery.parcel import Fate, Outcome, Parcel, message_key
from briefing.delivery.smtp import SmtpChannel
from briefing.errors import InputError
from briefing.pipeline.demo import make_demo
from briefing.report.mail import mail_parts, note_html


@dataclass(frozen=True)
class Tried:
    """What came of a test mail to one recipient."""

    recipient: str
    outcome: Outcome

    @property
    def taken(self) -> bool:
        """Whether the server took it."""
        return self.outcome.fate is Fate.SENT


def try_mail(app: App, begin: Callable[[str], None], step: Callable[[str], None]) -> Iterator[Tried]:
    """Send one short mail to each recipient; ``begin`` is told each recipient, ``step`` what each step came to.

    Raises InputError without an account.
    """
    settings = app.service_settings()
    if not settings.mail.host:
        raise InputError("No mail account is set: put a table [mail] into service.toml; see briefing mail --help")
    channel = SmtpChannel(mail_account(settings, app.environment), tell=step)
    for recipient in settings.mail.to:
        begin(recipient)
        letter = _test_letter(settings, recipient, app.now())
        parcel = Parcel(letter.key, recipient, "", build_letter(letter))
        yield Tried(recipient, channel.hand_over(parcel, lambda: True))


def save_mail(app: App, asked: Asked | None, to: Path) -> None:
    """Write the briefing that is asked for as a mail file; the demonstration when none is."""
    mail = app.service_settings().mail
    briefing = (make_demo() if asked is None else brief(app, asked)).built.briefing
    key = message_key(briefing.head.lake_id, briefing.head.day.isoformat(), "saved", 0, "file", "")
    parts = mail_parts(briefing, key, mail.html_kb * 1000)
    letter = Letter(
        key=key,
        sender=mail.sender or "briefing@localhost",
        recipient=mail.to[0] if mail.to else "reader@localhost",
        subject=parts.subject,
        text=parts.text,
        html=parts.html,
        date=briefing.head.prepared_at,
        valid_until=briefing.sources.valid_until,
        images=tuple(Image(image.cid, image.png) for image in parts.images),
    )
    write_whole(to, build_letter(letter))


def _test_letter(settings: ServiceSettings, recipient: str, now: datetime) -> Letter:
    text = "This is a test of the mail account. Briefings and wind notes will come from this address."
    return Letter(
        key=message_key("test", now.isoformat(), "test", 0, "mail", recipient),
        sender=settings.mail.sender,
        recipient=recipient,
        subject="Test of the lake morning briefing",
        text=text + "\n",
        html=note_html("Test of the lake morning briefing", text, ""),
        date=now,
        valid_until=now + timedelta(hours=1),
        unsubscribe=settings.mail.unsubscribe,
    )
