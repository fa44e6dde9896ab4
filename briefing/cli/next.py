"""``briefing next``: what to do next after what just happened on the water."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated

import typer

from briefing.cli.common import LakeOption, app_context, echo, echo_json


def next(
    ctx: typer.Context,
    words: Annotated[list[str] | None, typer.Argument(help="What happened, as you would say it.")] = None,
    lake: LakeOption = None,
    time: Annotated[str | None, typer.Option("--time", help='"07:40", "40 min ago"; now when left out.')] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON for programs.")] = False,
) -> None:
    """Log what just happened, then hear which places are like it, or what to change first where nothing bit.

    \b
    briefing next "two on the swim jig at the reeds"
    briefing next "nothing on the frog at the pads"
    """
    from briefing.app.log import TypedLine
    from briefing.app.next_move import next_move
    from briefing.cli.entries import keeping_typed, typed_line
    from briefing.cli.log_entry import describe_mark, told

    app, text = app_context(ctx), " ".join(words or [])
    with keeping_typed(typed_line(["briefing", "next", text], {"--lake": lake, "--time": time})):
        found = next_move(app, lake, TypedLine(text, time))
    logged = found.logged
    if as_json:
        echo_json({"entry": asdict(logged.entry), "next": list(found.lines), "places": list(found.places)})
        return
    entry = describe_mark(logged.entry, logged.profile, logged.names)
    echo(f"Stored for {logged.profile.name}: entry {logged.entry.mark.id}, {entry}")
    for line in (*told(logged.understood), *found.lines):
        echo(line)
