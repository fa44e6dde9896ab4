"""Numbers beside their limits: never printed on the wrong side of them."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from briefing.core.wind import words
from briefing.core.wind.limits import in_whole_steps
from briefing.units import Units


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("stop_mps", [4.88, 4.4704, 7.2, 3.21])
def test_a_wind_is_printed_on_its_own_side_of_the_limit(system: str, stop_mps: float) -> None:
    limit = float(words.speed_limit(stop_mps, system).split()[0])
    stop_mps = float(in_whole_steps(stop_mps, "m/s", system))
    for value in np.arange(stop_mps - 0.6, stop_mps + 0.6, 0.037):
        shown = float(words.speed_beside(float(value), [stop_mps], system).split()[0])
        assert (shown >= limit) == (value >= stop_mps)


@pytest.mark.parametrize("stop_m", [0.27, 0.135, 0.45])
def test_waves_are_printed_on_their_own_side_of_the_limit(stop_m: float) -> None:
    limit = float(words.wave_limit(stop_m, "us").split()[0])
    stop_m = float(in_whole_steps(stop_m, "m", "us"))
    for value in np.arange(max(stop_m - 0.03, 0.1), stop_m + 0.03, 0.0041):
        assert (float(words.feet_beside(float(value), [stop_m])) >= limit) == (value >= stop_m)
        said = re.match(r"[0-9.]+", words.height_beside(float(value), [stop_m], "us"))
        assert said is not None
        assert (float(said[0]) >= limit) == (value >= stop_m)


@given(
    limit=st.floats(0.3, 40.0),
    kind=st.sampled_from(["m/s", "m"]),
    system=st.sampled_from(["us", "metric"]),
)
def test_a_limit_is_judged_as_it_is_printed_and_never_raised(limit: float, kind: words.Quantity, system: Units) -> None:
    used = float(in_whole_steps(limit, kind, system))
    printed = words.speed_limit if kind == "m/s" else words.wave_limit
    assert used <= limit
    assert limit - used < words.step(kind, system) or limit < words.step(kind, system)
    assert printed(used, system) == printed(limit, system)
    assert float(in_whole_steps(used, kind, system)) == used, "cut once, it stays"
    assert words.whole_steps(limit, kind, system) * words.step(kind, system) <= limit + 0.25 * words.step(kind, system)


def test_decimals_come_only_where_they_are_needed() -> None:
    assert words.speed_beside(4.0, [4.88], "us") == "9 mph"
    assert words.speed_beside(3.08, [3.1], "metric") == "3.08 m/s"
    assert words.wave_limit(0.27, "us") == "0.9 ft"
    assert words.part(0.6) == "six tenths"
