"""``briefing where``, ``export`` and ``forget``: where your data is, what leaves the machine, and both ways out."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from briefing.cli.common import AppContext, app_context, complete_lake, echo, echo_json
from briefing.errors import BriefingError, NotFoundError, StoreError

if TYPE_CHECKING:
    from briefing.profile.settings import Settings

EXPORT_VERSION = 1


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
    context = app_context(ctx)
    settings = context.settings()
    if network:
        _print_network(context, settings, as_json)
        return
    places = {
        "settings": context.home.settings_file,
        "lakes": settings.lakes_dir(context.home),
        "store": context.home.store_file,
        "briefings": settings.briefings_dir(context.home),
        "your own knowledge files": context.home.knowledge_dir,
        "cache (may be deleted)": context.home.cache_dir,
    }
    if as_json:
        echo_json({name: {"path": str(path), "exists": path.exists()} for name, path in places.items()})
        return
    for name, path in places.items():
        echo(f"{name}: {path}{'' if path.exists() else '  (not there yet)'}")


def network_rows(environment: Mapping[str, str], settings: Settings) -> list[dict[str, str]]:
    """Return what is sent to each service: its address (a setting), for what, and how exact the position is."""
    from briefing.sources.urls import BaseUrls

    urls = BaseUrls.from_environment(environment, open_meteo=settings.open_meteo)
    rows = [
        ("National Weather Service", urls.nws, "forecast, warnings, stations nearby", _NWS_POSITION),
        ("USGS water data", urls.usgs, "water temperature and level", "none; the site numbers of your lake's file"),
        ("Aviation weather reports", urls.metar, "wind now", "none; the airport's code"),
        ("NDBC buoys", urls.ndbc, "wind and water of a buoy", "none; the buoy's number"),
    ]
    if urls.open_meteo:
        rounded = "rounded to 0.01 degree"
        rows.append(("Open-Meteo forecast", urls.open_meteo, "forecast and past days", rounded))
        rows.append(("Open-Meteo archive", urls.open_meteo_archive, "past days of air temperature", rounded))
    return [dict(zip(("service", "address", "for", "position"), row, strict=True)) for row in rows]


_NWS_POSITION = "to 0.0001 degree (the lake's position and its far ends), for a warning may cover one shore only"


def _print_network(context: AppContext, settings: Settings, as_json: bool) -> None:
    from briefing.profile.settings import OPEN_METEO_NOTE

    rows = network_rows(context.environment, settings)
    rows += _delivery_rows(context)
    contact = settings.contact
    if as_json:
        echo_json({"contact": contact, "services": rows, "note": OPEN_METEO_NOTE})
        return
    echo("Requests go out only while a briefing or a wind check is made, and only to:")
    for row in rows:
        echo(f"  {row['service']} ({row['address']}): {row['for']}; position: {row['position']}")
    if contact:
        echo(f"Each request carries the program's name and your contact: {contact}")
    else:
        echo("No contact is set, so no service is asked; set one in settings.toml.")
    echo("Spots, nests, readings, signs and your log are never sent.")
    echo(OPEN_METEO_NOTE)


def _delivery_rows(context: AppContext) -> list[dict[str, str]]:
    """Where the service hands its messages to, as far as that is set up."""
    from briefing.service.settings import load_service_settings

    service = load_service_settings(context.home)
    rows = []
    if service.mail.host:
        what = f"briefings and wind notes for {len(service.mail.to)} recipients"
        rows.append(("Your mail server", service.mail.host, what, _NO_PLACES))
    if service.post.url:
        rows.append(("Your own address", service.post.url, "briefings and wind notes as JSON", _NO_PLACES))
    return [dict(zip(("service", "address", "for", "position"), row, strict=True)) for row in rows]


_NO_PLACES = "none; spots go by name only"


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
    from briefing.profile.files import lake_files, read_text, write_text

    context = app_context(ctx)
    files = lake_files(context.lakes_dir())
    wanted = None if lake is None else _lake_id(context, lake)
    document: dict[str, Any] = {
        "export_version": EXPORT_VERSION,
        "made_at": context.now().isoformat(),
        "lake_files": {path.stem: read_text(path) for path in files if wanted in (None, path.stem)},
    }
    if wanted is None and context.home.settings_file.exists():
        document["settings_file"] = read_text(context.home.settings_file)
    document["store"] = _stored(context, wanted)
    if to is None:
        echo_json(document)
        return
    write_text(to, json.dumps(document, indent=2, ensure_ascii=False) + "\n")
    echo(f"Exported {len(document['lake_files'])} lake files and the store to {to}.")


def _stored(context: AppContext, lake: str | None) -> dict[str, list[dict[str, Any]]]:
    """Return the store's content; nothing is made where there is no store yet."""
    if not context.home.store_file.exists():
        return {}
    with context.store() as store:
        return store.export(lake)


def _lake_id(context: AppContext, word: str) -> str:
    """Return the id of a lake that has a file, or of one that only has stored entries left."""
    try:
        return context.lake_path(word).stem
    except NotFoundError:
        if context.home.store_file.exists():
            with context.store() as store:
                if word in store.lakes():
                    return word
        raise


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
    context = app_context(ctx)
    lake_id = _lake_id(context, lake)
    if not yes:
        typer.confirm(f"Erase {lake_id} with everything stored about it? There is no way back", abort=True)
    files = _files_of(context, lake_id)
    erased: dict[str, int] = {}
    if context.home.store_file.exists():
        with context.store() as store:
            erased = store.forget(lake_id)
    for path in files:
        try:
            path.unlink(missing_ok=True)
        except OSError as error:
            raise StoreError(f"{path} can't be erased: {error.strerror or error}.") from None
    echo(f"Erased {lake_id}: {len(files)} files, {sum(erased.values())} stored entries.")


def _files_of(context: AppContext, lake_id: str) -> list[Path]:
    """Return the files of a lake: profile, a shoreline no other lake names, its rejected edit, saved briefings."""
    lakes_dir = context.lakes_dir()
    own = lakes_dir / f"{lake_id}.toml"
    files = [own, own.with_name(f"{own.name}.rejected")]
    shoreline = _shoreline_of(own)
    others = {_shoreline_of(path) for path in lakes_dir.glob("*.toml") if path != own}
    if shoreline is not None and shoreline not in others:
        files.append(shoreline)
    day = "[0-9]{4}-[0-9]{2}-[0-9]{2}"
    kinds = rf"({day}(-outlook)?\.(html|txt|json)|wind-{day}-[0-9]{{4}}\.txt|latest\.html)"
    dated = re.compile(rf"{re.escape(lake_id)}-{kinds}")
    saved = context.settings().briefings_dir(context.home)
    files += [path for path in sorted(saved.glob(f"{lake_id}-*")) if dated.fullmatch(path.name)]
    return [path for path in files if path.exists()]


def _shoreline_of(path: Path) -> Path | None:
    """Return the shoreline file that a lake's file names, when it lies beside it."""
    import tomli

    from briefing.profile.files import read_text

    try:
        name = tomli.loads(read_text(path)).get("shoreline")
    except (BriefingError, tomli.TOMLDecodeError):
        return None
    return path.parent / name if isinstance(name, str) and Path(name).name == name else None
