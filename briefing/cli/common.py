"""What every command shares: the assembly it works with, and how an error reaches the user.

The environment is read here and nowhere else. ``BRIEFING_NOW`` (or ``--now``) sets the clock for replays and tests;
``BRIEFING_HOME`` moves all files below one folder.
"""

from __future__ import annotations

import errno
import json
import os
import sys
from collections.abc import Callable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any, NoReturn, TypeVar

import typer
from typer.core import TyperGroup

from briefing.app.assembly import App
from briefing.controls import escaped_controls, without_controls
from briefing.errors import BriefingError, InputError, StoreError, UnitError

if TYPE_CHECKING:
    pass

EXIT_CODES = (
    "Exit codes: 0 done; 1 something else went wrong; 2 what you typed or wrote in a file can't be taken; "
    "3 a file or the store can't be read or written; 4 a data service failed; 5 the lake, entry or file is not there."
)


def app_context(ctx: typer.Context) -> App:
    """Return the assembly of a command; made from the process's environment when no one has yet."""
    root = ctx.find_root()
    if not isinstance(root.obj, App):
        root.obj = App.from_environment(os.environ)
    return root.obj


class BriefingGroup(TyperGroup):
    """A command group that turns our errors into one sentence on standard error and the documented exit code."""

    def invoke(self, ctx: Any) -> Any:
        """Run the command; BriefingError and a full or unwritable disk end it with a sentence."""
        try:
            return super().invoke(ctx)
        except BriefingError as error:
            fail(str(error), error.exit_code)
        except BrokenPipeError:
            # The reader of a pipe went away (head, less): that is no error of ours.
            sys.stderr.close()
            raise typer.Exit(0) from None
        except OSError as error:
            place = f" ({error.filename})" if error.filename else ""
            what = "The disk is full" if error.errno == errno.ENOSPC else error.strerror or str(error)
            fail(f"{what}{place}. Nothing that was stored before is lost.", 3)


def fail(message: str, code: int) -> NoReturn:
    """Print a message on standard error and leave with an exit code."""
    echo(message, err=True)
    raise typer.Exit(code)


def echo(text: str = "", *, err: bool = False, nl: bool = True) -> None:
    """Print a text without control characters: names and notes may bring some along."""
    typer.echo(without_controls(text), err=err, nl=nl)


def tell(notes: Sequence[str]) -> None:
    """Print remarks beside the result, on standard error."""
    for note in notes:
        echo(note, err=True)


def tell_unkept(sentences: Sequence[str]) -> None:
    """Print what could not be kept or saved, after the page, and leave with exit code 3; nothing when all was."""
    if sys.stdout is not None:  # closed by whoever called: nothing is waiting there
        sys.stdout.flush()
    for sentence in sentences:
        echo(sentence, err=True)
    if sentences:
        raise typer.Exit(StoreError.exit_code)


def new_app(help_text: str) -> typer.Typer:
    """Make a command group with our error handling; without a command it prints its help."""
    return typer.Typer(
        cls=BriefingGroup,
        help=help_text,
        no_args_is_help=True,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        epilog=EXIT_CODES,
    )


def echo_json(value: object) -> None:
    """Print a value as JSON for programs: sorted by insertion, non-ASCII kept, dates in ISO form."""
    echo(escaped_controls(json.dumps(value, indent=2, ensure_ascii=False, default=_plain)))


def _plain(value: object) -> object:
    if isinstance(value, datetime):
        return value.isoformat()
    return str(value)


def complete_lake(incomplete: str) -> list[str]:
    """Offer the short names of the lakes to the shell's completion; none where the settings can't be read."""
    try:
        files = App.from_environment(os.environ).lake_files()
    except BriefingError:
        return []
    return [path.stem for path in files if path.stem.startswith(incomplete)]


T = TypeVar("T")


def ask(question: str, parse: Callable[[str], T], default: str | None = None, hint: str = "") -> T:
    """Ask until the answer can be read; a refused one is explained and asked again."""
    while True:
        try:
            answer = str(typer.prompt(f"{question}{f' ({hint})' if hint else ''}", default=default, err=False))
        except typer.Abort:
            raise InputError(
                f"\nNo answer to {question!r}: nothing was stored. Options answer every question: see --help."
            ) from None
        try:
            return parse(answer)
        except (UnitError, InputError) as error:
            echo(f"  {error}")
