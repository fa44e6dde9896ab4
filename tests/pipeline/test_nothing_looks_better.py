"""Whole mornings with inputs taken away, damaged or aged: nothing about the day may look better than with them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from functools import cache
from itertools import combinations

import numpy as np
import pytest

from briefing.core.hours import HourField, missing_field
from briefing.core.readings import WindReading
from briefing.core.wind.level import Factor
from briefing.pipeline import build as stage
from briefing.pipeline.build import Built, build
from briefing.pipeline.fish import phases_of, water_of
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.parts import clarity_of
from briefing.pipeline.tables import load_tables
from briefing.vocabulary import Level
from tests.scenarios import SCENARIOS, inputs_of

pytestmark = pytest.mark.long

Change = Callable[[MorningInputs], MorningInputs]

MORNINGS = ("south_early_spring_front_coming", "north_summer_calm", "south_autumn_fixed_launch_over_limits")
THUNDER = ("thunder_pct", "lightning_level", "thunder_words_pct")


def _gathered(inputs: MorningInputs, **parts: object) -> MorningInputs:
    return replace(inputs, gathered=replace(inputs.gathered, **parts))


def _with(inputs: MorningInputs, make: Callable[[HourField], HourField], *names: str) -> MorningInputs:
    hours = inputs.gathered.hours
    fields = dict(hours.fields) | {name: make(hours[name]) for name in names}
    return _gathered(inputs, hours=replace(hours, fields=fields))


def _missing(*names: str) -> Change:
    return lambda inputs: _with(inputs, lambda field: missing_field(field.values.size), *names)


def _damaged(*names: str) -> Change:
    def hurt(field: HourField) -> HourField:
        empty = missing_field(field.values.size)
        return replace(empty, damaged=np.ones(field.values.size, bool))

    return lambda inputs: _with(inputs, hurt, *names)


def _aged(*names: str) -> Change:
    def change(inputs: MorningInputs) -> MorningInputs:
        issued = inputs.now - timedelta(hours=13)

        def older(field: HourField) -> HourField:
            return replace(field, origins=tuple(replace(one, issued=issued) for one in field.origins))

        return _with(inputs, older, *names)

    return change


def _cut(inputs: MorningInputs) -> MorningInputs:
    hours, outing = inputs.gathered.hours, inputs.outing
    middle = outing.launch + (outing.back - outing.launch) / 2
    return _gathered(inputs, hours=hours.window(hours.start, middle))


def _ended(inputs: MorningInputs) -> MorningInputs:
    hours = inputs.gathered.hours
    return _gathered(inputs, hours=replace(hours, start=hours.start - timedelta(hours=120)))


def _flat(inputs: MorningInputs) -> MorningInputs:
    return _with(inputs, lambda field: replace(field, values=np.zeros(field.values.size)), "wind_mps", "gust_mps")


def _calm_seen(inputs: MorningInputs) -> MorningInputs:
    seen = WindReading(inputs.now - timedelta(minutes=5), 0.0, 0.0, 180.0, "user", "you", 0.0)
    return replace(inputs, entered=replace(inputs.entered, winds=(seen,)))


def _hole(inputs: MorningInputs) -> MorningInputs:
    at = inputs.gathered.hours.index_of(inputs.outing.launch)

    def hurt(field: HourField) -> HourField:
        here = np.arange(field.values.size) == at
        return replace(field, values=np.where(here, np.nan, field.values), damaged=field.damaged | here)

    return _with(inputs, hurt, "wind_mps")


def _alerts(**parts: object) -> Change:
    return lambda inputs: _gathered(inputs, alerts=replace(inputs.gathered.alerts, **parts))


def _alerts_aged(inputs: MorningInputs) -> MorningInputs:
    return _alerts(checked_at=inputs.now - timedelta(minutes=25))(inputs)


def _no_water(inputs: MorningInputs) -> MorningInputs:
    return replace(_gathered(inputs, water=()), entered=replace(inputs.entered, water=()))


CHANGES: dict[str, Change] = {
    "wind missing": _missing("wind_mps"),
    "wind damaged": _damaged("wind_mps"),
    "wind old": _aged("wind_mps"),
    "direction missing": _missing("wind_from_deg"),
    "direction damaged": _damaged("wind_from_deg"),
    "direction old": _aged("wind_from_deg"),
    "gust missing": _missing("gust_mps"),
    "gust damaged": _damaged("gust_mps"),
    "gust old": _aged("gust_mps"),
    "thunder missing": _missing(*THUNDER),
    "thunder damaged": _damaged(*THUNDER),
    "thunder old": _aged(*THUNDER),
    "thunder and instability missing": _missing(*THUNDER, "cape_jkg", "weather_code"),
    "thunder missing and quiet instability": lambda inputs: _with(
        _missing(*THUNDER)(inputs), lambda field: replace(field, values=np.zeros(field.values.size)), "cape_jkg"
    ),
    "instability damaged": _damaged("cape_jkg"),
    "everything old": _aged("wind_mps", "wind_from_deg", "gust_mps", *THUNDER, "cape_jkg"),
    "sight missing": _missing("visibility_m"),
    "alerts not read": _alerts(alerts=(), checked_at=None, problem="the warning service did not answer (503)"),
    "alerts damaged": _alerts(alerts=(), damaged=1),
    "alerts old": _alerts_aged,
    "no water reading": _no_water,
    "forecast ends during the outing": _cut,
    "forecast ended before the day": _ended,
    "wind damaged at the launch": _hole,
    "no wind at all for days": _flat,
    "calm seen by the user": _calm_seen,
    "no station": lambda inputs: _gathered(inputs, wind_now=()),
}

#: What a change takes away, as the factor that must then be unknown in hours of the outing.
REQUIRED = {
    "wind missing": "sustained_wind",
    "wind damaged": "sustained_wind",
    "wind old": "sustained_wind",
    "direction missing": "waves",
    "direction damaged": "waves",
    "direction old": "waves",
    "gust damaged": "gust",
    "gust old": "gust",
    "thunder damaged": "thunder",
    "thunder old": "thunder",
    "thunder and instability missing": "thunder",
    "everything old": "sustained_wind",
    "alerts not read": "alerts",
    "alerts damaged": "alerts",
    "alerts old": "alerts",
    "forecast ends during the outing": "sustained_wind",
    "forecast ended before the day": "sustained_wind",
    "no wind at all for days": "sustained_wind",
}
#: Words of which one must stand in the cautions or under what is not known.
NAMED = {
    "sustained_wind": ("wind",),
    "waves": ("wave",),
    "gust": ("gust",),
    "thunder": ("thunder", "lightning"),
    "alerts": ("warning", "alert"),
}
PAIRS = tuple(
    combinations(
        (
            "wind missing",
            "direction damaged",
            "gust missing",
            "thunder missing",
            "alerts damaged",
            "no water reading",
            "calm seen by the user",
            "forecast ends during the outing",
        ),
        2,
    )
)


@cache
def _morning(name: str) -> MorningInputs:
    inputs = inputs_of(SCENARIOS[name])
    return replace(inputs, kept=replace(inputs.kept, accepted=inputs.gathered.hours))


@pytest.fixture(scope="module")
def made() -> dict[str, Built]:
    return {}


@pytest.fixture(autouse=True)
def _fish_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Water and phase are the slow part and hang on few inputs: each kind of morning runs them once."""
    monkeypatch.setattr(stage, "water_of", lambda inputs, knowledge: _fish(inputs)[0])
    monkeypatch.setattr(stage, "phases_of", lambda inputs, knowledge, water, clarity: _fish(inputs)[1])


_FISH: dict[tuple[str, int], tuple[object, object]] = {}


def _fish(inputs: MorningInputs) -> tuple[object, object]:
    key = inputs.profile.id + inputs.day.isoformat(), len(inputs.entered.water)
    if key not in _FISH:
        knowledge = load_tables()
        water = water_of(inputs, knowledge)
        _FISH[key] = water, phases_of(inputs, knowledge, water, clarity_of(inputs, knowledge))
    return _FISH[key]


def _whole(name: str, made: dict[str, Built]) -> Built:
    if name not in made:
        made[name] = build(_morning(name), load_tables())
    return made[name]


def _changed(name: str, changes: tuple[str, ...]) -> tuple[MorningInputs, Built]:
    inputs = _morning(name)
    for change in changes:
        inputs = CHANGES[change](inputs)
    return inputs, build(inputs, load_tables())


#: Each change on one of the mornings first, then on the others.
SINGLES = tuple(
    (change, MORNINGS[(place + turn) % len(MORNINGS)])
    for turn in range(len(MORNINGS))
    for place, change in enumerate(CHANGES)
)


@pytest.mark.seeds(len(CHANGES), len(SINGLES))
def test_one_input_less_never_makes_the_day_look_better(seed: int, made: dict[str, Built]) -> None:
    change, morning = SINGLES[seed]
    inputs, after = _changed(morning, (change,))
    assert _worries(_whole(morning, made), after, inputs, (change,)) == []


@pytest.mark.seeds(len(PAIRS) // 2, len(PAIRS))
def test_two_inputs_less_never_make_the_day_look_better(seed: int, made: dict[str, Built]) -> None:
    pair = (*PAIRS[::2], *PAIRS[1::2])[seed]
    inputs, after = _changed(MORNINGS[0], pair)
    assert _worries(_whole(MORNINGS[0], made), after, inputs, pair) == []


@pytest.mark.parametrize("fixed", [False, True])
def test_an_unknown_hour_at_the_launch_puts_no_deadline_before_it(fixed: bool) -> None:
    inputs = _hole(_morning("north_summer_calm"))
    inputs = replace(inputs, outing=replace(inputs.outing, fixed_launch=fixed))
    day = build(inputs, load_tables()).briefing.day
    assert (day.off_water_by is None) == fixed
    assert day.off_water_by is None or day.off_water_by > inputs.outing.launch + timedelta(hours=1)
    out = replace(inputs, now=inputs.outing.launch + timedelta(minutes=5))
    on_the_water = build(out, load_tables())
    assert on_the_water.hazards.launch == inputs.outing.launch
    assert on_the_water.briefing.day.off_water_by is None
    assert not on_the_water.briefing.day.word.startswith("Within your limits")
    assert not on_the_water.briefing.cautions.float_plan


def _worries(before: Built, after: Built, inputs: MorningInputs, changes: tuple[str, ...]) -> list[str]:
    return [
        *_levels(before, after),
        *_times(before, after),
        *_promise(after, inputs),
        *_numbers(after),
        *_warnings(after, inputs),
        *_advice(after),
        *_named(after, inputs, changes),
    ]


def _levels(before: Built, after: Built) -> list[str]:
    now = {one.hour: one for one in after.hazards.levels}
    out = []
    for one in before.hazards.levels:
        later = now[one.hour]
        # a stop that only hysteresis holds has no value of its own that could stand
        held = one.level is Level.STOP and not any(_stands(factor) for factor in one.factors)
        least = Level.UNKNOWN if held else one.level
        if later.level.rank < least.rank:
            out.append(f"{one.hour:%H:%M} fell from {one.level} to {later.level}")
    return out


def _stands(factor: Factor) -> bool:
    if factor.level is not Level.STOP:
        return False
    return factor.number is not None and factor.stop_limit is not None and factor.number >= factor.stop_limit


def _times(before: Built, after: Built) -> list[str]:
    out = []
    for window in after.hazards.windows:
        if not any(old.begin <= window.begin and window.end <= old.end for old in before.hazards.windows):
            out.append(f"window {window.begin:%H:%M}-{window.end:%H:%M} is new or longer")
    first, second = before.hazards.deadlines, after.hazards.deadlines
    if second.off_water_by > first.off_water_by:
        out.append(f"off the water by {second.off_water_by} instead of {first.off_water_by}")
    return out


def _promise(after: Built, inputs: MorningInputs) -> list[str]:
    day = after.briefing.day
    unknown = [
        one.hour
        for one in after.hazards.levels
        if one.hour + timedelta(hours=1) > inputs.outing.launch
        and one.hour < inputs.outing.back
        and any(f.level in (Level.UNKNOWN, Level.STOP) and not f.standing for f in one.factors)
    ]
    promised = day.word.startswith("Within your limits")
    if promised and day.off_water_by is None:
        return [f"no time to be off the water: {day.line()}"]
    begin = after.hazards.launch
    if promised and day.off_water_by is not None and not begin < day.off_water_by:
        return [f"off the water before the launch: {day.line()}"]
    if promised and any(begin < hour + timedelta(hours=1) and hour < day.off_water_by for hour in unknown):
        return [f"promises unknown hours: {day.line()}"]
    return []


def _numbers(after: Built) -> list[str]:
    """No number may stand in the table where it was refused."""
    levels = {one.hour: {f.name for f in one.factors if f.level is Level.UNKNOWN} for one in after.hazards.levels}
    out = []
    for row in after.briefing.hours.rows:
        shown = {
            "sustained_wind": row.wind_text,
            "gust": row.gust_text,
            "waves": row.wave_text,
            "thunder": row.thunder_text,
        }
        out += [
            f"{row.clock} {name} {shown[name]}" for name in shown if name in levels[row.hour] and shown[name] != "?"
        ]
    return out


def _warnings(after: Built, inputs: MorningInputs) -> list[str]:
    state = after.briefing.cautions.alerts_state
    feed = inputs.gathered.alerts
    if not feed.readable or feed.checked_at is None or inputs.now - feed.checked_at > timedelta(minutes=20):
        out = [f"says none: {state}"] if "none listed" in state else []
        nearby = after.briefing.sources.next_check
        return out + ([f"says they were read: {nearby}"] if "for the next" in nearby else [])
    return []


def _advice(after: Built) -> list[str]:
    closed = [one.hour for one in after.hazards.levels if one.level.rank >= Level.UNKNOWN.rank]
    return [
        f"advice at {stop.spot} {stop.begin:%H:%M}-{stop.end:%H:%M}"
        for block in after.briefing.plan.blocks
        for stop in block.stops
        if any(hour < stop.end and stop.begin < hour + timedelta(hours=1) for hour in closed)
    ]


def _named(after: Built, inputs: MorningInputs, changes: tuple[str, ...]) -> list[str]:
    page = after.briefing
    told = " ".join(
        [f"{one.title} {one.text}" for one in page.cautions.items]
        + [f"{one.what} {one.means}" for one in page.unknown.items]
    ).lower()
    out = []
    for change in changes:
        factor = REQUIRED.get(change)
        if factor is None:
            continue
        inside = [one for one in after.hazards.levels if inputs.outing.launch <= one.hour < inputs.outing.back]
        found = [f.level for one in inside for f in one.factors if f.name == factor]
        if not any(level in (Level.UNKNOWN, Level.STOP) for level in found):
            out.append(f"{change}: {factor} is not unknown")
        if not any(word in told for word in NAMED[factor]):
            out.append(f"{change}: not named")
        # where a stop of the last accepted values stands in every hour, the stop itself says so
        listed = any(word in one.what.lower() for one in page.unknown.items for word in NAMED[factor])
        if Level.UNKNOWN in found and not listed:
            out.append(f"{change}: not listed as not known")
    return out
