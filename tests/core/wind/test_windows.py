from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from briefing import knowledge
from briefing.core.wind.inputs import DayLight, HeadwindLeg
from briefing.core.wind.travel import head_wind_mps, headway_lost, speed_made_good_mps
from briefing.core.wind.windows import Travel, deadlines, first_hard_leg, launch_windows
from briefing.vocabulary import Craft, Level

RULES = knowledge.load_safety_rules().travel
KN = 0.514444
MPH = 0.44704


def plan(morning, *, launch_h=1.0, back_h=8.0, legs=(), **travel):
    inputs = morning.inputs()
    start = inputs.hours.start
    trip = Travel(Craft.KAYAK, inputs.limits, legs=tuple(legs), **travel)
    return deadlines(
        morning.levels(),
        inputs.hours,
        inputs.light,
        trip,
        RULES,
        launch=start + timedelta(hours=launch_h),
        planned_return=start + timedelta(hours=back_h),
    )


def test_windows_are_daylight_runs_of_two_hours(morning) -> None:
    morning.values["wind_mps"] = [2.0, 2.0, 9.0, 1.0, 9.0, 1.0, 1.0, 1.0, 1.0, np.nan, 1.0, 1.0]
    morning.values["gust_mps"] = 3.0
    start = morning.inputs().hours.start
    windows = launch_windows(morning.levels(), morning.inputs().light, RULES)
    assert [(w.begin - start, w.end - start) for w in windows] == [
        (timedelta(hours=0), timedelta(hours=2)),
        (timedelta(hours=6), timedelta(hours=9)),
        (timedelta(hours=10), timedelta(hours=12)),
    ]
    assert windows[0].ends_level is Level.STOP
    assert "your stop is" in windows[0].ends_because
    assert windows[1].ends_level is Level.UNKNOWN
    assert windows[2].ends_because == "The forecast ends here."
    assert windows[1].last_launch == windows[1].end - timedelta(hours=2)


def test_windows_are_cut_at_dawn_and_dusk(morning) -> None:
    start = morning.inputs().hours.start
    dawn, dusk = start + timedelta(minutes=40), start + timedelta(hours=5, minutes=20)
    windows = launch_windows(morning.levels(), (DayLight(dawn, dawn, dusk, dusk),), RULES)
    assert [(w.begin, w.end, w.ends_because) for w in windows] == [(dawn, dusk, "Usable light ends.")]
    assert launch_windows(morning.levels(), (), RULES) == ()
    assert launch_windows(morning.levels(), (DayLight(None, None, None, None),), RULES) == ()


def test_after_thunder_a_window_begins_with_the_wait_over(morning) -> None:
    morning.values["thunder_pct"] = [1.0, 1.0, 60.0, *[1.0] * 9]
    start = morning.inputs().hours.start
    levels = morning.levels()
    last = max(one.hour for one in levels if any(f.name == "thunder" and f.level is Level.STOP for f in one.factors))
    (after,) = [w for w in launch_windows(levels, morning.inputs().light, RULES) if w.begin > start]
    assert after.begin == last + timedelta(minutes=90)
    hidden = DayLight(*[start + timedelta(hours=3, minutes=10)] * 2, *[start + timedelta(hours=12)] * 2)
    assert launch_windows(levels, (hidden,), RULES)[0].begin == after.begin


def test_no_window_on_a_bad_day(morning) -> None:
    morning.values["wind_mps"] = 9.0
    assert launch_windows(morning.levels(), morning.inputs().light, RULES) == ()


def test_off_water_is_half_an_hour_before_the_first_stop(morning) -> None:
    morning.values["wind_mps"] = np.where(np.arange(12) >= 5, 9.0, 2.0)
    start = morning.inputs().hours.start
    ends = plan(morning, longest_arm_m=1000.0)
    assert ends.off_water_by == start + timedelta(hours=4, minutes=30)
    assert ends.kind == "stop"
    assert ends.call_at == ends.off_water_by + timedelta(minutes=60)


def test_off_water_is_half_an_hour_before_the_first_unknown(morning) -> None:
    morning.values["wind_mps"] = np.where(np.arange(12) >= 6, np.nan, 2.0)
    ends = plan(morning, longest_arm_m=1000.0)
    assert ends.kind == "unknown"
    assert ends.off_water_by == morning.inputs().hours.start + timedelta(hours=5, minutes=30)


def test_hours_beyond_the_forecast_are_unknown(morning) -> None:
    start = morning.inputs().hours.start
    late = plan(morning, back_h=14.0)
    assert (late.kind, late.off_water_by) == ("unknown", start + timedelta(hours=11, minutes=30))
    early = plan(morning, launch_h=-2.0)
    assert (early.kind, early.off_water_by) == ("unknown", start - timedelta(hours=2))
    assert plan(morning, launch_h=20.0, back_h=24.0).kind == "unknown"


def test_standing_unknowns_set_no_deadline(morning) -> None:
    morning.values["thunder_pct"] = None
    morning.changes["thunder_service"] = False
    assert plan(morning, longest_arm_m=1000.0).kind == "return"


def test_light_or_the_planned_return_may_come_first(morning) -> None:
    start = morning.inputs().hours.start
    assert plan(morning).off_water_by == start + timedelta(hours=8)
    dusk = start + timedelta(hours=6)
    morning.changes["light"] = (DayLight(start, start, dusk, dusk),)
    assert (plan(morning).kind, plan(morning).off_water_by) == ("light", dusk)


def test_stops_before_the_launch_do_not_count(morning) -> None:
    morning.values["wind_mps"] = [9.0, 9.0] + [2.0] * 10
    assert plan(morning, launch_h=4.0).kind == "return"


def test_start_back_uses_the_worst_head_wind_and_a_quarter_in_reserve(morning) -> None:
    morning.values |= {"wind_mps": [1.0, 1.0, 1.0, 5.0] + [1.0] * 8, "wind_from_deg": 270.0}
    ends = plan(morning, legs=[HeadwindLeg("reeds to ramp", 270.0, 1206.0)], calm_mps=1.34)
    minutes_back = 1206.0 / (1.34 - 0.1 * 5.0) / 60.0
    assert ends.time_back_min == pytest.approx(minutes_back)
    assert ends.start_back_by == ends.off_water_by - timedelta(minutes=1.25 * minutes_back)
    assert not ends.assumed
    with_tail_wind = plan(morning, legs=[HeadwindLeg("reeds to ramp", 90.0, 1206.0)], calm_mps=1.34)
    assert with_tail_wind.time_back_min == pytest.approx(1206.0 / 1.34 / 60.0)


def test_the_longest_way_back_decides(morning) -> None:
    legs = [HeadwindLeg("near", 270.0, 300.0), HeadwindLeg("far", 0.0, 3000.0)]
    assert plan(morning, legs=legs).leg == "far"


def test_without_spots_the_longest_arm_stands_in_against_the_whole_wind(morning) -> None:
    ends = plan(morning, longest_arm_m=2000.0)
    assert ends.assumed
    assert ends.time_back_min == pytest.approx(2000.0 / (1.34 - 0.2) / 60.0)
    assert plan(morning).start_back_by is None


def test_no_headway_gives_no_start_back_time(morning) -> None:
    morning.values |= {"wind_mps": 6.0, "gust_mps": 7.0}
    ends = plan(morning, legs=[HeadwindLeg("reeds to ramp", 270.0, 500.0)], calm_mps=0.7)
    assert (ends.headway, ends.start_back_by) == (False, None)


@pytest.mark.parametrize(("mph", "knots"), [(0, 2.6), (5, 2.2), (10, 1.7), (15, 1.3), (18, 1.0), (20, 0.9)])
def test_linear_rule_for_a_fishing_kayak(mph, knots) -> None:
    limits = knowledge.load_limits().rows[Craft.KAYAK, next(iter(knowledge.load_limits().rows))[1]]
    speed = speed_made_good_mps(Craft.KAYAK, 2.6 * KN, mph * MPH, 0.0, limits, RULES)
    assert float(speed) / KN == pytest.approx(knots, abs=0.06)


def test_headway_is_lost_below_three_tenths_of_the_calm_speed(morning) -> None:
    limits = morning.inputs().limits
    edge = 0.7 * 1.34 / 0.1
    assert float(speed_made_good_mps(Craft.KAYAK, 1.34, edge + 0.01, 0.0, limits, RULES)) == 0.0
    assert float(speed_made_good_mps(Craft.KAYAK, 1.34, edge - 0.01, 0.0, limits, RULES)) > 0.4
    lost = headway_lost(Craft.KAYAK, 1.34, (), np.array([edge + 0.01, np.nan]), np.array([np.nan, 0.0]), RULES)
    assert lost is not None
    assert lost[0].tolist() == [True, False]
    assert headway_lost(Craft.BASS_BOAT, None, (), np.array([30.0]), np.array([0.0]), RULES) is None


def test_power_craft_slow_down_by_waves(morning) -> None:
    limits = replace(morning.inputs().limits, craft=Craft.BASS_BOAT)
    speeds = speed_made_good_mps(Craft.BASS_BOAT, 11.0, 0.0, np.array([0.1, 0.3, 0.45]), limits, RULES)
    assert speeds.tolist() == pytest.approx([11.0, 5.5, 5 * MPH])


def test_head_wind_never_credits_a_tail_wind() -> None:
    heads = head_wind_mps([5.0, 5.0, 5.0, 5.0], [90.0, 270.0, 0.0, np.nan], 90.0)
    assert heads.tolist() == pytest.approx([5.0, 0.0, 0.0, 5.0], abs=1e-9)


def test_first_leg_to_become_hard(morning) -> None:
    morning.values |= {"wind_mps": np.linspace(1.0, 7.5, 12), "gust_mps": 8.0}
    inputs = morning.inputs()
    start = inputs.hours.start
    legs = (HeadwindLeg("south reeds to ramp", 180.0, 800.0), HeadwindLeg("east point to ramp", 270.0, 800.0))
    hard = first_hard_leg(
        morning.levels(),
        inputs.hours,
        Travel(Craft.KAYAK, inputs.limits, 1.0, legs),
        RULES,
        launch=start,
        planned_return=start + timedelta(hours=12),
    )
    assert hard is not None
    assert hard.leg == "east point to ramp"
    # Wind 5 m/s or more halves 1 m/s: 1 + 6.5 n / 11 > 5 from n = 7.
    assert hard.hour == start + timedelta(hours=7)


def test_a_place_too_far_for_the_hours_does_not_set_the_time_to_start_back(morning) -> None:
    morning.values["wind_mps"], morning.values["gust_mps"] = 2.0, 3.0
    near = HeadwindLeg("reeds to ramp", 270.0, 800.0, "reeds")
    far = HeadwindLeg("dam to ramp", 270.0, 9000.0, "dam")
    alone = plan(morning, launch_h=1.0, back_h=4.0, legs=[near], calm_mps=1.34)
    both = plan(morning, launch_h=1.0, back_h=4.0, legs=[near, far], calm_mps=1.34)
    assert (both.start_back_by, both.leg, both.too_far) == (alone.start_back_by, "reeds to ramp", ("dam",))
    longer = plan(morning, launch_h=1.0, back_h=8.0, legs=[near, far], calm_mps=1.34)
    assert (longer.leg, longer.too_far) == ("dam to ramp", ())


def test_where_nothing_fits_the_turn_leaves_time_for_the_way_back(morning) -> None:
    morning.values["wind_mps"], morning.values["gust_mps"], morning.values["wind_from_deg"] = 2.0, 3.0, 270.0
    far = HeadwindLeg("dam to ramp", 270.0, 9000.0, "dam")
    ends = plan(morning, launch_h=1.0, back_h=4.0, legs=[far], calm_mps=1.34)
    assert ends.turn_round
    assert ends.too_far == ("dam",)
    start = morning.inputs().hours.start + timedelta(hours=1)
    out_s = (ends.start_back_by - start).total_seconds()
    back_s = out_s * 1.34 / (1.34 - 0.2)
    assert out_s + 1.25 * back_s == pytest.approx(3 * 3600.0, abs=1.0)
    stand_in = plan(morning, launch_h=1.0, back_h=2.0, longest_arm_m=9000.0)
    assert stand_in.turn_round
    assert stand_in.too_far == ()


def test_the_turn_holds_whichever_way_was_taken(morning) -> None:
    morning.values["wind_mps"], morning.values["gust_mps"], morning.values["wind_from_deg"] = 4.0, 5.0, 270.0
    turns = [
        plan(morning, launch_h=1.0, back_h=4.0, legs=[HeadwindLeg("dam", way, 9000.0, "dam")], calm_mps=1.34)
        for way in (270.0, 90.0, 0.0)
    ]
    assert all(one.turn_round for one in turns)
    assert len({one.start_back_by for one in turns}) == 1
