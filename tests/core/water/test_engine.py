"""One lake from air and readings to members: ranges, readings good and bad, gaps, state, zones."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from briefing.core.climate.normals import AirNormals
from briefing.core.readings import DailyAir, WaterReading
from briefing.core.water.engine import LakeLearned, WaterResult, WaterState, season_start, silent_gauges
from briefing.core.water.site import WaterSite
from briefing.core.water.words import half_range_c
from briefing.vocabulary import Zone

from .conftest import NOW, TODAY, make_air, make_normals, reading

Run = Callable[..., WaterResult]


def mean_today(result: WaterResult, zone: Zone = Zone.MAIN) -> float:
    return float(result.series.mean_c(zone)[result.series.today_index])


def test_shape_and_days(run: Run) -> None:
    series = run([]).series
    assert series.members_c.shape == (64, series.days, 2)
    assert series.date_at(series.today_index) == TODAY
    assert series.days - series.today_index == 11
    assert series.start == date(2024, 12, 1)
    assert series.equilibrium_c.shape == (series.days,)
    assert np.isfinite(series.members_c).all()
    assert (series.members_c >= 0).all()


@pytest.mark.parametrize(
    ("day", "latitude", "start"),
    [
        (date(2025, 4, 10), 35.0, date(2024, 12, 1)),
        (date(2025, 12, 20), 35.0, date(2024, 12, 1)),
        (date(2026, 1, 2), 35.0, date(2025, 12, 1)),
        (date(2025, 9, 1), -34.0, date(2025, 6, 1)),
    ],
)
def test_series_begins_last_winter(day: date, latitude: float, start: date) -> None:
    assert season_start(day, latitude) == start


def test_same_inputs_same_members(run: Run) -> None:
    first, second = run([reading(2, 13.0)]), run([reading(2, 13.0)])
    assert np.array_equal(first.series.members_c, second.series.members_c)
    other = run([reading(2, 13.0)], seed=4)
    assert not np.array_equal(first.series.members_c, other.series.members_c)
    assert mean_today(other) == pytest.approx(mean_today(first), abs=0.25)


def test_readings_narrow_and_move_the_estimate(run: Run) -> None:
    without = run([])
    mean, today = without.series.mean_c(), without.series.today_index
    low = run([reading(days, mean[today - days] - 2.0) for days in (1, 8, 15)])
    assert -2.2 < mean_today(low) - mean_today(without) < -1.0
    assert half_range_c(low.series) < 0.8 * half_range_c(without.series)
    assert low.series.reading_weight > 0.5
    assert without.series.reading_weight == 0.0
    assert low.series.days_since_reading == 1.0
    assert without.series.days_since_reading is None


def test_doubt_grows_ahead_and_with_silence(run: Run) -> None:
    fresh = run([reading(1, 14.0)]).series
    low, high = fresh.range80_c()
    width = high - low
    assert width[fresh.today_index + 9] > 1.3 * width[fresh.today_index]
    silent = run([reading(61, 8.0)])
    assert half_range_c(silent.series) > 1.3 * half_range_c(fresh)
    assert silent.series.reading_weight < 0.6
    assert silent.series.days_since_reading == 61.0


def test_members_hang_together_in_time(run: Run) -> None:
    main = run([reading(3, 13.0)], members=200).series.members_c[:, :, 0]
    away = main - main.mean(axis=0)
    lag1 = np.mean([np.corrcoef(away[:, day], away[:, day + 1])[0, 1] for day in range(60, 120)])
    assert 0.7 < lag1 < 0.999


def test_next_morning_changes_little(run: Run, normals: AirNormals) -> None:
    """The share of members above a threshold must not flap because a day went by."""
    air = make_air(normals)
    today = run([reading(2, 13.0)], air=air).series
    known = replace(air, lead_days=np.maximum(air.lead_days - 1, 0))
    tomorrow = run([reading(2, 13.0)], air=known, now=NOW + timedelta(days=1)).series
    days = slice(60, today.today_index + 1)
    for threshold in (10.0, 12.0, 14.0):
        change = today.chance_above(threshold)[days] - tomorrow.chance_above(threshold)[days]
        assert np.abs(change).max() <= 0.13
    assert tomorrow.mean_c()[days] == pytest.approx(today.mean_c()[days], abs=0.15)


def test_pocket_warms_first_in_spring(run: Run) -> None:
    series = run([], air=make_air(make_normals(), shift=2.0)).series
    march = slice((date(2025, 3, 1) - series.start).days, (date(2025, 4, 5) - series.start).days)
    lead = (series.mean_c(Zone.POCKET) - series.mean_c())[march]
    assert 0.2 < lead.mean() < 3.5
    narrow, wide = (half_range_c(series, zone) for zone in (Zone.MAIN, Zone.POCKET))
    assert wide > narrow


def test_pocket_readings_teach_the_pocket_more_than_the_lake(run: Run) -> None:
    without = run([])
    value = mean_today(without, Zone.POCKET) + 3.0
    taught = run([reading(days, value, zone=Zone.POCKET) for days in (1, 4, 8)])
    lake, pocket = (mean_today(taught, zone) - mean_today(without, zone) for zone in (Zone.MAIN, Zone.POCKET))
    assert 0.0 < lake < 2.2
    assert pocket >= lake
    assert all("pockets" in use.why for use in taught.series.uses)


@pytest.mark.parametrize(("units", "own", "other"), [("us", " F above", " C"), ("metric", " C above", " F")])
def test_what_is_said_of_a_reading_is_in_the_readers_unit(run: Run, units, own, other) -> None:
    """The gap to the model was told in C alone, to everyone."""
    good = [reading(days, value) for days, value in ((30, 9.5), (23, 11.0), (16, 12.0))]
    wild = mean_today(run(good)) + 9.0
    told = run([*good, reading(5, wild)], units=units).series.uses[-1].why
    assert own in told
    assert other not in told


def test_a_wild_reading_counts_little_until_a_second_bears_it_out(run: Run) -> None:
    good = [reading(days, value) for days, value in ((30, 9.5), (23, 11.0), (16, 12.0))]
    before = run(good)
    wild = mean_today(before) + 9.0
    once = run([*good, reading(5, wild)])
    assert abs(mean_today(once) - mean_today(before)) < 3.5
    last = once.series.uses[-1]
    assert last.used
    assert "looks wrong" in last.why
    twice = run([*good, reading(5, wild), reading(1, wild + 0.5)])
    assert "as the reading before it" in twice.series.uses[-1].why
    assert mean_today(twice) > mean_today(once) + 2.0


def test_a_thermometer_always_high_is_followed_in_part_and_said(run: Run) -> None:
    plain = run([]).series
    ahead = [plain.mean_c()[plain.today_index - days] + 2.0 for days in range(1, 92, 7)]
    high = run([reading(days, value) for days, value in zip(range(1, 92, 7), ahead, strict=True)])
    assert 0.5 < mean_today(high) - plain.mean_c()[plain.today_index] < 2.2
    assert any("compare it with a second one" in note for note in high.series.notes)


def test_one_reading_a_season_still_teaches(run: Run) -> None:
    without, once = run([]), run([reading(100, 4.0)])
    assert 0 <= once.series.reading_weight < 0.5
    assert once.series.days_since_reading == 100.0
    assert len(once.series.uses) == 1
    assert abs(mean_today(once) - mean_today(without)) < 2.0


def test_refused_readings_are_told(run: Run) -> None:
    result = run([reading(1, 61.0), reading(-3, 15.0), reading(2, 12.0)])
    refused = [use for use in result.series.uses if not use.used]
    assert len(refused) == 2
    assert all(use.why.startswith("Not used") for use in refused)
    assert np.array_equal(result.series.members_c, run([reading(2, 12.0)]).series.members_c)


def test_no_weather_at_all_rests_on_normals_and_is_wider(run: Run) -> None:
    nothing = DailyAir(TODAY, np.array([]), (), np.array([], dtype=np.int16), "none", "none")
    result = run([], air=nothing)
    assert result.series.normals_only
    assert any("normals alone" in note for note in result.series.notes)
    assert half_range_c(result.series) > half_range_c(run([]).series)


def test_a_gap_in_the_air_widens_and_is_told(run: Run, normals: AirNormals) -> None:
    air = make_air(normals)
    holed = replace(air, mean_c=air.mean_c.copy())
    today = (TODAY - air.start).days
    holed.mean_c[today - 12 : today - 1] = np.nan
    result = run([], air=holed)
    assert any("missing on 11 of the last 30 days" in note for note in result.series.notes)
    assert half_range_c(result.series) > half_range_c(run([], air=air).series)


def test_kept_state_saves_work_and_changes_nothing(run: Run) -> None:
    readings = [reading(days, 14.0 - days * 0.1) for days in (1, 8, 15, 22, 40)]
    fresh = run(readings)
    kept = WaterState.from_mapping(json.loads(json.dumps(fresh.state.to_mapping())))
    assert kept.day == TODAY - timedelta(days=10)
    again = run(readings, state=kept)
    assert np.array_equal(again.series.members_c, fresh.series.members_c)
    assert again.series.uses == fresh.series.uses
    assert again.learned == fresh.learned


def test_state_is_left_aside_when_the_past_changed(run: Run) -> None:
    first = run([reading(8, 13.0), reading(20, 11.0)])
    added = [reading(8, 13.0), reading(20, 11.0), reading(30, 7.0)]
    assert np.array_equal(run(added, state=first.state).series.members_c, run(added).series.members_c)


def test_what_was_learned_is_a_prior_only_for_readings_not_handed_in(run: Run) -> None:
    taught = run([reading(days, 17.0 - days * 0.05) for days in range(1, 90, 7)]).learned
    assert taught.readings == 13
    assert LakeLearned.from_mapping(json.loads(json.dumps(taught.to_mapping()))) == taught
    assert np.array_equal(run([], learned=taught).series.members_c, run([]).series.members_c)
    old = replace(taught, until=date(2023, 6, 1))
    assert mean_today(run([], learned=old)) > mean_today(run([])) + 0.3


def test_skill_rows_are_predictions_before_the_reading(run: Run) -> None:
    result = run([reading(days, 14.0 - days * 0.09) for days in range(1, 120, 3)])
    assert len(result.skill) == 30
    assert [row.day for row in result.skill] == sorted(row.day for row in result.skill)
    used = {use.id: use for use in result.series.uses}
    for row in result.skill:
        assert row.error_c == pytest.approx(row.predicted_c - row.reading_c)
        assert used[row.id].predicted_c == row.predicted_c


@pytest.mark.parametrize("latitude", [-35.0, 47.0, 62.0])
@pytest.mark.parametrize("depth", [1.0, 40.0])
def test_other_places_and_depths(run: Run, latitude: float, depth: float) -> None:
    normals = make_normals(latitude, 22 - 0.35 * abs(latitude), 0.25 * abs(latitude))
    site = WaterSite(latitude, -83.0, mean_depth_m=depth, area_km2=5.0)
    series = run([], site=site, normals=normals, air=make_air(normals)).series
    assert np.isfinite(series.members_c).all()
    assert series.members_c.max() < 36.0


def test_unknown_depth_widens(run: Run, site: WaterSite) -> None:
    unknown = replace(site, mean_depth_m=None, area_km2=None)
    known = replace(site, mean_depth_m=unknown.depth_m, area_km2=unknown.size_km2)
    assert half_range_c(run([], site=unknown).series) > half_range_c(run([], site=known).series)
    assert replace(unknown, max_depth_m=20.0).depth_m == pytest.approx(8.0)


def test_river_fed_lakes_are_doubted_more(run: Run, site: WaterSite) -> None:
    assert half_range_c(run([], site=replace(site, river_fed=True)).series) > half_range_c(run([]).series)


def test_ice_is_off_opens_the_lake(run: Run) -> None:
    normals = make_normals(48.0, 4.0, 16.0)
    site = WaterSite(48.0, -83.0, mean_depth_m=5.0, area_km2=2.0)
    cold = make_air(normals, shift=-6.0)
    frozen = run([], site=site, normals=normals, air=cold)
    assert any("ice on the lake" in note for note in frozen.series.notes)
    marked = run([reading(1, 0.0, kind="ice_off")], site=site, normals=normals, air=cold)
    assert not any("ice on the lake" in note for note in marked.series.notes)
    assert half_range_c(marked.series) > half_range_c(frozen.series)
    assert "open water" in marked.series.uses[0].why


def test_warm_water_where_the_model_has_ice_is_taken_at_once(run: Run) -> None:
    normals = make_normals(48.0, 4.0, 16.0)
    site = WaterSite(48.0, -83.0, mean_depth_m=5.0, area_km2=2.0)
    cold = make_air(normals, shift=-6.0)
    frozen = run([], site=site, normals=normals, air=cold)
    result = run([reading(1, 9.0)], site=site, normals=normals, air=cold)
    use = result.series.uses[0]
    assert use.why.startswith("Used: the ice that the model had is gone.")
    assert use.weight > 0.9
    assert not any("ice on the lake" in note for note in result.series.notes)
    assert mean_today(result) > 6.0
    pocket = result.series.mean_c(Zone.POCKET)[result.series.today_index]
    assert abs(pocket - mean_today(result)) < 3.0
    # The winter before is none the warmer for it.
    before = slice(0, result.series.today_index - 3)
    assert result.series.mean_c()[before] == pytest.approx(frozen.series.mean_c()[before], abs=0.2)


def test_what_was_learned_of_other_numbers_is_left_aside(run: Run) -> None:
    taught = run([reading(days, 17.0 - days * 0.05) for days in range(1, 90, 7)]).learned
    short = LakeLearned((15.0,), ((1.0,),), taught.readings, date(2000, 1, 1))
    assert np.array_equal(run([], learned=short).series.members_c, run([]).series.members_c)


# -- gauges that fell silent ------------------------------------------------------------------------------------------


def gauge(days_ago: int, value: float, **more: object) -> WaterReading:
    return reading(days_ago, value, kind="gauge", source="usgs", name="USGS 1 (lake)", **more)


def test_a_silent_gauge_informs_the_past_and_never_today(run: Run) -> None:
    without, silent = run([]), run([gauge(number, 22.0) for number in range(8, 30)])
    today = without.series.today_index
    assert np.array_equal(silent.series.members_c[:, today - 7 :], without.series.members_c[:, today - 7 :])
    assert silent.learned == without.learned
    assert silent.series.days_since_reading is None
    past = silent.series.mean_c()[today - 20] - without.series.mean_c()[today - 20]
    assert past > 2.0
    assert {use.used for use in silent.series.uses} == {True}
    assert all("informs the past, not today" in use.why for use in silent.series.uses)


@pytest.mark.parametrize(("newest", "counts"), [(6, True), (8, False)])
def test_a_gauge_counts_for_a_week(run: Run, newest: int, counts: bool) -> None:
    moved = run([gauge(number, 22.0) for number in range(newest, 25)])
    assert (mean_today(moved) != mean_today(run([]))) is counts
    assert (moved.series.reading_weight > 0) is counts


def test_the_week_ends_on_the_minute() -> None:
    at = gauge(7, 22.0, hour=10)
    assert silent_gauges([at], NOW) == frozenset()
    assert silent_gauges([at], NOW + timedelta(minutes=1)) == {("usgs", "USGS 1")}
    assert silent_gauges([at, replace(gauge(1, 20.0), name="USGS 1 (lake, provisional)")], NOW) == frozenset()
    assert silent_gauges([gauge(9, 22.0), gauge(-1, 22.0)], NOW) == {("usgs", "USGS 1")}  # one from the future is none


def test_a_persons_reading_never_falls_silent(run: Run) -> None:
    assert mean_today(run([reading(20, 22.0)])) != mean_today(run([]))


def test_a_silent_gauge_leaves_others_and_the_state_alone(run: Run) -> None:
    own = [reading(3, 13.0)]
    alone, beside = run(own), run([*own, *(gauge(number, 25.0) for number in range(10, 20))])
    assert mean_today(beside) == mean_today(alone)
    assert beside.state == alone.state
    again = run([*own, *(gauge(number, 25.0) for number in range(10, 20))], state=beside.state)
    assert np.array_equal(again.series.members_c, beside.series.members_c)


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    ages=st.lists(st.integers(8, 120), min_size=1, max_size=12, unique=True),
    value=st.floats(1.0, 35.0),
    kind=st.sampled_from(["gauge", "buoy", "river_gauge", "tailwater", "unplaced_gauge"]),
)
def test_nothing_older_than_a_week_of_a_gauge_moves_today(run: Run, ages: list[int], value: float, kind: str) -> None:
    old = [reading(days, value, kind=kind, source="usgs", name="USGS 1") for days in ages]
    lake = WaterSite(35.0, -83.0, 300.0, mean_depth_m=6.0, area_km2=3.0, river_gauges=True)
    assert mean_today(run(old, site=lake)) == mean_today(run([], site=lake))


@settings(max_examples=2, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(value=st.floats(1.0, 35.0), days=st.integers(0, 6))
def test_a_gauge_outside_the_lake_never_moves_it_as_far_as_one_within(run: Run, value: float, days: int) -> None:
    lake = WaterSite(35.0, -83.0, 300.0, mean_depth_m=6.0, area_km2=3.0, river_gauges=True)
    plain = mean_today(run([], site=lake))

    def moved(kind: str, site: WaterSite) -> float:
        return abs(mean_today(run([reading(days, value, kind=kind, source="usgs", name="x")], site=site)) - plain)

    within = moved("gauge", lake)
    for kind in ("river_gauge", "unplaced_gauge", "tailwater"):
        assert moved(kind, replace(lake, river_gauges=False)) == 0.0
        assert moved(kind, lake) <= within + 0.05
