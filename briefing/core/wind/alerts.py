"""Official alerts: which are in force over the lake, and what they mean for a craft.

Alerts are read, never recomputed from thresholds. "Could not be checked" is a state of its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from briefing.core.alerts import Alert, AlertFeed, Ring
from briefing.vocabulary import Craft, Level, Skill


@dataclass(frozen=True)
class ActiveAlert:
    """An alert in force now or later over the lake.

    begin is ``onset``, else ``effective``, else ``sent``; end is ``ends``, else ``expires``, None when neither is
    given. areas joins the areas of merged duplicates. vanished: no longer listed though never cancelled, so it
    stays until its end. expired_text: the message's life is over, the event's is not.
    """

    alert: Alert
    begin: datetime
    end: datetime | None
    areas: tuple[str, ...]
    vanished: bool = False
    expired_text: bool = False

    def overlaps(self, begin: datetime, end: datetime) -> bool:
        """Tell whether the event touches [begin, end)."""
        return self.begin < end and (self.end is None or self.end > begin)


@dataclass(frozen=True)
class ResolvedAlerts:
    """Alerts that count for the lake, newest first, and whether they could be read.

    checked_at is the instant of the last reading that succeeded (None: never). problem says why this reading failed;
    empty when it did not. tests_dropped counts messages that were not Actual, elsewhere those whose polygon misses
    the lake, cancelled those that were taken back.
    """

    active: tuple[ActiveAlert, ...]
    checked_at: datetime | None
    source: str
    name: str
    service_exists: bool = True
    problem: str = ""
    entered: bool = False
    damaged: int = 0
    tests_dropped: int = 0
    elsewhere: int = 0
    cancelled: int = 0
    gone: tuple[str, ...] = field(default=())  # ids ended by a cancel, an update or their end since the last reading

    @property
    def readable(self) -> bool:
        """True when this reading succeeded and no message in it was damaged."""
        return self.checked_at is not None and not self.problem and not self.damaged


@dataclass(frozen=True, slots=True)
class Consequence:
    """What an event means for one craft: level, and what to do."""

    level: Level
    text: str
    thunder: bool = False  # the event itself means lightning within reach
    warning: bool = False  # an official warning: always shown, always worth a note
    known: bool = True


@dataclass(frozen=True, slots=True)
class EventRule:
    """One row of ``config/alert_events.toml``; levels by craft group ("paddle" holds kayak, canoe and jon boat)."""

    id: str
    names: tuple[str, ...]
    codes: tuple[str, ...]
    paddle: Level
    bass_boat: Level
    text: str
    thunder: bool = False
    warning: bool = False
    novice: Level | None = None
    moving_water: Level | None = None
    big_lake: Level | None = None
    words: tuple[str, ...] = ()
    with_words: Level | None = None


@dataclass(frozen=True)
class EventTable:
    """Event names and codes -> consequences. Names are matched without regard to case."""

    rules: tuple[EventRule, ...]
    by_name: Mapping[str, EventRule]
    by_code: Mapping[str, EventRule]

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any]) -> EventTable:
        """Read ``config/alert_events.toml``; raises ValueError when a name or a code stands twice."""
        raise NotImplementedError

    def consequence(
        self, alert: Alert, craft: Craft, skill: Skill, *, moving_water: bool = False, big_lake: bool = False
    ) -> Consequence:
        """Return what the alert means. An unknown event is never dropped: severity and urgency then decide."""
        raise NotImplementedError


def resolve_alerts(
    feed: AlertFeed, previous: ResolvedAlerts | None, lake_rings: Sequence[Ring], now: datetime
) -> ResolvedAlerts:
    """Decide which alerts count.

    lake_rings: outer rings of the lake as (longitude, latitude); a ring of one point stands for a lake without a
    shoreline; empty: nothing can be ruled out. previous is the last result for this lake, or None.
    """
    raise NotImplementedError
