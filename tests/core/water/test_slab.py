"""The slab: stable in any water, true to a fine integration, and right in known cases."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.water.batch import free_run
from briefing.core.water.parameters import WaterParameters
from briefing.core.water.site import WaterSite
from briefing.core.water.slab import (
    DAY_OVER_RHO_C,
    Columns,
    Floats,
    Forcing,
    columns_for,
    forcing_for,
    ice_step,
    mild_air,
    step,
    top_of_air_w_m2,
    vapour_pressure,
)
from briefing.core.water.slab import _balance as balance
from briefing.core.water.slab import _layer as layer
from briefing.resources import read_toml

SLAB = WaterParameters.from_mapping(read_toml("water.toml")).slab


def column(depth: float, area: float = 1.0, coldest: float = 5.0) -> Columns:
    return columns_for([WaterSite(40.0, 0.0, mean_depth_m=depth, area_km2=area)], np.array([coldest]), SLAB)


def one_day(air: float, sun: float, depression: float = 5.0) -> Forcing:
    return forcing_for(*(np.array([[value]]) for value in (air, depression, sun)), SLAB)


def by_hours(start: float, forcing: Forcing, columns: Columns, hours: int) -> tuple[float, float]:
    """Daily mean and end by small explicit steps under the same constant forcing."""
    now = np.array([start])
    seen = []
    for _ in range(hours):
        first = now
        for stage in (0.5, 1.0):
            net, _, _ = balance(now, forcing.radiation_w_m2[0], forcing.exchange_hpa[0], columns.wind)
            now = first + stage * net * DAY_OVER_RHO_C / hours / layer(now, net, columns)
        seen.append(float((first + now)[0]) / 2)
    return float(np.mean(seen)), float(now[0])


@pytest.mark.parametrize("depth", [1.0, 1.5, 3.0, 8.0, 30.0, 100.0])
@pytest.mark.parametrize("sun", [150.0, 300.0, 450.0])
def test_daily_means_agree_with_hourly_steps(depth: float, sun: float) -> None:
    """Under constant forcing of a day, air up to 15 C from the water and up to 36 C."""
    columns, ones = column(depth), np.ones(1)
    for start in (5.0, 12.0, 20.0, 28.0):
        for air in (start - 15.0, start - 5.0, start, start + 8.0, min(start + 15.0, 36.0)):
            forcing = one_day(air, sun)
            arguments = (forcing.radiation_w_m2[0], forcing.exchange_hpa[0], columns, ones, columns.wind)
            day = step(np.array([start]), *arguments)
            mean, end = by_hours(start, forcing, columns, 24)
            if end > 0:  # below, the water freezes
                assert day.mean_c[0] == pytest.approx(mean, abs=0.05), (start, air)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    depth=st.floats(1.0, 100.0),
    start=st.floats(0.0, 34.0),
    air=st.floats(-30.0, 40.0),
    sun=st.floats(0.0, 500.0),
    area=st.floats(0.001, 5000.0),
)
def test_a_step_never_passes_its_equilibrium(depth: float, start: float, air: float, sun: float, area: float) -> None:
    columns, forcing = column(depth, area), one_day(air, sun)
    arguments = (forcing.radiation_w_m2[0], forcing.exchange_hpa[0], columns, np.ones(1), columns.wind)
    day = step(np.array([start]), *arguments)
    low, high = sorted((start, float(day.equilibrium_c[0])))
    assert low - 1e-9 <= day.end_c[0] <= high + 1e-9
    assert low - 1e-9 <= day.mean_c[0] <= high + 1e-9


@pytest.mark.parametrize("depth", [1.0, 5.0, 25.0, 100.0])
def test_three_years_stay_bounded_everywhere(depth: float) -> None:
    latitudes = np.array([-60.0, -30.0, 0.0, 30.0, 55.0, 70.0])
    days, away = np.arange(1096)[:, None], np.abs(latitudes)
    sun = top_of_air_w_m2(latitudes, (days[:, 0] % 365 + 1).astype(float))
    season = np.cos(2 * np.pi * (days - np.where(latitudes >= 0, 200, 17)) / 365.25)
    noise = np.random.default_rng(1).standard_normal((days.size, 1))
    air = 27 - 0.4 * away + 0.25 * away * season + (2 + 0.07 * away) * noise
    sites = [WaterSite(float(latitude), 0.0, mean_depth_m=depth) for latitude in latitudes]
    columns = columns_for(sites, air.min(axis=0), SLAB)
    water = free_run(air[:30].mean(axis=0), forcing_for(air, np.full_like(air, 4.0), sun, SLAB), columns)
    assert water.shape == air.shape
    assert np.isfinite(water).all()
    assert water.min() >= 0.0
    assert water.max() < 38.0
    assert np.abs(np.diff(water, axis=0)).max() < (12.0 if depth == 1.0 else 6.0)


def test_deep_water_follows_later_than_shallow() -> None:
    days = np.arange(730)
    air = (12 - 9 * np.cos(2 * np.pi * (days - 20) / 365))[:, None] * np.ones((1, 2))
    sun = top_of_air_w_m2(np.array([42.0, 42.0]), (days % 365 + 1).astype(float))
    sites = [WaterSite(42.0, 0.0, mean_depth_m=depth) for depth in (1.5, 20.0)]
    columns = columns_for(sites, air.min(axis=0), SLAB)
    water = free_run(air[0], forcing_for(air, np.full_like(air, 5.0), sun, SLAB), columns)[365:]
    shallow, deep = (int(np.argmax(water[:, place] > 15.0)) for place in (0, 1))
    assert 5 <= deep - shallow <= 60
    assert water[:, 0].max() > water[:, 1].max()


@pytest.mark.parametrize("part", ["end", "mean"])
@pytest.mark.parametrize("start", [6.0, 15.0, 26.0])
def test_slopes_agree_with_differences(part: str, start: float) -> None:
    columns, forcing = column(4.0), one_day(17.0, 400.0)
    heat, exchange = forcing.radiation_w_m2[0], forcing.exchange_hpa[0]

    def at(start_c: float, flux: float, depth: float, exchange_factor: float) -> float:
        wind = columns.wind * np.exp(exchange_factor)
        day = step(np.array([start_c]), heat + flux, exchange, columns, np.array([np.exp(depth)]), wind)
        return float(getattr(day, f"{part}_c")[0])

    day = step(np.array([start]), heat, exchange, columns, np.ones(1), columns.wind)
    steps = ((0.1, 0, 0, 0), (0, 1.0, 0, 0), (0, 0, 0.05, 0), (0, 0, 0, 0.05))
    names = ("start", "flux", "depth", "exchange")
    for name, move in zip(names, steps, strict=True):
        size = sum(move)
        found = (at(start + move[0], *move[1:]) - at(start - move[0], *(-part for part in move[1:]))) / (2 * size)
        slope = float(getattr(day, f"{part}_by_{name}")[0])
        assert slope == pytest.approx(found, rel=0.12, abs=0.02), name


def test_ice_grows_in_frost_and_goes_in_spring() -> None:
    columns = column(5.0, coldest=-8.0)
    water, ice = np.array([0.5]), np.zeros(1)
    for _ in range(60):
        water, ice = ice_step(
            water - 0.6, ice, np.array([-8.0]), np.zeros(1), np.array([120.0]), columns.layer_m, columns
        )
    assert 0.2 < ice[0] < 0.6
    assert water[0] == pytest.approx(SLAB.under_ice_c)
    days = 0
    while ice[0] > 0:
        water, ice = ice_step(water, ice, np.array([8.0]), np.zeros(1), np.array([330.0]), columns.layer_m, columns)
        days += 1
    assert 2 <= days <= 20
    assert water[0] == pytest.approx(SLAB.ice_off_c)


def test_known_physics() -> None:
    assert vapour_pressure(np.array(20.0)) == pytest.approx(23.4, abs=0.1)  # Magnus tables
    # Allen et al. 1998, table 2.6: 20 S on 3 September 32.2 MJ/m2/day.
    assert top_of_air_w_m2(np.array([-20.0]), np.array([246.0]))[0, 0] * 0.0864 == pytest.approx(32.2, abs=0.3)
    assert top_of_air_w_m2(np.array([75.0]), np.array([355.0]))[0, 0] == 0.0


def test_damp_seasons_give_less_sun_and_more_sky() -> None:
    damp, dry = (one_day(12.0, 400.0, depression) for depression in (1.0, 10.0))
    dark_damp, dark_dry = (one_day(12.0, 0.0, depression) for depression in (1.0, 10.0))
    assert dark_damp.radiation_w_m2 > dark_dry.radiation_w_m2
    assert damp.radiation_w_m2 - dark_damp.radiation_w_m2 < dry.radiation_w_m2 - dark_dry.radiation_w_m2


def test_columns_can_be_joined_and_taken() -> None:
    joined = Columns.join([column(2.0), column(9.0)])
    taken = joined.take(np.array([1, 1, 0]))
    assert taken.depth_m.tolist() == [9.0, 9.0, 2.0]
    assert replace(SLAB, transmission=0.1) != SLAB


def test_degree_days_are_those_to_expect_of_doubtful_air() -> None:
    air = np.array([-20.0, -3.0, 0.0, 3.0, 20.0])
    known, certain = mild_air(air, np.zeros(5))
    assert known.tolist() == [0.0, 0.0, 0.0, 3.0, 20.0]
    assert certain.tolist() == [0.0, 0.0, 0.0, 1.0, 1.0]
    doubtful, share = mild_air(air, np.full(5, 6.0))
    assert (doubtful > known).all()
    assert doubtful - air == pytest.approx(mild_air(-air, np.full(5, 6.0))[0])
    # The normal distribution's mean excess at its mean is 0.40 of its spread.
    assert doubtful[2] == pytest.approx(0.40 * 6.0, rel=0.06)
    assert share == pytest.approx([0.0, 0.29, 0.5, 0.71, 1.0], abs=0.02)


def test_ice_under_air_from_normals_goes_when_it_goes_on_average() -> None:
    columns = column(5.0, coldest=-8.0)
    number = np.arange(200)
    average = -9 + 0.2 * number
    generator = np.random.default_rng(3)
    anomaly = np.zeros((200, 400))
    for day in range(1, 200):
        anomaly[day] = 0.75 * anomaly[day - 1] + 6.0 * np.sqrt(1 - 0.75**2) * generator.standard_normal(400)

    def gone(air: Floats, spread: float) -> Floats:
        ice = np.full(air.shape[1], 0.4)
        last = np.zeros(air.shape[1])
        for day in range(200):
            sun = np.full(ice.shape, 250.0)
            _, ice = ice_step(np.ones_like(ice), ice, air[day], np.full_like(ice, spread), sun, np.ones(1), columns)
            last = np.where(ice > 0, day, last)
        return last

    truth = float(gone(average[:, None] + anomaly, 0.0).mean())
    assert gone(average[:, None], 6.0)[0] == pytest.approx(truth, abs=4)
    assert gone(average[:, None], 0.0)[0] > truth + 10
