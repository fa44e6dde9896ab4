"""Normals from a small invented table, and from the shipped one."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.climate import NormalsTable, normals_at
from briefing.core.climate.harmonics import month_means
from briefing.core.climate.table import Grid, decode, encode
from briefing.knowledge import load_normals_table
from briefing.resources import config_path, read_arrays, read_toml

LAPSE = np.array([4.0] * 6 + [6.0] * 6)


def invented(sea_c=20.0, per_km=0.0, within=4.0, years=1.0, depression=3.0, error=0.7):
    """A table of one grid over the globe: a flat year of ``sea_c``, warmer by ``per_km`` with height."""
    air = np.zeros((3, 5, 2, 7))
    air[..., 0] = sea_c + per_km * np.array([0.0, 2.0])
    spread = np.zeros((3, 5, 16))
    spread[..., 0], spread[..., 5], spread[..., 10], spread[..., 15] = within, years, depression, error
    return {
        "heights_km": np.array([0.0, 2.0]),
        "lapse_c_per_km": LAPSE,
        "tropic_lapse_c_per_km": np.array(5.0),
        "air0_frame": np.array([-90.0, -180.0, 90.0]),
        "air0_steps": encode(air),
        "spread0_frame": np.array([-90.0, -180.0, 90.0]),
        "spread0_steps": encode(spread),
    }


def test_sea_level_value_is_lowered_by_the_lapse_rate_of_season_and_latitude():
    table = NormalsTable.from_mapping(invented())
    assert normals_at(table, 40.0, -90.0, 0.0).mean_c == pytest.approx(np.full(366, 20.0), abs=0.03)
    north = month_means(normals_at(table, 40.0, -90.0, 1000.0).mean_c)
    assert north.mean() == pytest.approx(15.0, abs=0.05)
    assert north[2] > north[9] + 1.5
    south = month_means(normals_at(table, -40.0, -90.0, 1000.0).mean_c)
    assert south[2] < south[9] - 1.5
    assert np.ptp(normals_at(table, 10.0, -90.0, 1000.0).mean_c) == pytest.approx(0.0, abs=1e-6)
    assert normals_at(table, 25.0, -90.0, 1000.0).mean_c.mean() == pytest.approx(15.0, abs=0.05)


def test_heights_of_the_table_are_joined_by_lines_and_hold_beyond_it():
    table = NormalsTable.from_mapping(invented(per_km=2.0))
    means = [normals_at(table, 5.0, 0.0, height).mean_c[0] for height in (0.0, 1000.0, 2000.0, 3000.0)]
    assert means == pytest.approx([20.0, 20.0 + 2.0 - 5.0, 20.0 + 4.0 - 10.0, 20.0 + 4.0 - 15.0], abs=0.03)


def test_spread_of_a_day_joins_days_and_years_and_leaves_out_the_rise_of_the_curve():
    flat = normals_at(NormalsTable.from_mapping(invented()), 40.0, -90.0, 0.0)
    assert flat.day_sd_c == pytest.approx(np.full(366, np.sqrt(4.0**2 + 1.0**2)), abs=0.02)
    assert flat.year_sd_c == pytest.approx(np.ones(366), abs=0.02)
    assert flat.dewpoint_c == pytest.approx(np.full(366, 17.0), abs=0.05)
    assert flat.error_c == pytest.approx(0.7, abs=0.03)
    arrays = invented()
    air = np.zeros((3, 5, 2, 7))
    air[..., 1] = -15.0
    seasonal = normals_at(NormalsTable.from_mapping(arrays | {"air0_steps": encode(air)}), 40.0, -90.0, 0.0)
    rise = 15.0 * 2.0 * np.pi / 12.0
    assert seasonal.day_sd_c.min() == pytest.approx(np.sqrt(17.0 - rise**2 / 12.0), abs=0.05)
    assert seasonal.day_sd_c.max() == pytest.approx(np.sqrt(17.0), abs=0.05)


def test_dew_point_never_exceeds_the_air_and_the_spread_never_vanishes():
    normals = normals_at(NormalsTable.from_mapping(invented(within=0.0, years=0.0, depression=-1.0)), 0.0, 0.0, 0.0)
    assert (normals.dewpoint_c <= normals.mean_c).all()
    assert normals.day_sd_c.min() > 0.0
    assert normals.year_sd_c.min() > 0.0


def test_a_finer_grid_goes_first_where_it_holds():
    fine = Grid(30.0, -100.0, 10.0, np.full((2, 2, 2, 7), 7.0, np.float32))
    table = NormalsTable.from_mapping(invented())
    table = dataclasses.replace(table, air=(fine, *table.air))
    assert normals_at(table, 35.0, -95.0, 0.0).mean_c.mean() == pytest.approx(7.0, abs=0.2)
    assert normals_at(table, 45.0, -95.0, 0.0).mean_c.mean() == pytest.approx(20.0, abs=0.05)


def test_bilinear_between_nodes_and_held_at_the_edge():
    grid = Grid(0.0, 0.0, 1.0, np.array([[0.0, 1.0], [2.0, 3.0]], np.float32))
    assert grid.at(0.5, 0.5) == pytest.approx(1.5)
    assert grid.at(0.25, 1.0) == pytest.approx(1.5)
    assert grid.at(9.0, 9.0) == pytest.approx(3.0)


def test_encoding_comes_back_to_half_a_step():
    values = np.random.default_rng(1).normal(0.0, 30.0, (4, 6, 3, 5))
    assert np.abs(decode(encode(values)) - values).max() <= 0.0251


@pytest.mark.parametrize(
    "change",
    [{"heights_km": np.zeros(3)}, {"lapse_c_per_km": np.zeros(11)}, {"spread0_steps": np.zeros((4, 3, 5), np.int16)}],
)
def test_a_table_of_another_shape_is_refused(change):
    with pytest.raises(ValueError, match=r"shape|heights"):
        NormalsTable.from_mapping(invented() | change)
    with pytest.raises(KeyError):
        NormalsTable.from_mapping({"heights_km": np.zeros(2), "lapse_c_per_km": LAPSE})


@pytest.mark.parametrize("place", [(91.0, 0.0, 0.0), (0.0, float("nan"), 0.0), (0.0, 0.0, float("inf"))])
def test_a_place_off_the_globe_is_refused(place):
    with pytest.raises(ValueError, match="no such place"):
        normals_at(load_normals_table(), *place)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.floats(-90.0, 90.0), st.floats(-180.0, 540.0), st.floats(-100.0, 5000.0))
def test_every_place_on_the_globe_has_an_answer(latitude, longitude, elevation):
    normals = normals_at(load_normals_table(), latitude, longitude, elevation)
    for values in (normals.mean_c, normals.day_sd_c, normals.year_sd_c, normals.dewpoint_c):
        assert values.shape == (366,)
        assert np.isfinite(values).all()
    assert -80.0 < normals.mean_c.min() <= normals.mean_c.max() < 50.0
    assert (normals.dewpoint_c <= normals.mean_c).all()
    assert normals.day_sd_c.min() > 0.0
    assert 0.3 < normals.error_c <= 6.05


def test_a_turn_of_longitude_changes_nothing():
    table = load_normals_table()
    for a, b in ((-90.0, 270.0), (180.0, -180.0)):
        assert (normals_at(table, 40.0, a, 100.0).mean_c == normals_at(table, 40.0, b, 100.0).mean_c).all()
    west, east = (normals_at(table, 10.0, lon, 0.0).mean_c for lon in (-179.999, 179.999))
    assert west == pytest.approx(east, abs=0.1)


def test_the_curve_is_that_of_the_season_on_both_sides_of_the_equator():
    table = load_normals_table()
    assert 170 < np.argmax(normals_at(table, 36.0, -86.0, 200.0).mean_c) < 225
    assert not 60 < np.argmax(normals_at(table, -36.0, 145.0, 200.0).mean_c) < 330
    # The plain south of the Great Lakes: a few degrees of frost in January, 23 C in July.
    january, july = month_means(normals_at(table, 41.0, -85.0, 250.0).mean_c)[[0, 6]]
    assert january == pytest.approx(-3.5, abs=1.5)
    assert july == pytest.approx(23.0, abs=1.5)


def test_where_there_is_no_station_the_stated_error_is_large():
    table = load_normals_table()
    assert normals_at(table, -40.0, -120.0, 0.0).error_c > 2.0
    assert normals_at(table, 36.0, -86.0, 200.0).error_c < 0.8


def test_the_shipped_file_is_small_and_keeps_its_credit():
    assert config_path("air_normals.npz").stat().st_size < 400_000
    facts = read_toml("air_normals.toml")
    assert facts["credit"] == "Source: Deutscher Wetterdienst, CLIMAT reports; averaged and screened"
    assert facts["licence"] == "CC BY 4.0"
    assert not any("name" in key or "station" in key for key in read_arrays("air_normals.npz"))
