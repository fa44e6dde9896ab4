"""All services for one lake in one call: each may fail alone, and what is missing is said."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime

from briefing.core.gathered import Gathered, SourceMemory
from briefing.sources.http import Fetcher


@dataclass(frozen=True)
class Stations:
    """Stations of the profile: USGS sites (``05287890``, ``USGS-05287890``), airports (``KALB``), buoys (``45002``)."""

    usgs: tuple[str, ...] = ()
    airports: tuple[str, ...] = ()
    buoys: tuple[str, ...] = ()


@dataclass(frozen=True)
class GatherRequest:
    """What to ask for. Degrees north and east; ``now`` is an aware instant.

    alert_points: (latitude, longitude) of the lake's far ends, asked unrounded beside the position itself.
    time_zone: IANA name; the days of ``air`` are local days. history_start: first local day of ``air``.
    memory: what the last run returned as ``Gathered.memory``.
    """

    latitude: float
    longitude: float
    now: datetime
    time_zone: str
    history_start: date
    alert_points: tuple[tuple[float, float], ...] = ()
    stations: Stations = Stations()
    memory: SourceMemory = field(default_factory=SourceMemory)


def gather(request: GatherRequest, fetcher: Fetcher) -> Gathered:
    """Ask all services (at most four at a time) and merge what they gave; never raises for a service."""
    raise NotImplementedError
