"""The estimator as a whole: shares, dates, replay, state, places without an answer."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from season_helpers import NORTHERN, PARAMETERS, SITE, SPRING, middle, normals, run, sign, water

from briefing.core.phase import MOON_AND_PRESSURE, PhaseSite, form_for, level_changes_from, pack, unpack
from briefing.core.readings import LevelReading
from briefing.errors import InputError
from briefing.vocabulary import LakeKind, Phase, SignKind, SpeciesForm, Zone

ROUND_THE_YEAR = [date(2026, month, 12) for month in (1, 3, 4, 5, 6, 8, 10, 12)]


@pytest.mark.parametrize("form", list(SpeciesForm))
@pytest.mark.parametrize("today", ROUND_THE_YEAR[::3])
def test_fractions_are_shares(form, today):
    shares = run(today, form=form, particles=60).shares
    assert shares.fractions.min() >= 0.0
    assert np.abs(shares.fractions.sum(axis=2) - 1.0).max() < 1e-9
    assert ((shares.prespawn_early >= 0.0) & (shares.prespawn_early <= 1.0)).all()
    assert shares.zones == PARAMETERS.common.zones
    assert sum(mean for mean, _, _ in shares.shown().values()) == pytest.approx(1.0, abs=1e-9)


def test_the_year_runs_through_its_phases():
    best = []
    for today in ROUND_THE_YEAR:
        shown = run(today).shares.shown()
        best.append(max(shown, key=lambda phase: shown[phase][0]))
    assert best[0] == Phase.WINTER
    assert best[5] == Phase.SUMMER
    assert best[6] == Phase.AUTUMN
    assert [phase for phase in best if phase in (Phase.EARLY_PRESPAWN, Phase.LATE_PRESPAWN, Phase.SPAWN)]


def test_dates_stand_in_order_and_move_with_the_water():
    usual, warm = run(SPRING), run(SPRING, series=water(normals(), SPRING, anomaly_c=2.0))
    start, half, end = usual.shares.dates
    assert start.p10 < start.p50 < start.p90
    assert start.p50 < half.p50 < end.p50
    assert 2.0 < middle(usual) - middle(warm) < 14.0


def test_large_fish_come_first_and_pockets_lead():
    shares = run(SPRING).shares
    spawn = shares.fractions[:, shares.today_index, 2:5].sum(axis=1).mean(axis=0)
    spent = shares.fractions[:, shares.today_index, 4:7].sum(axis=1).mean(axis=0)
    begun = dict(zip(shares.zones, spawn + spent, strict=True))
    assert begun[Zone.POCKET] > begun[Zone.MAIN] > begun[Zone.EXPOSED]


def test_same_inputs_same_answer():
    first, second = run(SPRING, sign(SPRING)), run(SPRING, sign(SPRING))
    assert np.array_equal(first.shares.fractions, second.shares.fractions)
    assert first.shares.dates == second.shares.dates
    assert first.shares.drivers == second.shares.drivers


@pytest.mark.parametrize("days", [1, 4])
def test_a_kept_state_run_on_equals_the_full_rerun(days):
    air, seen = normals(), sign(SPRING - timedelta(days=12))
    long = water(air, SPRING, ahead=30)
    later_day = SPRING + timedelta(days=days)
    kept = unpack(pack(run(SPRING, seen, series=long).state))
    replayed = run(later_day, seen, series=long)
    advanced = run(later_day, seen, series=long, state=kept)
    assert advanced.advanced_days == days
    assert replayed.advanced_days is None
    assert np.array_equal(advanced.shares.fractions, replayed.shares.fractions)
    assert np.array_equal(advanced.curve.mean, replayed.curve.mean)
    assert np.array_equal(advanced.curve.nests_started, replayed.curve.nests_started)
    assert advanced.shares.dates == replayed.shares.dates
    assert advanced.shares.pause_chance == replayed.shares.pause_chance


def test_a_state_is_left_aside_when_its_past_changed():
    air = normals()
    kept = run(SPRING, series=water(air, SPRING)).state
    tomorrow = SPRING + timedelta(days=1)
    changed = run(tomorrow, series=water(air, tomorrow, anomaly_c=1.0), state=kept)
    assert changed.advanced_days is None
    with_sign = run(tomorrow, sign(SPRING), series=water(air, SPRING, ahead=20), state=kept)
    assert with_sign.advanced_days is None
    assert unpack(b"no state") is None
    content = pack(run(SPRING).state)
    assert unpack(content[:-7]) is None
    assert unpack(content[:-1] + bytes([content[-1] ^ 1])) is None


def test_a_withdrawn_sign_leaves_no_trace():
    before = run(SPRING)
    with_sign = run(SPRING, sign(SPRING))
    after = run(SPRING, state=with_sign.state, learned=with_sign.learned)
    assert np.array_equal(before.shares.fractions, after.shares.fractions)
    assert not np.array_equal(before.shares.fractions, with_sign.shares.fractions)
    assert len(with_sign.learned.seasons) == 1
    assert after.learned == before.learned


def test_southern_hemisphere_runs_half_a_year_apart():
    south = replace(SITE, latitude_deg=-37.0)
    result = run(date(2026, 10, 20), site=south)
    assert result.shares.dates[1].p50.month in (9, 10, 11)
    shown = run(date(2026, 2, 10), site=south).shares.shown()
    assert max(shown, key=lambda phase: shown[phase][0]) == Phase.SUMMER


def test_a_lake_without_cold_season_goes_by_day_length():
    site = PhaseSite(18.0, -66.0, LakeKind.LOWLAND_RESERVOIR)
    air = normals(mean_c=25.5, swing_c=2.0, latitude_deg=18.0, spread_c=1.2)
    series = water(air, date(2026, 2, 1), site)
    shares = run(date(2026, 2, 1), site=site, form=SpeciesForm.LARGEMOUTH_INTERGRADE, air=air, series=series).shares
    assert not shares.refused
    assert any("day length and the water level" in note for note in shares.notes)
    assert shares.dates[0].p50.month in (12, 1, 2)
    refused = run(date(2026, 2, 1), site=site, form=SpeciesForm.SMALLMOUTH_LAKE, air=air, series=series)
    assert "no cold season" in refused.shares.refused
    assert refused.curve is None
    assert refused.state is None


@pytest.mark.parametrize(("latitude", "words"), [(66.0, "Beyond 60"), (4.0, "equator"), (-63.0, "Beyond 60")])
def test_refusals_by_latitude(latitude, words):
    site = replace(SITE, latitude_deg=latitude)
    assert words in run(SPRING, site=site, air=normals()).shares.refused


def test_without_normals_or_with_gaps_it_refuses():
    from briefing.core.phase import run_phase

    air = normals()
    series = water(air, SPRING)
    nothing = run_phase(SITE, series, NORTHERN, (), PARAMETERS, today=SPRING, normals=None, units="us")
    assert "normals" in nothing.shares.refused
    holed = replace(series, members_c=np.where(series.members_c > 12.0, np.nan, series.members_c))
    assert "gaps" in run(SPRING, series=holed).shares.refused


def test_a_cold_north_where_water_never_warms_has_no_dates():
    air = normals(mean_c=-4.0, swing_c=10.0, latitude_deg=58.0)
    site = replace(SITE, latitude_deg=58.0)
    result = run(date(2026, 6, 20), site=site, air=air, series=water(air, date(2026, 6, 20), site))
    assert all(span.p50 is None for span in result.shares.dates)
    assert any("too cold" in note for note in result.shares.notes)


def test_normals_alone_widen_the_dates_and_say_so():
    air = normals()
    plain = water(air, SPRING)
    alone = replace(plain, normals_only=True)
    wide, narrow = run(SPRING, series=alone).shares, run(SPRING, series=plain).shares
    assert wide.dates[1].p90 - wide.dates[1].p10 > narrow.dates[1].p90 - narrow.dates[1].p10
    assert any("climate" in note for note in wide.notes)


def test_a_cold_snap_ahead_raises_the_chance_of_a_pause():
    air, day = normals(), season_middle()
    steady = water(air, day)
    snap = steady.members_c.copy()
    snap[:, steady.today_index + 2 : steady.today_index + 7] -= 6.0
    assert run(day, series=replace(steady, members_c=snap)).shares.pause_chance > 0.7
    assert run(day, series=steady).shares.pause_chance < 0.1
    assert run(date(2026, 1, 10)).shares.pause_chance is None


def season_middle():
    return run(SPRING).shares.dates[1].p50


def test_a_fast_change_of_level_slows_laying_and_is_named():
    day = season_middle()
    changes = {day - timedelta(days=n): 0.6 for n in range(4)}
    moved, still = run(day, level_changes=changes), run(day)
    assert any("level" in driver.text for driver in moved.shares.drivers)
    laid = [result.curve.nests_started[result.curve.today_index] for result in (moved, still)]
    assert laid[0] < laid[1]


def test_three_drivers_with_numbers_strongest_first():
    drivers = run(SPRING).shares.drivers
    assert len(drivers) == 3
    assert [d.strength for d in drivers] == sorted((d.strength for d in drivers), reverse=True)
    assert all(any(letter.isdigit() for letter in driver.text) for driver in drivers)


def test_the_moon_and_the_barometer_have_no_weight():
    assert "no weight" in MOON_AND_PRESSURE
    assert not {"moon", "pressure", "barometer"} & set(run_phase_arguments())


def run_phase_arguments():
    import inspect

    from briefing.core.phase import run_phase

    return inspect.signature(run_phase).parameters


def test_level_changes_come_from_readings_three_days_apart():
    from datetime import UTC, datetime

    start = datetime(2026, 4, 1, 7, tzinfo=UTC)
    readings = [
        LevelReading(start + timedelta(days=n), level, None, "gauge", "gauge")
        for n, level in ((0, 1.0), (3, 1.4), (9, 1.4))
    ]
    assert level_changes_from(readings) == {date(2026, 4, 4): pytest.approx(0.4)}


@given(
    latitude=st.floats(31.0, 46.0),
    anomaly=st.floats(-2.0, 2.0),
    steps=st.lists(st.floats(-0.8, 0.8), min_size=160, max_size=160),
    form=st.sampled_from([NORTHERN, SpeciesForm.SMALLMOUTH_LAKE, SpeciesForm.LARGEMOUTH_FLORIDA]),
)
@settings(max_examples=8, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
def test_no_flapping_under_ordinary_weather(latitude, anomaly, steps, form):
    """Day-to-day weather that persists moves no shown share by more than 12 points a day."""
    site = replace(SITE, latitude_deg=latitude)
    air = normals(mean_c=14.0 - 0.9 * (latitude - 37.0), latitude_deg=latitude)
    today = date(2026, 6, 15)
    plain = water(air, today, site, back=140, ahead=10, anomaly_c=anomaly)
    noise = np.zeros(plain.days)
    for day, step in enumerate(steps[: plain.days]):
        noise[day] = 0.9 * noise[day - 1] + step
    weather = np.clip(noise, -2.5, 2.5)[None, :, None]
    series = replace(plain, members_c=np.maximum(plain.members_c + weather, 0.0))
    curve = run(today, site=site, air=air, series=series, form=form).curve
    first = curve.today_index - 130
    assert np.abs(np.diff(curve.mean[first:], axis=0)).max() < 0.12


def test_from_one_morning_to_the_next_the_shares_stay_close():
    air = normals()
    long = water(air, SPRING, ahead=25)
    pairs = [run(SPRING + timedelta(days=n), series=long).shares for n in range(3)]
    for before, after in pairwise(pairs):
        now, then = before.shown(), after.shown()
        assert max(abs(now[phase][0] - then[phase][0]) for phase in Phase) < 0.12


@pytest.mark.parametrize(
    ("species", "latitude", "kind", "form"),
    [
        ("largemouth", 27.0, LakeKind.SOUTHERN_GRASS, SpeciesForm.LARGEMOUTH_FLORIDA),
        ("Largemouth Bass", 32.0, LakeKind.SOUTHERN_GRASS, SpeciesForm.LARGEMOUTH_INTERGRADE),
        ("largemouth", 32.0, LakeKind.HIGHLAND_RESERVOIR, SpeciesForm.LARGEMOUTH_NORTHERN),
        ("largemouth", 45.0, LakeKind.NORTHERN_NATURAL, SpeciesForm.LARGEMOUTH_NORTHERN),
        ("smallmouth", 44.0, LakeKind.NORTHERN_NATURAL, SpeciesForm.SMALLMOUTH_LAKE),
        ("smallmouth", 40.0, LakeKind.TIDAL_RIVER, SpeciesForm.SMALLMOUTH_RIVER),
        ("spotted", 34.0, LakeKind.HIGHLAND_RESERVOIR, SpeciesForm.SPOTTED),
        ("largemouth_florida", 45.0, LakeKind.NORTHERN_NATURAL, SpeciesForm.LARGEMOUTH_FLORIDA),
    ],
)
def test_forms(species, latitude, kind, form):
    assert form_for(species, latitude, kind) == form


def test_an_unknown_fish_is_refused_with_the_known_ones():
    with pytest.raises(InputError, match="smallmouth"):
        form_for("carp", 37.0, LakeKind.FARM_POND)


def test_signs_after_today_or_of_another_season_are_left_aside():
    result = run(
        SPRING, sign(SPRING + timedelta(days=1)), sign(SPRING - timedelta(days=500), SignKind.FRY_CLOUDS, number=1)
    )
    assert result.effective_particles == pytest.approx(300.0)
    assert any("2 of your signs" in note for note in result.shares.notes)
