"""The plan of a day: blocks, the route against an exhaustive search, limits, nests, switches and plan B."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.advice.conditions import FrontStage
from briefing.core.advice.knowledge import Switch
from briefing.core.advice.plan import (
    Block,
    BlockName,
    NestRules,
    PlanHour,
    PlanInputs,
    PlanSpot,
    SurpriseKind,
    build_plan,
    cut_blocks,
    is_open,
    joined_stays,
    with_choices,
)
from briefing.core.advice.plan.adjust import adjusted_values
from briefing.core.advice.plan.layout import lay_out
from briefing.core.advice.plan.route import (
    Grid,
    best_route,
    end_worth,
    last_slot,
    latest_leave,
    leg_price,
    leg_times_min,
    stay_worth,
)
from briefing.core.wind.level import Factor, HourLevel
from briefing.knowledge import load_plan_parameters
from briefing.vocabulary import Level

P = load_plan_parameters()
DAY = datetime(2026, 5, 2, 4, tzinfo=UTC)
TIMES = [DAY + timedelta(minutes=5 * i) for i in range(24 * 12)]


def sun(top_deg: float = 60.0, rise_h: float = 6.0, length_h: float = 13.0) -> np.ndarray:
    """Sun heights over the day: half a sine above the horizon, falling on below it."""
    hours = np.array([(t - DAY).total_seconds() / 3600 for t in TIMES])
    return top_deg * np.sin(np.pi * (hours - rise_h) / length_h)


def hour(
    i: int, wind: float = 3.0, wind_from: float = 225.0, cloud: float = 0.2, *, is_within: bool = True
) -> PlanHour:
    level = Level.WITHIN_LIMITS if is_within else Level.STOP
    return PlanHour(DAY + timedelta(hours=i), wind, wind_from, wind * 1.5, cloud, level, is_within)


STEADY = tuple(hour(i) for i in range(24))


def inputs(
    n: int = 5,
    seed: int = 0,
    hours: tuple[PlanHour, ...] = STEADY,
    launch_h: float = 6.5,
    off_h: float = 11.5,
    **changes: object,
) -> PlanInputs:
    """A lake of n spots within a kilometre or so of the ramp."""
    rng = np.random.default_rng(seed)
    blocks = cut_blocks(TIMES, sun(), hours, P)
    at = np.vstack([[0.0, 0.0], rng.uniform(-900, 900, (n, 2))])
    way = at[None] - at[:, None]
    base = PlanInputs(
        blocks=blocks,
        hours=hours,
        spots=tuple(PlanSpot(f"s{i}", f"Spot {i}", flat=i % 2 == 0) for i in range(n)),
        values=rng.uniform(0.1, 1.0, (n, len(blocks))),
        exceeds=np.zeros((n, len(hours)), bool),
        distance_m=np.hypot(way[..., 0], way[..., 1]),
        bearing_deg=np.degrees(np.arctan2(way[..., 0], way[..., 1])) % 360,
        speed_mps=1.3,
        launch_from=DAY + timedelta(hours=launch_h),
        off_water_by=DAY + timedelta(hours=off_h),
    )
    return replace(base, **changes)  # type: ignore[arg-type]


# --- blocks ---------------------------------------------------------------------------------------------------------


def test_blocks_follow_the_sun() -> None:
    blocks = cut_blocks(TIMES, sun(), STEADY, P)
    assert [b.name for b in blocks] == [
        BlockName.FIRST_LIGHT,
        BlockName.EARLY,
        BlockName.CLIMB,
        BlockName.HIGH,
        BlockName.LATE,
        BlockName.LAST_LIGHT,
    ]
    edges = [b.sun_deg[0] for b in blocks] + [blocks[-1].sun_deg[1]]
    assert edges == pytest.approx([-6, 6, 20, 40, 20, 6, -6], abs=0.3)
    assert all(a.end == b.start for a, b in pairwise(blocks))


def test_a_low_winter_sun_leaves_out_what_it_does_not_reach() -> None:
    names = [b.name for b in cut_blocks(TIMES, sun(28.0), STEADY, P)]
    assert names == ["first_light", "early", "climb", "high", "late", "last_light"]
    names = [b.name for b in cut_blocks(TIMES, sun(15.0), STEADY, P)]
    assert names == ["first_light", "early", "late", "last_light"]
    assert cut_blocks(TIMES, np.full(len(TIMES), -10.0), STEADY, P) == ()


def test_a_day_on_which_the_sun_never_sets_has_blocks_over_all_of_it() -> None:
    heights = 20.0 + 18.0 * np.sin(np.pi * (np.arange(len(TIMES)) / 12 - 6) / 12)
    blocks = cut_blocks(TIMES, heights, STEADY, P)
    assert blocks[0].start == TIMES[0]
    assert blocks[-1].end == TIMES[-1]


def test_wind_cloud_and_shift_cut_a_block_and_say_why() -> None:
    rising = tuple(hour(i, wind=2.0 if i < 12 else 6.0) for i in range(24))
    blocks = cut_blocks(TIMES, sun(), rising, P)
    cut = next(b for b in blocks if b.id == "high_2")
    assert cut.why == "the wind gets up"
    assert abs(cut.start - (DAY + timedelta(hours=12))) <= timedelta(hours=1)
    turning = tuple(hour(i, wind_from=200.0 if i < 12 else 310.0) for i in range(24))
    assert any(b.why == "the wind goes to the north-west" for b in cut_blocks(TIMES, sun(), turning, P))
    clearing = tuple(hour(i, cloud=0.9 if i < 12 else 0.1) for i in range(24))
    assert any(b.why == "the sun comes out" for b in cut_blocks(TIMES, sun(), clearing, P))


def test_light_air_turning_about_and_missing_values_cut_nothing() -> None:
    calm = tuple(hour(i, wind=0.8, wind_from=float(40 * i % 360)) for i in range(24))
    assert len(cut_blocks(TIMES, sun(), calm, P)) == 6
    missing = tuple(hour(i, wind=math.nan, wind_from=math.nan, cloud=math.nan) for i in range(24))
    assert len(cut_blocks(TIMES, sun(), missing, P)) == 6


@settings(max_examples=30, deadline=None, derandomize=True)
@given(st.lists(st.tuples(st.floats(0, 12), st.floats(0, 359), st.floats(0, 1)), min_size=24, max_size=24))
def test_blocks_never_overlap_and_cuts_keep_the_shortest_length(weather: list[tuple[float, float, float]]) -> None:
    hours = tuple(hour(i, *values) for i, values in enumerate(weather))
    blocks = cut_blocks(TIMES, sun(), hours, P)
    assert all(a.end == b.start for a, b in pairwise(blocks))
    assert len({b.id for b in blocks}) == len(blocks)
    plain = {b.start for b in cut_blocks(TIMES, sun(), (), P)} | {blocks[-1].end}
    for block in blocks:
        if block.start not in plain or block.end not in plain:
            assert block.end - block.start >= timedelta(minutes=P.blocks.shortest_min)


# --- route ----------------------------------------------------------------------------------------------------------


def exhaustive(grid: Grid) -> float:
    """Worth of the best route by trying every order and stay (few spots, one visit each)."""
    n = grid.worth.shape[0]
    one = lambda x: np.array([x])  # noqa: E731
    best = -np.inf
    end, latest = last_slot(grid), latest_leave(grid)

    def go(time: int, place: int, worth: float, used: frozenset[int], came: int = 0) -> None:
        nonlocal best
        hour_now = grid.hour_of[time]
        home = grid.price * grid.wrong_way * max(grid.wind_along[hour_now, place, 0], 0) * grid.legs[hour_now, place, 0]
        if place:
            at = one(place - 1), one(came), one(time), np.ones(1)
            best = max(best, worth - home + float(end_worth(grid, *at, end, latest)[0]))
        for j in set(range(n)) - used:
            arrive = time + int(grid.legs[hour_now, place, j + 1])
            if arrive >= grid.slots or grid.barred[j, arrive + 1] > grid.barred[j, arrive]:
                continue
            if grid.barred[j, min(time + 1, grid.slots)] > grid.barred[j, time]:
                continue
            price = float(leg_price(grid, one(time), one(place), one(j + 1))[0])
            for stay in grid.stays[j, arrive]:
                leave = min(arrive + int(stay), grid.slots)
                if leave - arrive < grid.least[j] or not grid.may_leave[j, leave]:
                    continue
                if grid.barred[j, leave] != grid.barred[j, arrive]:
                    continue
                gain = float(stay_worth(grid, one(j), one(arrive), one(leave), np.ones(1))[0])
                if gain <= grid.worth_it * grid.price * (leave - arrive):
                    continue
                go(leave, j + 1, worth + gain - price, used | {j}, arrive)

    go(0, 0, 0.0, frozenset())
    return best


@pytest.mark.parametrize("seed", range(12))
def test_route_is_as_good_as_trying_everything(seed: int) -> None:
    rng = np.random.default_rng(100 + seed)
    given_inputs = inputs(n=4, seed=seed, off_h=8.4)
    given_inputs = replace(given_inputs, exceeds=rng.random(given_inputs.exceeds.shape) < 0.1)
    grid = lay_out(given_inputs, P, list(range(4)))
    assert grid is not None
    grid = replace(grid, rest=10_000)  # one visit each, as the oracle
    assert best_route(grid).worth >= 0.98 * exhaustive(grid)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.integers(0, 10_000), st.floats(0.0, 7.0), st.floats(0, 359), st.floats(7.5, 13.0), st.floats(0.0, 0.4))
def test_every_stop_keeps_to_the_limits(seed: int, wind: float, wind_from: float, off_h: float, share: float) -> None:
    rng = np.random.default_rng(seed)
    hours = tuple(hour(i, wind, wind_from, is_within=rng.random() > share / 2) for i in range(24))
    day = inputs(n=8, seed=seed, hours=hours, off_h=off_h)
    day = replace(
        day,
        exceeds=rng.random(day.exceeds.shape) < share,
        start_back_by=DAY + timedelta(hours=off_h - 0.5),
    )
    plan = build_plan(day, P)
    index = {spot.id: i for i, spot in enumerate(day.spots)}
    before_leave, place = day.launch_from, 0
    for stop in plan.stops:
        i = index[stop.spot_id]
        assert before_leave is not None
        minutes = leg_times_min(day.distance_m, day.bearing_deg, hours, day.speed_mps, P.travel)
        leg = minutes[_hour_index(before_leave), place, i + 1]
        assert (stop.arrive - before_leave).total_seconds() / 60 >= leg - 1e-6
        assert stop.least_min <= (stop.leave - stop.arrive).total_seconds() / 60 <= stop.most_min
        at = stop.arrive
        while at < stop.leave:
            assert hours[_hour_index(at)].open
            assert not day.exceeds[i, _hour_index(at)]
            at += timedelta(minutes=5)
        assert day.start_back_by is not None
        assert stop.leave <= day.start_back_by
        assert day.off_water_by is not None
        back = P.travel.reserve * minutes[_hour_index(stop.leave), i + 1, 0]
        assert stop.leave + timedelta(minutes=float(back)) <= day.off_water_by
        before_leave, place = stop.leave, i + 1


def _hour_index(at: datetime) -> int:
    return int((at - DAY).total_seconds() // 3600)


def test_up_wind_first_and_home_with_the_wind() -> None:
    # One spot straight up-wind and one straight down-wind of the ramp, alike in everything else.
    distance = np.array([[0, 900, 900], [900, 0, 1800], [900, 1800, 0]], float)
    bearing = np.array([[0, 225, 45], [45, 0, 45], [225, 225, 0]], float)
    day = inputs(n=2, hours=tuple(hour(i, 5.0) for i in range(24)), off_h=8.0)
    day = replace(
        day, values=np.ones_like(day.values), distance_m=distance, bearing_deg=bearing, spots=_targets("up", "down")
    )
    plan = build_plan(day, P)
    assert plan.stops[0].spot_id == "up"
    assert any("up-wind" in reason for reason in plan.stops[0].reasons)


def _targets(*names: str) -> tuple[PlanSpot, ...]:
    return tuple(PlanSpot(name, name.capitalize()) for name in names)


def test_a_leg_without_headway_is_never_taken() -> None:
    day = inputs(n=1, hours=tuple(hour(i, 11.0, 0.0) for i in range(24)))
    north = replace(day, bearing_deg=np.array([[0.0, 0.0], [180.0, 0.0]]))
    assert build_plan(north, P).stops == ()
    # Going with that wind is possible, coming home is not.
    south = replace(day, bearing_deg=np.array([[0.0, 180.0], [0.0, 0.0]]))
    assert build_plan(south, P).stops == ()


def test_missing_wind_makes_no_legs() -> None:
    day = inputs(hours=tuple(hour(i, math.nan, math.nan) for i in range(24)))
    assert build_plan(day, P).stops == ()


def test_leg_times_by_hand() -> None:
    # 1000 m at 1.3 m/s less a tenth of 5 m/s straight ahead: 1000 / 0.8 = 1250 s; with the wind 1000 / 1.3 = 769 s
    distance, bearing = np.array([[0.0, 1000.0], [1000.0, 0.0]]), np.array([[0.0, 225.0], [45.0, 0.0]])
    minutes = leg_times_min(distance, bearing, (hour(0, 5.0),), 1.3, P.travel)[0]
    assert minutes[0, 1] == pytest.approx(1250 / 60)
    assert minutes[1, 0] == pytest.approx(769.23 / 60, rel=1e-4)


def test_a_longer_day_is_never_worth_less() -> None:
    worths = []
    for off_h in (8.0, 9.0, 10.0, 11.0, 12.0):
        grid = lay_out(inputs(n=6, seed=3, off_h=off_h), P, list(range(6)))
        assert grid is not None
        worths.append(best_route(replace(grid, price=0.0)).worth)
    assert worths == sorted(worths)


def test_few_spots_are_rested_and_visited_again() -> None:
    plan = build_plan(inputs(n=2, off_h=12.0), P)
    again = [stop for stop in plan.stops if stop.second_visit]
    assert again
    for stop in again:
        first = next(s for s in plan.stops if s.spot_id == stop.spot_id and not s.second_visit)
        assert stop.arrive - first.leave >= timedelta(minutes=P.stay.rest_min)
        assert any("since the last visit" in reason for reason in stop.reasons)


# --- what a block says ----------------------------------------------------------------------------------------------


def test_blocks_outside_the_window_carry_no_advice() -> None:
    plan = build_plan(inputs(switches=(SLOWER,)), P)
    for block in plan.blocks:
        assert block.closed or block.stops or block.block.start < plan.stops[-1].leave
        if block.closed:
            assert block.stops == ()
            assert block.switches == ()
            assert block.habit == ""
            assert block.spare == ()
    assert plan.blocks[-1].closed == "You are off the water by then."
    assert plan.blocks[0].closed == "Before you launch." or plan.blocks[0].stops


def test_no_window_says_why_and_plans_nothing() -> None:
    why = "Gusts are above your stop all day."
    plan = build_plan(inputs(launch_from=None, off_water_by=None, closed_reason=why), P)
    assert {block.closed for block in plan.blocks} == {why}
    assert plan.stops == ()
    assert plan.plan_b is None
    assert plan.reasons == (why,)
    assert {out.why for out in plan.left_out} == {"There is no time on the water within your limits."}


def test_a_level_of_a_block_is_the_worst_of_its_hours() -> None:
    hours = tuple(replace(hour(i), level=Level.CAUTION if i == 9 else Level.WITHIN_LIMITS) for i in range(24))
    plan = build_plan(inputs(hours=hours), P)
    nine = DAY + timedelta(hours=9)
    for block in plan.blocks:
        overlaps = block.block.start < nine + timedelta(hours=1) and block.block.end > nine
        assert (block.level is Level.CAUTION) == overlaps


@pytest.mark.parametrize(
    ("rules", "routed", "words"),
    [
        (NestRules(closed=True), False, "season is closed"),
        (NestRules(closed=True, spawning=True, include=True), False, "season is closed"),
        (NestRules(closed=None, spawning=True, include=True), False, "check before fishing"),
        (NestRules(closed=False, spawning=True), False, "left alone"),
        (NestRules(closed=False, spawning=True, include=True), True, ""),
        (NestRules(closed=None, spawning=False), True, ""),
    ],
)
def test_nest_areas(rules: NestRules, routed: bool, words: str) -> None:
    day = inputs(n=3, nests=rules)
    spots = (replace(day.spots[0], nest_area=True), *day.spots[1:])
    values = day.values.copy()
    values[0] = 1.0  # the best place of all, if it may be fished
    plan = build_plan(replace(day, spots=spots, values=values), P)
    assert ("s0" in {stop.spot_id for stop in plan.stops}) == routed
    assert words in " ".join(out.why for out in plan.left_out if out.spot_id == "s0")
    if not routed:
        named = {name for block in plan.blocks for name in block.spare} | set(plan.plan_b.spots if plan.plan_b else ())
        assert "Spot 0" not in named


def test_a_spot_beyond_the_limits_is_left_out_with_the_reason() -> None:
    day = inputs(n=3)
    exceeds = day.exceeds.copy()
    exceeds[1] = True
    plan = build_plan(replace(day, exceeds=exceeds), P)
    assert "beyond your limits" in next(out.why for out in plan.left_out if out.spot_id == "s1")


def test_nan_values_count_as_nothing_to_fish_for() -> None:
    day = inputs(n=3)
    values = day.values.copy()
    values[2] = np.nan
    plan = build_plan(replace(day, values=values), P)
    assert "s2" not in {stop.spot_id for stop in plan.stops}
    assert "Nothing you can fish" in next(out.why for out in plan.left_out if out.spot_id == "s2")


def test_a_stop_says_first_why_fish_are_there() -> None:
    day = inputs(n=4)
    why = "The wind pushes bait onto it."
    day = replace(day, why={("s2", block.id): (why,) for block in day.blocks})
    values = np.full_like(day.values, 0.2)
    values[2] = 1.0
    plan = build_plan(replace(day, values=values), P)
    stop = next(s for s in plan.stops if s.spot_id == "s2")
    assert stop.reasons[0] == why
    assert all(stop.reasons for stop in plan.stops)


def test_a_spot_whose_place_is_not_known_is_never_routed_to() -> None:
    day = inputs(n=3, front=FrontStage.APPROACHING)
    distance = day.distance_m.copy()
    distance[2, :] = distance[:, 2] = np.nan
    plan = build_plan(replace(day, distance_m=distance), P)
    assert plan.stops
    assert "s1" not in {stop.spot_id for stop in plan.stops}
    assert np.isfinite(plan.total_m)


def test_a_window_beyond_the_forecast_holds_no_stops_there() -> None:
    plan = build_plan(inputs(hours=STEADY[:9], exceeds=np.zeros((5, 9), bool), off_h=12.0), P)
    assert plan.stops
    assert max(stop.leave for stop in plan.stops) <= DAY + timedelta(hours=9)


def test_a_turning_time_before_the_launch_leaves_no_stops() -> None:
    plan = build_plan(inputs(start_back_by=DAY + timedelta(hours=6)), P)
    assert plan.stops == ()
    assert "no plan for the water" in plan.reasons[0]


def test_each_spot_is_left_by_its_own_time() -> None:
    near_late = tuple(DAY + timedelta(hours=h) for h in (7.0, 9.5, 9.5, 9.5, 9.5))
    plan = build_plan(inputs(start_back_by=DAY + timedelta(hours=7), leave_by=near_late), P)
    assert max(stop.leave for stop in plan.stops) > DAY + timedelta(hours=7)
    assert all(stop.leave <= DAY + timedelta(hours=7) for stop in plan.stops if stop.spot_id == "s0")
    with pytest.raises(ValueError, match="leave_by"):
        build_plan(inputs(leave_by=near_late[:2]), P)


def test_shapes_are_checked() -> None:
    with pytest.raises(ValueError, match="values"):
        build_plan(inputs(values=np.zeros((2, 2))), P)


def test_same_inputs_same_plan() -> None:
    assert build_plan(inputs(seed=7), P) == build_plan(inputs(seed=7), P)


# --- switches and plan B --------------------------------------------------------------------------------------------

SLOWER = Switch("slower", "two passes bring nothing", "slow down", "fish may not chase", "speed", (), ())
OTHER = Switch("other", "45 min bring nothing", "change the depth", "the layer is wrong", "depth", (), ())
GRASS = Switch("holes", "bites come at holes", "cast holes only", "fish wait there", "place", ("grass",), ())
GLASS = Switch("wind_drops", "the wind drops", "go smaller", "fish see and hear", "size", (), ())
RISES = Switch("wind_rises", "the wind gets up", "fish the hard bank", "bait is pushed there", "place", (), ())


def test_one_switch_an_hour_and_the_forecasts_change_first() -> None:
    hours = tuple(hour(i, wind=2.0 if i < 9 else 5.5) for i in range(24))
    day = inputs(hours=hours, launch_h=6.0, off_h=11.0, switches=(SLOWER, OTHER, GRASS, GLASS, RISES))
    found = [switch for block in build_plan(day, P).blocks for switch in block.switches]
    assert len({switch.at.hour for switch in found}) == len(found)
    by_hour = {switch.at: switch.switch.id for switch in found}
    assert by_hour[DAY + timedelta(hours=9)] == "wind_rises"
    assert "wind_drops" not in by_hour.values()
    assert "holes" not in by_hour.values()
    rule = found[0].switch
    assert found[0].text.lower() == f"{rule.when}: {rule.then}. {rule.because}.".lower()
    assert found[0].text[0].isupper()


def test_situation_words_let_a_rule_in() -> None:
    day = inputs(switches=(GRASS,))
    grass = tuple(replace(spot, words=frozenset({"grass"})) for spot in day.spots)
    assert not any(block.switches for block in build_plan(day, P).blocks)
    assert any(block.switches for block in build_plan(replace(day, spots=grass), P).blocks)


@pytest.mark.parametrize(
    ("hours", "front", "kind"),
    [
        (tuple(hour(i, wind=2.0 if i < 11 else 7.0, cloud=0.0) for i in range(24)), FrontStage.NONE, "wind_up"),
        (
            tuple(hour(i, wind_from=180.0 if i < 11 else 300.0, cloud=0.0) for i in range(24)),
            FrontStage.NONE,
            "wind_shift",
        ),
        (tuple(hour(i, cloud=0.6) for i in range(24)), FrontStage.NONE, "sun_out"),
        (tuple(hour(i, cloud=0.4) for i in range(24)), FrontStage.NONE, "cloud_in"),
        (STEADY, FrontStage.APPROACHING, "front"),
    ],
)
def test_plan_b_is_for_the_likeliest_surprise(hours: tuple[PlanHour, ...], front: FrontStage, kind: str) -> None:
    plan = build_plan(inputs(hours=hours, front=front), P)
    assert plan.plan_b is not None
    assert plan.plan_b.kind == kind
    assert "{" not in plan.plan_b.sign


def test_plan_b_for_a_front_is_to_go_ashore_at_once() -> None:
    plan = build_plan(inputs(front=FrontStage.APPROACHING), P)
    assert plan.plan_b is not None
    assert "go ashore now" in plan.plan_b.do.lower()
    assert plan.plan_b.spots == ()


@pytest.mark.parametrize(("south", "way"), [(False, "north-west"), (True, "south-west")])
def test_plan_b_for_a_front_names_the_wind_of_the_hemisphere(south: bool, way: str) -> None:
    plan = build_plan(inputs(front=FrontStage.APPROACHING, south=south), P)
    assert plan.plan_b is not None
    assert plan.plan_b.sign == f"Thunder, a dark line in the sky, or the wind swinging to the {way}."


def test_plan_b_names_only_places_that_fit_its_sentence() -> None:
    day = inputs(n=3, hours=tuple(hour(i, cloud=0.6) for i in range(24)))
    deep_or_shaded = {"s0": {"shaded": True}, "s1": {"deepest_m": 8.0}, "s2": {"deepest_m": 2.0}}
    spots = tuple(replace(spot, **deep_or_shaded[spot.id]) for spot in day.spots)  # type: ignore[arg-type]
    plan = build_plan(replace(day, spots=spots), P)
    assert plan.plan_b is not None
    assert plan.plan_b.kind is SurpriseKind.SUN_OUT
    assert set(plan.plan_b.spot_ids) == {"s0", "s1"}
    rising = tuple(hour(i, wind=2.0 if i < 11 else 7.0, cloud=0.0) for i in range(24))
    plan = build_plan(inputs(n=3, hours=rising), P)  # no open water known up-wind of any spot
    assert plan.plan_b is not None
    assert plan.plan_b.spots == ()


def test_in_cold_water_few_places_are_fished_for_long() -> None:
    day = inputs(n=8, values=np.ones((8, 6)), launch_h=7.0, off_h=15.0)
    usual, cold = build_plan(day, P), build_plan(replace(day, cold_water=True), P)
    assert len(cold.stops) < len(usual.stops)
    assert min(stop.leave - stop.arrive for stop in cold.stops) >= timedelta(minutes=45)
    assert min(stop.leave - stop.arrive for stop in usual.stops) >= timedelta(minutes=20)


def test_a_settled_day_needs_no_plan_b() -> None:
    assert build_plan(inputs(hours=tuple(hour(i, cloud=0.0) for i in range(24))), P).plan_b is None


def test_plan_b_in_more_wind_goes_to_the_lee_and_never_beyond_the_limits() -> None:
    hours = tuple(hour(i, wind=2.0 if i < 11 else 7.0, cloud=0.0) for i in range(24))
    day = inputs(n=3, hours=hours)
    open_water, lee = (3000.0,) * 8, (100.0,) * 8
    spots = tuple(replace(s, fetch_m=lee if s.id == "s2" else open_water) for s in day.spots)
    flat = replace(day, spots=spots, values=np.ones_like(day.values), distance_m=np.full((4, 4), 500.0))
    plan = build_plan(flat, P)
    assert plan.plan_b is not None
    assert plan.plan_b.spot_ids[0] == "s2"
    exceeds = flat.exceeds.copy()
    exceeds[2, 8] = True
    plan = build_plan(replace(flat, exceeds=exceeds), P)
    assert plan.plan_b is not None
    assert "s2" not in plan.plan_b.spot_ids


def test_plan_b_uses_the_callers_values_for_the_surprise() -> None:
    day = inputs(n=3, hours=tuple(hour(i, cloud=0.6) for i in range(24)))
    day = replace(day, spots=tuple(replace(spot, shaded=True) for spot in day.spots))
    sunny = np.full_like(day.values, 0.1)
    sunny[1] = 1.0
    plan = build_plan(replace(day, values_if={SurpriseKind.SUN_OUT: sunny}), P)
    assert plan.plan_b is not None
    assert plan.plan_b.spot_ids[0] == "s1"


# --- season and front -----------------------------------------------------------------------------------------------


def test_the_season_moves_the_worth_of_the_times_of_day() -> None:
    day = inputs(values=np.ones((5, 6)))
    warm, cold = (adjusted_values(replace(day, warm_half=half), P)[0] for half in (True, False))
    names = [block.name for block in day.blocks]
    assert names[int(cold.argmax())] is BlockName.HIGH
    assert names[int(warm.argmin())] is BlockName.HIGH
    assert warm[0] > cold[0]


def test_the_second_day_after_a_front_starts_late_and_stays_long() -> None:
    day = inputs(n=6, values=np.ones((6, 6)), launch_h=6.0, off_h=13.0)
    after = replace(day, front=FrontStage.DAY2)
    usual, late = build_plan(day, P), build_plan(after, P)
    assert len(late.stops) < len(usual.stops)
    longest = [max((s.leave - s.arrive).total_seconds() / 60 for s in plan.stops) for plan in (usual, late)]
    assert longest[1] > longest[0]
    assert late.front.startswith("Second day after the front")
    morning = adjusted_values(after, P)[0, 1] / adjusted_values(day, P)[0, 1]
    assert morning == pytest.approx(P.front.day2_morning)


def test_a_front_that_hardly_counts_here_changes_nothing() -> None:
    day = inputs(n=6)
    assert build_plan(replace(day, front=FrontStage.DAY2, front_strength=0.0), P).stops == build_plan(day, P).stops
    assert "front" not in build_plan(replace(day, front=FrontStage.DAY2, front_strength=0.1), P).front


def test_a_front_on_its_way_keeps_the_plan_near_the_ramp() -> None:
    day = inputs(n=2, values=np.ones((2, 6)), spots=_targets("near", "far"))
    distance = np.array([[0, 300, 2500], [300, 0, 2300], [2500, 2300, 0]], float)
    values = adjusted_values(replace(day, distance_m=distance, front=FrontStage.APPROACHING), P)
    assert (values[0] > values[1]).all()
    plain = adjusted_values(replace(day, distance_m=distance), P)
    assert values[1] == pytest.approx(plain[1] * (1 - P.front.ahead_far_loss))


# --- hours ----------------------------------------------------------------------------------------------------------


def level_of(level: Level, *, standing: bool) -> HourLevel:
    factor = Factor("alerts", level, None, None, "", "none here", "", standing=standing)
    return HourLevel(DAY, level, (factor,))


def test_open_hours() -> None:
    assert is_open(level_of(Level.WITHIN_LIMITS, standing=False))
    assert is_open(level_of(Level.CAUTION, standing=False))
    assert is_open(level_of(Level.UNKNOWN, standing=True))
    assert not is_open(level_of(Level.UNKNOWN, standing=False))
    assert not is_open(level_of(Level.STOP, standing=False))
    assert not is_open(HourLevel(DAY, Level.UNKNOWN, ()))


def test_a_block_of_the_forecasts_own_is_found_by_time() -> None:
    block = Block("x", BlockName.EARLY, "Early", DAY, DAY + timedelta(hours=24), (0.0, 10.0), "dawn")
    day = inputs(n=3)
    plan = build_plan(replace(day, blocks=(block,), values=np.ones((3, 1))), P)
    assert {stop.block_id for stop in plan.stops} == {"x"}


def test_travel_is_told_as_it_is() -> None:
    for stop in build_plan(inputs(), P).stops:
        calm = stop.travel_m / 1.3 / 60.0
        assert stop.travel_min >= calm - 1e-6
        assert stop.travel_min <= 20 or stop.travel_min % 5 == 0
        assert stop.arrive + timedelta(minutes=stop.most_min) == stop.leave


def test_hours_at_caution_for_wind_are_fished_near_the_ramp() -> None:
    hours = tuple(replace(hour(i), rough=i >= 9) for i in range(24))
    day = inputs(n=2, hours=hours, values=np.ones((2, 6)), off_h=11.0)
    way = np.array([[0.0, 1400.0, 200.0], [1400.0, 0.0, 1300.0], [200.0, 1300.0, 0.0]])
    plan = build_plan(replace(day, distance_m=way), P)
    assert [stop.spot_id for stop in plan.stops][-1] == "s1"
    far = [stop for stop in plan.stops if stop.spot_id == "s0"]
    assert all(stop.leave <= DAY + timedelta(hours=9, minutes=30) for stop in far)


def test_a_stop_says_its_way_home_and_the_last_moment_for_it() -> None:
    plan = build_plan(inputs(), P)
    for stop in plan.stops:
        assert stop.home_by is not None
        assert stop.leave <= stop.home_by
        assert stop.home_by + timedelta(minutes=stop.home_min) <= DAY + timedelta(hours=11.5)


def test_a_spot_too_far_for_the_hours_says_so_and_is_no_plan_b() -> None:
    hours = tuple(hour(i, wind=2.0 if i < 11 else 7.0, cloud=0.0) for i in range(24))
    launch = DAY + timedelta(hours=6.5)
    day = inputs(n=3, hours=hours, leave_by=(launch, launch + timedelta(hours=4), launch + timedelta(hours=4)))
    day = replace(day, spots=tuple(replace(spot, fetch_m=(100.0,) * 8) for spot in day.spots))
    plan = build_plan(day, P)
    assert next(out.why for out in plan.left_out if out.spot_id == "s0") == "Too far for these hours."
    assert plan.plan_b is not None
    assert "s0" not in plan.plan_b.spot_ids


def test_sun_on_cold_water_is_good_news() -> None:
    day = inputs(n=3, hours=tuple(hour(i, cloud=0.6) for i in range(24)), launch_h=7.0, off_h=14.0, cold_water=True)
    plan = build_plan(day, P)
    assert plan.plan_b is not None
    assert "fish may come up" in plan.plan_b.do


def test_other_choices_leave_the_route_as_it_is() -> None:
    day = inputs(n=5, switches=(SLOWER,))
    plan = build_plan(day, P)
    assert with_choices(plan, day) == plan


# --- no idle time ---------------------------------------------------------------------------------------------------


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.integers(0, 10_000),
    st.integers(1, 7),
    st.floats(0.0, 6.0),
    st.floats(0.0, 359.0),
    st.floats(9.5, 15.5),
    st.booleans(),
    st.sampled_from([FrontStage.NONE, FrontStage.DAY1, FrontStage.DAY2]),
)
def test_no_time_within_the_limits_idles(
    seed: int, n: int, wind: float, wind_from: float, off_h: float, cold: bool, front: FrontStage
) -> None:
    hours = tuple(hour(i, wind, wind_from) for i in range(24))
    day = inputs(n=n, seed=seed, hours=hours, off_h=off_h, cold_water=cold, front=front)
    values = np.random.default_rng(seed).uniform(0.4, 1.0, day.values.shape)
    plan = build_plan(replace(day, values=values), P)
    assert plan.stops
    assert day.launch_from is not None
    before = day.launch_from
    for stop in plan.stops:
        waited = (stop.arrive - before).total_seconds() / 60.0 - stop.travel_min
        assert waited <= P.travel.settle_min + 10.0, "to the full five minutes on either side"
        before = stop.leave
    assert plan.stops[-1].leave == plan.stops[-1].home_by, "fished to the last moment for the way home"
    for stop in plan.stops:
        minutes = (stop.leave - stop.arrive).total_seconds() / 60.0
        assert minutes <= P.stay.longest_min or stop.long_why
    for first, second in pairwise(plan.stops):
        assert (first.spot_id == second.spot_id) == bool(second.goes_on)
        assert first.then == (second.then if second.goes_on else second.spot)


def test_one_place_alone_is_fished_all_day_with_the_reason() -> None:
    parts = build_plan(inputs(n=1, off_h=13.0), P)
    assert len(parts.stops) > 1
    assert all(part.goes_on for part in parts.stops[1:])
    (stop,) = joined_stays(parts, P).stops  # fished alike all day
    assert stop.long_why == "long because it is the only place"
    assert stop.leave - stop.arrive > timedelta(hours=4)
    assert stop.then == ""


def test_a_place_that_opens_later_is_waited_for_ashore_not_given_up() -> None:
    day = inputs(n=1, off_h=12.0)
    exceeds = day.exceeds.copy()
    exceeds[0, :9] = True  # beyond the limits until nine
    plan = build_plan(replace(day, exceeds=exceeds), P)
    assert [stop.arrive >= DAY + timedelta(hours=9) for stop in plan.stops] == [True]


def test_what_is_hardly_worth_it_is_not_visited_to_fill_time() -> None:
    day = inputs(n=2, off_h=13.0)
    values = np.ones_like(day.values)
    values[1] = 0.02
    plan = build_plan(replace(day, values=values), P)
    assert {stop.spot_id for stop in plan.stops} == {"s0"}
    assert plan.stops[0].long_why == "long because no other place gives as much then"


def test_the_last_stop_names_a_place_that_still_fits() -> None:
    plan = build_plan(inputs(n=5, off_h=10.0), P)
    last = plan.stops[-1]
    assert last.then != last.spot
    assert last.then == "" or last.then in {f"Spot {i}" for i in range(5)}
