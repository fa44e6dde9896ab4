"""The command line: one module a group of commands, imported only when it is called."""

from __future__ import annotations

import os
import sys
from functools import cache
from importlib import import_module
from typing import Annotated

import typer

from briefing import __version__
from briefing.app.assembly import App
from briefing.cli.common import EXIT_CODES, BriefingGroup

HELP = """A morning briefing for a home lake: wind against your limits, water, season, where to start and what to rig.

First steps: `briefing demo` shows one; `briefing lake add` sets up your lake; `briefing today` makes today's.

At the ramp: `briefing reading add 61F` enters what you see; `briefing advise` asks again with it; `briefing wind`
checks the wind just before you launch.
"""
#: Commands in a module and a function of their own name: loading the others would only delay them.
ALONE = ("today", "wind", "water", "phase", "demo", "advise", "rods", "skill", "next")


def main() -> None:
    """Entry point of the ``briefing`` command."""
    # a byte that is no text comes in as half a character, which no store and no terminal takes
    sys.argv = [word.encode("utf-8", "surrogateescape").decode("utf-8", "replace") for word in sys.argv]
    try:
        make_app(sys.argv[1] if len(sys.argv) > 1 else "")()
    except KeyboardInterrupt:
        sys.exit(130)


@cache
def make_app(first: str = "") -> typer.Typer:
    """Assemble the command line: all of it, or one command when the first word typed names one that stands alone."""
    app = typer.Typer(
        cls=BriefingGroup,
        help=HELP,
        epilog=EXIT_CODES,
        no_args_is_help=True,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
    )
    app.callback()(_options)
    if first in ALONE:
        app.command(first)(getattr(import_module(f"briefing.cli.{first}"), first))
    else:
        _add_all(app)
    return app


def _add_all(app: typer.Typer) -> None:
    from briefing.cli import (
        advise,
        backup,
        conditions,
        data,
        demo,
        lake,
        log,
        mail,
        names,
        next,
        phase,
        reading,
        rods,
        serve,
        sign,
        skill,
        status,
        today,
        trip,
        water,
        wind,
    )

    app.command("today")(today.today)
    app.command("wind")(wind.wind)
    app.command("water")(water.water)
    app.command("phase")(phase.phase)
    app.command("demo")(demo.demo)
    app.command("advise")(advise.advise)
    app.command("rods")(rods.rods)
    app.command("names")(names.names)
    app.add_typer(lake.app, name="lake")
    app.add_typer(reading.app, name="reading")
    app.add_typer(conditions.app, name="conditions")
    app.add_typer(sign.app, name="sign")
    app.add_typer(log.app, name="log")
    app.command("next")(next.next)
    app.command("skill")(skill.skill)
    app.add_typer(trip.app, name="trip")
    app.add_typer(mail.app, name="mail")
    app.command("serve")(serve.serve)
    app.command("tick")(serve.tick)
    app.command("status")(status.status)
    app.command("backup")(backup.backup)
    app.command("restore")(backup.restore)
    data.register(app)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"briefing {__version__}")
        raise typer.Exit


def _options(
    ctx: typer.Context,
    now: Annotated[
        str | None, typer.Option("--now", help="Instant that counts as now, for replays: 2026-04-18T09:00Z.")
    ] = None,
    _shown: Annotated[bool, typer.Option("--version", callback=_version, is_eager=True, help="Show version.")] = False,
) -> None:
    """Set up what all commands share."""
    if not isinstance(ctx.obj, App) or now:
        ctx.obj = App.from_environment(os.environ, now)
