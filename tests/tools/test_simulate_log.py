"""Seeded slices of the simulations: what the log finds and invents, and what the wind's correction gains."""

from dataclasses import replace

import numpy as np
import pytest

from briefing.knowledge import load_log_parameters
from briefing.tools.simulate_log import ANGLERS, BOX, World, ceiling, gain, score, season, stated, variants, wind_season

pytestmark = pytest.mark.long

PARAMETERS = load_log_parameters()


@pytest.mark.parametrize("angler", ["follows", "tries"])
def test_a_doubled_lure_is_found_within_forty_outings_and_little_invented(angler: str, whole: bool) -> None:
    got = score(range(40 if whole else 5), PARAMETERS, angler=angler)
    assert got.found >= 0.8
    assert got.invented <= 0.1
    assert got.wrong <= 0.05


def test_who_divides_evenly_finds_about_as_much_as_can_be_found(whole: bool) -> None:
    seasons = 300 if whole else 20
    got = score(range(seasons), PARAMETERS, angler="divides")
    # Of few seasons chance makes a little more or less: two standard errors of the share are allowed.
    chance = 0.0 if whole else 2.0 * (0.1 * 0.9 / seasons) ** 0.5
    assert got.found >= ceiling(0.07) - 0.05 - chance
    assert got.invented <= 0.1 + chance


@pytest.mark.parametrize(("certain", "too_little", "too_much"), [(0.3, False, True), (0.99, True, False)])
def test_a_careless_and_a_timid_rule_fail_these_bars(
    certain: float, too_little: bool, too_much: bool, whole: bool
) -> None:
    learning = replace(PARAMETERS.learning, certain_better=certain)
    got = score(range(60 if whole else 12), replace(PARAMETERS, learning=learning), angler="divides")
    assert (got.found < 0.7, got.invented > 0.1) == (too_little, too_much)


def test_the_ceiling_of_an_even_season() -> None:
    """Three sigma and four chances: about four fifths at a tenth, less for more presentations and less license."""
    assert ceiling(0.10) == pytest.approx(0.80, abs=0.02)
    assert ceiling(0.10, 3) > ceiling(0.10) > ceiling(0.10, 6)
    assert ceiling(0.07) < ceiling(0.10)
    assert ceiling(0.10, world=World(base_per_h=3.0)) > 0.99
    assert ceiling(0.10, world=World(factor=1.0)) == pytest.approx(0.025, abs=0.01)


def test_every_variant_runs() -> None:
    for world, more in variants().values():
        for angler in ANGLERS:
            assert score(range(1), PARAMETERS, angler=angler, world=world, **{**more, "outings": 5}).invented == 0.0


def test_what_a_season_says_is_what_its_log_says() -> None:
    true = season(3, PARAMETERS, doubled=BOX[3], angler="divides")
    assert set(stated(true.learned).items()) <= true.ever
    assert true.fish == sum(len(one.fish) for one in true.segments)


def test_advice_that_learns_catches_more_than_the_trade_alone(whole: bool) -> None:
    assert gain(range(12 if whole else 4), PARAMETERS) > 1.03


def test_under_noise_the_log_costs_next_to_nothing(whole: bool) -> None:
    assert gain(range(12 if whole else 4), PARAMETERS, doubled=False) > 0.95


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
