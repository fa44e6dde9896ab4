"""When a number in a gust's place is a gust."""

import pytest

from briefing.core.gusts import GustRule

RULE = GustRule(3.0, 0.25)


@pytest.mark.parametrize(
    ("gust", "wind", "known"),
    [
        (12.0, 6.0, 12.0),
        (5.0, 6.0, 6.0),  # below its wind: a gust is never less
        (0.0, 6.0, None),  # a gap filled with a zero
        (1.4, 6.0, None),
        (1.6, 6.0, 6.0),
        (0.0, 2.0, 2.0),  # beside a light wind a zero may be meant
        (None, 6.0, None),
        (12.0, None, 12.0),
    ],
)
def test_a_measured_gust_is_at_least_its_wind_or_none(gust: float | None, wind: float | None, known: float) -> None:
    assert RULE.measured(gust, wind) == known


def test_not_given_is_told_element_by_element_and_never_of_what_is_not_known() -> None:
    nan = float("nan")
    found = RULE.not_given([0.0, -0.0, 1.4, 1.6, 0.0, nan, 0.0, -1.0], [6.0, 6.0, 6.0, 6.0, 2.0, 6.0, nan, 6.0])
    assert found.tolist() == [True, True, True, False, False, False, False, False]
