"""The filter: covariances stay sound, readings pull as they should, the week is seen anew."""

import numpy as np
import pytest

from briefing.core.water.batch import WeekMean, filter_days
from briefing.core.water.kalman import (
    AIR,
    COSINE_2,
    OFFSET,
    SKIN,
    STATES,
    TEMPERATURE,
    Belief,
    look,
    noise_for,
    prior,
    read,
    thawed,
)
from briefing.core.water.parameters import WaterParameters
from briefing.core.water.site import WaterSite
from briefing.core.water.slab import Columns, Floats, Forcing, columns_for, forcing_for, top_of_air_w_m2
from briefing.core.water.smooth import root
from briefing.resources import read_toml

PARAMETERS = WaterParameters.from_mapping(read_toml("water.toml"))
SITES = [WaterSite(44.0, 0.0, mean_depth_m=depth, area_km2=1.0) for depth in (1.0, 6.0, 30.0)]
DAYS = 300


def weather(days: int = DAYS) -> tuple[Columns, Forcing, tuple[Floats, Floats]]:
    number = np.arange(days)
    generator = np.random.default_rng(2)
    air = (9 - 12 * np.cos(2 * np.pi * (number - 20) / 365) + 3 * generator.standard_normal(days))[:, None]
    air = air + np.zeros((1, len(SITES)))
    sun = top_of_air_w_m2(np.full(len(SITES), 44.0), number + 1.0)
    angle = (2 * np.pi * number / 366)[:, None] + np.zeros((1, len(SITES)))
    columns = columns_for(SITES, air.min(axis=0), PARAMETERS.slab)
    return columns, forcing_for(air, np.full_like(air, 5.0), sun, PARAMETERS.slab), (np.cos(angle), np.sin(angle))


def start(columns: Columns, temperature: float = 10.0) -> Belief:
    noise = noise_for(SITES, columns, PARAMETERS.filter)
    return prior(np.full(len(SITES), temperature), noise)


def test_covariances_stay_symmetric_and_positive() -> None:
    columns, forcing, season = weather()
    noise = noise_for(SITES, columns, PARAMETERS.filter)
    readings = np.full((DAYS, len(SITES)), np.nan)
    readings[::7] = 12.0
    spread = np.where(np.arange(DAYS)[:, None] % 50 < 10, 3.0, 0.0) + np.zeros((1, len(SITES)))
    variance = np.full(len(SITES), 0.3)
    for passed in filter_days(start(columns), forcing, season, spread, readings, variance, columns, noise):
        covariance = passed.following.covariance.transpose(2, 0, 1)
        assert covariance == pytest.approx(covariance.transpose(0, 2, 1), abs=1e-9)
        assert np.linalg.eigvalsh(covariance).min() > -1e-7
        assert (passed.before.var_c2 >= 0).all()


def test_a_reading_moves_towards_itself_and_narrows() -> None:
    columns, forcing, season = weather(170)
    noise = noise_for(SITES, columns, PARAMETERS.filter)
    belief = start(columns)
    now = (season[0][-1], season[1][-1])
    day = look(belief, forcing.radiation_w_m2[-1], forcing.exchange_hpa[-1], now, columns)
    value = day.mean_c + np.array([2.0, -2.0, np.nan])
    after, seen, weight = read(belief, day, value, np.full(3, 0.25), noise)
    assert 0 < seen.mean_c[0] - day.mean_c[0] < 2.0
    assert -2.0 < seen.mean_c[1] - day.mean_c[1] < 0
    assert seen.mean_c[2] == day.mean_c[2]
    assert (seen.var_c2[:2] < day.var_c2[:2]).all()
    assert seen.var_c2[2] == day.var_c2[2]
    assert weight[2] == 0.0
    assert after.mean[OFFSET, 0] > 0 > after.mean[OFFSET, 1]


def test_what_lies_beyond_the_gate_is_weighted_down() -> None:
    columns, forcing, season = weather(170)
    noise = noise_for(SITES, columns, PARAMETERS.filter)
    belief = start(columns)
    day = look(belief, forcing.radiation_w_m2[-1], forcing.exchange_hpa[-1], (season[0][-1], season[1][-1]), columns)
    near, far = (day.mean_c + gap for gap in (3.0, 40.0))
    _, close, usual = read(belief, day, near, np.full(3, 0.25), noise)
    _, gated, less = read(belief, day, far, np.full(3, 0.25), noise)
    assert (less < usual).all()
    assert (gated.mean_c - day.mean_c < 16.0).all()
    assert (read(belief, day, far, np.full(3, 0.25), noise.ungated())[1].mean_c > gated.mean_c).all()
    assert (close.mean_c > day.mean_c).all()


def test_surprises_teach_the_lake_its_own_noise() -> None:
    columns, forcing, season = weather()
    noise = noise_for(SITES, columns, PARAMETERS.filter)
    none, variance = np.zeros((DAYS, len(SITES))), np.full(len(SITES), 0.25)
    unread = np.full((DAYS, len(SITES)), np.nan)
    passing = filter_days(start(columns), forcing, season, none, unread, variance, columns, noise)
    truth = np.array([passed.before.mean_c for passed in passing])
    scales = []
    for wobble in (0.1, 2.5):
        readings = unread.copy()
        readings[120::7] = np.maximum(truth[120::7] + wobble * np.where(np.arange(26) % 2, 1.0, -1.0)[:, None], 0)
        *_, last = filter_days(start(columns), forcing, season, none, readings, variance, columns, noise)
        scales.append(last.following.ln_scale)
    assert (scales[0] < 0).all()
    assert (scales[1] > scales[0] + 0.5).all()


def test_the_week_is_seen_anew_by_a_reading() -> None:
    columns, forcing, season = weather()
    noise = noise_for(SITES, columns, PARAMETERS.filter)
    none, variance = np.zeros((DAYS, len(SITES))), np.full(len(SITES), 0.25)

    def weeks(readings: Floats) -> tuple[Floats, Floats]:
        lately, rows, plain = WeekMean(), [], []
        passing = filter_days(start(columns), forcing, season, none, readings, variance, columns, noise)
        for number, passed in enumerate(passing):
            rows.append(lately.take(passed, readings[number], noise))
            plain.append(passed.after.mean_c)
        return np.array(rows), np.array(plain)

    unread = np.full((DAYS, len(SITES)), np.nan)
    before, daily = weeks(unread)
    assert before[200] == pytest.approx(daily[194:201].mean(axis=0))
    readings = unread.copy()
    readings[200] = daily[200] + 2.0
    after, alone = weeks(readings)
    assert after[199] == pytest.approx(before[199])
    # More than the day itself: the days before it rise as well, in deep water nearly as much.
    assert (after[200] - before[200] > 1.5 * (alone[200] - daily[200]) / 7).all()
    assert after[200, 2] - before[200, 2] > 0.8 * (alone[200, 2] - daily[200, 2])


def test_lasting_doubt_has_its_place_in_the_state() -> None:
    columns, _, _ = weather(2)
    belief = start(columns)
    assert belief.covariance[AIR, AIR].tolist() == [0.0, 0.0, 0.0]
    assert belief.covariance[SKIN, SKIN] == pytest.approx(PARAMETERS.filter.skin_sd_c_per_w_m2**2)
    taken = belief.take(np.array([2, 0]))
    assert taken.mean.shape[1] == 2


def test_spring_and_autumn_depart_each_in_its_own_way() -> None:
    columns, forcing, _ = weather()
    belief = start(columns)
    belief.mean[COSINE_2] = 10.0
    plain = start(columns)
    heat, exchange = forcing.radiation_w_m2[100], forcing.exchange_hpa[100]
    for angle, sign in ((0.0, 1.0), (np.pi / 2, -1.0), (np.pi, 1.0), (3 * np.pi / 2, -1.0)):
        at = (float(np.cos(angle)), float(np.sin(angle)))
        moved = look(belief, heat, exchange, at, columns).mean_c - look(plain, heat, exchange, at, columns).mean_c
        assert (sign * moved > 0).all()
        day = look(plain, heat, exchange, at, columns)
        assert moved == pytest.approx(10.0 * day.slopes[COSINE_2], rel=0.05)


def winter(days: int, readings: dict[int, float]) -> list[tuple[Floats, Floats, Floats]]:
    """Ice, daily mean and its variance by day, in steady frost with readings on some days."""
    columns, _, season = weather(days)
    noise = noise_for(SITES, columns, PARAMETERS.filter)
    air = np.full((days, len(SITES)), -12.0)
    forcing = forcing_for(air, np.full_like(air, 3.0), np.full_like(air, 90.0), PARAMETERS.slab)
    values = np.full(air.shape, np.nan)
    for day, value in readings.items():
        values[day] = value
    variance = np.full(len(SITES), 0.3)
    passing = filter_days(start(columns, 0.5), forcing, season, np.zeros_like(air), values, variance, columns, noise)
    return [(passed.prior.ice_m, passed.before.mean_c, passed.before.var_c2) for passed in passing]


def test_a_reading_under_ice_is_remembered_for_weeks() -> None:
    usual, told = winter(150, {}), winter(150, {80: 2.4})
    assert (usual[80][0] > 0).all()
    raised = [float((told[day][1] - usual[day][1])[0]) for day in (80, 81, 95, 140)]
    assert raised[0] == 0.0
    assert raised[1] > 0.4
    assert raised[1] > raised[2] > raised[3] > 0
    assert told[81][2][0] < usual[81][2][0]
    assert told[140][2][0] == pytest.approx(usual[140][2][0], rel=0.05)


def test_open_water_read_where_the_model_has_ice_is_believed() -> None:
    columns, forcing, season = weather(170)
    noise = noise_for(SITES, columns, PARAMETERS.filter)
    belief = start(columns, 1.0)
    belief = Belief(belief.mean, belief.covariance, np.array([0.3, 0.3, 0.0]), belief.air_sd_c, belief.ln_scale)
    belief.covariance[TEMPERATURE, TEMPERATURE] = 0.25
    day = look(
        belief, forcing.radiation_w_m2[100], forcing.exchange_hpa[100], (season[0][100], season[1][100]), columns
    )
    value = np.array([9.0, 1.5, np.nan])
    opened, seen_so = thawed(belief, day, value)
    assert opened.ice_m.tolist() == [0.0, 0.3, 0.0]
    after, seen, weight = read(opened, seen_so, value, np.full(3, 0.25), noise)
    assert weight[0] > 0.9
    assert seen.mean_c[0] == pytest.approx(9.0, abs=0.6)
    assert after.mean[TEMPERATURE, 0] > 8.0
    assert seen.mean_c[1] == pytest.approx(1.25, abs=0.2)


def test_the_root_of_a_covariance_is_the_only_one_of_its_kind() -> None:
    """Lower triangular with a positive diagonal: same inputs, same members, whatever the processor."""
    rng = np.random.default_rng(3)
    half = rng.standard_normal((20, STATES, STATES))
    half[10:, :, 1] = 0.0  # of lower rank
    covariance = half @ half.transpose(0, 2, 1)
    found = root(covariance)
    assert np.allclose(found, np.tril(found))
    assert np.allclose(found @ found.transpose(0, 2, 1), covariance, atol=1e-6)
    assert (np.diagonal(found, axis1=1, axis2=2) >= 0.0).all()
    assert np.allclose(found[:10], np.linalg.cholesky(covariance[:10]))
    assert (root(np.zeros((1, STATES, STATES))) == 0.0).all()
