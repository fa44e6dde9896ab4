"""When a number in a gust's place is a gust."""

import pytest

from briefing.core.gusts import GustRule

RULE = GustRule(3.0, 0.25, 1.0, 0.1)


@pytest.mark.parametrize(
    ("gust", "wind", "known"),
    [
        (12.0, 6.0, 12.0),
        (5.0, 6.0, 6.0),  # below its wind: a gust is never less
        (0.0, 6.0, None),  # a gap filled with a zero
        (1.4, 6.0, None),
        (1.6, 6.0, 6.0),
        (0.0, 2.0, None),  # a gust is at least its wind, and rounds to more than a zero
        (0.0, 1.1, None),
        (0.0, 0.9, 0.9),  # beside next to no wind a zero may be meant
        (0.2, 2.0, 2.0),
        (None, 6.0, None),
        (12.0, None, 12.0),
    ],
)
def test_a_measured_gust_is_at_least_its_wind_or_none(gust: float | None, wind: float | None, known: float) -> None:
    assert RULE.measured(gust, wind) == known


def test_beside_the_wind_of_another_source_a_zero_may_be_of_a_calm() -> None:
    assert RULE.not_given([0.0, 0.0], [1.5, 3.1]).tolist() == [False, True]
    assert RULE.impossible([0.0, 0.0, 0.0], [0.9, 1.5, 3.1]).tolist() == [False, True, True]


def test_not_given_is_told_element_by_element_and_never_of_what_is_not_known() -> None:
    nan = float("nan")
    found = RULE.not_given([0.0, -0.0, 1.4, 1.6, 0.0, nan, 0.0, -1.0], [6.0, 6.0, 6.0, 6.0, 2.0, 6.0, nan, 6.0])
    assert found.tolist() == [True, True, True, False, False, False, False, False]
