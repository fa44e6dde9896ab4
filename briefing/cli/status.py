"""``briefing status``: what was last, what is next, what went wrong."""

from __future__ import annotations

from typing import Annotated

import typer

from briefing.cli.common import app_context, echo, echo_json


def status(
    ctx: typer.Context,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON for programs.")] = False,
) -> None:
    """Say how the service stands. Exit code 0: in order; 1: something is doubtful; 2: something is wrong."""
    from dataclasses import asdict

    from briefing.app.status import read_status, status_lines

    found = read_status(app_context(ctx))
    if as_json:
        echo_json({"code": found.code, **asdict(found)})
    else:
        for line in status_lines(found):
            echo(line)
        if found.code == 0 and found.lakes:
            echo("Nothing missed, nothing uncertain.")
    raise typer.Exit(found.code)
