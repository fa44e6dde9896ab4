"""A small world: one lake, a clock that is set by hand, no data service, a mail server on loopback."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from briefing.app.events import Log
from briefing.app.owner import Owner
from briefing.profile.paths import Home
from briefing.service.world import World
from briefing.store.ledger import Ledger
from briefing.store.ledger_records import MessageRow, NewOuting, OccurrenceRow

LAKE = """
schema_version = 1
name = "{name}"
latitude = 30.61
longitude = -84.22
time_zone = "America/New_York"
craft = "kayak"
"""

START = datetime(2026, 4, 17, 6, 0, tzinfo=UTC)


class Desk:
    """Everything a test of the service needs at hand."""

    def __init__(self, root: Path, owner: Owner) -> None:
        self.home = Home.from_environment({"BRIEFING_HOME": str(root)})
        self.at = START
        self.lines = io.StringIO()
        self.environment: dict[str, str] = {}
        self.world = World(
            home=self.home,
            environment=self.environment,
            clock=lambda: self.at,
            owner=owner,
            log=Log(self.lines, human=False),
            offline=True,
        )

    def add_lake(self, lake: str = "quillmere", name: str = "Quillmere Pond", extra: str = "") -> Path:
        path = self.home.lakes_dir / f"{lake}.toml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(LAKE.format(name=name) + extra, encoding="utf-8")
        return path

    def settings(self, text: str) -> None:
        path = self.home.config_dir / "service.toml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")

    def mail(
        self, port: int, to: Sequence[str] = ("reader@example.org",), extra: str = "", hand_over: str = ""
    ) -> None:
        self.settings(
            f'[mail]\nhost = "127.0.0.1"\nport = {port}\nsecurity = "none"\nsender = "lake@example.net"\n'
            f"to = {json.dumps(list(to))}\nconnect_s = 1800\ncommand_s = 1800\nanswer_s = 1800\n{extra}\n"
            f"[hand_over]\n{hand_over}\n"
        )

    def set_clock(self, text: str) -> None:
        """Set the clock to a wall time in New York, such as ``2026-04-18 04:45``."""
        from zoneinfo import ZoneInfo

        self.at = datetime.fromisoformat(text).replace(tzinfo=ZoneInfo("America/New_York")).astimezone(UTC)

    def later(self, **step: float) -> None:
        self.at += timedelta(**step)

    def plan(self, day: date, launch: str, back: str, lake: str = "quillmere") -> None:
        from zoneinfo import ZoneInfo

        def instant(clock: str) -> datetime:
            local = datetime.fromisoformat(f"{day} {clock}").replace(tzinfo=ZoneInfo("America/New_York"))
            return local.astimezone(UTC)

        with self.world.store() as store:
            Ledger(store).add_outing(lake, NewOuting(day, instant(launch), instant(back)), self.at)

    def rows(self) -> list[OccurrenceRow]:
        with self.world.store() as store:
            return Ledger(store).occurrences(datetime(2000, 1, 1, tzinfo=UTC))

    def messages(self) -> list[MessageRow]:
        with self.world.store() as store:
            return Ledger(store).messages(datetime(2000, 1, 1, tzinfo=UTC))

    def events(self) -> list[dict[str, object]]:
        return [json.loads(line) for line in self.lines.getvalue().splitlines()]


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    with Owner(tmp_path / "owners") as owner:
        made = Desk(tmp_path / "home", owner)
        made.add_lake()
        yield made
