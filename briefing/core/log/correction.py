"""The wind's bias and spread at one lake, by sector and speed, and what it does to the expected wind and the limits.

Method: nonhomogeneous Gaussian regression, also called ensemble model output statistics (Gneiting, Raftery, Westveld
and Goldman 2005, Mon. Wea. Rev. 133, 1098-1118, https://doi.org/10.1175/MWR2904.1; for wind speed, cut at zero:
Thorarinsdottir and Gneiting 2010, J. R. Stat. Soc. A 173, 371-388, https://doi.org/10.1111/j.1467-985X.2009.00616.x).
The observed wind y given the forecast f from sector s is taken as

    y ~ N0( f + b_s + k (f - f0), sd_c^2 ),

cut at zero. A single forecast has no ensemble spread, so the spread is one number a speed class c. What a season of
mornings gives is little for a regression in each sector, so its terms are shrunk, in closed form:

- b_s toward the lake's overall bias by the observed spread between sectors, b_s = B + (m_s - B) t^2 / (t^2 + v_s)
  (empirical Bayes: Efron and Morris 1975, J. Am. Stat. Assoc. 70, 311-319; t^2 by the method of moments of DerSimonian
  and Laird 1986, Control. Clin. Trials 7, 177-188, joined with a prior), B toward zero;
- k toward zero (ridge), sd toward a usual one (an inverse-gamma prior worth ``spread_weight`` mornings).

The unit is the morning and sector, not the hour: errors of neighbouring hours are not independent. Older mornings lose
weight by half every ``half_life_mornings``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from briefing.core.log.checks import WIND, Check, morning_of
from briefing.core.log.parameters import CorrectionParameters

Floats = NDArray[np.float64]

SECTORS = 8
#: Speed from which the slope counts, m/s: about the middle of fishable winds.
MIDDLE_MPS = 4.5
#: A raise is certain enough for the limits from this probability of a positive bias on.
RAISE_FROM = 0.8
#: Winds below this are judged as this when a raise is turned into a factor (m/s).
LEAST_WIND_MPS = 1.0


@dataclass(frozen=True, slots=True)
class Morning:
    """Mean forecast and error (m/s) of one morning's hours with wind from one sector."""

    day: date
    sector: int
    forecast_mps: float
    error_mps: float
    hours: int


@dataclass(frozen=True, slots=True)
class Expected:
    """What is expected where ``raw_mps`` is forecast: bias (observed less forecast), its sd, and the error's sd."""

    raw_mps: float
    bias_mps: float
    bias_sd_mps: float
    sd_mps: float

    @property
    def mean_mps(self) -> float:
        """Corrected wind, never under zero."""
        return max(0.0, self.raw_mps + self.bias_mps)

    def range80_mps(self) -> tuple[float, float]:
        """Where the wind lies on four mornings of five, cut at zero (quantiles of the truncated normal)."""
        low = self._quantile(0.1)
        return (low, self._quantile(0.9))

    def _quantile(self, share: float) -> float:
        norm = NormalDist()
        mean = self.raw_mps + self.bias_mps
        below = norm.cdf(-mean / self.sd_mps)
        at = min(max(below + share * (1.0 - below), 1e-9), 1.0 - 1e-9)
        return max(0.0, mean + self.sd_mps * norm.inv_cdf(at))


@dataclass(frozen=True)
class WindCorrection:
    """The fitted correction. ``usable`` is false with too few mornings or when it was worse than raw when held back."""

    parameters: CorrectionParameters
    mornings: int
    bias_mps: Floats  # (8,) by sector, from north clockwise
    bias_sd_mps: Floats
    sector_mornings: NDArray[np.int64]
    slope: float
    spread_mps: tuple[float, float]  # light, strong
    usable: bool = False
    held_raw_mps: float = float("nan")  # root mean square errors on the held mornings
    held_corrected_mps: float = float("nan")

    def expected(self, raw_mps: float, from_deg: float) -> Expected:
        """The corrected wind, its bias and spread; without a direction the mean of the sectors."""
        own = self.parameters
        sd = self.spread_mps[int(raw_mps >= own.strong_from_mps)]
        if np.isnan(from_deg):
            bias, bias_sd = float(self.bias_mps.mean()), float(self.bias_sd_mps.max())
        else:
            sector = sector_of(from_deg)
            bias, bias_sd = float(self.bias_mps[sector]), float(self.bias_sd_mps[sector])
        return Expected(raw_mps, bias + self.slope * (raw_mps - MIDDLE_MPS), bias_sd, float(np.hypot(sd, bias_sd)))

    def raise_factor(self, wind_mps: Floats, from_deg: Floats) -> Floats:
        """What the wind is multiplied by for the limits, hour by hour: 1 or more, never less; 1 where not usable.

        Only a bias that is positive with probability 0.8 or more raises anything. NaN hours count as 1.
        """
        out = np.ones(wind_mps.shape)
        if not self.usable:
            return out
        for n in np.flatnonzero(np.isfinite(wind_mps)):
            expected = self.expected(float(wind_mps[n]), float(from_deg[n]))
            if NormalDist().cdf(expected.bias_mps / max(expected.bias_sd_mps, 1e-6)) < RAISE_FROM:
                continue
            base = max(float(wind_mps[n]), LEAST_WIND_MPS)
            out[n] = min(max(1.0, 1.0 + expected.bias_mps / base), self.parameters.most_factor)
        return out


def sector_of(from_deg: float) -> int:
    """Sector 0 to 7 of a direction, 0 about north, clockwise."""
    return int(np.floor((from_deg % 360.0) / 45.0 + 0.5)) % SECTORS


def mornings_of(checks: Sequence[Check]) -> tuple[Morning, ...]:
    """Group wind checks by morning and sector. Of several leads of one observation the shortest counts.

    The order of the checks does not matter.
    """
    shortest: dict[tuple[object, str], Check] = {}
    for check in checks:
        if check.element != WIND or check.from_deg is None:
            continue
        key = (check.time, check.kind)
        if key not in shortest or check.lead_h < shortest[key].lead_h:
            shortest[key] = check
    grouped: dict[tuple[date, int], list[Check]] = {}
    for check in sorted(shortest.values(), key=lambda one: (one.time, one.kind)):
        grouped.setdefault((morning_of(check.time), sector_of(check.from_deg or 0.0)), []).append(check)
    return tuple(
        Morning(
            day,
            sector,
            sum(check.forecast for check in rows) / len(rows),
            sum(check.error for check in rows) / len(rows),
            len(rows),
        )
        for (day, sector), rows in sorted(grouped.items())
    )


def fit_correction(mornings: Sequence[Morning], parameters: CorrectionParameters) -> WindCorrection:
    """Fit bias and spread, then hold each block of mornings back to see whether correcting it would have helped."""
    fitted = _fit(mornings, parameters)
    if fitted.mornings < parameters.least_mornings:
        return fitted
    raw, corrected = _held_errors(mornings, parameters)
    return replace(
        fitted, usable=corrected <= parameters.held_most * raw, held_raw_mps=raw, held_corrected_mps=corrected
    )


def _held_errors(mornings: Sequence[Morning], parameters: CorrectionParameters) -> tuple[float, float]:
    """Root mean square errors, raw and corrected, each block of neighbouring mornings predicted from all others."""
    days = sorted({morning.day for morning in mornings})
    raw: list[float] = []
    corrected: list[float] = []
    for block in np.array_split(np.array(days, dtype=object), parameters.held_blocks):
        if not block.size:
            continue
        held = [one for one in mornings if block[0] <= one.day <= block[-1]]
        rest = _fit([one for one in mornings if not block[0] <= one.day <= block[-1]], parameters)
        for one in held:
            expected = rest.expected(one.forecast_mps, 45.0 * one.sector)
            raw.append(one.error_mps)
            corrected.append(one.forecast_mps + one.error_mps - expected.mean_mps)
    return _rms(raw), _rms(corrected)


def _rms(values: Sequence[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values)))) if len(values) else float("nan")


def _fit(mornings: Sequence[Morning], own: CorrectionParameters) -> WindCorrection:
    days = sorted({morning.day for morning in mornings})
    none = np.zeros(SECTORS)
    prior_sd = float(np.hypot(own.overall_sd_mps, own.sector_sd_mps))
    if not days:
        spread = (own.spread_mps, own.spread_mps)
        count = np.zeros(SECTORS, np.int64)
        return WindCorrection(own, 0, none, np.full(SECTORS, prior_sd), count, 0.0, spread)
    place = {day: number for number, day in enumerate(days)}
    age = np.array([len(days) - 1 - place[one.day] for one in mornings], float)
    weight = 0.5 ** (age / own.half_life_mornings)
    sector = np.array([one.sector for one in mornings])
    speed = np.array([one.forecast_mps for one in mornings]) - MIDDLE_MPS
    error = np.array([one.error_mps for one in mornings])
    total = np.asarray(np.bincount(sector, weight, SECTORS), float)
    slope, residual = _slope(sector, speed, error, weight, total, own)
    variance = _variance(residual, weight, own)
    means = np.divide(np.bincount(sector, weight * (error - slope * speed), SECTORS), np.maximum(total, 1e-12))
    bias, bias_sd = _shrunk(means, variance, total, own)
    strong = np.array([one.forecast_mps for one in mornings]) >= own.strong_from_mps
    pooled = replace(own, spread_mps=float(np.sqrt(variance)))
    light_sd, strong_sd = (float(np.sqrt(_variance(residual[s], weight[s], pooled))) for s in (~strong, strong))
    counts = np.bincount(sector, minlength=SECTORS).astype(np.int64)
    return WindCorrection(own, len(days), bias, bias_sd, counts, slope, (light_sd, strong_sd))


def _slope(
    sector: NDArray[np.int64], speed: Floats, error: Floats, weight: Floats, total: Floats, own: CorrectionParameters
) -> tuple[float, Floats]:
    """Ridge slope of the error on the speed within sectors, and what is left of the errors about their sector."""

    def centred(values: Floats) -> Floats:
        mean = np.bincount(sector, weight * values, SECTORS) / np.maximum(total, 1e-12)
        return np.asarray(values - mean[sector], float)

    x, y = centred(speed), centred(error)
    penalty = own.spread_mps**2 / own.slope_sd**2
    slope = float((weight * x * y).sum() / ((weight * x * x).sum() + penalty))
    return slope, y - slope * x


def _variance(residual: Floats, weight: Floats, own: CorrectionParameters) -> float:
    """Variance of errors about their sector's mean, joined with the usual one; a sector's mean costs one morning."""
    known = float((weight * residual**2).sum())
    count = float(weight.sum())
    return (own.spread_weight * own.spread_mps**2 + known) / (own.spread_weight + 0.85 * count)


def _shrunk(means: Floats, variance: float, total: Floats, own: CorrectionParameters) -> tuple[Floats, Floats]:
    """Sector biases shrunk toward the overall one and that toward zero, with their standard deviations."""
    known = total > 0.0
    own_variance = variance / np.maximum(total, 1e-12)
    precision = np.where(known, 1.0 / own_variance, 0.0)
    centre = float((precision * means).sum() / precision.sum())
    count = int(known.sum())
    between = own.sector_sd_mps**2
    if count > 1:
        spread = float((precision * (means - centre) ** 2).sum()) - (count - 1)
        scale = float(precision.sum() - (precision**2).sum() / precision.sum())
        moment = max(0.0, spread / scale)
        between = (own.sector_weight * between + (count - 1) * moment) / (own.sector_weight + count - 1)
    inner = np.where(known, 1.0 / (between + own_variance), 0.0)
    overall_variance = 1.0 / (inner.sum() + own.overall_sd_mps**-2.0)
    overall = float((inner * means).sum() * overall_variance)
    share = np.where(known, between / (between + own_variance), 0.0)
    bias = overall + share * (means - overall)
    sd = np.sqrt(np.where(known, share * own_variance, between) + (1.0 - share) ** 2 * overall_variance)
    return bias, sd
