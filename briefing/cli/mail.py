"""``briefing mail``: try the mail account, and write a mail to a file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from briefing.cli.common import app_context, echo, fail, new_app
from briefing.errors import InputError

if TYPE_CHECKING:
    from datetime import datetime

    from briefing.delivery.letter import Letter
    from briefing.service.settings import ServiceSettings

app = new_app(
    "Mail: try the account, or write a briefing as a mail file without one.\n\nThe account is set in service.toml, in "
    "the folder of your settings:\n\n\b\n"
    '  [mail]\n  host = "mail.example.org"\n  security = "tls"        # or "starttls"\n  user = "you@example.org"\n'
    '  sender = "you@example.org"\n  to = ["you@example.org"]\n\n'
    "The password comes from the environment variable BRIEFING_MAIL_PASSWORD, from a file of yours alone named by "
    "password_file, or from the system's keyring; never from service.toml."
)


@app.command("test")
def test(ctx: typer.Context) -> None:
    """Send one short mail to each recipient and say what every step came to.

    briefing mail test
    """
    from briefing.delivery.letter import build_letter
    from briefing.delivery.parcel import Fate, Parcel
    from briefing.delivery.smtp import SmtpChannel
    from briefing.service.settings import load_service_settings
    from briefing.service.world import mail_account

    context = app_context(ctx)
    settings = load_service_settings(context.home)
    if not settings.mail.host:
        raise InputError("No mail account is set: put a table [mail] into service.toml; see briefing mail --help")
    channel = SmtpChannel(mail_account(settings, context.environment), tell=lambda step: echo(f"  {step}"))
    failed = False
    for recipient in settings.mail.to:
        echo(f"To {recipient}:")
        letter = _test_letter(settings, recipient, context.now())
        parcel = Parcel(letter.key, recipient, "", build_letter(letter))
        outcome = channel.hand_over(parcel, lambda: True)
        echo(f"  {outcome.fate.value}: {outcome.words}")
        failed = failed or outcome.fate is not Fate.SENT
    if failed:
        fail("Not every mail was taken; the lines above say at which step, and what to change.", 4)


def _test_letter(settings: ServiceSettings, recipient: str, now: datetime) -> Letter:
    from datetime import timedelta

    from briefing.delivery.letter import Letter
    from briefing.delivery.parcel import message_key
    from briefing.report.mail import note_html

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


@app.command("save")
def save(
    ctx: typer.Context,
    to: Annotated[Path, typer.Argument(help="File to write, such as briefing.eml.")],
    lake: Annotated[str | None, typer.Argument(help="Name or id of the lake.")] = None,
    demo: Annotated[bool, typer.Option("--demo", help="The built-in demonstration.")] = False,
    offline: Annotated[bool, typer.Option("--offline", help="Ask no data service: stored data only.")] = False,
) -> None:
    """Write today's briefing as a mail file, without any mail server; mail programs open it.

    \b
    briefing mail save briefing.eml
    briefing mail save demo.eml --demo
    """
    from briefing.cli.today import execute, make_run
    from briefing.delivery.folder import write_whole
    from briefing.delivery.letter import Image, Letter, build_letter
    from briefing.delivery.parcel import message_key
    from briefing.report.mail import mail_parts
    from briefing.service.settings import load_service_settings

    context = app_context(ctx)
    mail = load_service_settings(context.home).mail
    if demo:
        from briefing.pipeline.demo import make_demo

        made = make_demo()
    else:
        run = make_run(context, context.lake(lake), lake, None, None, None, False, offline, None)
        made = execute(context, run)
    briefing = made.built.briefing
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
    echo(f"Saved: {to}")
