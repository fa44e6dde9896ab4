"""Seeded slices of the simulations: what the log finds and invents, and what the wind's correction gains."""

import numpy as np

from briefing.knowledge import load_log_parameters
from briefing.tools.simulate_log import BOX, found, gain, invented, season, wind_season

PARAMETERS = load_log_parameters()


def test_a_doubled_lure_is_found_within_forty_outings_by_those_who_follow_the_advice() -> None:
    assert found(range(40), PARAMETERS) >= 0.8


def test_little_is_invented_under_noise() -> None:
    assert invented(range(1000, 1040), PARAMETERS) <= 0.1
    assert invented(range(2000, 2040), PARAMETERS, follows=False) <= 0.1


def test_advice_that_learns_catches_more_than_the_trade_alone() -> None:
    assert gain(range(12), PARAMETERS) > 1.03


def test_under_noise_the_log_costs_next_to_nothing() -> None:
    assert gain(range(12), PARAMETERS, doubled=False) > 0.95


def test_the_same_seed_gives_the_same_season() -> None:
    first, second = (season(7, PARAMETERS, doubled=BOX[0], outings=8) for _ in range(2))
    assert first.segments == second.segments
    assert first.learned.mean.tobytes() == second.learned.mean.tobytes()


def test_a_sectors_bias_is_taken_out_of_the_wind() -> None:
    """Three lakes, 60 mornings, 3 mph in one sector under noise of 3 mph: at least a fifth less error there."""
    seasons = [wind_season(seed, PARAMETERS, bias_mph=3.0) for seed in range(12)]
    shares = [one.sector_mps / one.sector_raw_mps for one in seasons]
    assert float(np.mean(shares)) < 0.8
    assert max(one.said_mps / one.raw_mps for one in seasons) < 1.0


def test_without_a_bias_the_correction_stays_out_of_the_way() -> None:
    seasons = [wind_season(seed, PARAMETERS, bias_mph=0.0) for seed in range(100, 120)]
    assert max(one.said_mps / one.raw_mps for one in seasons) < 1.05
