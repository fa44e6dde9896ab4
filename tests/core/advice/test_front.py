from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from briefing.core.advice.conditions import FrontStage
from briefing.core.advice.front import NO_DATA, FrontRules, front_stage
from briefing.core.hours import HourSeries, Origin, field_of
from briefing.resources import read_toml

RULES = FrontRules.from_mapping(read_toml("front.toml"))
START = datetime(2026, 3, 1, tzinfo=UTC)
ORIGIN = Origin("made", "made for the test", "forecast")
PASSAGE = 60  # hour of the series


def series(*, front: bool = True, hours: int = 168, without: tuple[str, ...] = ()) -> HourSeries:
    n = np.arange(hours)
    swing = 5 * np.sin(2 * np.pi * (n - 15) / 24)
    after = np.clip(n - PASSAGE, 0, None)
    pressure = np.full(hours, 1016.0)
    air, wind = 18 + swing, np.full(hours, 170.0)
    if front:
        pressure = 1016 - np.clip((n - (PASSAGE - 18)) * 0.45, 0, 8.1) + np.clip(after * 0.8, 0, 14)
        air = 18 + swing - 9 * np.exp(-((after - 20) ** 2) / 900) * (n >= PASSAGE)
        wind = np.where(n < PASSAGE, 190.0, 320.0)
    fields = {"pressure_hpa": pressure, "air_c": air, "wind_from_deg": wind}
    return HourSeries(START, hours, {k: field_of(v, ORIGIN) for k, v in fields.items() if k not in without})


@pytest.mark.parametrize(
    ("hours_after", "stage"),
    [
        (-10, FrontStage.APPROACHING),
        (4, FrontStage.PASSAGE),
        (20, FrontStage.DAY1),
        (45, FrontStage.DAY2),
        (72, FrontStage.RECOVERING),
    ],
)
def test_the_stage_follows_the_hours_since_the_passage(hours_after: int, stage: FrontStage) -> None:
    front = front_stage(series(), START + timedelta(hours=PASSAGE + hours_after), RULES)
    assert front.stage is stage
    assert front.passage is not None
    assert abs((front.passage - START).total_seconds() / 3600 - PASSAGE) <= 4


def test_south_of_the_equator_the_wind_turns_the_other_way() -> None:
    north = series(without=("pressure_hpa",))
    turned = (180.0 - north.values("wind_from_deg")) % 360.0  # 190 to 320 becomes 350 to 220: north to south-west
    south = HourSeries(START, 168, dict(north.fields) | {"wind_from_deg": field_of(turned, ORIGIN)})
    at = START + timedelta(hours=PASSAGE + 20)
    assert front_stage(south, at, RULES, south=True).stage is FrontStage.DAY1
    assert front_stage(south, at, RULES, south=True) == front_stage(north, at, RULES)
    assert front_stage(south, at, RULES).stage is not FrontStage.DAY1
    assert front_stage(north, at, RULES, south=True).stage is not FrontStage.DAY1


def test_steady_weather_has_no_front() -> None:
    assert front_stage(series(front=False), START + timedelta(hours=100), RULES).stage is FrontStage.NONE


def test_a_front_is_dated_without_pressure() -> None:
    front = front_stage(series(without=("pressure_hpa",)), START + timedelta(hours=PASSAGE + 20), RULES)
    assert front.stage is FrontStage.DAY1


def test_nothing_known_is_said_and_not_guessed() -> None:
    front = front_stage(series(without=("pressure_hpa", "air_c", "wind_from_deg")), START, RULES)
    assert front.stage is FrontStage.NONE
    assert "not known" in front.text


def test_days_that_are_missing_are_not_called_without_a_front() -> None:
    late = series(front=False).window(START + timedelta(hours=96), START + timedelta(hours=168))
    padded = late.window(START, START + timedelta(hours=168))
    front = front_stage(padded, START + timedelta(hours=100), RULES)
    assert (front.stage, front.text) == (FrontStage.NONE, NO_DATA.text)


def test_pressure_level_alone_has_no_weight() -> None:
    low = series(front=False)
    fields = dict(low.fields) | {"pressure_hpa": field_of(np.full(168, 985.0), ORIGIN)}
    assert front_stage(HourSeries(START, 168, fields), START + timedelta(hours=90), RULES).stage is FrontStage.NONE
