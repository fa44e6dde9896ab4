"""Measures inside fixed sentences."""

import pytest

from briefing.core.advice.measures import localised


@pytest.mark.parametrize(
    ("text", "us", "metric"),
    [
        ("Fish from {m:8} or deeper", "Fish from 26 ft or deeper", "Fish from 8 m or deeper"),
        ("Lift {cm:10-30} until", "Lift 4 to 12 in until", "Lift 10 to 30 cm until"),
        ("Water at {c:27} or more", "Water at 81 F or more", "Water at 27 C or more"),
        ("over {mps:4} for an hour", "over 9 mph for an hour", "over 4 m/s for an hour"),
        ("Nothing to turn", "Nothing to turn", "Nothing to turn"),
    ],
)
def test_one_system_at_a_time(text: str, us: str, metric: str) -> None:
    assert localised(text, "us") == us
    assert localised(text, "metric") == metric
