"""Whole mornings on four lakes in four seasons, three to nine hours long: nothing idles, long stays say why."""

from dataclasses import replace
from datetime import timedelta
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from briefing.pipeline.advice import Advised
from briefing.pipeline.build import Built, build
from briefing.pipeline.tables import load_tables
from tests.scenarios import SCENARIOS, inputs_of

pytestmark = [pytest.mark.long, pytest.mark.usefixtures("remembered")]

#: A morning on each lake, each in a season of its own.
NAMES = (
    "south_early_spring_front_coming",
    "highland_winter_cold_water",
    "north_summer_calm",
    "lowland_autumn_after_the_front",
)
HOURS = (3, 5, 7, 9)
KINDS = [(name, hours) for name in NAMES for hours in HOURS]
#: Beyond the way: to the full five minutes twice, and to position the craft.
SLACK = timedelta(minutes=15)
LONG = timedelta(minutes=90)


@cache
def morning(name: str, hours: int) -> Built:
    inputs = inputs_of(SCENARIOS[name])
    outing = replace(inputs.outing, back=inputs.outing.launch + timedelta(hours=hours))
    return build(replace(inputs, outing=outing), load_tables())


def advised(name: str, hours: int) -> Advised:
    return morning(name, hours).advised


@pytest.mark.parametrize(("name", "hours"), KINDS)
def test_no_time_within_the_limits_idles(name: str, hours: int) -> None:
    built = morning(name, hours)
    stops = built.advised.plan.stops
    assert stops
    for before, after in pairwise(stops):
        assert after.arrive - before.leave <= timedelta(minutes=after.travel_min) + SLACK
    last = stops[-1]
    assert last.home_by == last.leave, "stays to the last moment for the way home"
    first = stops[0].arrive - built.hazards.launch
    assert first <= timedelta(minutes=stops[0].travel_min) + SLACK
    off = built.hazards.deadlines
    assert off is not None
    assert off.off_water_by - last.leave <= timedelta(minutes=1.25 * last.home_min) + SLACK


@pytest.mark.parametrize(("name", "hours"), KINDS)
def test_long_stays_say_why_and_none_is_endless(name: str, hours: int) -> None:
    for stop in advised(name, hours).plan.stops:
        stay = stop.leave - stop.arrive
        assert stay <= LONG or stop.long_why
        assert stay <= 2 * LONG
        assert not stop.second_visit or stay <= LONG or stop.long_why


@pytest.mark.parametrize(("name", "hours"), KINDS)
def test_every_stop_says_what_sends_one_on_and_where(name: str, hours: int) -> None:
    stops = advised(name, hours).plan.stops
    for before, after in pairwise(stops):
        assert before.then == after.spot
        assert before.spot_id != after.spot_id
    shown = [stop for block in morning(name, hours).briefing.plan.blocks for stop in block.stops]
    assert len(shown) == len(stops)
    for text, stop in zip(shown, stops, strict=True):
        assert (f"go on to {stop.then}" if stop.then else "other side and depth") in text.stay_text
    assert "even if they bite" in shown[-1].stay_text


@pytest.mark.parametrize(("name", "hours"), KINDS)
def test_every_place_is_worth_its_time(name: str, hours: int) -> None:
    day = advised(name, hours)
    rows = [stop.spot_id for stop in day.plan.stops]
    spots = list(dict.fromkeys(spot for spot, _ in day.spots))
    assert all(np.nanmax(day.values[spots.index(row)]) > 0.0 for row in rows)
    assert max(rows.count(row) for row in rows) <= 4
