"""``briefing where``, ``export`` and ``forget``: where your data is, what leaves the machine, and both ways out."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from briefing.cli.common import app_context, complete_lake, echo, echo_json

if TYPE_CHECKING:
    from briefing.app.assembly import App


def register(app: typer.Typer) -> None:
    """Add the three commands to the command line."""
    app.command("where")(where)
    app.command("export")(export)
    app.command("forget")(forget)


def where(
    ctx: typer.Context,
    network: Annotated[bool, typer.Option("--network", help="What leaves this machine, and where it goes.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON for programs.")] = False,
) -> None:
    """Say where your files are; with --network, what is sent to whom.

    \b
      briefing where
      briefing where --network
    """
    from briefing.app.data import places

    app = app_context(ctx)
    if network:
        _print_network(app, as_json)
        return
    found = places(app)
    if as_json:
        echo_json({name: {"path": str(path), "exists": path.exists()} for name, path in found.items()})
        return
    for name, path in found.items():
        echo(f"{name}: {path}{'' if path.exists() else '  (not there yet)'}")
    how = "is set" if app.environment.get("BRIEFING_HOME", "").strip() else "is not set: the system's own folders"
    echo(f"BRIEFING_HOME {how}; to move everything, move the folder and set it to the new one.")


def _print_network(app: App, as_json: bool) -> None:
    from briefing.app.data import sent_out
    from briefing.profile.settings import OPEN_METEO_NOTE

    rows, contact = sent_out(app), app.settings().contact
    if as_json:
        services = [
            {"service": row.service, "address": row.address, "for": row.what, "position": row.position} for row in rows
        ]
        echo_json({"contact": contact, "services": services, "note": OPEN_METEO_NOTE})
        return
    echo("Requests go out only while a briefing or a wind check is made, and only to:")
    for row in rows:
        echo(f"  {row.service} ({row.address}): {row.what}; position: {row.position}")
    if contact:
        echo(f"Each request carries the program's name and your contact: {contact}")
    else:
        echo("No contact is set, so no service is asked; set one in settings.toml.")
    echo("Spots, nests, readings, signs and your log are never sent.")
    echo(OPEN_METEO_NOTE)


def export(
    ctx: typer.Context,
    lake: Annotated[
        str | None, typer.Argument(help="Only this lake; left out, everything.", autocompletion=complete_lake)
    ] = None,
    to: Annotated[Path | None, typer.Option("--to", help="File to write; left out, standard output.")] = None,
) -> None:
    """Export lake files, settings and everything stored as one JSON document.

    \b
      briefing export --to everything.json
      briefing export quillmere-pond
    """
    from briefing.app.data import export as export_of
    from briefing.profile.files import write_text

    document = export_of(app_context(ctx), lake)
    if to is None:
        echo_json(document)
        return
    write_text(to, json.dumps(document, indent=2, ensure_ascii=False) + "\n")
    echo(f"Exported {len(document['lake_files'])} lake files and the store to {to}.")


def forget(
    ctx: typer.Context,
    lake: Annotated[str, typer.Argument(help="Lake, by its short name.", autocompletion=complete_lake)],
    yes: Annotated[bool, typer.Option("--yes", help="Don't ask.")] = False,
) -> None:
    """Erase a lake: its file, shoreline, readings, signs, field log, briefings and all that was learned.

    There is no way back. Briefings that were saved in a folder of your own choice stay there.

    \b
      briefing export quillmere-pond --to quillmere-pond.json
      briefing forget quillmere-pond
    """
    from briefing.app import data

    app = app_context(ctx)
    lake_id = data.lake_id(app, lake)
    if not yes:
        typer.confirm(f"Erase {lake_id} with everything stored about it? There is no way back", abort=True)
    erased = data.forget(app, lake_id)
    echo(f"Erased {erased.lake}: {erased.files} files, {erased.entries} stored entries.")
