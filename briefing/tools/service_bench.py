"""What the long runs of the service share: a home with many lakes, planned outings, and a mail account on loopback."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path

from briefing.app.events import Log
from briefing.app.owner import Owner
from briefing.core.gathered_json import to_json
from briefing.profile.files import load_profile
from briefing.profile.paths import Home
from briefing.service.world import World
from briefing.store import open_store
from briefing.tools.compose import Weather, compose

_LAKE = """schema_version = 1
name = "{name}"
latitude = {latitude}
longitude = {longitude}
time_zone = "{zone}"
craft = "kayak"
area = "400 acres"
mean_depth = "9 ft"
"""
_SERVICE = """[mail]
host = "127.0.0.1"
port = {port}
security = "none"
sender = "lake@example.net"
to = ["reader@example.org"]
connect_s = 600
command_s = 600
answer_s = 600
"""


def make_home(root: Path, lakes: int, *, zone: str = "America/New_York", habit: str = "", service: str = "") -> Home:
    """Make a home with some lakes spread over a grid of invented positions; ``habit`` is a table [[outings]]."""
    home = Home.from_environment({"BRIEFING_HOME": str(root)})
    home.lakes_dir.mkdir(parents=True, exist_ok=True)
    for number in range(lakes):
        text = _LAKE.format(
            name=f"Water {number:03d}",
            latitude=round(30.2 + 0.11 * (number % 25), 4),
            longitude=round(-84.4 + 0.13 * (number // 25), 4),
            zone=zone,
        )
        (home.lakes_dir / f"water-{number:03d}.toml").write_text(text + habit, encoding="utf-8")
    (home.config_dir / "service.toml").write_text(service, encoding="utf-8")
    return home


def mail_settings(port: int) -> str:
    """Settings of a mail account at a loopback server."""
    return _SERVICE.format(port=port)


def store_inputs(home: Home, at: datetime, day: date) -> None:
    """Store made-up inputs for every lake, as if they had been retrieved at ``at``."""
    with open_store(home.store_file, at) as store, Owner(home.data_dir / "service") as owner:
        world = World(home=home, clock=lambda: at, owner=owner, log=Log(), offline=True)
        for number, path in enumerate(sorted(home.lakes_dir.glob("*.toml"))):
            profile = load_profile(path)
            weather = Weather(seed=number, peak_mps=5.0 + number % 7, peak_h=4.0 + number % 5)
            gathered = compose(profile, world.normals(profile), day, at, weather, "composed")
            store.save_gathered(profile.id, at, to_json(gathered))


def world_of(home: Home, clock: Callable[[], datetime], owner: Owner, log: Log) -> World:
    """A world without data services."""
    return World(home=home, clock=clock, owner=owner, log=log, offline=True)


def days_from(first: date, count: int) -> list[date]:
    """Dates in a row."""
    return [first + timedelta(days=n) for n in range(count)]
