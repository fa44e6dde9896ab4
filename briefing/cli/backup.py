"""``briefing backup`` and ``briefing restore``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from briefing.cli.common import app_context, echo


def backup(
    ctx: typer.Context,
    to: Annotated[Path, typer.Option("--to", help="File to write, such as lake-backup.tar.gz.")],
) -> None:
    """Write lakes, settings and everything stored into one file. Passwords are left out.

    briefing backup --to lake-backup.tar.gz
    """
    from briefing.app.backup import back_up

    count = back_up(app_context(ctx), to)
    echo(f"Backed up {count} files to {to}. Passwords are not in it.")


def restore(
    ctx: typer.Context,
    source: Annotated[Path, typer.Argument(help="A file that briefing backup wrote.")],
    replace: Annotated[bool, typer.Option("--replace", help="Take the place of what is there.")] = False,
) -> None:
    """Put a backup back in place; what is there is backed up first, beside the store.

    briefing restore lake-backup.tar.gz
    """
    from briefing.app.backup import restore_backup

    app = app_context(ctx)
    count = restore_backup(app.home, source, app.now(), replace=replace)
    echo(f"Restored {count} files from {source}.")
