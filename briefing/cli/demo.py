"""``briefing demo``: the whole job on a built-in lake with a fixed clock; no network, nothing stored."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def demo(
    save_in: Annotated[Path, typer.Option("--save", help="Folder for HTML, text and JSON.")] = Path("demo-briefing"),
    whole: Annotated[bool, typer.Option("--all", help="Print all of the text, also on a terminal.")] = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="Save only, don't print the text.")] = False,
) -> None:
    """Show a briefing for an invented lake on a fixed morning: everything is computed, no service is asked."""
    import gc

    # Starting makes many objects that live on: looking for garbage among them takes a twentieth of the time.
    collecting = gc.isenabled()
    gc.disable()
    try:
        from briefing.cli.today import Format, on_terminal, printed
        from briefing.pipeline.demo import make_demo
        from briefing.pipeline.made import save

        made = make_demo()
    finally:
        if collecting:
            gc.enable()
    paths = save(made, save_in)
    saved = "\n".join(f"Saved: {path}" for path in paths)
    if quiet:
        typer.echo(saved)
        return
    text = printed(made, Format.TEXT, whole=whole, more="--- more: --all ---")
    # on a terminal above the first screen, which it would push up
    typer.echo(f"{saved}\n\n{text}" if on_terminal() and not whole else f"{text}\n{saved}\n", nl=False)
