"""Yearly curves from monthly averages."""

import numpy as np
import pytest

from briefing.core.climate.harmonics import MONTH_DAYS, day_basis, fit_months, month_means, slope_basis


@pytest.mark.parametrize("terms", [3, 5, 7, 9, 11])
def test_a_curve_of_harmonics_comes_back_from_its_monthly_averages(terms):
    coefficients = np.random.default_rng(4).normal(0.0, 5.0, terms)
    months = month_means(day_basis(terms) @ coefficients)
    assert fit_months(months, terms) == pytest.approx(coefficients, abs=1e-9)


def test_the_peak_is_not_flattened_as_by_values_pinned_at_mid_month():
    curve = day_basis(3) @ np.array([10.0, -15.0, 0.0])
    months = month_means(curve)
    assert months.max() < curve.max() - 0.1
    assert (day_basis(3) @ fit_months(months, 3)).max() == pytest.approx(curve.max())


def test_slope_is_the_rise_per_day():
    coefficients = np.array([3.0, -12.0, 4.0, 1.0, -2.0])
    curve = day_basis(5) @ coefficients
    assert (slope_basis(5) @ coefficients)[1:-1] == pytest.approx((curve[2:] - curve[:-2]) / 2.0, abs=2e-3)


def test_months_of_many_places_are_fitted_at_once_and_make_366_days():
    assert sum(MONTH_DAYS) == 366
    assert fit_months(np.ones((4, 2, 12)), 5) == pytest.approx(np.tile([1.0, 0.0, 0.0, 0.0, 0.0], (4, 2, 1)))
