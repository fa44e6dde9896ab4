"""The parts: season, climate of the water, particles, chain, dates."""

from datetime import date

import numpy as np
import pytest
from season_helpers import NORTHERN, PARAMETERS, SITE, SPRING, normals, water

from briefing.core.phase.chain import chain_setup, empty_record, run_chain, start_boxes
from briefing.core.phase.dates import crossing_days, date_spans, span_days
from briefing.core.phase.hazards import drive_for, logistic
from briefing.core.phase.model import LearnedSeason
from briefing.core.phase.particles import draw_particles, lay_hazard, offset_prior
from briefing.core.phase.season import season_for
from briefing.core.phase.water_year import climate_water_c, nest_water
from briefing.core.phase.words import share_words
from briefing.knowledge import load_phase_parameters
from briefing.vocabulary import SignKind, SpeciesForm, Zone


@pytest.mark.parametrize(
    ("today", "latitude", "year", "start"),
    [
        (date(2026, 8, 31), 40.0, 2026, date(2025, 8, 1)),
        (date(2026, 9, 1), 40.0, 2027, date(2026, 8, 1)),
        (date(2026, 2, 28), -30.0, 2025, date(2025, 2, 1)),
        (date(2026, 3, 1), -30.0, 2026, date(2026, 2, 1)),
    ],
)
def test_season_of_a_day(today, latitude, year, start):
    season = season_for(today, latitude)
    assert (season.year, season.start) == (year, start)
    assert 31 - 3 <= season.index_of(today) < season.days
    shortest = int(np.argmin(season.day_length_h))
    assert abs(season.since_solstice[shortest]) <= 2


def test_climate_water_lags_the_air_and_deep_water_more():
    air = normals()
    shallow, deep = (climate_water_c(air, depth, PARAMETERS.climate) for depth in (2.0, 15.0))
    assert 196 + 2 < int(np.argmax(shallow)) < int(np.argmax(deep))
    assert shallow[110] > deep[110]
    assert climate_water_c(normals(mean_c=-5.0), 4.0, PARAMETERS.climate).min() >= 0.0


def test_nest_water_keeps_the_series_and_lets_the_anomaly_fade():
    air, season = normals(), season_for(SPRING, SITE.latitude_deg)
    warm = nest_water(
        SITE, season, water(air, SPRING, anomaly_c=4.0, members=64), air, PARAMETERS.common, PARAMETERS.climate, 1
    )
    plain = nest_water(SITE, season, water(air, SPRING, members=64), air, PARAMETERS.common, PARAMETERS.climate, 1)
    gap = (warm.daily_c - plain.daily_c)[:, 0].mean(axis=1)
    today = season.index_of(SPRING)
    assert gap[today] == pytest.approx(4.0, abs=0.1)
    assert gap[warm.known_until + 20] == pytest.approx(4.0 / np.e, abs=0.15)
    assert abs(gap[warm.known_until + 90]) < 0.1
    pocket, main, exposed = (
        warm.daily_c[today, PARAMETERS.common.zones.index(z)].mean() for z in (Zone.POCKET, Zone.MAIN, Zone.EXPOSED)
    )
    assert pocket > main > exposed


def test_particles_follow_seed_and_prior():
    form = PARAMETERS.forms[NORTHERN]
    first, again = (draw_particles(form, PARAMETERS, 37.0, None, 3, 800) for _ in range(2))
    other = draw_particles(form, PARAMETERS, 37.0, None, 4, 800)
    assert np.array_equal(first.centre_c, again.centre_c)
    assert not np.array_equal(first.centre_c, other.centre_c)
    mean, sd = offset_prior(form, PARAMETERS, None)
    assert first.offset_c.mean() == pytest.approx(mean, abs=0.02)
    assert first.offset_c.std() == pytest.approx(sd, rel=0.02)
    taught = offset_prior(form, PARAMETERS, LearnedSeason(2025, 0.8, 0.5, 9))
    assert taught[0] == 0.8
    assert 0.5 < taught[1] < sd


def test_laying_is_slower_in_the_south():
    form = PARAMETERS.forms[NORTHERN]
    hazards = [lay_hazard(form, latitude, 29.0, 37.0) for latitude in (25.0, 33.0, -33.0, 45.0)]
    assert hazards[0] == form.lay_per_day_south < hazards[1] == hazards[2] < hazards[3] == form.lay_per_day


def test_the_chain_keeps_every_fish():
    air, season = normals(), season_for(SPRING, SITE.latitude_deg)
    form, common = PARAMETERS.forms[NORTHERN], PARAMETERS.common
    nests = nest_water(SITE, season, water(air, SPRING), air, common, PARAMETERS.climate, 1)
    storms = {SPRING}
    drive = drive_for(nests, season, form, common, {}, storms, tropical=False)
    drawn = draw_particles(form, PARAMETERS, 37.0, None, 1, 50)
    setup = chain_setup(season, form, common, drive, drawn, 16)
    boxes, record = start_boxes(common, 50), empty_record(season.days, 50)
    run_chain(setup, boxes, record, 0, season.days, ())
    assert boxes.min() >= 0.0
    assert boxes.sum(axis=(0, 1)) == pytest.approx(1.0, abs=1e-4)
    assert (np.diff(record.laid, axis=0) >= -1e-6).all()
    assert (record.hatched[-1] < record.laid[-1]).all()
    large, small = (boxes[-3:, cohort].sum() for cohort in (0, 2))
    assert large == pytest.approx(small, rel=0.05)


def test_storms_cost_nests():
    air, season = normals(), season_for(SPRING, SITE.latitude_deg)
    form, common = PARAMETERS.forms[NORTHERN], PARAMETERS.common
    nests = nest_water(SITE, season, water(air, SPRING), air, common, PARAMETERS.climate, 1)
    calm, stormy = (drive_for(nests, season, form, common, {}, days, tropical=False) for days in ((), {SPRING}))
    day = season.index_of(SPRING)
    assert (stormy.loss[day] - calm.loss[day]) == pytest.approx(common.storm_loss_per_day, abs=1e-6)


def test_crossing_days_interpolate_and_need_nests():
    laid = np.array([[0.0, 0.0], [0.5, 0.001], [1.0, 0.002]], np.float32)
    assert crossing_days(laid, 0.5)[0] == pytest.approx(1.0)
    assert crossing_days(laid, 0.25)[0] == pytest.approx(0.5)
    assert np.isnan(crossing_days(laid, 0.5)[1])


def test_spans_have_a_floor_and_may_be_missing():
    days, weights = np.linspace(99.0, 101.0, 101), np.full(101, 1 / 101)
    low, middle, high = span_days(days, weights, 4.0)
    assert middle == pytest.approx(100.0)
    assert high - low > 2 * 4.0
    assert span_days(np.full(101, np.nan), weights, 4.0) is None
    nothing = date_spans(np.zeros((5, 101), np.float32), weights, season_for(SPRING, 37.0), 4.0)
    assert [span.p50 for span in nothing] == [None, None, None]


def test_words():
    assert [share_words(share) for share in (0.0, 0.04, 0.42, 0.99)] == [
        "hardly any",
        "fewer than 1 in 10",
        "about 4 in 10",
        "nearly all",
    ]
    assert logistic(np.array([0.0]))[0] == pytest.approx(0.5)


def test_the_shipped_file_is_complete():
    parameters = load_phase_parameters()
    assert set(parameters.forms) == set(SpeciesForm)
    assert set(parameters.signs.rates) == set(SignKind) - {
        SignKind.SHAD_SPAWN,
        SignKind.BREAM_BEDS,
        SignKind.MAYFLIES,
    }  # of bait alone
    assert len(parameters.common.zones) == len(parameters.common.zone_weight) == len(parameters.common.zone_offset_c)
