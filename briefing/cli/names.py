"""``briefing names``: lures, cover and craft by the ids that commands and files take, with their usual names."""

from __future__ import annotations

from typing import Annotated

import typer

from briefing.cli.common import app_context, echo, echo_json


def names(
    ctx: typer.Context, as_json: Annotated[bool, typer.Option("--json", help="Print JSON for programs.")] = False
) -> None:
    """List lures, cover and craft: the ids that options and lake files take, and what people call them.

    briefing names
    """
    from briefing.app.lake_checks import known_names
    from briefing.report.render import wrap_text

    found = known_names(app_context(ctx))
    if as_json:
        echo_json(found)
        return
    for group, rows in found.items():
        echo(f"{group.upper()}")
        for id_, usual in rows.items():
            for line in wrap_text(f"{id_}: {', '.join(usual)}"):
                echo(f"  {line}" if line.startswith(id_) else f"      {line}")
