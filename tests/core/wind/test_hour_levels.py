import itertools
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from briefing.core.alerts import AlertFeed
from briefing.core.hours import Origin
from briefing.core.readings import WindReading
from briefing.core.wind.alerts import resolve_alerts
from briefing.core.wind.hour_levels import hour_levels, judge_hours
from briefing.core.wind.inputs import DayLight, HeadwindLeg, hourly_from_days
from briefing.core.wind.level import FACTORS
from briefing.vocabulary import Craft, Level

NOW = datetime(2026, 6, 3, 10, 5, tzinfo=UTC)
STALE = Origin("grid", "forecast grid", "forecast", None, None)


def harm_wind(m):
    m.values["wind_mps"] = None


def harm_direction(m):
    m.values["wind_from_deg"] = None


def harm_thunder(m):
    m.values["thunder_pct"] = None


def harm_alerts(m):
    m.feed = replace(m.feed, problem="no answer", checked_at=None)


def damage(name):
    def harm(m):
        m.damaged[name] = True

    harm.__name__ = f"damage_{name}"
    return harm


def age(name):
    def harm(m):
        m.origins[name] = STALE

    harm.__name__ = f"age_{name}"
    return harm


def stale_alerts(m):
    m.feed = replace(m.feed, checked_at=m.inputs().now - timedelta(minutes=21))


def broken_alert_message(m):
    m.feed = replace(m.feed, damaged=1)


HARMS = {
    harm_wind: "sustained_wind",
    harm_direction: "waves",
    harm_thunder: "thunder",
    harm_alerts: "alerts",
    damage("wind_mps"): "sustained_wind",
    damage("gust_mps"): "gust",
    damage("wind_from_deg"): "waves",
    damage("thunder_pct"): "thunder",
    age("wind_mps"): "sustained_wind",
    age("gust_mps"): "gust",
    age("wind_from_deg"): "waves",
    age("thunder_pct"): "thunder",
    stale_alerts: "alerts",
    broken_alert_message: "alerts",
}


def test_a_calm_morning_is_within_limits_with_every_number_named(morning) -> None:
    for hour in morning.levels():
        assert hour.level is Level.WITHIN_LIMITS
        assert {f.name for f in hour.factors} <= set(FACTORS)
        assert all(f.text for f in hour.factors)
        wind = next(f for f in hour.factors if f.name == "sustained_wind")
        assert (wind.number, wind.unit, wind.stop_limit) == (2.0, "m/s", 8.0)
        assert "forecast grid" in wind.source


@pytest.mark.parametrize("harm", HARMS, ids=lambda harm: harm.__name__)
def test_a_required_input_that_is_gone_makes_its_hours_unknown(morning, harm) -> None:
    harm(morning)
    for hour in morning.levels():
        assert hour.level is Level.UNKNOWN
        named = [f for f in hour.factors if f.name == HARMS[harm]]
        assert max(f.level.rank for f in named) == Level.UNKNOWN.rank


@pytest.mark.parametrize("pair", list(itertools.combinations(HARMS, 2)), ids=lambda p: "+".join(h.__name__ for h in p))
def test_two_losses_together_are_unknown_in_both_factors(morning, pair) -> None:
    for harm in pair:
        harm(morning)
    for hour in morning.levels():
        assert hour.level is Level.UNKNOWN
        for harm in pair:
            assert any(f.level is Level.UNKNOWN for f in hour.factors if f.name == HARMS[harm])


@pytest.mark.parametrize("harm", HARMS, ids=lambda harm: harm.__name__)
@pytest.mark.parametrize(
    "danger", [{"wind_mps": 9.0, "gust_mps": 14.0}, {"thunder_pct": 60.0}, {"gust_mps": 20.0}], ids=str
)
def test_losing_an_input_never_hides_a_stop_that_had_been_accepted(morning, harm, danger) -> None:
    morning.values |= danger
    before = morning.series()
    assert {hour.level for hour in morning.levels()} == {Level.STOP}
    harm(morning)
    morning.changes["accepted"] = before
    assert {hour.level for hour in morning.levels()} == {Level.STOP}


def test_an_accepted_stop_stands_only_for_its_own_hour(morning) -> None:
    morning.values["wind_mps"] = np.where(np.arange(12) < 3, 9.0, 2.0)
    morning.changes["accepted"] = morning.series()
    harm_wind(morning)
    assert [hour.level for hour in morning.levels()] == [Level.STOP] * 3 + [Level.UNKNOWN] * 9


def test_one_lost_hour_is_unknown_and_its_neighbours_are_not(morning) -> None:
    morning.values["wind_mps"] = np.where(np.arange(12) == 5, np.nan, 2.0)
    levels = [hour.level for hour in morning.levels()]
    assert levels[5] is Level.UNKNOWN
    assert set(levels[:5] + levels[6:]) == {Level.WITHIN_LIMITS}


def test_an_absent_gust_is_estimated_and_at_least_caution(morning) -> None:
    morning.values["gust_mps"] = None
    gust = morning.factor("gust")
    assert gust.estimated
    assert gust.number == pytest.approx(3.0)
    assert gust.level is Level.CAUTION
    assert morning.levels()[0].level is Level.CAUTION
    morning.values["wind_mps"] = 7.6
    assert morning.factor("gust").level is Level.STOP


def test_an_absent_gust_beside_a_lost_wind_is_unknown(morning) -> None:
    morning.values["gust_mps"] = morning.values["wind_mps"] = None
    assert morning.factor("gust").level is Level.UNKNOWN


def test_a_gust_below_the_wind_counts_as_the_wind(morning) -> None:
    morning.values |= {"wind_mps": 7.0, "gust_mps": 3.0}
    assert morning.factor("gust").number == pytest.approx(7.0)


@pytest.mark.parametrize("gust", [0.0, -0.0, 0.1])
def test_a_gust_of_about_zero_beside_wind_was_not_given(morning, gust) -> None:
    morning.values |= {"wind_mps": 4.0, "gust_mps": gust}
    factor = morning.factor("gust")
    assert (factor.level, factor.estimated, factor.number) == (Level.CAUTION, True, pytest.approx(6.0))
    morning.values["wind_mps"] = 0.3
    assert morning.factor("gust").level is Level.WITHIN_LIMITS


def test_a_zero_gust_is_held_against_the_wind_that_was_seen_too(morning) -> None:
    seen = WindReading(morning.inputs().now, 6.0, None, 270.0, "nws_station", "station")
    morning.values["gust_mps"] = 0.0
    morning.changes = {"winds": (seen,)}
    assert morning.factor("gust").number == pytest.approx(9.0)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(wind=st.floats(0.0, 25.0), gust=st.one_of(st.sampled_from([0.0, -0.0]), st.floats(0.0, 0.05)))
def test_a_gust_of_about_zero_is_never_calmer_than_no_gust(make_morning, wind, gust) -> None:
    told, absent = make_morning(), make_morning()
    told.values |= {"wind_mps": wind, "gust_mps": gust}
    absent.values |= {"wind_mps": wind, "gust_mps": None}
    if wind > 3.0:
        assert told.factor("gust") == absent.factor("gust")
    else:
        assert told.factor("gust").number == pytest.approx(max(wind, gust))


@pytest.mark.parametrize("value", [-1.0, 61.0, 224.0, float("inf")])
def test_an_impossible_wind_is_unknown_never_clipped(morning, value) -> None:
    morning.values["wind_mps"] = value
    factor = morning.factor("sustained_wind")
    assert (factor.level, factor.number) == (Level.UNKNOWN, None)


def test_a_calm_without_direction_is_unknown_too(morning) -> None:
    morning.values |= {"wind_mps": 0.0, "gust_mps": 0.0, "wind_from_deg": None}
    assert morning.levels()[0].level is Level.UNKNOWN


def test_zeros_for_a_day_are_no_forecast(morning) -> None:
    morning.hours = 30
    morning.values |= {"wind_mps": 0.0, "gust_mps": 0.0}
    assert morning.factor("sustained_wind", 10).level is Level.UNKNOWN
    morning.hours = 12
    assert morning.factor("sustained_wind", 10).level is Level.WITHIN_LIMITS


def test_a_forecast_without_issue_time_counts_as_six_hours_old(morning) -> None:
    now = morning.inputs().now
    morning.origins["wind_mps"] = Origin("grid", "grid", "forecast", None, now - timedelta(hours=5, minutes=59))
    assert morning.factor("sustained_wind").level is Level.WITHIN_LIMITS
    morning.origins["wind_mps"] = Origin("grid", "grid", "forecast", None, now - timedelta(hours=6, minutes=1))
    assert morning.factor("sustained_wind").level is Level.UNKNOWN
    assert morning.factor("data_age").level is Level.UNKNOWN


def test_levels_rise_at_the_limit_and_fall_after_two_clearly_lower_hours(morning) -> None:
    morning.values["wind_mps"] = [7.0, 8.0, 7.5, 7.5, 7.1, 7.5, 7.1, 7.1, 4.0, 4.0, 4.0, 4.0]
    morning.values["gust_mps"] = 3.0
    stops = [next(f.level for f in h.factors if f.name == "sustained_wind") is Level.STOP for h in morning.levels()]
    assert stops == [False, True, True, True, True, True, True, False, False, False, False, False]


def test_a_single_better_hour_between_stops_is_stop(morning) -> None:
    morning.values["wind_mps"] = [9.0, 1.0, 9.0] + [1.0] * 9
    assert [h.level for h in morning.levels()][:3] == [Level.STOP] * 3


def test_close_to_the_stop_is_caution_and_says_so(morning) -> None:
    morning.changes["limits"] = replace(
        morning.inputs().limits, sustained_caution_mps=8.0, sustained_stop_mps=8.0, gust_caution_mps=11.0
    )
    morning.values["wind_mps"] = 7.3
    factor = morning.factor("sustained_wind")
    assert factor.level is Level.CAUTION
    assert "close to your stop" in factor.text


def test_cold_water_scales_the_limits_and_is_said(morning) -> None:
    morning.values |= {"wind_mps": 5.0, "gust_mps": 7.0}
    morning.changes["water_low_c"] = 5.0
    factor = morning.factor("sustained_wind")
    assert factor.stop_limit == pytest.approx(10 * 0.44704), "4.8 m/s are 10.7 mph, cut to 10"
    assert factor.level is Level.STOP
    assert morning.factor("cold_water").level is Level.CAUTION
    morning.changes["immersion_clothing"] = True
    assert morning.factor("sustained_wind").stop_limit == 8.0


def test_unknown_water_takes_the_coldest_plausible_and_says_so(morning) -> None:
    morning.changes |= {"water_low_c": float("nan"), "coldest_c": 12.0}
    assert morning.factor("sustained_wind").stop_limit == pytest.approx(13 * 0.44704)
    assert "coldest plausible" in morning.factor("cold_water").source
    morning.changes["coldest_c"] = None
    assert morning.factor("sustained_wind").stop_limit == pytest.approx(10 * 0.44704)
    assert morning.factor("cold_water").level is Level.CAUTION


def test_wind_seen_may_raise_an_hour_but_never_lower_it(morning) -> None:
    now = morning.inputs().now
    seen = WindReading(now, 9.0, None, 270.0, "user", "you")
    morning.changes["winds"] = (seen,)
    assert morning.factor("sustained_wind", 0).level is Level.STOP
    assert morning.factor("sustained_wind", 4).level is Level.WITHIN_LIMITS
    morning.values["wind_mps"] = 9.0
    morning.changes["winds"] = (replace(seen, wind_mps=0.0),)
    assert {h.level for h in morning.levels()} == {Level.STOP}
    morning.values["wind_mps"] = None
    assert {h.level for h in morning.levels()} == {Level.UNKNOWN}


def test_old_or_impossible_observations_are_left_aside(morning) -> None:
    now = morning.inputs().now
    old = WindReading(now - timedelta(minutes=91), 9.0, None, None, "metar", "airport")
    wild = WindReading(now, 223.0, None, None, "metar", "airport")
    morning.changes["winds"] = (old, wild)
    assert morning.factor("sustained_wind").number == 2.0


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    wind=st.one_of(st.none(), st.floats(0.0, 60.0), st.sampled_from([-1.0, 223.0, float("inf"), float("nan")])),
    gust=st.one_of(st.none(), st.floats(0.0, 69.0), st.sampled_from([-1.0, 223.0, float("inf"), float("nan")])),
)
def test_one_impossible_value_of_a_reading_leaves_its_others(make_morning, wind, gust) -> None:
    morning = make_morning()
    morning.changes["winds"] = (WindReading(morning.inputs().now, wind, gust, 250.0, "metar", "airport"),)
    likely = {
        name: value
        for name, value, highest in (("wind", wind, 60.0), ("gust", gust, 69.4))
        if value is not None and 0.0 <= value <= highest
    }
    assert morning.factor("sustained_wind").number == pytest.approx(max(2.0, likely.get("wind", 0.0)))
    # The forecast's gust of 3 m/s is none beside a seen wind four times as strong: it is estimated then.
    base = 3.0 if likely.get("wind", 0.0) <= 12.0 else 1.5 * likely["wind"]
    expected = max(base, likely.get("wind", 0.0), likely.get("gust", 0.0))
    assert morning.factor("gust").number == pytest.approx(expected)


def test_a_learned_correction_raises_only(morning) -> None:
    morning.changes["wind_factor"] = 1.5
    assert morning.factor("sustained_wind").number == pytest.approx(3.0)
    morning.changes["wind_factor"] = 0.5
    assert morning.factor("sustained_wind").number == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("fields", "level"),
    [
        ({"thunder_pct": 9.0}, Level.WITHIN_LIMITS),
        ({"thunder_pct": 10.0}, Level.CAUTION),
        ({"thunder_pct": 30.0}, Level.STOP),
        ({"thunder_pct": None, "lightning_level": 1.0}, Level.UNKNOWN),
        ({"thunder_pct": 5.0, "lightning_level": 1.0}, Level.WITHIN_LIMITS),
        ({"thunder_pct": None, "lightning_level": 1.0, "thunder_words_pct": 0.0}, Level.WITHIN_LIMITS),
        ({"thunder_pct": None, "lightning_level": 2.0}, Level.CAUTION),
        ({"thunder_pct": None, "lightning_level": 3.0}, Level.STOP),
        ({"thunder_pct": 0.0, "lightning_level": 3.0}, Level.STOP),
        ({"thunder_pct": None, "thunder_words_pct": 0.0}, Level.WITHIN_LIMITS),
        ({"thunder_pct": None, "thunder_words_pct": 15.0}, Level.CAUTION),
        ({"thunder_pct": None, "thunder_words_pct": 65.0}, Level.STOP),
        ({"thunder_pct": None, "cape_jkg": 300.0}, Level.CAUTION),
        ({"thunder_pct": None, "cape_jkg": 600.0, "precip_chance_pct": 20.0}, Level.CAUTION),
        ({"thunder_pct": None, "cape_jkg": 1000.0, "precip_chance_pct": 30.0}, Level.STOP),
        ({"thunder_pct": None, "cape_jkg": 2500.0, "precip_chance_pct": 20.0}, Level.STOP),
        ({"thunder_pct": None, "cape_jkg": 1000.0, "precip_chance_pct": None}, Level.CAUTION),
        ({"thunder_pct": None, "cape_jkg": 3200.0, "weather_code": 95.0, "precip_chance_pct": 0.0}, Level.CAUTION),
        ({"thunder_pct": None, "weather_code": 95.0, "precip_chance_pct": 60.0}, Level.STOP),
        ({"thunder_pct": 5.0, "weather_code": 95.0}, Level.CAUTION),
        ({"thunder_pct": 101.0}, Level.UNKNOWN),
        ({"thunder_pct": None}, Level.UNKNOWN),
    ],
    ids=str,
)
def test_thunder_by_its_sources_in_order(morning, fields, level) -> None:
    morning.values |= fields
    factor = morning.factor("thunder")
    assert factor.level is level
    assert not factor.standing
    if level in (Level.CAUTION, Level.STOP):
        assert "shelter" in factor.text


def test_instability_is_labelled_as_an_estimate(morning) -> None:
    morning.values |= {"thunder_pct": None, "cape_jkg": 1500.0, "precip_chance_pct": 40.0}
    factor = morning.factor("thunder")
    assert factor.estimated
    assert "estimated from instability" in factor.text


def test_weather_words_alone_are_an_estimate(morning) -> None:
    """What rests on words is not listed as checked, and its column says so."""
    morning.values |= {"thunder_pct": None, "thunder_words_pct": 0.0}
    factor = morning.factor("thunder")
    assert (factor.level, factor.estimated) == (Level.WITHIN_LIMITS, True)
    morning.values["thunder_pct"] = 5.0
    assert not morning.factor("thunder").estimated


def test_where_no_thunder_service_exists_it_is_a_standing_unknown(morning) -> None:
    morning.values["thunder_pct"] = None
    morning.changes["thunder_service"] = False
    assert morning.factor("thunder").standing
    assert morning.levels()[0].level is Level.WITHIN_LIMITS
    assert morning.levels()[0].deciding
    morning.values |= {"cape_jkg": 1500.0, "precip_chance_pct": 40.0}
    assert morning.levels()[0].level is Level.STOP


def test_where_no_alert_service_exists_it_is_a_standing_unknown(morning) -> None:
    morning.feed = AlertFeed((), None, "none", "none", service_exists=False)
    factor = morning.factor("alerts")
    assert (factor.level, factor.standing) == (Level.UNKNOWN, True)
    assert morning.levels()[0].level is Level.WITHIN_LIMITS


def test_thunder_heard_stops_for_thirty_minutes_and_counts_for_an_hour(morning) -> None:
    now = morning.inputs().now
    morning.changes["thunder_heard"] = (now,)
    assert [h.level for h in morning.levels()][:3] == [Level.STOP, Level.CAUTION, Level.WITHIN_LIMITS]
    morning.changes["thunder_heard"] = (now - timedelta(minutes=61),)
    assert morning.levels()[0].level is Level.WITHIN_LIMITS


def test_an_alert_stops_its_hours(morning, alert) -> None:
    morning.feed = replace(morning.feed, alerts=(alert(),))
    levels = [h.level for h in morning.levels()]
    assert levels == [Level.STOP] * 4 + [Level.WITHIN_LIMITS] * 8


def test_a_stop_of_an_alert_stands_though_alerts_can_no_longer_be_read(morning, alert) -> None:
    inputs = morning.inputs()
    first = resolve_alerts(replace(morning.feed, alerts=(alert(),)), None, (), inputs.now)
    second = resolve_alerts(AlertFeed((), None, "a", "a", problem="no answer"), first, (), inputs.now)
    levels = [h.level for h in hour_levels(replace(inputs, alerts=second))]
    assert levels == [Level.STOP] * 4 + [Level.UNKNOWN] * 8


@pytest.mark.parametrize(
    ("sight", "craft", "level"),
    [
        (16000.0, Craft.KAYAK, Level.WITHIN_LIMITS),
        (1500.0, Craft.KAYAK, Level.CAUTION),
        (300.0, Craft.KAYAK, Level.CAUTION),
        (300.0, Craft.JON_BOAT, Level.STOP),
        (None, Craft.KAYAK, Level.CAUTION),
    ],
)
def test_visibility(morning, sight, craft, level) -> None:
    morning.craft = craft
    morning.values["visibility_m"] = sight
    assert morning.factor("visibility").level is level


@pytest.mark.parametrize(
    ("air", "humidity", "level"),
    [
        (20.0, 50.0, Level.WITHIN_LIMITS),
        (33.0, 60.0, Level.CAUTION),
        (None, 50.0, Level.CAUTION),
        (20.0, None, Level.WITHIN_LIMITS),
    ],
)
def test_heat(morning, air, humidity, level) -> None:
    morning.values |= {"air_c": air, "humidity_pct": humidity, "dewpoint_c": None}
    assert morning.factor("heat").level is level


def test_darkness_and_missing_daylight_are_caution(morning) -> None:
    start = morning.inputs().hours.start
    morning.changes["light"] = (
        DayLight(
            start + timedelta(minutes=30),
            start + timedelta(hours=1),
            start + timedelta(hours=9),
            start + timedelta(hours=10),
        ),
    )
    assert [morning.factor("darkness", n).level for n in (0, 1, 9, 10)] == [
        Level.CAUTION,
        Level.WITHIN_LIMITS,
        Level.WITHIN_LIMITS,
        Level.CAUTION,
    ]
    morning.changes["light"] = ()
    assert morning.factor("darkness").level is Level.CAUTION


def test_tailwater_is_always_at_least_caution(morning) -> None:
    morning.changes["tailwater"] = ("Upper bend", "Mill race")
    assert morning.levels()[0].level is Level.CAUTION
    assert morning.factor("tailwater").text.startswith("Upper bend and Mill race lie below a dam")
    assert "releases are not in this briefing" in morning.factor("tailwater").text


def test_no_headway_is_a_stop_even_below_the_wind_limit(morning) -> None:
    morning.values |= {"wind_mps": 6.0, "gust_mps": 7.0}
    morning.changes |= {"calm_mps": 0.8, "legs": (HeadwindLeg("spot to ramp", 270.0, 900.0),)}
    assert morning.factor("headway").level is Level.STOP
    morning.changes["legs"] = (HeadwindLeg("spot to ramp", 90.0, 900.0),)
    assert not any(f.name == "headway" for h in morning.levels() for f in h.factors)


def test_without_any_outline_waves_are_a_standing_unknown(morning) -> None:
    morning.changes["fetch"] = None
    assert morning.factor("waves").standing
    assert morning.levels()[0].level is Level.WITHIN_LIMITS


def test_an_assumed_outline_needs_no_direction_and_takes_the_worst(morning) -> None:
    table = replace(morning.inputs().fetch, assumed=True)
    morning.changes["fetch"] = table
    with_direction = morning.factor("waves").number
    morning.values["wind_from_deg"] = None
    assert morning.factor("waves").number >= with_direction
    assert "assumed" in morning.factor("waves").source


def test_hourly_from_days(morning) -> None:
    start = morning.inputs().hours.start
    spread = hourly_from_days(start, 16, [start.date(), start.date() + timedelta(days=1)], [10.0, 12.0], start.tzinfo)
    assert spread.tolist() == [10.0] * 14 + [12.0] * 2


NAMES = ("wind_mps", "gust_mps", "wind_from_deg", "thunder_pct")


@settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    wind=st.floats(0, 14),
    gust=st.floats(0, 20),
    thunder=st.floats(0, 100),
    sight=st.floats(100, 20000),
    lost=st.sets(st.sampled_from(NAMES), min_size=1, max_size=3),
    hurt=st.booleans(),
)
def test_dropping_required_inputs_never_makes_an_hour_look_better(
    make_morning, wind, gust, thunder, sight, lost, hurt
) -> None:
    morning = make_morning()
    morning.values |= {"wind_mps": wind, "gust_mps": gust, "thunder_pct": thunder, "visibility_m": sight}
    before, series = morning.levels()[0].level, morning.series()
    for name in lost:
        if hurt:
            morning.damaged[name] = True
        else:
            morning.values[name] = None
    morning.changes["accepted"] = series
    after = morning.levels()[0].level
    assert after.rank >= before.rank
    if hurt or lost != {"gust_mps"}:
        assert after.rank >= Level.UNKNOWN.rank
    else:
        assert after.rank >= Level.CAUTION.rank


#: What each hazard is read from: without a value for an hour the hour is never within by it.
READ_FROM = {
    "sustained_wind": ("wind_mps",),
    "gust": ("gust_mps",),
    "waves": ("wind_from_deg",),
    "thunder": ("thunder_pct", "lightning_level", "thunder_words_pct"),
    "heat": ("air_c",),
    "visibility": ("visibility_m",),
    "data_age": ("wind_mps",),
}


@given(
    gone=st.dictionaries(st.sampled_from(sorted(READ_FROM)), st.lists(st.booleans(), min_size=12, max_size=12)),
    warm=st.sampled_from([None, 10.0, 40.0]),
    lal=st.sampled_from([None, 1.0]),
    service=st.booleans(),
    air=st.sampled_from([8.0, 24.0, 29.0]),
)
def test_no_hazard_without_a_value_is_within_limits(make_morning, gone, warm, lal, service, air) -> None:
    morning = make_morning()
    morning.values |= {"lightning_level": lal, "air_c": air, "cape_jkg": None}
    morning.changes |= {"warmest_air_c": warm, "thunder_service": service}
    for name, hours in gone.items():
        for field in READ_FROM[name]:
            value = morning.values.get(field)
            morning.values[field] = None if value is None else np.where(hours, np.nan, value)
    for number, hour in enumerate(morning.levels()):
        for name, hours in gone.items():
            factor = next(one for one in hour.factors if one.name == name)
            if hours[number]:
                assert factor.level is not Level.WITHIN_LIMITS or (factor.excluded and name == "heat"), (name, factor)
            if factor.excluded:
                assert "left out" in factor.text


def test_water_and_light_that_are_not_known_are_no_comfort(morning) -> None:
    morning.changes |= {"water_low_c": float("nan"), "light": ()}
    assert morning.factor("cold_water").level is Level.CAUTION
    assert morning.factor("darkness").level is Level.CAUTION


def test_heat_without_a_reading_is_left_out_by_season_or_by_the_hours_beside_it(morning) -> None:
    morning.values["air_c"] = np.where(np.arange(12) == 5, np.nan, 15.0)
    assert "hours beside" in morning.factor("heat", 5).text
    morning.values["air_c"] = np.where(np.arange(12) == 5, np.nan, 27.0)
    assert morning.factor("heat", 5).level is Level.CAUTION
    morning.values["air_c"] = None
    assert morning.factor("heat").level is Level.CAUTION
    morning.changes["warmest_air_c"] = 22.0
    assert morning.factor("heat").excluded


@given(
    factor=st.floats(0.5, 2.0),
    wind=st.floats(1.0, 12.0),
    gust=st.one_of(st.none(), st.floats(1.0, 20.0)),
    seen=st.floats(0.0, 15.0),
    seen_gust=st.one_of(st.none(), st.floats(0.0, 25.0)),
)
def test_what_a_table_shows_is_never_below_what_was_measured(make_morning, factor, wind, gust, seen, seen_gust) -> None:
    """The learned correction is in the number that is judged and nowhere in the one that is shown."""
    morning = make_morning()
    morning.values |= {"wind_mps": wind, "gust_mps": gust}
    reading = WindReading(NOW, seen, seen_gust, 270.0, "metar", "an airfield", 5.0)
    morning.changes |= {"wind_factor": factor, "winds": (reading,)}
    for name, least, forecast in (("sustained_wind", seen, wind), ("gust", seen_gust or 0.0, gust or wind)):
        told = morning.factor(name)
        assert told.shown >= max(least, forecast) - 1e-9
        assert told.number >= told.shown - 1e-9
        if factor <= 1.0:
            assert told.shown == pytest.approx(told.number)


def test_the_sea_that_is_returned_is_the_one_that_was_judged(morning) -> None:
    """Measured wind from another side counts in the level and in what the page prints of waves alike."""
    morning.values |= {"wind_mps": 4.0, "wind_from_deg": 0.0}
    reading = WindReading(NOW, 11.0, None, 180.0, "metar", "an airfield", 5.0)
    morning.changes["winds"] = (reading,)
    judged = judge_hours(morning.inputs())
    for hour, level in enumerate(judged.levels):
        waves = next(one for one in level.factors if one.name == "waves")
        assert waves.number == pytest.approx(judged.sea.hs_m[hour].max())
    assert judged.sea.hs_m[0].max() > 1.5 * judged.sea.hs_m[-1].max()
