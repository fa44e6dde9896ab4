"""What the hours of a morning are judged from: every input on its way from the profile, the services and the user."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from briefing.core.climate.normals import AirNormals
from briefing.core.readings import WaterReading, WindReading
from briefing.core.wind.level import Factor
from briefing.pipeline.hazard import Hazards, coldest_water_c, day_light, judge
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.tables import load_tables
from briefing.profile.model import Clothing
from briefing.vocabulary import Level, Zone
from tests.scenarios import SCENARIOS, inputs_of, steady_water

TABLES = load_tables()
ALASKA = ZoneInfo("America/Anchorage")
HOUR = timedelta(hours=1)


@pytest.fixture
def calm() -> MorningInputs:
    """A calm summer morning without any measured wind, met in plain clothes."""
    inputs = inputs_of(SCENARIOS["north_summer_calm"])
    profile = inputs.profile.model_copy(update={"clothing": Clothing.NONE})
    return replace(inputs, profile=profile, gathered=replace(inputs.gathered, wind_now=()))


def judged(inputs: MorningInputs, **zones_c: float) -> Hazards:
    return judge(inputs, TABLES, steady_water(inputs.day, **(zones_c or {"main": 22.0, "pocket": 23.0})))


def factor(hazards: Hazards, name: str, instant: datetime) -> Factor:
    hour = next(one for one in hazards.levels if one.hour <= instant < one.hour + HOUR)
    return next(one for one in hour.factors if one.name == name)


def measured(inputs: MorningInputs, source: str) -> MorningInputs:
    """Ten metres a second with gusts of seventeen and 300 m of sight, just now, by a station or by the user."""
    wind = WindReading(inputs.now, 10.0, 17.0, 200.0, source, "who saw it", 9.0, visibility_m=300.0)
    if source == "user":
        return replace(inputs, entered=replace(inputs.entered, winds=(wind,)))
    return replace(inputs, gathered=replace(inputs.gathered, wind_now=(wind,)))


@pytest.mark.parametrize("source", ["metar", "user"])
def test_what_was_measured_or_seen_just_now_reaches_the_hours(calm: MorningInputs, source: str) -> None:
    before, after = judged(calm), judged(measured(calm, source))
    for name, number in (("sustained_wind", 10.0), ("gust", 17.0), ("visibility", 300.0)):
        assert factor(before, name, calm.now).level is Level.WITHIN_LIMITS
        assert factor(after, name, calm.now).number == number
        assert factor(after, name, calm.now).source == "who saw it"
    assert factor(after, "sustained_wind", calm.now).level is factor(after, "gust", calm.now).level is Level.STOP
    assert factor(after, "waves", calm.now).number > 2.0 * factor(before, "waves", calm.now).number


def test_a_guessed_depth_is_not_taken_as_known(calm: MorningInputs) -> None:
    """Waves over a metre of water stay low; where the metre is a guess they are those of five."""

    def waves(depth_m: float, **guessed: str) -> float:
        profile = calm.profile.model_copy(update={"mean_depth_m": depth_m, "guessed": guessed})
        hazards = judged(measured(replace(calm, profile=profile), "metar"))
        height = factor(hazards, "waves", calm.now).number
        (printed,) = (high for hour, (_, high) in hazards.wave_ranges().items() if hour <= calm.now < hour + HOUR)
        assert printed == height
        return height

    shallow, usual, guessed = waves(1.0), waves(5.0), waves(1.0, mean_depth_m="usual for such a lake")
    assert shallow < 0.97 * usual
    assert guessed == usual
    assert waves(15.0, mean_depth_m="usual for such a lake") == waves(15.0) > usual


@pytest.mark.parametrize(
    ("latitude", "day", "name"), [(64.84, date(2026, 7, 15), "sunset"), (61.5, date(2026, 7, 29), "dusk")]
)
def test_of_two_sunsets_or_dusks_in_one_day_the_evening_s_counts(latitude: float, day: date, name: str) -> None:
    """In the far north they come shortly after midnight for weeks, and twice on the day they step across it."""
    profile = inputs_of(SCENARIOS["north_summer_calm"]).profile
    profile = profile.model_copy(update={"latitude": latitude, "longitude": -147.72, "time_zone": str(ALASKA)})
    light = day_light(profile, day)
    at = getattr(light, name)
    assert at is not None
    assert at.astimezone(ALASKA).hour == 23
    assert light.sunrise is not None
    assert light.sunrise < at


def test_the_limits_are_cut_for_the_coldest_part_of_the_lake_that_is_fished(calm: MorningInputs) -> None:
    assert judged(calm, main=22.0, pocket=23.0).cold_share == 1.0
    for zones in ({"main": 12.0, "pocket": 23.0}, {"main": 22.0, "pocket": 12.0}):
        hazards = judged(calm, **zones)
        assert set(hazards.water_low_c.tolist()) == {12.0}
        assert hazards.cold_share == 0.75
        gust = factor(hazards, "gust", calm.now)
        assert 0.0 <= 0.75 * hazards.limits.gust_stop_mps - gust.stop_limit < 0.1, "cut to what is printed"


@pytest.mark.parametrize(
    ("change", "low_c"),
    [
        ({}, 12.0),
        ({"kind": "tailwater"}, 22.0),
        ({"depth_m": 8.0}, 22.0),
        ({"zone": Zone.EXPOSED}, 22.0),
        ({"hour_known": False}, 22.0),
        ({"hours": 7.0}, 22.0),
        ({"temperature_c": 25.0}, 22.0),
    ],
)
def test_colder_water_read_just_now_cuts_the_limits_whatever_the_estimate_makes_of_it(
    calm: MorningInputs, change: dict[str, object], low_c: float
) -> None:
    more = dict(change)
    at = calm.now - timedelta(hours=float(str(more.pop("hours", 0.7))))
    reading = replace(WaterReading("g", at, 12.0, kind="gauge", source="usgs", name="gauge"), **more)
    inputs = replace(calm, gathered=replace(calm.gathered, water=(reading,)))
    assert set(judged(inputs).water_low_c.tolist()) == {low_c}


def test_the_low_end_of_the_water_s_range_counts_not_its_middle(calm: MorningInputs) -> None:
    """Members from 12 to 26 degrees, in even steps: nine of ten lie above 13.4."""
    water = steady_water(calm.day, main=20.0)
    spread = np.linspace(12.0, 26.0, 11)[:, None, None] * np.ones((11, water.days, 1))
    hazards = judge(calm, TABLES, replace(water, members_c=spread))
    assert hazards.water_low_c == pytest.approx(13.4)
    assert hazards.cold_share == 0.75


def test_the_coldest_plausible_water_lies_below_the_normal_air_of_the_weeks_before() -> None:
    """On 1 April: the air of 11 March (69 days in, rising by 0.1 a day from 0), two spreads and the error lower."""
    rising = 0.1 * np.arange(366.0)
    normals = AirNormals(40.0, -90.0, 200.0, rising, np.full(366, 4.0), np.full(366, 1.5), rising - 5.0, 0.8)
    assert coldest_water_c(normals, date(2026, 4, 1)) == pytest.approx(6.9 - 3.0 - 0.8)
    assert coldest_water_c(normals, date(2026, 1, 30)) == 0.0
