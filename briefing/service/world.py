"""What a round of the service stands on: the assembly of `app`, with a mark on its claims and a log."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from briefing.app.assembly import App
from briefing.app.events import Log
from briefing.app.owner import Owner
from briefing.app.served import Lake, served_lakes
from briefing.app.service_settings import ServiceSettings
from briefing.app.ways_out import channels
from briefing.delivery.parcel import Channel
from briefing.errors import BriefingError


@dataclass(kw_only=True)
class World(App):
    """Everything around a round of the service."""

    owner: Owner
    log: Log
    _broken: set[str] = field(default_factory=set)

    def lakes(self, settings: ServiceSettings) -> list[Lake]:
        """Lakes to serve. A file that can't be read is told once in the log."""
        return served_lakes(self, settings, self._tell_unreadable)

    def channels(self, settings: ServiceSettings) -> dict[str, Channel]:
        """The ways out that are set up, by name. Raises InputError when a password file can't be used."""
        return channels(settings, self.environment)

    def _tell_unreadable(self, path: Path, error: BriefingError) -> None:
        if str(error) not in self._broken:
            self._broken.add(str(error))
            self.log("lake_unreadable", lake=path.stem, why=error)
