"""A slice of the simulation: coverage, width outside the prior, what one report and one season of signs teach.

The whole of it is ``python -m briefing.tools.simulate_phase``.
"""

import numpy as np
import pytest

from briefing.tools.simulate_phase import (
    SITES,
    estimate,
    load,
    make_world,
    one_report,
    scores,
    season_of_signs,
    simulate,
)

pytestmark = pytest.mark.long


def test_intervals_cover_and_widen_outside_the_prior(whole):
    seasons, particles = (60, 150) if whole else (6, 80)
    inside = scores(simulate(seasons, particles, 12))["all"]
    outside = scores(simulate(seasons, particles, 12, outside=True))["all"]
    # Few seasons of three events each: the binomial band of 80 % is wide, the whole run is judged at 78-82 %.
    assert 0.70 <= inside["cover80"] <= 0.90
    assert outside["cover80"] >= 0.60
    unsigned = scores(simulate(seasons // 2, particles, 0))["all"]
    assert inside["width_days"] < 0.85 * unsigned["width_days"]
    assert inside["mean_abs_days"] < unsigned["mean_abs_days"]


@pytest.fixture(scope="module")
def world():
    parameters, table = load()
    return make_world(SITES[1], parameters, table, 200, 77, outside=False), parameters


def test_one_clear_report_of_beds_moves_the_median_by_three_to_six_days(world):
    world, parameters = world
    moves = one_report(world, parameters, 8, 1000)
    assert len(moves) >= 4
    assert 3.0 <= float(np.median(moves)) <= 6.0


@pytest.mark.parametrize("counted", [True, False])
def test_one_season_of_twelve_signs_fixes_the_lakes_offset(world, counted):
    world, parameters = world
    spreads, errors = [], []
    for truth in range(6):
        signs, today = season_of_signs(world, truth, parameters.signs.rates, counted=counted)
        result = estimate(world, truth, parameters, signs, today, 1000, 3)
        spreads.append(result.offset_sd_c)
        errors.append(result.offset_mean_c - float(world.particles.offset_c[truth]))
        assert result.learned.seasons[0].visits == 12
    assert np.mean(spreads) <= 0.9
    assert np.sqrt(np.mean(np.square(errors))) < 1.5
