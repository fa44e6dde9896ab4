"""Whole mornings on the four example lakes in four seasons, as inputs of ``build``; the goldens are made of them."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache

import numpy as np

from briefing import knowledge
from briefing.core.climate import normals_at
from briefing.core.readings import ClarityReading, Sign, WaterReading
from briefing.core.water.series import WaterSeries
from briefing.pipeline.build import Built, build
from briefing.pipeline.demo import make_demo
from briefing.pipeline.inputs import Entered, Kept, MorningInputs, Outing
from briefing.pipeline.shape import lake_shape
from briefing.pipeline.tables import load_tables, reader_of
from briefing.profile.files import load_profile
from briefing.profile.model import LakeProfile
from briefing.resources import config_path
from briefing.tools.compose import Weather, compose
from briefing.vocabulary import SignKind, WaterColour, Zone

SOUTH, HIGHLAND, NORTH = "sedgemary-lake", "corviston-reservoir", "halvorsby-lake"
LOWLAND = "tallwick-reservoir"


@dataclass(frozen=True)
class Scenario:
    """A morning: lake, local day, clock of now, hours out, weather, and what the user had entered."""

    lake: str
    day: date
    now: str
    launch: str
    back: str
    weather: Weather
    planned: bool = True
    fixed_launch: bool = False
    water: tuple[tuple[int, float], ...] = ()  # days before now at 09:00, C
    visibility_m: float | None = None
    colour: WaterColour | None = None
    signs: tuple[tuple[int, SignKind], ...] = ()
    change: Callable[[LakeProfile], LakeProfile] | None = None


SCENARIOS = {
    "south_early_spring_front_coming": Scenario(
        SOUTH, date(2026, 2, 21), "05:10", "06:45", "12:30",
        Weather(seed=5, peak_mps=7.0, peak_h=9, front_h=18, thunder_pct=40, storm_h=12, warm_c=3, cool_after_c=6,
                alerts=("Lake Wind Advisory",), alert_from_h=7),
        water=((3, 16.4), (10, 15.1)), visibility_m=0.9, colour=WaterColour.TANNIC,
        signs=((3, SignKind.EMPTY_CLEAN_BEDS),),
    ),
    "highland_winter_cold_water": Scenario(
        HIGHLAND, date(2026, 1, 17), "06:00", "08:00", "13:00",
        Weather(seed=7, peak_mps=4.0, peak_h=6, front_h=-40, cloud_pct=60, alerts=()),
        water=((2, 7.6),),
    ),
    "north_summer_calm": Scenario(
        NORTH, date(2026, 7, 11), "04:30", "05:15", "10:30",
        Weather(seed=11, breeze_mps=1.0, peak_mps=3.0, peak_h=6, cloud_pct=10, warm_c=2),
        water=((1, 23.9), (8, 22.8)), visibility_m=3.4, colour=WaterColour.CLEAR,
    ),
    "north_spring_alerts_unreadable": Scenario(
        NORTH, date(2026, 5, 23), "04:45", "05:30", "11:00",
        Weather(seed=13, peak_mps=5.0, peak_h=5, alerts=None, wind_now=False),
    ),
    "south_autumn_fixed_launch_over_limits": Scenario(
        SOUTH, date(2026, 10, 24), "04:50", "07:15", "14:30",
        Weather(seed=17, breeze_mps=4.0, peak_mps=10.0, peak_h=4, peak_width_h=9, front_h=-6, cool_after_c=4,
                alerts=("Wind Advisory",), alert_from_h=1),
        fixed_launch=True, water=((6, 23.5),), visibility_m=0.7,
    ),
    "highland_autumn_no_thunder_data": Scenario(
        HIGHLAND, date(2026, 10, 3), "05:30", "06:45", "12:00",
        Weather(seed=19, peak_mps=4.5, peak_h=6, missing=("thunder_pct", "cape_jkg")),
        planned=False,
    ),
    "lowland_autumn_after_the_front": Scenario(
        LOWLAND, date(2026, 10, 31), "05:00", "07:00", "13:00",
        Weather(seed=23, breeze_mps=2.2, peak_mps=5.5, peak_h=8, front_h=-16, cloud_pct=25, cool_after_c=4),
        water=((1, 16.8), (7, 18.4)), visibility_m=0.4, colour=WaterColour.MUDDY,
    ),
}  # fmt: skip


def inputs_of(scenario: Scenario) -> MorningInputs:
    """Compose the inputs of a scenario."""
    path = config_path(f"lakes/{scenario.lake}.toml")
    profile = load_profile(path)
    shape = lake_shape(profile, path)
    if scenario.change is not None:
        profile = scenario.change(profile)
    now = _at(scenario.day, scenario.now, profile)
    normals = normals_at(knowledge.load_normals_table(), profile.latitude, profile.longitude, profile.elevation_m)
    return MorningInputs(
        profile=profile,
        reader=reader_of(profile),
        shape=shape,
        normals=normals,
        gathered=compose(profile, normals, scenario.day, now, scenario.weather, "made-up"),
        entered=_entered(scenario, profile),
        kept=Kept(),
        outing=Outing(
            _at(scenario.day, scenario.launch, profile),
            _at(scenario.day, scenario.back, profile),
            planned=scenario.planned,
            fixed_launch=scenario.fixed_launch,
            lead="as you gave them" if scenario.planned else "first to last light",
        ),
        day=scenario.day,
        now=now,
    )


@cache
def built(name: str) -> Built:
    """A scenario built, or the demonstration ("demo"); made once in a process, since nothing can change it."""
    return make_demo().built if name == "demo" else build(inputs_of(SCENARIOS[name]), load_tables())


def steady_water(day: date, **zones_c: float) -> WaterSeries:
    """Water of the same temperature for weeks, by zone: a stand-in where a test is about something else."""
    members = np.broadcast_to(np.array(list(zones_c.values()), float), (8, 40, len(zones_c)))
    zones = tuple(Zone(name) for name in zones_c)
    return WaterSeries(day - timedelta(days=30), 30, zones, members, members[0, :, 0], 0.5, 1.0)


def _at(day: date, clock: str, profile: LakeProfile) -> datetime:
    hour, minute = (int(part) for part in clock.split(":"))
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=profile.zone)


def _entered(scenario: Scenario, profile: LakeProfile) -> Entered:
    def morning(days: int) -> datetime:
        return _at(scenario.day - timedelta(days=days), "09:00", profile)

    clarity = ()
    if scenario.visibility_m is not None or scenario.colour is not None:
        clarity = (ClarityReading(morning(2), scenario.visibility_m, scenario.colour),)
    return Entered(
        water=tuple(
            WaterReading(f"r{number}", morning(days), c, Zone.MAIN, "hull")
            for number, (days, c) in enumerate(scenario.water)
        ),
        clarity=clarity,
        signs=tuple(
            Sign(f"s{number}", morning(days), kind, Zone.POCKET, 1.0)
            for number, (days, kind) in enumerate(scenario.signs)
        ),
    )
