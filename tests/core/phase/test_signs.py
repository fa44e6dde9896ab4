"""What signs teach: direction and size, contradiction, the lake's own offset."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from season_helpers import PARAMETERS, SPRING, middle, run, season_day, sign

from briefing.core.phase import LearnedSeason, PhaseLearned
from briefing.core.phase.dates import moments, weighted_quantiles
from briefing.core.phase.signs import (
    chance_seen,
    clarity_of,
    count_log_chance,
    day_of,
    expected_count,
    generating_share,
    normalised,
    ripe_share,
)
from briefing.vocabulary import SignKind, Zone

RATES = PARAMETERS.signs.rates


def cube(**shares):
    """Shares of one zone and one particle."""
    from briefing.core.phase.shares import STAGES

    out = np.zeros((9, 1, 1), np.float32)
    for name, value in shares.items():
        out[8 if name == "early" else STAGES.index(name)] = value
    return out


def start_of_nests():
    days = run(SPRING).timing.days["nest_start"]
    return season_day(SPRING, float(np.median(days)))


def test_beds_with_fish_early_mean_an_earlier_season_and_a_vain_search_a_later_one():
    day = start_of_nests()
    plain = run(day)
    assert middle(run(day, sign(day))) < middle(plain) - 1.0
    late = day + timedelta(days=12)
    assert middle(run(late, sign(late, SignKind.LOOKED_NONE))) > middle(run(late)) + 1.0


@pytest.mark.parametrize("kind", [SignKind.FRY_CLOUDS, SignKind.JUVENILE_SCHOOLS, SignKind.SPENT_FEMALES])
def test_signs_of_the_end_move_the_season_earlier(kind):
    day = start_of_nests() + timedelta(days=14)
    assert middle(run(day, sign(day, kind))) < middle(run(day)) - 0.5


def test_ripe_females_late_move_it_later():
    day = start_of_nests() + timedelta(days=20)
    assert middle(run(day, sign(day, SignKind.RIPE_FEMALES, count=3))) > middle(run(day)) + 0.5


def test_a_sign_in_one_zone_spreads_to_the_others():
    day = start_of_nests()
    plain, told = run(day), run(day, sign(day, zone=Zone.POCKET))
    spawned = [r.shares.fractions[:, r.shares.today_index, 2:].sum(axis=1).mean(axis=0) for r in (plain, told)]
    assert (spawned[1] > spawned[0]).all()


def test_a_contradicting_sign_widens_and_never_breaks():
    day = start_of_nests()
    agreeing = [sign(day + timedelta(days=n), SignKind.LOOKED_NONE, number=n) for n in (1, 4, 7, 10)]
    later = day + timedelta(days=10)
    contrary = sign(later - timedelta(days=2), SignKind.SPENT_FEMALES, number=99, count=4)
    one, both = run(later, *agreeing), run(later, *agreeing, contrary)
    spread = [moments(r.timing.days["nest_middle"], r.timing.weights)[1] for r in (one, both)]
    assert spread[1] > spread[0]
    assert both.effective_particles >= 14.0
    assert np.isfinite(both.shares.fractions).all()


def test_murky_water_and_a_short_look_say_less():
    day = start_of_nests() + timedelta(days=12)
    moves = [
        middle(run(day, sign(day, SignKind.LOOKED_NONE, hours_looked=hours, secchi_m=secchi))) - middle(run(day))
        for hours, secchi in ((2.0, 2.5), (0.3, 0.3))
    ]
    assert moves[0] > moves[1] + 0.5


def test_the_lake_offset_is_learned_and_carried_to_next_year_only():
    day = start_of_nests() + timedelta(days=16)
    looks = [sign(day - timedelta(days=n), SignKind.LOOKED_NONE, number=n) for n in (0, 4, 8)]
    told = run(day, *looks)
    (entry,) = told.learned.seasons
    assert entry.season == 2026
    assert entry.visits == 3
    assert entry.offset_mean_c > 0.2
    again = run(day, *looks, learned=told.learned)
    assert again.offset_mean_c == pytest.approx(told.offset_mean_c)
    next_year = SPRING.replace(year=2027)
    plain, taught = run(next_year), run(next_year, learned=told.learned)
    assert middle(taught) > middle(plain) + 0.5
    assert taught.offset_sd_c < plain.offset_sd_c


def test_learned_seasons_replace_their_own_year():
    first = PhaseLearned().with_season(LearnedSeason(2025, 0.5, 0.8, 6)).with_season(LearnedSeason(2026, 0.7, 0.7, 4))
    second = first.with_season(LearnedSeason(2025, 0.1, 0.9, 2))
    assert [one.season for one in second.seasons] == [2025, 2026]
    assert second.before(2026).offset_mean_c == 0.1
    assert second.before(2025) is None


def test_chances_follow_shares():
    rate = RATES[SignKind.BEDS_WITH_FISH]
    sight = np.ones(1, np.float32)
    none, few, many = (expected_count(rate, cube(nest_eggs=x), 0, sight, 1.0, 1.0) for x in (0.0, 0.05, 0.5))
    chances = [float(chance_seen(rate, mean, 4.0)[0]) for mean in (none, few, many)]
    assert chances[0] == pytest.approx(rate.false_rate)
    assert chances[0] < chances[1] < chances[2] < 1.0
    assert generating_share(cube(prespawn=0.6, early=0.4), 0, {"prespawn_late": 1.0})[0] == pytest.approx(0.2)


def test_counts_are_a_distribution():
    rate = RATES[SignKind.BEDS_WITH_FISH]
    mean = np.array([3.0])
    total = sum(np.exp(count_log_chance(rate, mean, n, 4.0)[0]) for n in range(1, 30))
    assert total == pytest.approx(float(chance_seen(rate, mean, 4.0)[0]), abs=2e-3)


def test_ripe_against_spent():
    assert ripe_share(cube(prespawn=1.0), 0, RATES)[0] > 0.9
    assert ripe_share(cube(postspawn=1.0), 0, RATES)[0] < 0.1


def test_an_evening_sign_kept_in_utc_belongs_to_its_own_day():
    evening = datetime(2026, 4, 21, 0, 30, tzinfo=UTC)  # 20 April, 19:30 at the lake
    assert day_of(replace(sign(SPRING), time=evening), -86.5) == SPRING
    assert day_of(replace(sign(SPRING), time=datetime(2026, 4, 20, 23, 0)), -86.5) == SPRING  # noqa: DTZ001 as written


def test_clarity_and_weights():
    assert clarity_of(4.0) == 1.0
    assert clarity_of(0.0) > 0.0
    assert normalised(np.array([0.0, -1000.0])).sum() == pytest.approx(1.0)
    assert weighted_quantiles(np.array([3.0, 1.0, 2.0]), np.ones(3) / 3, (0.5,))[0] == pytest.approx(2.0)


def test_an_observation_is_proposed_with_its_gain():
    text = run(start_of_nests()).shares.best_observation
    assert text[0].isupper()
    assert "days" in text


def test_a_sign_without_hours_counts_as_nothing_seen_in_vain():
    day = start_of_nests()
    moved = run(day, replace(sign(day, SignKind.LOOKED_NONE), hours_looked=0.0))
    assert middle(moved) == pytest.approx(middle(run(day)), abs=1e-9)
