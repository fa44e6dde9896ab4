"""Whole mornings on four lakes in four seasons, three to nine hours long: nothing idles, long stays say why."""

from dataclasses import replace
from datetime import timedelta
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from briefing.core.advice.rods import first_named, rig_card
from briefing.core.advice.rods.card import depth_text
from briefing.core.advice.rods.types import LAYERS
from briefing.pipeline.advice import Advised
from briefing.pipeline.build import Built, build
from briefing.pipeline.tables import load_tables
from tests.mornings import MORNINGS
from tests.scenarios import SCENARIOS, inputs_of

pytestmark = pytest.mark.long

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
        assert before.then == (after.then if after.goes_on else after.spot)
        assert (before.spot_id == after.spot_id) == bool(after.goes_on)
    shown = [stop for block in morning(name, hours).briefing.plan.blocks for stop in block.stops]
    assert len(shown) == len(stops)
    for text, stop in zip(shown, stops, strict=True):
        if stop is not stops[-1] or stop.least_min < stop.most_min:
            assert (f"n to {stop.then}" if stop.then else "other side and depth") in text.stay_text
    assert "even if they bite" in shown[-1].stay_text


@pytest.mark.parametrize(("name", "hours"), KINDS)
def test_every_place_is_worth_its_time(name: str, hours: int) -> None:
    day = advised(name, hours)
    rows = [stop.spot_id for stop in day.plan.stops]
    spots = list(dict.fromkeys(spot for spot, _ in day.spots))
    assert all(np.nanmax(day.values[spots.index(row)]) > 0.0 for row in rows)
    visits = [stop.spot_id for stop in day.plan.stops if not stop.goes_on]
    assert max(visits.count(row) for row in visits) <= 4


@pytest.mark.parametrize(("name", "hours"), KINDS)
def test_rods_cover_top_middle_and_bottom_of_the_places_planned(name: str, hours: int) -> None:
    day = advised(name, hours)
    rigged = {pick.setup.layer for pick in day.rods.picks}
    asked = [need for need in LAYERS if need in day.rods_problem.needs]
    assert asked
    if len(day.rods.picks) >= len(asked):
        assert set(asked) <= rigged
    if day.mood > 0.0:
        assert any(pick.setup.pace == "search" for pick in day.rods.picks), "active fish are searched for"


@pytest.mark.parametrize(("name", "hours"), KINDS)
def test_first_choices_of_the_stops_are_on_the_rods(name: str, hours: int) -> None:
    day = advised(name, hours)
    rigged = {pick.setup.presentation for pick in day.rods.picks}
    for stop in day.plan.stops:
        assert stop.choices
        assert stop.choices[0].id in rigged or stop.choices[0].setup is None or stop.choices[0].setup.retie


@pytest.mark.parametrize(("name", "hours"), KINDS)
def test_card_and_plan_agree_in_weight_depth_colour_and_leader(name: str, hours: int) -> None:
    built = morning(name, hours)
    day, units = built.advised, inputs_of(SCENARIOS[name]).reader.units
    card = rig_card(day.rods, "card", first_named(day.plan), units=units)
    text = "".join(card.split())
    shown = {rod.number: rod for rod in built.briefing.plan.rods}
    for pick in day.rods.picks:
        named = [c for stop in day.plan.stops for c in stop.choices if c.id == pick.setup.presentation]
        for choice in named:
            anew = choice.setup.new_weight and choice.rank == "first choice"
            assert anew or choice.weight_oz in (None, pick.setup.weight_oz), "else knots are tied at home"
            assert choice.setup is not None
            assert choice.setup.rod_number == pick.number
            leader = None if pick.gear is None or pick.gear.leader is None else pick.gear.leader
            assert (choice.setup.leader is None) == (leader is None)
        if named:
            assert shown[pick.number].colour == named[0].colours[0].short
            told = f"Depth: {depth_text(named[0], units)}.", f"Colour: {named[0].colours[0].name}."
            assert all("".join(one.split()) in text for one in told)


# -- no window ---------------------------------------------------------------------------------------------------------


def later(name: str) -> tuple[str, ...]:
    return build(MORNINGS[name](), load_tables()).briefing.plan.later


def test_a_morning_without_a_window_says_what_to_rig_and_which_day_to_look_at() -> None:
    assert later("no window")[0].startswith("To rig meanwhile")
    told = later("highland_autumn_no_thunder_data")
    assert told[0].startswith("Once that is known and within your limits, places in order: ")
    assert told[1] == "Rods for them:"
    assert "oz, " in told[2]
    assert told[-1].startswith("By wind alone look at Sunday 4 October first: wind ")


def test_wind_on_every_later_day_names_none() -> None:
    assert later("no window")[-1].endswith("look again tomorrow.")


@pytest.mark.parametrize("name", ["everything missing", "stale"])
def test_a_forecast_that_is_old_or_missing_names_no_later_day(name: str) -> None:
    assert later(name)[-1].startswith("Which later day to look at is not known")


def test_a_closed_season_suggests_neither_lure_nor_day() -> None:
    assert later("nothing to fish for") == ()


def test_a_morning_with_stops_needs_no_later_day() -> None:
    assert morning("north_summer_calm", 5).briefing.plan.later == ()
