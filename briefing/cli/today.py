"""``briefing today``: retrieve, compute, save and print the briefing of a lake."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from briefing.cli.common import LakeArgument, app_context, echo, tell_unkept
from briefing.cli.progress import told_while_asking
from briefing.errors import InputError
from briefing.report.sections import Section

if TYPE_CHECKING:
    from briefing.pipeline.made import Made


#: What stands under the first screen on a terminal.
MORE = "--- more: --all, or --section cautions, rods, where, fish, water, hours ... ---"


class Format(StrEnum):
    """What is printed."""

    TEXT = "text"
    HTML = "html"
    JSON = "json"
    SPOKEN = "spoken"


def today(
    ctx: typer.Context,
    lake: LakeArgument = None,
    day: Annotated[str | None, typer.Option("--date", help="Day at the lake, 2026-04-18; today when left out.")] = None,
    now: Annotated[str | None, typer.Option("--now", help="Instant that counts as now, for replays.")] = None,
    launch: Annotated[str | None, typer.Option(help="When you launch, 06:30; else the profile's usual hours.")] = None,
    back: Annotated[str | None, typer.Option("--return", help="When you plan to be back, 11:30.")] = None,
    fixed_launch: Annotated[
        bool, typer.Option("--fixed-launch", help="The launch can't be moved, such as a tournament's.")
    ] = False,
    offline: Annotated[bool, typer.Option("--offline", help="Ask no service: stored and entered data only.")] = False,
    conditions: Annotated[
        Path | None,
        typer.Option("--conditions", help="TOML file with all weather as you read it; no service is asked."),
    ] = None,
    save_in: Annotated[Path | None, typer.Option("--save", help="Folder for HTML, text and JSON.")] = None,
    form: Annotated[
        Format, typer.Option("--format", "--form", help="What to print; spoken: sentences to be read aloud.")
    ] = Format.TEXT,
    section: Annotated[
        list[Section] | None, typer.Option("--section", help="Print this part of the text; may be given several times.")
    ] = None,
    whole: Annotated[bool, typer.Option("--all", help="Print all of the text, as a file or a pipe gets it.")] = False,
    requests: Annotated[bool, typer.Option("--requests", help="Print the requests that were made.")] = False,
) -> None:
    """Make today's briefing for a lake: retrieve, compute, save, print.

    \b
    briefing today                          the only lake, now: the first screen
    briefing today --section rods --section where
    briefing today --all                    everything
    briefing today "Heron Slough" --launch 06:30 --return 11:30
    briefing today --offline                with what is stored and entered
    briefing today --conditions ramp.toml   with weather you read yourself
    """
    from briefing.app.assembly import App
    from briefing.app.brief import Asked, brief_and_save

    app = app_context(ctx)
    if form is not Format.TEXT and (section or whole):
        raise InputError(f"--section and --all go with text: leave them out, or leave out --format {form.value}.")
    if now:
        app = App.from_environment(app.environment, now)
    asked = Asked(lake, day, launch, back, fixed_launch, offline, conditions)
    with told_while_asking(app):
        found = brief_and_save(app, asked, save_in)
    made = found.made
    saved = "Saved: " + "  ".join(str(path) for path in found.paths)
    first = form is Format.TEXT and not section and not whole and on_terminal()
    if found.paths and first:  # above the first screen, which it would push up
        echo(saved)
    echo(printed(made, form, section or (), whole=whole), nl=False)
    for note in made.notes:
        echo(note, err=True)
    if requests:
        print_requests(made)
    if found.paths and not first:
        echo(saved, err=form is not Format.TEXT)
    tell_unkept(found.unkept)


#: Lines of a terminal.
SCREEN_LINES = 24


def printed(
    made: Made, form: Format, sections: Sequence[Section] = (), *, whole: bool = False, more: str = MORE
) -> str:
    """What is printed: on a terminal the first screen and what to type for more, into a file or a pipe everything."""
    from briefing.report.render import to_text
    from briefing.report.spoken import spoken

    briefing = made.built.briefing
    if form is Format.SPOKEN:
        return spoken(briefing)
    if form is not Format.TEXT:
        return made.html if form is Format.HTML else made.json
    if sections:
        return to_text(briefing, sections).strip("\n") + "\n"
    if whole or not on_terminal():
        return made.text
    lines = [*to_text(briefing, (Section.GLANCE,)).splitlines(), more]
    while len(lines) >= SCREEN_LINES and "" in lines:  # the prompt takes the last line of the screen
        lines.remove("")
    return "\n".join([*lines, ""])


def on_terminal() -> bool:
    """Whether somebody looks at what is printed."""
    return sys.stdout is not None and sys.stdout.isatty()


def print_requests(made: Made) -> None:
    """Print every request with its outcome, for the budget."""
    records = made.gathered.requests
    echo(f"{len(records)} requests:", err=True)
    for record in records:
        size = f"{record.bytes} bytes" if record.bytes else "no body"
        source = "cache" if record.from_cache else f"{record.tries} tries"
        echo(f"  {record.service}: {record.outcome} ({record.status or 'no answer'}, {size}, {source})", err=True)
