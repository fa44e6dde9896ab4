from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.wind.waves import (
    adjusted_wind_mps,
    sea_state,
    spm84_shallow,
    spm84_shallow_adjusted,
    young_verhagen_1996,
)
from briefing.evaluate import waves as evaluation

METHODS = (spm84_shallow, young_verhagen_1996)
winds, fetches, depths = st.floats(0.5, 40), st.floats(50, 50_000), st.floats(0.3, 100)


def test_every_reference_row(reference_data: Path) -> None:
    result = evaluation.run(reference_data / "data" / "wave-check.csv")
    assert (result["checked"], result["failed"], result["not_used"]) == (557, 0, 333)


def test_worked_example_of_the_army_manual() -> None:
    # Army Corps of Engineers, ACES User's Guide, example 1: Ua 67.92 mph, 26.0 miles, 13 ft: 4.23 ft, 4.77 s.
    waves = spm84_shallow_adjusted(67.92 * 0.44704, 26.0 * 1609.344, 13.0 * 0.3048)
    assert float(waves.hs_m) == pytest.approx(4.23 * 0.3048, abs=0.003)
    assert float(waves.tp_s) == pytest.approx(4.77, abs=0.01)


def test_adjusted_wind_equals_the_wind_near_four_and_a_half() -> None:
    assert float(adjusted_wind_mps(4.43)) == pytest.approx(4.43, abs=0.02)


@pytest.mark.parametrize("method", METHODS)
@settings(max_examples=80, deadline=None, derandomize=True)
@given(wind=winds, fetch=fetches, depth=depths, more=st.floats(1.01, 2.0))
def test_waves_rise_with_wind_fetch_and_depth(method, wind: float, fetch: float, depth: float, more: float) -> None:
    base = float(method(wind, fetch, depth).hs_m)
    assert float(method(wind * more, fetch, depth).hs_m) > base
    assert float(method(wind, fetch * more, depth).hs_m) >= base * (1 - 1e-12)
    assert float(method(wind, fetch, depth * more).hs_m) >= base * (1 - 1e-12)


@pytest.mark.parametrize("method", METHODS)
def test_no_wind_or_no_fetch_is_flat_and_nothing_is_nan(method) -> None:
    wind, fetch, depth = np.meshgrid(np.linspace(0, 60, 31), np.geomspace(1, 50_000, 20), np.geomspace(0.1, 100, 9))
    waves = method(wind, fetch, depth)
    assert np.isfinite(waves.hs_m).all()
    assert np.isfinite(waves.tp_s).all()
    assert float(method(0.0, 1000.0, 5.0).hs_m) == 0.0
    assert float(method(10.0, 0.0, 5.0).hs_m) == 0.0
    assert np.isnan(float(method(np.nan, 1000.0, 5.0).hs_m))
    assert np.isnan(float(method(0.0, np.nan, 5.0).hs_m))


def test_waves_linger_on_long_fetches_only() -> None:
    wind = np.array([12.0, 1.0, 1.0])
    long = sea_state(wind, np.full((3, 1), 8000.0))
    short = sea_state(wind, np.full((3, 1), 3000.0))
    assert long.hs_m[1, 0] == pytest.approx(0.5 * long.hs_m[0, 0])
    assert short.hs_m[1, 0] < 0.2 * short.hs_m[0, 0]


def test_missing_wind_stays_missing() -> None:
    sea = sea_state(np.array([10.0, np.nan, 10.0]), np.full((3, 2), 8000.0))
    assert np.isnan(sea.hs_m[1]).all()
    assert np.isfinite(sea.hs_m[2]).all()


def test_range_steepness_and_whitecaps() -> None:
    sea = sea_state(np.array([4.0, 10.0]), np.array([[900.0, 5000.0], [900.0, 5000.0]]))
    assert (sea.hs_low_m <= sea.hs_m).all()
    assert sea.whitecaps.tolist() == [[False, False], [False, True]]
    assert sea.steep[1, 1]
    assert not sea.steep[0].any()
    assert sea.length_m == pytest.approx(1.5613 * sea.tp_s**2, rel=1e-3)
