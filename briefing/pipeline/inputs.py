"""What one briefing is made from: everything known before the computation starts, as one value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from briefing.core.advice.boat import BoatParameters
from briefing.core.advice.front import FrontRules
from briefing.core.advice.knowledge import AdviceKnowledge
from briefing.core.advice.physics import PhysicsParameters
from briefing.core.advice.plan import PlanParameters
from briefing.core.advice.plants import PlantParameters
from briefing.core.advice.rods import RodParameters
from briefing.core.alerts import AlertFeed
from briefing.core.climate.normals import AirNormals
from briefing.core.freshness import StaleTable
from briefing.core.gathered import Gathered
from briefing.core.hours import HourSeries
from briefing.core.log.checks import Check
from briefing.core.log.parameters import LogParameters
from briefing.core.log.records import Segment
from briefing.core.phase.model import PhaseLearned, PhaseState
from briefing.core.phase.parameters import PhaseParameters
from briefing.core.readings import ClarityReading, LevelReading, PlantReading, Sign, WaterReading, WindReading
from briefing.core.record import MorningRecord, Uncompared
from briefing.core.water.engine import LakeLearned, WaterState
from briefing.core.water.parameters import WaterParameters
from briefing.core.wind.alerts import ResolvedAlerts
from briefing.core.wind.cautions import CautionTable
from briefing.core.wind.events import EventTable
from briefing.core.wind.limits import LimitsTable
from briefing.core.wind.rules import SafetyRules
from briefing.core.wind.shape import LakeShape
from briefing.profile.model import LakeProfile
from briefing.reader import Reader
from briefing.vocabulary import SpeciesForm


@dataclass(frozen=True)
class Outing:
    """The hours the briefing is judged for. ``planned`` is false when they are only the usual daylight hours.

    ``fixed_launch`` marks a launch that can't be moved, such as a tournament's. ``spots`` are the names of those the
    user chose for it; empty is all of the profile's.
    """

    launch: datetime
    back: datetime
    planned: bool
    fixed_launch: bool = False
    ramp: str | None = None
    lead: str = ""  # where the hours come from, for the reader
    weigh_in: datetime | None = None
    spots: tuple[str, ...] = ()


@dataclass(frozen=True)
class Entered:
    """What the user typed for this lake, converted; withdrawn entries are not in it."""

    water: tuple[WaterReading, ...] = ()
    winds: tuple[WindReading, ...] = ()
    clarity: tuple[ClarityReading, ...] = ()
    level: tuple[LevelReading, ...] = ()
    alerts: AlertFeed | None = None
    thunder_heard: tuple[datetime, ...] = ()
    signs: tuple[Sign, ...] = ()
    plants: tuple[PlantReading, ...] = ()


@dataclass(frozen=True)
class Kept:
    """What earlier runs left in the store."""

    water_learned: LakeLearned | None = None
    water_state: WaterState | None = None
    phase_learned: Mapping[SpeciesForm, PhaseLearned] = field(default_factory=dict)
    phase_state: Mapping[SpeciesForm, PhaseState] = field(default_factory=dict)
    alerts: ResolvedAlerts | None = None
    accepted: HourSeries | None = None
    earlier: MorningRecord | Uncompared | None = None  # the last morning for the same day, or why it can't be compared
    segments: tuple[Segment, ...] = ()
    checks: tuple[Check, ...] = ()


@dataclass(frozen=True)
class Knowledge:
    """All tables of ``config/`` that a briefing needs, loaded once."""

    limits: LimitsTable
    rules: SafetyRules
    events: EventTable
    cautions: CautionTable
    stale: StaleTable
    water: WaterParameters
    phase: PhaseParameters
    advice: AdviceKnowledge
    plan: PlanParameters
    front: FrontRules
    physics: PhysicsParameters
    rods: RodParameters
    log: LogParameters
    craft: Mapping[str, Mapping[str, float]]
    boat: BoatParameters
    plants: PlantParameters
    actions: Mapping[str, Mapping[str, str]]


@dataclass(frozen=True)
class MorningInputs:
    """Inputs of ``build``: the same inputs give the same briefing."""

    profile: LakeProfile
    reader: Reader
    shape: LakeShape
    normals: AirNormals
    gathered: Gathered
    entered: Entered
    kept: Kept
    outing: Outing
    day: date
    now: datetime
    seed: int = 0
    demo: bool = False
    remarks: tuple[str, ...] = ()  # of the service: prepared late, missed before
    notes_come: bool = False  # whether wind notes are sent for a planned outing
