"""Numbers beside their limits: never printed on the wrong side of them."""

import re

import numpy as np
import pytest

from briefing.core.wind import words


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("stop_mps", [4.88, 4.4704, 7.2, 3.21])
def test_a_wind_is_printed_on_its_own_side_of_the_limit(system: str, stop_mps: float) -> None:
    limit = float(words.speed_limit(stop_mps, system).split()[0])
    for value in np.arange(stop_mps - 0.6, stop_mps + 0.6, 0.037):
        shown = float(words.speed_beside(float(value), [stop_mps], system).split()[0])
        assert (shown >= limit) == (value >= stop_mps)


@pytest.mark.parametrize("stop_m", [0.27, 0.135, 0.45])
def test_waves_are_printed_on_their_own_side_of_the_limit(stop_m: float) -> None:
    limit = float(words.wave_limit(stop_m, "us").split()[0])
    assert limit * words.M_PER_FT <= stop_m
    for value in np.arange(stop_m - 0.03, stop_m + 0.03, 0.0041):
        assert (float(words.feet_beside(float(value), [stop_m])) >= limit) == (value >= stop_m)
        said = re.match(r"[0-9.]+", words.height_beside(float(value), [stop_m], "us"))
        assert said is not None
        assert (float(said[0]) >= limit) == (value >= stop_m)


def test_decimals_come_only_where_they_are_needed() -> None:
    assert words.speed_beside(4.0, [4.88], "us") == "9 mph"
    assert words.speed_beside(3.08, [3.1], "metric") == "3.08 m/s"
    assert words.wave_limit(0.27, "us") == "0.88 ft"
    assert words.part(0.6) == "six tenths"
