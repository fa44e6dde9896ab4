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
from typing import Annotated, Any, NoReturn, TypeVar

import typer
from typer.core import TyperGroup

from briefing.app.assembly import App
from briefing.controls import escaped_controls, without_controls
from briefing.errors import BriefingError, InputError, StoreError, UnitError

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

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Find the command; ``--lake NAME`` is taken by every command that is about a lake, wherever it stands."""
        name, command, rest = super().resolve_command(ctx, args)
        if command is not None and [one.name for one in command.params if one.param_type_name == "argument"][:1] == [
            "lake"
        ]:
            rest = _lake_first(rest)
        return name, command, rest

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


def _lake_first(args: list[str]) -> list[str]:
    """The words after a command with the lake that ``--lake`` names put first; a second name is left to be refused."""
    for place, word in enumerate(args):
        if word == "--":
            break
        if word.startswith("--lake="):
            return [word.removeprefix("--lake="), *args[:place], *args[place + 1 :]]
        if word == "--lake" and place + 1 < len(args):
            return [args[place + 1], *args[:place], *args[place + 2 :]]
    return args


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


#: A command's lake as its first word; every command takes it as ``--lake NAME`` too.
LakeArgument = Annotated[
    str | None,
    typer.Argument(
        help="Lake, by its short name or name, also as --lake; may be left out when there is one, or a default.",
        autocompletion=complete_lake,
    ),
]
#: The same beside a line of the user's own words.
LakeOption = Annotated[
    str | None,
    typer.Option("--lake", help="Lake; may be left out when there is one, or a default.", autocompletion=complete_lake),
]
T = TypeVar("T")


def ask(question: str, parse: Callable[[str], T], default: str | None = None, hint: str = "") -> T:
    """Ask until the answer can be read; a refused one is explained and asked again."""
    while True:
        try:
            answer = str(
                typer.prompt(
                    f"{question}{f' ({hint})' if hint else ''}", default=default, show_default=bool(default), err=False
                )
            )
        except typer.Abort:
            raise InputError(
                f"\nNo answer to {question!r}: nothing was stored. Options answer every question: see --help."
            ) from None
        try:
            return parse(answer)
        except (UnitError, InputError) as error:
            echo(f"  {error}")
