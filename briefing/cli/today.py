"""``briefing today``: retrieve, compute, save and print the briefing of a lake."""

from __future__ import annotations

from contextlib import contextmanager
from datetime import date, datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from briefing.cli.common import app_context, echo, tell_unkept
from briefing.errors import InputError, StoreError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from briefing.cli.common import AppContext
    from briefing.core.climate import AirNormals
    from briefing.pipeline.conditions_file import EnteredConditions
    from briefing.pipeline.inputs import MorningInputs
    from briefing.pipeline.made import Made
    from briefing.pipeline.run import Run
    from briefing.profile.model import LakeProfile
    from briefing.sources.http import Fetcher


class Format(StrEnum):
    """What is printed."""

    TEXT = "text"
    HTML = "html"
    JSON = "json"


def today(
    ctx: typer.Context,
    lake: Annotated[
        str | None, typer.Argument(help="Name or id of the lake; may be left out when there is one.")
    ] = None,
    day: Annotated[str | None, typer.Option("--date", help="Day at the lake, 2026-04-18; today when left out.")] = None,
    now: Annotated[str | None, typer.Option("--now", help="Instant that counts as now, for replays.")] = None,
    launch: Annotated[str | None, typer.Option(help="When you launch, 06:30; else the profile's usual hours.")] = None,
    back: Annotated[str | None, typer.Option("--return", help="When you plan to be back, 11:30.")] = None,
    fixed_launch: Annotated[
        bool, typer.Option("--fixed-launch", help="The launch can't be moved, such as a tournament's.")
    ] = False,
    offline: Annotated[bool, typer.Option("--offline", help="Ask no service: stored and entered data only.")] = False,
    conditions: Annotated[
        Path | None,
        typer.Option("--conditions", help="TOML file with all weather as you read it; no service is asked."),
    ] = None,
    save_in: Annotated[Path | None, typer.Option("--save", help="Folder for HTML, text and JSON.")] = None,
    form: Annotated[Format, typer.Option("--format", help="What to print.")] = Format.TEXT,
    requests: Annotated[bool, typer.Option("--requests", help="Print the requests that were made.")] = False,
) -> None:
    """Make today's briefing for a lake: retrieve, compute, save, print.

    \b
    briefing today                          the only lake, now
    briefing today "Heron Slough" --launch 06:30 --return 11:30
    briefing today --offline                with what is stored and entered
    briefing today --conditions ramp.toml   with weather you read yourself
    """
    from briefing.cli.common import AppContext

    context = app_context(ctx)
    if now:
        context = AppContext.from_environment(context.environment, now)
    profile = context.lake(lake)
    run = make_run(context, profile, lake, day, launch, back, fixed_launch, offline, conditions)
    made = execute(context, run)
    unkept = list(made.unkept)
    saved: tuple[Path, ...] = ()
    try:
        saved = _save(context, profile, made, save_in)
    except StoreError as error:
        unkept.append(str(error))
    echo({Format.TEXT: made.text, Format.HTML: made.html, Format.JSON: made.json}[form], nl=False)
    for note in made.notes:
        echo(note, err=True)
    if requests:
        print_requests(made)
    if saved:
        echo("Saved: " + "  ".join(str(path) for path in saved), err=form is not Format.TEXT)
    tell_unkept(unkept)


def make_run(
    context: AppContext,
    profile: LakeProfile,
    word: str | None,
    day: str | None,
    launch: str | None,
    back: str | None,
    fixed_launch: bool,
    offline: bool,
    conditions: Path | None,
) -> Run:
    """Turn what was typed into a run. Raises InputError for a date or time that can't be read."""
    from briefing.pipeline.run import Run

    at = context.now()
    local_day = read_day(day) if day else at.astimezone(profile.zone).date()
    begin = read_clock(launch, local_day, profile) if launch else None
    end = read_clock(back, local_day, profile) if back else None
    if end is not None and begin is None:
        raise InputError("--return needs --launch: say both, such as --launch 06:30 --return 11:30.")
    if begin is not None and end is not None and end <= begin:
        raise InputError(f"--return {back} is not after --launch {launch}; say both as clock times of the same day.")
    return Run(
        profile=profile,
        profile_path=context.lake_path(word),
        day=local_day,
        now=at,
        offline=offline,
        conditions=None if conditions is None else _conditions(conditions, profile, local_day),
        launch=begin,
        back=end,
        fixed_launch=fixed_launch,
    )


def read_day(text: str) -> date:
    """Read ``2026-04-18``. Raises InputError."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(f"--date {text!r} is no date; write it as 2026-04-18.") from None


def read_clock(text: str, day: date, profile: LakeProfile) -> datetime:
    """Read a clock time at the lake on ``day`` as an aware UTC instant. Raises InputError."""
    from datetime import UTC

    try:
        hour, minute = (int(part) for part in text.split(":"))
        local = datetime(day.year, day.month, day.day, hour, minute, tzinfo=profile.zone)
    except ValueError:
        raise InputError(f"{text!r} is no clock time; write it as 06:30.") from None
    return local.astimezone(UTC)


def _conditions(path: Path, profile: LakeProfile, day: date) -> EnteredConditions:
    import tomli

    from briefing.errors import NotFoundError
    from briefing.pipeline.conditions_file import read_conditions

    try:
        with path.open("rb") as handle:
            data = tomli.load(handle)
    except FileNotFoundError:
        raise NotFoundError(f"{path}: no such file; give the path of a conditions file.") from None
    except (tomli.TOMLDecodeError, UnicodeDecodeError) as error:
        raise InputError(f"{path} is not a readable TOML file: {error}.") from error
    return read_conditions(data, path.name, day, profile.zone, profile.units)


def execute(context: AppContext, run: Run) -> Made:
    """Make the briefing of a run with the context's store, services and knowledge."""
    from briefing.pipeline.run import make
    from briefing.pipeline.tables import load_tables

    tables = load_tables(context.home.knowledge_dir)
    with context.store_anyway() as store, services(context, run) as fetcher:
        return make(run, tables, normals_of(run.profile), store, fetcher)


def inputs_of(context: AppContext, run: Run) -> MorningInputs:
    """Bring the inputs of a run together without building a briefing; for the commands that show one part."""
    from briefing.pipeline.run import prepare

    with context.store_anyway() as store, services(context, run) as fetcher:
        inputs, notes = prepare(run, normals_of(run.profile), store, fetcher)
    for note in (*notes, *([store.unwritable] if store.unwritable else [])):
        echo(note, err=True)
    return inputs


def normals_of(profile: LakeProfile) -> AirNormals:
    """Climate normals of air temperature at the lake."""
    from briefing import knowledge
    from briefing.core.climate import normals_at

    return normals_at(knowledge.load_normals_table(), profile.latitude, profile.longitude, profile.elevation_m)


@contextmanager
def services(context: AppContext, run: Run) -> Iterator[Fetcher | None]:
    """The client for data services, or None when none is to be asked."""
    if run.offline or run.conditions is not None:
        yield None
        return
    from briefing.sources.http import Fetcher
    from briefing.sources.urls import BaseUrls

    settings = context.settings()
    addresses = BaseUrls.from_environment(context.environment, open_meteo=settings.open_meteo)
    with Fetcher(settings.contact, addresses, context.home.cache_dir, context.now) as fetcher:
        yield fetcher


def _save(context: AppContext, profile: LakeProfile, made: Made, folder: Path | None) -> tuple[Path, Path, Path]:
    from briefing.pipeline.made import save

    chosen = folder or (
        Path(profile.delivery.folder).expanduser()
        if profile.delivery.folder
        else context.settings().briefings_dir(context.home)
    )
    return save(made, chosen)


def print_requests(made: Made) -> None:
    """Print every request with its outcome, for the budget."""
    records = made.gathered.requests
    echo(f"{len(records)} requests:", err=True)
    for record in records:
        size = f"{record.bytes} bytes" if record.bytes else "no body"
        source = "cache" if record.from_cache else f"{record.tries} tries"
        echo(f"  {record.service}: {record.outcome} ({record.status or 'no answer'}, {size}, {source})", err=True)
