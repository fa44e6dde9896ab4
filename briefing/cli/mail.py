"""``briefing mail``: try the mail account, and write a mail to a file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from briefing.cli.common import LakeArgument, app_context, echo, fail, new_app

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
    from briefing.app.mail import try_mail

    failed = False
    steps = try_mail(app_context(ctx), lambda recipient: echo(f"To {recipient}:"), lambda step: echo(f"  {step}"))
    for tried in steps:
        echo(f"  {tried.outcome.fate.value}: {tried.outcome.words}")
        failed = failed or not tried.taken
    if failed:
        fail("Not every mail was taken; the lines above say at which step, and what to change.", 4)


@app.command("save")
def save(
    ctx: typer.Context,
    to: Annotated[Path, typer.Option("--to", help="File to write, such as briefing.eml.")],
    lake: LakeArgument = None,
    demo: Annotated[bool, typer.Option("--demo", help="The built-in demonstration.")] = False,
    offline: Annotated[bool, typer.Option("--offline", help="Ask no data service: stored data only.")] = False,
) -> None:
    """Write today's briefing as a mail file, without any mail server; mail programs open it.

    \b
    briefing mail save --to briefing.eml
    briefing mail save --to demo.eml --demo
    """
    from briefing.app.brief import Asked
    from briefing.app.mail import save_mail

    save_mail(app_context(ctx), None if demo else Asked(lake, offline=offline), to)
    echo(f"Saved: {to}")
