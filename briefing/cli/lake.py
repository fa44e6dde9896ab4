"""``briefing lake``: add, list, show, check, edit and set home lakes, and take spots from a plotter's file."""

from __future__ import annotations

import shlex
import subprocess
import tempfile
from pathlib import Path
from typing import Annotated, Any

import typer

from briefing.cli.common import LakeArgument, app_context, ask, complete_lake, echo, echo_json, new_app
from briefing.cli.lake_new import ask_questions, one_of, report_new
from briefing.cli.lake_words import file_key, profile_lines
from briefing.errors import BriefingError, InputError
from briefing.units import UNIT_SYSTEMS, parse_position
from briefing.vocabulary import Craft, LakeKind, Skill

app = new_app(
    "Your home lakes, one file each.\n\n"
    "Start with name, position and craft; everything else is guessed, marked as a guess, and can be improved:\n\n\b\n"
    '  briefing lake add --name "Quillmere Pond" --position "30.31, -83.22" --craft kayak\n'
    "  briefing lake set quillmere-pond mean_depth=7ft skill=experienced\n"
    "  briefing lake edit quillmere-pond"
)

JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for programs.")]


@app.command("add")
def add(
    ctx: typer.Context,
    name: Annotated[str | None, typer.Option(help="Name of the lake.")] = None,
    position: Annotated[str | None, typer.Option(help='A point on the water, "30.31, -83.22".')] = None,
    craft: Annotated[str | None, typer.Option(help=f"{', '.join(Craft)}.")] = None,
    like: Annotated[
        str | None, typer.Option(help="Copy craft, limits and tackle from this lake.", autocompletion=complete_lake)
    ] = None,
    units: Annotated[str | None, typer.Option(help="us or metric.")] = None,
    kind: Annotated[str | None, typer.Option(help=f"{', '.join(LakeKind)}.")] = None,
    elevation: Annotated[str | None, typer.Option(help='Height above the sea, "320 ft".')] = None,
    area: Annotated[str | None, typer.Option(help='"120 acres" or "0.5 km2".')] = None,
    mean_depth: Annotated[str | None, typer.Option(help='"7 ft" or "2.1 m".')] = None,
    max_depth: Annotated[str | None, typer.Option(help='"18 ft" or "5.5 m".')] = None,
    species: Annotated[list[str] | None, typer.Option(help="largemouth, smallmouth, spotted, or a form.")] = None,
    visibility: Annotated[str | None, typer.Option(help='Usual visibility, "3 ft".')] = None,
    water_colour: Annotated[str | None, typer.Option(help="clear, green, tannic or muddy.")] = None,
    skill: Annotated[str | None, typer.Option(help=f"Row of limits: {', '.join(Skill)}.")] = None,
    alone: Annotated[bool | None, typer.Option("--alone/--in-company", help="Do you go out alone?")] = None,
    reentry: Annotated[bool | None, typer.Option("--reentry/--no-reentry", help="Getting back in practised?")] = None,
    clothing: Annotated[str | None, typer.Option(help="Against immersion: none, wetsuit or drysuit.")] = None,
    speed: Annotated[str | None, typer.Option(help='Your speed in calm water, "3 mph".')] = None,
    shoreline: Annotated[Path | None, typer.Option(help="File with the shoreline (GeoJSON, KML, GPX).")] = None,
    confirm_limits: Annotated[bool, typer.Option(help="You agree with the limits shown.")] = False,
    contact: Annotated[str | None, typer.Option(help="Your mail address, sent to the weather services.")] = None,
    yes: Annotated[bool, typer.Option("--yes", help="A position where no bass live is meant.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Add a home lake, by flags or question by question.

    Name, position and craft are enough for a first briefing. What is not given is asked for when one of the three is
    missing, and guessed otherwise.

    \b
      briefing lake add
      briefing lake add --name "Quillmere Pond" --position "30.31, -83.22" --craft kayak --mean-depth 7ft
    """
    from briefing.app import lakes

    app = app_context(ctx)
    given = {
        **{"kind": kind, "elevation": elevation, "area": area, "mean_depth": mean_depth, "max_depth": max_depth},
        **{"species": species or None, "visibility": visibility, "water_colour": water_colour, "skill": skill},
        **{"alone": alone, "reentry_practised": reentry, "clothing": clothing, "speed": speed, "units": units},
        **{"craft": lakes.read_craft(craft) if craft else None},
    }
    data: dict[str, Any] = {"units": app.settings().units, **(lakes.copied_from(app, like) if like else {})}
    data |= {key: value for key, value in given.items() if value is not None}
    asked = name is None or position is None or "craft" not in data
    name = name or ask("Name of the lake", lakes.read_name)
    if position:
        latitude, longitude = parse_position(position)
        if not yes:
            lakes.ask_back_position(latitude, longitude)
    else:

        def asked_for(text: str) -> tuple[float, float]:
            found = parse_position(text)
            if not yes:
                lakes.ask_back_position(*found)
            return found

        latitude, longitude = ask("A point on the water", asked_for, hint="30.31, -83.22")
    data = {"name": name, "latitude": latitude, "longitude": longitude, **data}
    if asked:
        if units is None and not like and not app.home.settings_file.exists():
            data["units"] = ask("Units", one_of(list(UNIT_SYSTEMS)), "us", "us: feet, mph, F; metric: m, m/s, C")
        contact = ask_questions(app, data, contact)
    if confirm_limits:
        data["limits"] = {**data.get("limits", {}), "confirmed": True}
    report_new(app, lakes.add_lake(app, data, shoreline, contact or "", meant=yes), as_json)


@app.command("default")
def default(
    ctx: typer.Context,
    lake: LakeArgument = None,
    clear: Annotated[bool, typer.Option("--clear", help="Ask for the lake again from now on.")] = False,
) -> None:
    """Say or choose which lake is meant where a command names none.

    briefing lake default quillmere-pond
    """
    from briefing.app.lakes import choose_default

    app = app_context(ctx)
    if lake is None and not clear:
        echo(app.settings().default_lake or "None is chosen: with several lakes each command asks which.")
        return
    chosen = choose_default(app, None if clear else lake)
    echo(f"Where no lake is named, {chosen} is meant." if chosen else "With several lakes each command asks which.")


@app.command("list")
def list_lakes(ctx: typer.Context, as_json: JsonOption = False) -> None:
    """List your lakes; one whose file has a problem is listed with it."""
    from briefing.app.lakes import listed_lakes

    rows = listed_lakes(app_context(ctx))
    if as_json:
        echo_json([{"lake": row.lake, "name": row.name, "file": str(row.path), "problem": row.problem} for row in rows])
        return
    if not rows:
        echo("No lake yet; add one with: briefing lake add")
    chosen = app_context(ctx).settings().default_lake
    for row in rows:
        echo(f"{row.lake}: {row.problem or row.name}{' (meant where none is named)' if row.lake == chosen else ''}")


@app.command("show")
def show(ctx: typer.Context, lake: LakeArgument = None, as_json: JsonOption = False) -> None:
    """Show what is known about a lake, with every guess marked.

    briefing lake show quillmere-pond
    """
    profile = app_context(ctx).lake(lake)
    if as_json:
        echo_json({"lake": profile.id, **profile.model_dump(mode="json"), "guessed": profile.guessed})
        return
    echo("\n".join(profile_lines(profile)))


@app.command("check")
def check(ctx: typer.Context, lake: LakeArgument = None, as_json: JsonOption = False) -> None:
    """Check a lake's file and what it points to; a path to a file works too.

    briefing lake check quillmere-pond

    briefing lake check ./my-lake.toml
    """
    from briefing.app.lakes import check_lake

    found = check_lake(app_context(ctx), lake)
    profile = found.profile
    if as_json:
        echo_json({"lake": profile.id, "file": str(found.path), "guessed": profile.guessed, "hints": list(found.hints)})
        return
    echo(f"{found.path.name}: no problem found.")
    echo(f"Guessed: {', '.join(file_key(name) for name in profile.guessed) or 'nothing'}.")
    for hint in found.hints:
        echo(f"Note: {hint}.")


#: Said where own limits are not agreed to yet.
_AGREE = "Limits wider than the table count once you agree: briefing lake set {} limits.confirmed=true"


@app.command("set")
def set_fields(
    ctx: typer.Context,
    lake: Annotated[str, typer.Argument(help="Lake, by its short name.", autocompletion=complete_lake)],
    values: Annotated[list[str], typer.Argument(help="field=value, several if you like.")],
    yes: Annotated[bool, typer.Option("--yes", help="Limits far over the craft's own are meant.")] = False,
) -> None:
    """Set fields of a lake's file, keeping your comments.

    briefing lake set quillmere-pond mean_depth=7ft skill=experienced limits.confirmed=true
    """
    from briefing.app.lakes import change_lake

    profile, names = change_lake(app_context(ctx), lake, values, meant=yes)
    echo(f"Changed {profile.id}: {', '.join(names)}.")
    if any(name.startswith("limits.") for name in names) and not profile.limits.confirmed:
        echo(_AGREE.format(profile.id))


@app.command("edit")
def edit(ctx: typer.Context, lake: LakeArgument = None) -> None:
    """Open a lake's file in your editor ($VISUAL or $EDITOR) and check it before it replaces the old one.

    With a mistake in it the old file stays in force; your version is offered again, or kept beside it.
    """
    from briefing.app.lakes import keep_rejected, lake_text, replace_lake_text
    from briefing.profile.files import read_text

    app = app_context(ctx)
    path, old = lake_text(app, lake)
    command = app.environment.get("VISUAL") or app.environment.get("EDITOR")
    if not command:
        raise InputError(f"No editor is set; set EDITOR, or edit {path} yourself and run: briefing lake check")
    with tempfile.TemporaryDirectory() as folder:
        draft = Path(folder) / path.name
        draft.write_text(old, encoding="utf-8")
        while True:
            _run_editor(command, draft)
            new = read_text(draft)
            if new == old:
                echo("Nothing changed.")
                return
            try:
                saved = replace_lake_text(path, new)
            except BriefingError as error:
                echo(str(error), err=True)
                if _again():
                    continue
                kept = keep_rejected(path, new)
                raise InputError(f"The old file stays in force; your version is kept as {kept}.") from None
            echo(f"Saved {path}.")
            if saved.own_limits and not saved.limits.confirmed:
                echo(_AGREE.format(saved.id))
            return


def _run_editor(command: str, draft: Path) -> None:
    try:
        done = subprocess.run([*shlex.split(command), str(draft)], check=False)
    except (OSError, ValueError) as error:
        raise InputError(f"The editor {command!r} can't be started ({error}); nothing was changed.") from None
    if done.returncode != 0:
        raise InputError(f"The editor {command!r} ended with code {done.returncode}; nothing was changed.")


def _again() -> bool:
    """Ask whether to edit again; without an answer, no."""
    try:
        return typer.confirm("Edit again?", default=True)
    except typer.Abort:
        return False


@app.command("import-spots")
def import_spots(
    ctx: typer.Context,
    lake: Annotated[str, typer.Argument(help="Lake, by its short name.", autocompletion=complete_lake)],
    file: Annotated[Path, typer.Argument(help="GPX or KML file with waypoints.")],
    depth: Annotated[str | None, typer.Option(help='Depth of all of them, "3 ft to 6 ft".')] = None,
    cover: Annotated[list[str] | None, typer.Option(help="Cover of all of them.")] = None,
) -> None:
    """Add waypoints from a GPX or KML file as spots; those already there are left as they are.

    One whose name says that boats are launched there becomes a ramp.

    briefing lake import-spots quillmere-pond waypoints.gpx
    """
    from briefing.app.lakes import take_spots

    taken = take_spots(app_context(ctx), file, lake, depth, cover or ())
    skipped = f" ({taken.known} were there already)" if taken.known else ""
    echo(f"Added {taken.added} {'spot' if taken.added == 1 else 'spots'} to {taken.lake}{skipped}.")
    if taken.ramps:
        echo(f"Added as {'a ramp' if len(taken.ramps) == 1 else 'ramps'}, by name: {', '.join(taken.ramps)}.")
    if taken.added and (not depth or not cover):
        echo("Depth and cover that you did not give are guesses; improve them with: briefing lake edit")
