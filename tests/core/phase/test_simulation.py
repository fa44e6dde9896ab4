"""A slice of the simulation: coverage, width outside the prior, what one report and one season of signs teach.

The whole of it is ``python -m briefing.tools.simulate_phase``.
"""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from briefing.core.phase.dates import moments, weighted_quantiles
from briefing.core.phase.signs import generating_share
from briefing.core.readings import Sign
from briefing.tools.simulate_phase import SITES, estimate, load, make_world, scores, simulate
from briefing.vocabulary import SignKind, Zone

LOOKED, BEDS = SignKind.LOOKED_NONE, SignKind.BEDS_WITH_FISH
RIPE, SPENT = SignKind.RIPE_FEMALES, SignKind.SPENT_FEMALES


def test_intervals_cover_and_widen_outside_the_prior():
    inside = scores(simulate(60, 200, 12))["all"]
    outside = scores(simulate(60, 200, 12, outside=True))["all"]
    # 60 seasons of three events each: the binomial band of 80 % is wide, the whole run is judged at 78-82 %.
    assert 0.70 <= inside["cover80"] <= 0.90
    assert outside["cover80"] >= 0.60
    unsigned = scores(simulate(30, 200, 0))["all"]
    assert inside["width_days"] < 0.85 * unsigned["width_days"]
    assert inside["mean_abs_days"] < unsigned["mean_abs_days"]


@pytest.fixture(scope="module")
def world():
    parameters, table = load()
    return make_world(SITES[1], parameters, table, 200, 77, outside=False), parameters


def ordinary(world):
    """The truth nearest to the middle of the prior."""
    middle = world.events["nest_middle"]
    far = np.abs(middle - np.nanmedian(middle)) + 3.0 * np.abs(world.particles.offset_c)
    return int(np.argmin(np.nan_to_num(far, nan=99.0)))


def seen(world, day, kind, zone=Zone.MAIN, count=None, number=0):
    noon = datetime.combine(world.season.start + timedelta(days=int(day)), datetime.min.time(), UTC) + timedelta(
        hours=12
    )
    return Sign(f"s{number:02d}", noon, kind, zone, 1.0, count)


def test_one_clear_report_of_beds_moves_the_median_by_three_to_six_days(world):
    world, parameters = world
    truth = ordinary(world)
    day = round(float(np.nanmedian(world.events["nest_start"])))
    before = estimate(world, truth, parameters, (), day, 1000, 3).timing
    after = estimate(world, truth, parameters, (seen(world, day, BEDS),), day, 1000, 3).timing
    assert moments(before.days["nest_middle"], before.weights)[1] == pytest.approx(8.0, abs=1.0)
    medians = [weighted_quantiles(t.days["nest_middle"], t.weights, (0.5,))[0] for t in (before, after)]
    assert 3.0 <= medians[0] - medians[1] <= 6.0


def season_of_signs(world, truth, rates):
    """Four hours in vain, four times beds with fish and their number, four females, as that season would show them."""
    start, middle = (world.events[name][truth] for name in ("nest_start", "nest_middle"))
    plan = [
        *((start - back, LOOKED) for back in (12, 9, 6, 3)),
        *((day, BEDS) for day in (start + 3, start + 7, middle - 3, middle + 3)),
        *((middle - 6, RIPE), (middle - 1, RIPE), (middle + 4, SPENT), (middle + 8, SPENT)),
    ]
    signs = []
    for number, (day, kind) in enumerate(plan):
        zone = number % 2
        count = None
        if kind == BEDS:
            cube = world.record.zones[int(day)][:, :, truth : truth + 1]
            count = max(1, round(15.0 * float(generating_share(cube, zone, rates[BEDS].weights)[0])))
        signs.append(seen(world, day, kind, (Zone.MAIN, Zone.POCKET)[zone], count, number))
    return tuple(signs), int(middle + 9)


def test_one_season_of_twelve_signs_fixes_the_lakes_offset(world):
    world, parameters = world
    truth = ordinary(world)
    signs, today = season_of_signs(world, truth, parameters.signs.rates)
    result = estimate(world, truth, parameters, signs, today, 1000, 3)
    assert result.offset_sd_c <= 0.9
    assert abs(result.offset_mean_c - float(world.particles.offset_c[truth])) < 2.0
    assert result.learned.seasons[0].visits == 12
