"""``briefing lake``: add, list, show, check, edit and set home lakes, and take spots from a plotter's file."""

from __future__ import annotations

import shlex
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from briefing.cli.common import AppContext, app_context, ask, complete_lake, echo_json, new_app
from briefing.errors import BriefingError, InputError, NotFoundError, StoreError
from briefing.units import UNIT_SYSTEMS, parse_position
from briefing.vocabulary import Craft, LakeKind, Skill

if TYPE_CHECKING:
    from briefing.profile.model import LakeProfile

app = new_app(
    "Your home lakes, one file each.\n\n"
    "Start with name, position and craft; everything else is guessed, marked as a guess, and can be improved:\n\n\b\n"
    '  briefing lake add --name "Quillmere Pond" --position "30.31, -83.22" --craft kayak\n'
    "  briefing lake set quillmere-pond mean_depth=7ft skill=experienced\n"
    "  briefing lake edit quillmere-pond"
)

LakeArgument = Annotated[
    str | None,
    typer.Argument(help="Lake, by its short name; may be left out when there is one.", autocompletion=complete_lake),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for programs.")]

#: What ``--like`` takes over from another lake: the user and the tackle, never the lake or what was learned there.
COPIED = ("units", "craft", "skill", "alone", "reentry_practised", "clothing", "speed", "limits", "rods", "tackle")


@app.command("add")
def add(
    ctx: typer.Context,
    name: Annotated[str | None, typer.Option(help="Name of the lake.")] = None,
    position: Annotated[str | None, typer.Option(help='A point on the water, "30.31, -83.22".')] = None,
    craft: Annotated[Craft | None, typer.Option(help="What you fish from.")] = None,
    like: Annotated[
        str | None, typer.Option(help="Copy craft, limits and tackle from this lake.", autocompletion=complete_lake)
    ] = None,
    units: Annotated[str | None, typer.Option(help="us or metric.")] = None,
    kind: Annotated[LakeKind | None, typer.Option(help="What sort of water it is.")] = None,
    elevation: Annotated[str | None, typer.Option(help='Height above the sea, "320 ft".')] = None,
    area: Annotated[str | None, typer.Option(help='"120 acres" or "0.5 km2".')] = None,
    mean_depth: Annotated[str | None, typer.Option(help='"7 ft" or "2.1 m".')] = None,
    max_depth: Annotated[str | None, typer.Option(help='"18 ft" or "5.5 m".')] = None,
    species: Annotated[list[str] | None, typer.Option(help="largemouth, smallmouth, spotted, or a form.")] = None,
    visibility: Annotated[str | None, typer.Option(help='Usual visibility, "3 ft".')] = None,
    water_colour: Annotated[str | None, typer.Option(help="clear, green, tannic or muddy.")] = None,
    skill: Annotated[Skill | None, typer.Option(help="Which row of limits you ask for.")] = None,
    alone: Annotated[bool | None, typer.Option("--alone/--in-company", help="Do you go out alone?")] = None,
    reentry: Annotated[bool | None, typer.Option("--reentry/--no-reentry", help="Getting back in practised?")] = None,
    clothing: Annotated[str | None, typer.Option(help="Against immersion: none, wetsuit or drysuit.")] = None,
    speed: Annotated[str | None, typer.Option(help='Your speed in calm water, "3 mph".')] = None,
    shoreline: Annotated[Path | None, typer.Option(help="File with the shoreline (GeoJSON, KML, GPX).")] = None,
    confirm_limits: Annotated[bool, typer.Option(help="You agree with the limits shown.")] = False,
    contact: Annotated[str | None, typer.Option(help="Your mail address, sent to the weather services.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Add a home lake, by flags or question by question.

    Name, position and craft are enough for a first briefing. What is not given is asked for when one of the three is
    missing, and guessed otherwise.

    \b
      briefing lake add
      briefing lake add --name "Quillmere Pond" --position "30.31, -83.22" --craft kayak --mean-depth 7ft
    """
    context = app_context(ctx)
    given = {
        **{"kind": kind, "elevation": elevation, "area": area, "mean_depth": mean_depth, "max_depth": max_depth},
        **{"species": species or None, "visibility": visibility, "water_colour": water_colour, "skill": skill},
        **{"alone": alone, "reentry_practised": reentry, "clothing": clothing, "speed": speed, "units": units},
        **{"craft": craft},
    }
    data: dict[str, Any] = {"units": context.settings().units, **(_copied(context, like) if like else {})}
    data |= {key: getattr(value, "value", value) for key, value in given.items() if value is not None}
    asked = name is None or position is None or "craft" not in data
    name = name or ask("Name of the lake", _name)
    if position:
        latitude, longitude = parse_position(position)
    else:
        latitude, longitude = ask("A point on the water", parse_position, hint="30.31, -83.22")
    data = {"name": name, "latitude": latitude, "longitude": longitude, **data}
    if asked:
        if units is None and not like and not context.home.settings_file.exists():
            data["units"] = ask("Units", _one_of(list(UNIT_SYSTEMS)), "us", "us: feet, mph, F; metric: m, m/s, C")
        contact = _questions(context, data, contact)
    if confirm_limits:
        data["limits"] = {**data.get("limits", {}), "confirmed": True}
    path = _new_path(context, name)
    if shoreline:
        data["shoreline"] = _take_shoreline(shoreline, path, latitude, longitude)
    profile = _write_new(path, data)
    _save_contact(context, contact or "")
    _report_new(context, profile, path, as_json)


def _name(text: str) -> str:
    if not 1 <= len(text.strip()) <= 80:
        raise InputError("A name has 1 to 80 characters.")
    return text.strip()


def _copied(context: AppContext, like: str) -> dict[str, Any]:
    """Take craft, limits and tackle from another lake's file, as they are written there."""
    import tomli

    from briefing.profile.files import load_profile, read_text

    path = context.lake_path(like)
    load_profile(path)  # a broken file is named here, not after all the questions
    data = tomli.loads(read_text(path))
    return {key: data[key] for key in COPIED if key in data}


def _questions(context: AppContext, data: dict[str, Any], contact: str | None) -> str | None:
    """Ask for the craft and, if wanted, for the values that help most; each has a default. Returns the contact."""
    from briefing.profile.guesses import guesses_for

    if "craft" not in data:
        data["craft"] = ask("What do you fish from", _one_of(list(Craft)), "kayak", ", ".join(Craft))
    if contact is None and not context.settings().contact:
        typer.echo(
            "The weather services ask who calls; without a contact they are not asked (and nothing else sees it)."
        )
        contact = str(typer.prompt("Your mail address or web page (empty: later)", default="", show_default=False))
    if not typer.confirm("A few more questions now? Each has a default", default=True):
        return contact
    guessed = {guess.key: guess for guess in guesses_for(data, data["units"])}
    questions = (
        ("kind", "What sort of water is it"),
        ("mean_depth", "Mean depth"),
        ("max_depth", "Greatest depth"),
        ("area", "Area"),
        ("visibility", "How deep is a white lure usually seen"),
        ("skill", "Limits of a novice or experienced"),
        ("clothing", "Against immersion you wear (none, wetsuit, drysuit)"),
    )
    for key, question in questions:
        if key in data:
            continue
        default = str(guessed[key].value)
        answer = ask(question, _checked(data, key), default, "guess" if key != "skill" else "")
        if answer != default:
            data[key] = answer
            if key == "kind":
                guessed = {guess.key: guess for guess in guesses_for(data, data["units"])}
    for key, question in (
        ("alone", "Do you go out alone"),
        ("reentry_practised", "Getting back in practised this year"),
    ):
        if key not in data:
            data[key] = typer.confirm(question, default=bool(guessed[key].value))
    _show_limits(data)
    if typer.confirm("Do you agree with the limits in use", default=False):
        data["limits"] = {**data.get("limits", {}), "confirmed": True}
    return contact


def _one_of(words: list[Any]) -> Callable[[str], str]:
    def read(text: str) -> str:
        word = text.strip().lower().replace("-", "_").replace(" ", "_")
        if word not in words:
            raise InputError(f"{text!r} is not one of: {', '.join(words)}.")
        return word

    return read


def _checked(data: dict[str, Any], key: str) -> Callable[[str], str]:
    """Check an answer by trying it in the profile, so that the words are those of the file's check."""

    def read(text: str) -> str:
        from briefing.profile.files import build_profile

        build_profile({**data, key: text.strip()}, "your answer")
        return text.strip()

    return read


def _show_limits(data: dict[str, Any]) -> None:
    from briefing.profile.files import build_profile

    typer.echo("\n".join(limits_lines(build_profile(data, "the new lake"))))


def limits_lines(profile: LakeProfile) -> list[str]:
    """Write both rows of default limits for the craft, and which one is in use."""
    from briefing.core.wind.limits import LimitsTable, limits_for
    from briefing.resources import read_toml
    from briefing.units import m_to_ft, mps_to_mph

    table = LimitsTable.from_mapping(read_toml("limits.toml"))
    us = profile.units == "us"

    def wind(low: float, high: float) -> str:
        return f"{mps_to_mph(low):.0f} / {mps_to_mph(high):.0f} mph" if us else f"{low:.1f} / {high:.1f} m/s"

    def wave(low: float, high: float) -> str:
        return f"{m_to_ft(low):.1f} / {m_to_ft(high):.1f} ft" if us else f"{low:.2f} / {high:.2f} m"

    lines = ["Limits by default, caution / stop (judgement, no accident data behind them; you can set your own):"]
    for skill in Skill:
        row = table.rows[profile.craft, skill]
        sustained = wind(row.sustained_caution_mps, row.sustained_stop_mps)
        gusts = wind(row.gust_caution_mps, row.gust_stop_mps)
        waves = wave(row.waves_caution_m, row.waves_stop_m)
        lines.append(f"  {row.row}: wind {sustained}, gusts {gusts}, waves {waves}")
    used = limits_for(
        table,
        profile.craft,
        profile.skill,
        alone=profile.alone,
        reentry_practised=profile.reentry_practised,
    )
    lines.append(f"In use: {used.row} ({used.why}).")
    own = profile.limits
    parts = [f"wind {wind(own.sustained.caution_mps, own.sustained.stop_mps)}"] if own.sustained else []
    parts += [f"gusts {wind(own.gust.caution_mps, own.gust.stop_mps)}"] if own.gust else []
    parts += [f"waves {wave(own.waves.caution_m, own.waves.stop_m)}"] if own.waves else []
    if parts:
        until = "" if own.confirmed else " (until you confirm them, only those that are tighter count)"
        lines.append(f"Your own in their place: {', '.join(parts)}{until}.")
    return lines


def _new_path(context: AppContext, name: str) -> Path:
    from briefing.profile.model import slug

    path = context.lakes_dir() / f"{slug(name)}.toml"
    if path.exists():
        raise InputError(f"There is a lake {path.stem!r} already ({path}); edit it, or choose another name.")
    return path


def _take_shoreline(source: Path, lake_file: Path, latitude: float, longitude: float) -> str:
    """Check a shoreline file and copy it beside the lake's file; returns the name it has there."""
    from briefing.profile.shoreline import read_shoreline

    read_shoreline(source, latitude, longitude)
    target = lake_file.with_suffix(source.suffix.lower())
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(source, target)
    except OSError as error:
        raise StoreError(f"{source} can't be copied to {target}: {error.strerror or error}.") from None
    return target.name


def _write_new(path: Path, data: dict[str, Any]) -> LakeProfile:
    from briefing.profile.files import build_profile, parse_profile, read_text, write_text
    from briefing.profile.template import SCHEMA_COPY, SCHEMA_FILE, profile_text
    from briefing.resources import config_path

    build_profile(data, "the new lake", lake_id=path.stem)  # names every problem before anything is written
    text = profile_text(data)
    profile = parse_profile(text, path.name, lake_id=path.stem)
    write_text(path, text)
    write_text(path.with_name(SCHEMA_COPY), read_text(config_path(SCHEMA_FILE)))
    return profile


def _save_contact(context: AppContext, contact: str) -> None:
    """Keep the contact; with the first lake the settings file appears, with its explanations."""
    from briefing.profile.settings import save_settings

    if contact.strip() or not context.home.settings_file.exists():
        save_settings(context.home, {"contact": contact.strip()} if contact.strip() else {})


def _report_new(context: AppContext, profile: LakeProfile, path: Path, as_json: bool) -> None:
    from briefing.profile.settings import OPEN_METEO_NOTE

    if as_json:
        echo_json({"lake": profile.id, "file": str(path), "guessed": profile.guessed})
        return
    typer.echo(f"Added {profile.name} as {profile.id}: {path}")
    typer.echo(f"Guessed, until you say better: {', '.join(_key(name) for name in profile.guessed) or 'nothing'}.")
    if not profile.limits.confirmed:
        typer.echo("\n".join(limits_lines(profile)))
        typer.echo(f"Agree with: briefing lake set {profile.id} limits.confirmed=true")
    if not context.settings().contact:
        typer.echo(f"No contact is set, so no service is asked yet: write yours into {context.home.settings_file}")
    typer.echo(OPEN_METEO_NOTE)
    typer.echo(f"Next: briefing today {profile.id}")


def _key(attribute: str) -> str:
    from briefing.profile.model import LakeProfile

    return LakeProfile.model_fields[attribute].alias or attribute


@app.command("list")
def list_lakes(ctx: typer.Context, as_json: JsonOption = False) -> None:
    """List your lakes; one whose file has a problem is listed with it."""
    from briefing.profile.files import lake_files, load_profile

    rows = []
    for path in lake_files(app_context(ctx).lakes_dir()):
        try:
            profile = load_profile(path)
            rows.append({"lake": path.stem, "name": profile.name, "file": str(path), "problem": ""})
        except BriefingError as error:
            rows.append({"lake": path.stem, "name": "", "file": str(path), "problem": str(error)})
    if as_json:
        echo_json(rows)
    elif not rows:
        typer.echo("No lake yet; add one with: briefing lake add")
    for row in [] if as_json else rows:
        typer.echo(f"{row['lake']}: {row['problem'] or row['name']}")


@app.command("show")
def show(ctx: typer.Context, lake: LakeArgument = None, as_json: JsonOption = False) -> None:
    """Show what is known about a lake, with every guess marked.

    briefing lake show quillmere-pond
    """
    profile = app_context(ctx).lake(lake)
    if as_json:
        echo_json({"lake": profile.id, **profile.model_dump(mode="json"), "guessed": profile.guessed})
        return
    typer.echo("\n".join(_profile_lines(profile)))


def _profile_lines(profile: LakeProfile) -> list[str]:
    from briefing import units

    system = profile.units
    position = f"{abs(profile.latitude):.4f} {'N' if profile.latitude >= 0 else 'S'}, "
    position += f"{abs(profile.longitude):.4f} {'E' if profile.longitude >= 0 else 'W'}"
    rows: list[tuple[str, str, str]] = [
        ("position", position, ""),
        ("time zone", profile.time_zone, ""),
        ("kind", profile.kind.value, "kind"),
        ("elevation", units.show_elevation(profile.elevation_m, system), "elevation_m"),
        ("area", units.show_area(profile.area_km2, system), "area_km2"),
        ("mean depth", units.show_depth(profile.mean_depth_m, system), "mean_depth_m"),
        ("greatest depth", units.show_depth(profile.max_depth_m, system), "max_depth_m"),
        ("shoreline", profile.shoreline or "none", ""),
        ("species", ", ".join(profile.species), "species"),
        ("visibility", units.show_visibility(profile.visibility_m, system), "visibility_m"),
        ("water colour", profile.water_colour.value, "water_colour"),
        ("forage", ", ".join(profile.forage), "forage"),
        ("craft", f"{profile.craft.value} at {units.show_boat_speed(profile.speed_mps, system)}", "speed_mps"),
        ("skill", profile.skill.value, "skill"),
        ("alone", "yes" if profile.alone else "no", "alone"),
        ("re-entry practised", "yes" if profile.reentry_practised else "no", "reentry_practised"),
        ("clothing", profile.clothing.value, "clothing"),
        ("ramps", ", ".join(ramp.name for ramp in profile.ramps) or "none", ""),
    ]
    lines = [f"{profile.name} ({profile.id})"]
    for label, value, name in rows:
        mark = f"  (guess: {profile.guessed[name]})" if name in profile.guessed else ""
        lines.append(f"  {label}: {value}{mark}")
    lines += [f"  spot: {spot.name}, {_spot_words(spot, system)}" for spot in profile.spots]
    return lines + limits_lines(profile)


def _spot_words(spot: Any, system: Any) -> str:
    from briefing.units import show_depth_range

    marks = {"depth_m": "depth", "cover": "cover"}
    guessed = [marks[name] for name in spot.guessed]
    words = f"{show_depth_range(spot.depth_m[0], spot.depth_m[1], system)}, {', '.join(spot.cover)}"
    return words + (f" (guess: {', '.join(guessed)})" if guessed else "")


@app.command("check")
def check(ctx: typer.Context, lake: LakeArgument = None, as_json: JsonOption = False) -> None:
    """Check a lake's file and what it points to; a path to a file works too.

    briefing lake check quillmere-pond

    briefing lake check ./my-lake.toml
    """
    from briefing.profile.files import load_profile

    context = app_context(ctx)
    path = Path(lake) if lake and lake.endswith(".toml") else context.lake_path(lake)
    profile = load_profile(path)
    if profile.shoreline:
        from briefing.profile.shoreline import read_shoreline

        read_shoreline(path.parent / profile.shoreline, profile.latitude, profile.longitude)
    hints = [] if profile.limits.confirmed else ["the limits in use are not confirmed yet"]
    if not profile.ramps:
        hints.append("no ramp is set, so the way back is taken as the lake's longest arm")
    if not profile.shoreline:
        hints.append("no shoreline is set, so waves are worked out from an assumed outline")
    if as_json:
        echo_json({"lake": profile.id, "file": str(path), "guessed": profile.guessed, "hints": hints})
        return
    typer.echo(f"{path.name}: no problem found.")
    typer.echo(f"Guessed: {', '.join(_key(name) for name in profile.guessed) or 'nothing'}.")
    for hint in hints:
        typer.echo(f"Note: {hint}.")


@app.command("set")
def set_fields(
    ctx: typer.Context,
    lake: Annotated[str, typer.Argument(help="Lake, by its short name.", autocompletion=complete_lake)],
    values: Annotated[list[str], typer.Argument(help="field=value, several if you like.")],
) -> None:
    """Set fields of a lake's file, keeping your comments.

    briefing lake set quillmere-pond mean_depth=7ft skill=experienced limits.confirmed=true
    """
    from briefing.profile.template import set_values

    context = app_context(ctx)
    changes = {}
    for pair in values:
        key, mark, value = pair.partition("=")
        if not mark or not key.strip() or not value.strip():
            raise InputError(f"{pair!r} is not of the form field=value, such as mean_depth=7ft.")
        changes[key.strip()] = _toml_value(value.strip())
    profile = set_values(context.lake_path(lake), changes)
    typer.echo(f"Changed {profile.id}: {', '.join(changes)}.")


def _toml_value(text: str) -> Any:
    """Take a value as TOML where it is TOML (true, 7.5, a list), else as text."""
    import tomli

    try:
        return tomli.loads(f"value = {text}")["value"]
    except tomli.TOMLDecodeError:
        return text


@app.command("edit")
def edit(ctx: typer.Context, lake: LakeArgument = None) -> None:
    """Open a lake's file in your editor ($VISUAL or $EDITOR) and check it before it replaces the old one.

    With a mistake in it the old file stays in force; your version is offered again, or kept beside it.
    """
    from briefing.profile.files import parse_profile, read_text, write_text

    context = app_context(ctx)
    path = context.lake_path(lake)
    command = context.environment.get("VISUAL") or context.environment.get("EDITOR")
    if not command:
        raise InputError(f"No editor is set; set EDITOR, or edit {path} yourself and run: briefing lake check")
    old = read_text(path)
    with tempfile.TemporaryDirectory() as folder:
        draft = Path(folder) / path.name
        draft.write_text(old, encoding="utf-8")
        while True:
            _run_editor(command, draft)
            new = read_text(draft)
            if new == old:
                typer.echo("Nothing changed.")
                return
            try:
                parse_profile(new, path.name, lake_id=path.stem)
            except BriefingError as error:
                typer.echo(str(error), err=True)
                if _again():
                    continue
                kept = path.with_name(f"{path.name}.rejected")
                write_text(kept, new)
                raise InputError(f"The old file stays in force; your version is kept as {kept}.") from None
            write_text(path, new)
            typer.echo(f"Saved {path}.")
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
    file: Annotated[Path, typer.Argument(help="GPX or KML file with waypoints.")],
    lake: Annotated[str | None, typer.Option(help="Lake, by its short name.", autocompletion=complete_lake)] = None,
    depth: Annotated[str | None, typer.Option(help='Depth of all of them, "3 ft to 6 ft".')] = None,
    cover: Annotated[list[str] | None, typer.Option(help="Cover of all of them.")] = None,
) -> None:
    """Add waypoints from a GPX or KML file as spots; those already there are left as they are.

    briefing lake import-spots waypoints.gpx --lake quillmere-pond
    """
    from briefing.profile.files import load_profile
    from briefing.profile.model import slug
    from briefing.profile.template import append_tables
    from briefing.profile.waypoints import read_waypoints

    path = app_context(ctx).lake_path(lake)
    known = {spot.id for spot in load_profile(path).spots}
    points = read_waypoints(file)
    new = [point for point in points if slug(point.name) not in known]
    shared: dict[str, Any] = {}
    if depth:
        parts = [part.strip() for part in depth.replace(" to ", "-").split("-")]
        shared["depth"] = parts if len(parts) == 2 else [depth.strip(), depth.strip()]
    if cover:
        shared["cover"] = cover
    tables = [
        {"name": point.name, "latitude": point.latitude, "longitude": point.longitude, **shared}
        | ({"notes": point.notes} if point.notes else {})
        for point in new
    ]
    if not tables:
        raise NotFoundError(f"{file.name} holds no spot that {path.stem} doesn't have already.")
    append_tables(path, "spots", tables)
    skipped = f" ({len(points) - len(new)} were there already)" if len(points) > len(new) else ""
    typer.echo(f"Added {len(new)} spots to {path.stem}{skipped}.")
    if not depth or not cover:
        typer.echo("Depth and cover that you did not give are guesses; improve them with: briefing lake edit")
