"""What goes into the store and comes out: plain frozen records, SI inside, times aware UTC."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from briefing.vocabulary import SignKind, Zone


class ReadingKind(StrEnum):
    """What a user can enter, and the keys its ``values`` carry.

    ======================= ==========================================================================
    kind                    values
    ======================= ==========================================================================
    water_temp              temperature_c, depth_m (optional)
    visibility              visibility_m, secchi (true when a Secchi disc was used)
    colour                  colour (a `WaterColour`)
    level                   trend (-1, 0, +1) or level_m (above a mark of the user's)
    plants                  top_m (optional), density (a `PlantDensity`, optional), state (a `PlantState`)
    wind                    wind_mps, gust_mps (optional), wind_from_deg (optional)
    alerts                  events (list of event names; empty: none in force), until (ISO, optional)
    thunder                 nothing: the time says it
    conditions              day (ISO date), text (a line of weather, as typed)
    ======================= ==========================================================================
    """

    WATER_TEMP = "water_temp"
    VISIBILITY = "visibility"
    COLOUR = "colour"
    LEVEL = "level"
    PLANTS = "plants"
    WIND = "wind"
    ALERTS = "alerts"
    THUNDER = "thunder"
    CONDITIONS = "conditions"


class EntryState(StrEnum):
    """Whether an entry counts. Nothing typed is erased: a corrected or withdrawn entry stays as history."""

    CURRENT = "current"
    CORRECTED = "corrected"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True, slots=True)
class NewReading:
    """A reading to store. ``typed`` is what the user wrote; ``method`` is hull, surface, typed for temperatures."""

    kind: ReadingKind
    time: datetime
    values: Mapping[str, Any]
    hour_known: bool = True
    zone: Zone = Zone.MAIN
    spot: str = ""
    method: str = "typed"
    note: str = ""
    typed: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """A stored reading; ``replaces`` is the number of the entry it corrects."""

    id: int
    lake: str
    kind: ReadingKind
    time: datetime
    values: Mapping[str, Any]
    hour_known: bool
    zone: Zone
    spot: str
    method: str
    note: str
    typed: str
    entered_at: datetime
    state: EntryState
    changed_at: datetime | None
    replaces: int | None


@dataclass(frozen=True, slots=True)
class NewSign:
    """A field sign of spawning to store."""

    kind: SignKind
    time: datetime
    zone: Zone = Zone.MAIN
    spot: str = ""
    hours_looked: float = 1.0
    count: int | None = None
    secchi_m: float | None = None
    note: str = ""
    typed: str = ""


@dataclass(frozen=True, slots=True)
class SignEntry:
    """A stored field sign."""

    id: int
    lake: str
    kind: SignKind
    time: datetime
    zone: Zone
    spot: str
    hours_looked: float
    count: int | None
    secchi_m: float | None
    note: str
    typed: str
    entered_at: datetime
    state: EntryState
    changed_at: datetime | None
    replaces: int | None


@dataclass(frozen=True, slots=True)
class Gathered:
    """Inputs of one briefing as they were used: forecast values with their origin, as JSON text."""

    lake: str
    made_at: datetime
    text: str


@dataclass(frozen=True, slots=True)
class StoredBriefing:
    """A briefing that was made, as JSON text."""

    lake: str
    day: date
    made_at: datetime
    text: str


@dataclass(frozen=True, slots=True)
class StoredMorning:
    """What is kept of a morning to compare with: the record of its facts, or its page (JSON text) where none was."""

    record: str | None
    page: str | None


@dataclass(frozen=True, slots=True)
class SentNote:
    """A wind note's signature: for which outing, when, which action, and what it said in numbers."""

    lake: str
    outing: date
    at: datetime
    action: str
    signature: Mapping[str, Any] = field(default_factory=dict)
