"""Bias and spread of the wind at a lake, and what is made of them."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from briefing.core.log.checks import Check
from briefing.core.log.correction import Morning, WindCorrection, fit_correction, mornings_of, sector_of
from briefing.core.log.parameters import LogParameters

DAY = date(2026, 3, 1)


def mornings(
    count: int, bias: float, *, sector: int = 5, sd: float = 1.3, seed: int = 1, slope: float = 0.0
) -> list[Morning]:
    """Every second morning from one sector with a bias, the others from anywhere without."""
    rng = np.random.default_rng(seed)
    out = []
    for n in range(count):
        here = sector if n % 2 == 0 else int(rng.integers(8))
        forecast = float(rng.uniform(2.0, 8.0))
        error = (bias if here == sector else 0.0) + slope * (forecast - 4.5) + float(rng.normal(0.0, sd))
        out.append(Morning(DAY + timedelta(days=n), here, forecast, error, 5))
    return out


def test_a_sectors_bias_is_found_and_shrunk(parameters: LogParameters) -> None:
    fitted = fit_correction(mornings(60, 1.34, seed=2), parameters.correction)
    assert fitted.usable
    assert 0.8 < fitted.bias_mps[5] < 1.5
    assert fitted.bias_mps[5] > 0.3 + float(np.delete(fitted.bias_mps, 5).mean())
    assert fitted.held_corrected_mps < fitted.held_raw_mps


def test_few_mornings_correct_nothing(parameters: LogParameters) -> None:
    few = fit_correction(mornings(parameters.correction.least_mornings - 1, 4.0), parameters.correction)
    assert not few.usable
    assert few.raise_factor(np.array([5.0]), np.array([225.0])).tolist() == [1.0]
    none = fit_correction([], parameters.correction)
    assert none.expected(5.0, 225.0).mean_mps == 5.0


def test_one_morning_is_believed_little(parameters: LogParameters) -> None:
    fitted = fit_correction([Morning(DAY, 5, 4.5, 3.0, 5)], parameters.correction)
    assert 0.0 < fitted.bias_mps[5] < 1.2


def test_a_sector_never_seen_takes_the_lakes_bias(parameters: LogParameters) -> None:
    rows = [one for one in mornings(80, 1.0) if one.sector != 2]
    rows = [Morning(one.day, one.sector, one.forecast_mps, one.error_mps + 1.0, 5) for one in rows]
    fitted = fit_correction(rows, parameters.correction)
    assert fitted.bias_mps[2] == pytest.approx(1.1, abs=0.5)
    assert fitted.bias_sd_mps[2] > fitted.bias_sd_mps[5]


def test_a_bias_that_grows_with_the_speed_is_followed_in_part(parameters: LogParameters) -> None:
    fitted = fit_correction(mornings(150, 0.0, slope=0.2, sd=0.8), parameters.correction)
    assert 0.08 < fitted.slope < 0.22


def test_the_limits_are_only_ever_raised(parameters: LogParameters) -> None:
    wind, direction = np.array([0.0, 1.0, 5.0, 9.0, np.nan]), np.array([225.0, 225.0, 225.0, 225.0, 225.0])
    too_high = fit_correction(mornings(60, -2.0), parameters.correction)
    assert too_high.usable
    assert too_high.raise_factor(wind, direction).tolist() == [1.0] * 5
    assert too_high.expected(5.0, 225.0).mean_mps < 4.0
    too_low = fit_correction(mornings(60, 2.0), parameters.correction)
    factor = too_low.raise_factor(wind, direction)
    assert np.all(factor >= 1.0)
    assert factor[4] == 1.0
    assert np.all(factor <= parameters.correction.most_factor)
    assert 1.2 < factor[2] < 1.5
    assert too_low.raise_factor(np.array([5.0]), np.array([np.nan]))[0] >= 1.0


def test_a_correction_that_did_not_help_is_not_used(parameters: LogParameters) -> None:
    rng = np.random.default_rng(5)
    noise = [Morning(DAY + timedelta(days=n), n % 8, 5.0, float(rng.normal(0, 1.3)), 5) for n in range(60)]
    fitted = fit_correction(noise, parameters.correction)
    assert not fitted.usable
    assert fitted.held_corrected_mps > parameters.correction.held_most * fitted.held_raw_mps


def test_the_range_is_that_of_a_normal_cut_at_zero(parameters: LogParameters) -> None:
    fitted = fit_correction(mornings(60, 0.0), parameters.correction)
    draws = np.random.default_rng(2)
    for raw in (0.3, 2.0, 8.0):
        expected = fitted.expected(raw, 225.0)
        sample = draws.normal(raw + expected.bias_mps, expected.sd_mps, 400_000)
        sample = sample[sample >= 0.0]
        low, high = expected.range80_mps()
        assert (low, high) == pytest.approx(tuple(np.quantile(sample, [0.1, 0.9])), abs=0.03)


def test_the_stated_range_holds_four_in_five(parameters: LogParameters) -> None:
    held, seen = 0, 0
    for seed in range(20):
        fitted = fit_correction(mornings(60, 1.0, seed=seed), parameters.correction)
        for one in mornings(100, 1.0, seed=1000 + seed):
            low, high = fitted.expected(one.forecast_mps, 45.0 * one.sector).range80_mps()
            observed = one.forecast_mps + one.error_mps
            if observed >= 0.0:
                held, seen = held + (low <= observed <= high), seen + 1
    assert 0.75 < held / seen < 0.88


def test_hours_of_one_morning_are_one_voice() -> None:
    start = datetime(2026, 5, 2, 10, tzinfo=UTC)
    checks = [
        Check("wind_mps", start + timedelta(hours=n), lead, age, 4.0, 6.0 + n, "station", "x", from_deg=225.0)
        for n in range(3)
        for lead, age in (("at launch", 3.0), ("day before", 24.0))
    ]
    checks += [Check("gust_mps", start, "at launch", 3.0, 4.0, 9.0, "station", "x", from_deg=225.0)]
    checks += [Check("wind_mps", start, "at launch", 3.0, 4.0, 9.0, "station", "x")]
    (only,) = mornings_of(checks)
    assert (only.sector, only.hours, only.error_mps) == (5, 3, 3.0)


def test_sectors() -> None:
    assert [sector_of(deg) for deg in (0, 22, 23, 225, 338, 359.9, 360)] == [0, 0, 1, 5, 0, 0, 0]


def test_without_a_direction_the_mean_of_all_is_used(parameters: LogParameters) -> None:
    fitted: WindCorrection = fit_correction(mornings(60, 2.0), parameters.correction)
    assert fitted.expected(4.5, float("nan")).bias_mps == pytest.approx(float(fitted.bias_mps.mean()))
