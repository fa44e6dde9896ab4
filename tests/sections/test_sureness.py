"""How sure: the same numbers get the same words."""

import pytest

from briefing.sections.sureness import season_sureness, water_sureness, wind_sureness


@pytest.mark.parametrize("half", [0.76, 0.8, 0.84])
def test_a_range_that_prints_alike_is_as_sure(half: float) -> None:
    assert water_sureness(half, 1.0, "61 to 64 F").sure == "fair"


def test_the_season_says_how_far_off_the_shares_may_be() -> None:
    assert "off by 2 in 10 fish either way" in season_sureness(0.43, "").because
    assert season_sureness(0.0, "").sure == "fair"
    assert season_sureness(0.05, "").sure == "high"


def test_a_wind_measured_from_elsewhere_is_less_sure() -> None:
    assert wind_sureness(2.0, 0, 6, "", "whitecaps").sure == "fair"
    assert wind_sureness(2.0, 0, 6, "", "whitecaps", doubted=True).sure == "low"
