"""Where a person's data are, what leaves the machine, and both ways out: export and forget."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from briefing.app.assembly import App
from briefing.errors import BriefingError, NotFoundError, StoreError
from briefing.profile.files import read_text
from briefing.sources.urls import BaseUrls

EXPORT_VERSION = 1
_NWS_POSITION = "to 0.0001 degree (the lake's position and its far ends), for a warning may cover one shore only"
_NO_PLACES = "none; spots go by name only"


@dataclass(frozen=True)
class Sent:
    """What one service is sent: its address (a setting), what for, and how exact the position is."""

    service: str
    address: str
    what: str
    position: str


@dataclass(frozen=True)
class Erased:
    """What ``forget`` took away."""

    lake: str
    files: int
    entries: int


def places(app: App) -> dict[str, Path]:
    """Where the files are, by what they are."""
    settings = app.settings()
    return {
        "settings": app.home.settings_file,
        "lakes": settings.lakes_dir(app.home),
        "store": app.home.store_file,
        "briefings": settings.briefings_dir(app.home),
        "your own knowledge files": app.home.knowledge_dir,
        "cache (may be deleted)": app.home.cache_dir,
    }


def sent_out(app: App) -> list[Sent]:
    """What is sent to each data service, and to where the service hands its messages."""
    urls = BaseUrls.from_environment(app.environment, open_meteo=app.settings().open_meteo)
    rows = [
        Sent("National Weather Service", urls.nws, "forecast, warnings, stations nearby", _NWS_POSITION),
        Sent("USGS water data", urls.usgs, "water temperature and level", "none; the site numbers of your lake's file"),
        Sent("Aviation weather reports", urls.metar, "wind now", "none; the airport's code"),
        Sent("NDBC buoys", urls.ndbc, "wind and water of a buoy", "none; the buoy's number"),
    ]
    if urls.open_meteo:
        rounded = "rounded to 0.01 degree"
        rows.append(Sent("Open-Meteo forecast", urls.open_meteo, "forecast and past days", rounded))
        rows.append(Sent("Open-Meteo archive", urls.open_meteo_archive, "past days of air temperature", rounded))
    service = app.service_settings()
    if service.mail.host:
        what = f"briefings and wind notes for {len(service.mail.to)} recipients"
        rows.append(Sent("Your mail server", service.mail.host, what, _NO_PLACES))
    if service.post.url:
        rows.append(Sent("Your own address", service.post.url, "briefings and wind notes as JSON", _NO_PLACES))
    return rows


def export(app: App, lake: str | None = None) -> dict[str, Any]:
    """Lake files, settings and everything stored, of one lake or all, as plain values."""
    wanted = None if lake is None else lake_id(app, lake)
    document: dict[str, Any] = {
        "export_version": EXPORT_VERSION,
        "made_at": app.now().isoformat(),
        "lake_files": {path.stem: read_text(path) for path in app.lake_files() if wanted in (None, path.stem)},
    }
    if wanted is None and app.home.settings_file.exists():
        document["settings_file"] = read_text(app.home.settings_file)
    document["store"] = {}
    if app.home.store_file.exists():  # an export makes no store where there is none
        with app.store() as store:
            document["store"] = store.export(wanted)
    return document


def lake_id(app: App, word: str) -> str:
    """Id of a lake that has a file, or of one that only has stored entries left. Raises NotFoundError."""
    try:
        return app.lake_path(word).stem
    except NotFoundError:
        if app.home.store_file.exists():
            with app.store() as store:
                if word in store.lakes():
                    return word
        raise


def forget(app: App, lake: str) -> Erased:
    """Erase a lake (its id) with everything stored about it. There is no way back. Raises StoreError."""
    files = _files_of(app, lake)
    erased: dict[str, int] = {}
    if app.home.store_file.exists():
        with app.store() as store:
            erased = store.forget(lake)
    for path in files:
        try:
            path.unlink(missing_ok=True)
        except OSError as error:
            raise StoreError(f"{path} can't be erased: {error.strerror or error}.") from None
    return Erased(lake, len(files), sum(erased.values()))


def _files_of(app: App, lake: str) -> list[Path]:
    """The files of a lake: profile, a shoreline no other lake names, its rejected edit, saved briefings."""
    lakes_dir = app.lakes_dir()
    own = lakes_dir / f"{lake}.toml"
    files = [own, own.with_name(f"{own.name}.rejected")]
    shoreline = _shoreline_of(own)
    others = {_shoreline_of(path) for path in lakes_dir.glob("*.toml") if path != own}
    if shoreline is not None and shoreline not in others:
        files.append(shoreline)
    day = "[0-9]{4}-[0-9]{2}-[0-9]{2}"
    kinds = rf"({day}(-outlook)?\.(html|txt|json)|wind-{day}-[0-9]{{4}}\.txt|latest\.html)"
    dated = re.compile(rf"{re.escape(lake)}-{kinds}")
    saved = app.settings().briefings_dir(app.home)
    files += [path for path in sorted(saved.glob(f"{lake}-*")) if dated.fullmatch(path.name)]
    return [path for path in files if path.exists()]


def _shoreline_of(path: Path) -> Path | None:
    """The shoreline file that a lake's file names, when it lies beside it."""
    import tomli

    try:
        name = tomli.loads(read_text(path)).get("shoreline")
    except (BriefingError, tomli.TOMLDecodeError):
        return None
    return path.parent / name if isinstance(name, str) and Path(name).name == name else None
