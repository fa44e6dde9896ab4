"""Every kind of morning: those of the scenarios, and some made from them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from functools import cache

import numpy as np

from briefing.pipeline.build import Built, build
from briefing.pipeline.demo import demo_inputs
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.shape import lake_shape
from briefing.pipeline.tables import load_tables
from briefing.profile.model import LakeProfile, Rule
from briefing.tools.compose import Weather
from tests import scenarios
from tests.scenarios import HIGHLAND, SCENARIOS, SOUTH, Scenario, inputs_of


def morning(name: str) -> MorningInputs:
    return inputs_of(SCENARIOS[name])


def without_hours(inputs: MorningInputs) -> MorningInputs:
    gathered = inputs.gathered
    empty = {
        name: replace(one, values=np.full(gathered.hours.hours, np.nan)) for name, one in gathered.hours.fields.items()
    }
    return replace(
        inputs,
        gathered=replace(
            gathered,
            hours=replace(gathered.hours, fields=empty),
            alerts=replace(gathered.alerts, alerts=(), problem="no answer", checked_at=None),
            wind_now=(),
            water=(),
        ),
    )


def of_age(inputs: MorningInputs, hours: float) -> MorningInputs:
    gathered, back = inputs.gathered, timedelta(hours=hours)
    fields = {
        name: replace(
            one,
            origins=tuple(
                replace(origin, issued=origin.issued and origin.issued - back, retrieved=origin.retrieved - back)
                for origin in one.origins
            ),
        )
        for name, one in gathered.hours.fields.items()
    }
    return replace(inputs, gathered=replace(gathered, hours=replace(gathered.hours, fields=fields)))


def with_profile(name: str, **update: object) -> MorningInputs:
    inputs = morning(name)
    return replace(inputs, profile=inputs.profile.model_copy(update=update))


def metric() -> MorningInputs:
    inputs = morning("lowland_autumn_after_the_front")
    return replace(
        inputs,
        profile=inputs.profile.model_copy(update={"units": "metric"}),
        reader=replace(inputs.reader, units="metric"),
    )


def southern() -> MorningInputs:
    """An autumn morning after a front at 30 degrees south, with the weather and the normals of that place."""

    def moved(profile: LakeProfile) -> LakeProfile:
        return profile.model_copy(
            update={
                "latitude": -30.0, "longitude": 150.5, "time_zone": "Australia/Sydney", "country": "AU",
                "units": "metric", "shoreline": None, "spots": (), "ramps": (),
            }
        )  # fmt: skip

    lowland = SCENARIOS["lowland_autumn_after_the_front"]
    water = ((1, 17.6), (7, 19.2))
    inputs = inputs_of(replace(lowland, day=date(2026, 5, 2), now="05:30", water=water, change=moved))
    return replace(inputs, shape=lake_shape(inputs.profile, None))


def no_window() -> MorningInputs:
    """A wind over the stops from before the launch to after the return."""
    inputs = morning("north_summer_calm")
    gathered = inputs.gathered
    fields = dict(gathered.hours.fields)
    for field, value in (("wind_mps", 11.0), ("gust_mps", 16.0)):
        fields[field] = replace(fields[field], values=np.full(gathered.hours.hours, value))
    return replace(inputs, gathered=replace(gathered, hours=replace(gathered.hours, fields=fields)))


def calm() -> MorningInputs:
    """A light wind from sunrise to the return: within the limits, without a care."""
    inputs = morning("north_summer_calm")
    gathered = inputs.gathered
    fields = dict(gathered.hours.fields)
    for field in ("wind_mps", "gust_mps"):
        fields[field] = replace(fields[field], values=0.6 * fields[field].values)
    seen = tuple(replace(one, wind_mps=1.0, gust_mps=None) for one in gathered.wind_now)
    return replace(
        inputs,
        gathered=replace(gathered, hours=replace(gathered.hours, fields=fields), wind_now=seen),
        outing=replace(inputs.outing, launch=inputs.outing.launch + timedelta(hours=1)),
    )


def rich() -> MorningInputs:
    """A long day of spring with three kinds of bass: more to tell than there is room for."""
    weather = Weather(seed=83, peak_mps=5.0, peak_h=7)
    water = ((1, 11.5),)
    return inputs_of(
        Scenario(HIGHLAND, date(2026, 3, 28), "05:00", "07:15", "12:30", weather, water=water, visibility_m=1.8)
    )


def changed() -> MorningInputs:
    """The northern morning, with more wind than its briefing of half an hour earlier had."""
    later = morning("north_summer_calm")
    return replace(later, kept=replace(later.kept, earlier=build(calm(), load_tables()).record))


CLOSED = Rule.model_validate(
    {"kind": "closed_season", "from": "06-01", "to": "07-31", "text": "no bass fishing", "read_on": "2026-03-01"}
)


def warnings_unreadable() -> MorningInputs:
    """A quiet morning on which nothing is known of official warnings."""
    quiet = SCENARIOS["north_summer_calm"]
    return inputs_of(replace(quiet, weather=replace(quiet.weather, alerts=None)))


def nothing_planned() -> MorningInputs:
    """A long day of June looked at from first to last light, without an outing planned."""
    weather = Weather(seed=91, peak_mps=4.0, peak_h=9)
    return inputs_of(
        Scenario(SOUTH, date(2026, 6, 13), "04:45", "05:45", "20:30", weather, planned=False, water=((2, 27.0),))
    )


MORNINGS: dict[str, Callable[[], MorningInputs]] = {
    "demo": demo_inputs,
    **{name: (lambda name=name: morning(name)) for name in SCENARIOS},
    "everything missing": lambda: without_hours(morning("south_early_spring_front_coming")),
    "stale": lambda: of_age(morning("north_summer_calm"), 60.0),
    "no spots": lambda: with_profile("south_early_spring_front_coming", spots=()),
    "one rod": lambda: with_profile(
        "south_early_spring_front_coming", rods=morning("south_early_spring_front_coming").profile.rods[:1]
    ),
    "metric": metric,
    "south of the equator": southern,
    "nothing to fish for": lambda: with_profile("north_summer_calm", rules=(CLOSED,)),
    "no window": no_window,
    "calm": calm,
    "changed": changed,
    "rich": rich,
    "warnings unreadable": warnings_unreadable,
    "nothing planned": nothing_planned,
}


@cache
def built(name: str) -> Built:
    known = name == "demo" or name in SCENARIOS
    return scenarios.built(name) if known else build(MORNINGS[name](), load_tables())
