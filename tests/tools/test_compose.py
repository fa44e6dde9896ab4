"""Composed mornings agree with themselves."""

import pytest

from tests.scenarios import SCENARIOS, inputs_of


@pytest.mark.parametrize("name", [name for name, one in SCENARIOS.items() if one.weather.wind_now])
def test_the_airfield_has_the_direction_of_its_hour(name: str) -> None:
    gathered = inputs_of(SCENARIOS[name]).gathered
    (wind,) = gathered.wind_now
    at = gathered.hours.index_of(wind.time)
    assert wind.wind_from_deg == pytest.approx(float(gathered.hours.values("wind_from_deg")[at]))
