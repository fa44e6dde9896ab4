"""A calm morning on an invented lake, to be made worse one piece at a time."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from briefing import knowledge
from briefing.core.alerts import Alert, AlertFeed
from briefing.core.freshness import StaleTable
from briefing.core.hours import HourField, HourSeries, Origin, field_of, missing_field
from briefing.core.wind.alerts import resolve_alerts
from briefing.core.wind.fetch import fetch_table
from briefing.core.wind.hour_levels import hour_levels
from briefing.core.wind.inputs import DayLight, LevelInputs
from briefing.core.wind.level import Factor, HourLevel
from briefing.core.wind.limits import limits_for
from briefing.core.wind.shape import LakeShape
from briefing.resources import read_toml
from briefing.vocabulary import Craft, Skill

START = datetime(2026, 6, 3, 10, tzinfo=UTC)
NOW = START + timedelta(minutes=5)
HOURS = 12
ORIGIN = Origin("grid", "forecast grid", "forecast", START - timedelta(hours=1), START)
CALM = {
    "wind_mps": 2.0,
    "gust_mps": 3.0,
    "wind_from_deg": 270.0,
    "air_c": 20.0,
    "dewpoint_c": 10.0,
    "humidity_pct": 50.0,
    "thunder_pct": 0.0,
    "precip_chance_pct": 0.0,
    "visibility_m": 16000.0,
}


@dataclass
class Morning:
    """Inputs of ``hour_levels`` that start out calm."""

    values: dict[str, Any] = field(default_factory=lambda: dict(CALM))
    damaged: dict[str, Any] = field(default_factory=dict)
    origins: dict[str, Origin] = field(default_factory=dict)
    feed: AlertFeed = field(default_factory=lambda: AlertFeed((), START, "alerts", "alert service"))
    hours: int = HOURS
    changes: dict[str, Any] = field(default_factory=dict)
    craft: Craft = Craft.KAYAK
    skill: Skill = Skill.EXPERIENCED

    def series(self) -> HourSeries:
        fields: dict[str, HourField] = {}
        for name, value in self.values.items():
            if value is None:
                fields[name] = missing_field(self.hours)
                continue
            numbers = np.broadcast_to(np.asarray(value, float), (self.hours,)).copy()
            hurt = np.broadcast_to(np.asarray(self.damaged.get(name, False)), (self.hours,)).copy()
            fields[name] = field_of(np.where(hurt, np.nan, numbers), self.origins.get(name, ORIGIN), hurt)
        return HourSeries(START, self.hours, fields)

    def inputs(self) -> LevelInputs:
        table = knowledge.load_limits()
        base = LevelInputs(
            hours=self.series(),
            alerts=resolve_alerts(self.feed, None, (), NOW),
            craft=self.craft,
            skill=self.skill,
            limits=limits_for(table, self.craft, self.skill, alone=False, reentry_practised=True),
            limits_table=table,
            rules=knowledge.load_safety_rules(),
            events=knowledge.load_alert_events(),
            stale=StaleTable.from_mapping(read_toml("stale.toml")),
            now=NOW,
            light=(
                DayLight(
                    START - timedelta(hours=1),
                    START - timedelta(minutes=30),
                    START + timedelta(hours=13),
                    START + timedelta(hours=14),
                ),
            ),
            water_low_c=24.0,
            fetch=fetch_table(square_lake(), [[0.0, 0.0], [400.0, 400.0]], ["ramp: north", "spot: middle"]),
            mean_depth_m=5.0,
            units="us",
        )
        return replace(base, **self.changes)

    def levels(self) -> tuple[HourLevel, ...]:
        return hour_levels(self.inputs())

    def factor(self, name: str, hour: int = 0) -> Factor:
        return next(f for f in self.levels()[hour].factors if f.name == name)


def square_lake(half: float = 500.0) -> LakeShape:
    return LakeShape(np.array([[-half, -half], [half, -half], [half, half], [-half, half]]))


@pytest.fixture
def morning() -> Morning:
    return Morning()


@pytest.fixture(scope="session")
def make_morning() -> type[Morning]:
    return Morning


@pytest.fixture
def alert() -> Callable[..., Alert]:
    def make(event: str = "Lake Wind Advisory", **changes: Any) -> Alert:
        base = Alert(
            id="a1",
            event=event,
            status="Actual",
            message_type="Alert",
            severity="Moderate",
            certainty="Likely",
            urgency="Expected",
            sent=START - timedelta(hours=2),
            effective=START - timedelta(hours=2),
            onset=START,
            expires=START + timedelta(hours=3),
            ends=START + timedelta(hours=4),
            headline="",
            description="",
            instruction="",
            area="Upper County",
            issued_by="forecast office",
        )
        return replace(base, **changes)

    return make
