"""What a field sign says about each particle, and the weights that follow.

On a visit of effort e (hours) with clarity v the mean number seen is ``rate e v g x``: x is the weighted share of fish
in the stages that make the sign, in the zone visited, g how well this observer sees. Fish lie in patches, so the number
is negative binomial; f is the chance of a mistaken report. A sign without a number says "at least one"; "looked, none"
is its complement. For fish handled the chance is that of one fish, by stage.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, timedelta
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from briefing.core.phase.chain import EARLY
from briefing.core.phase.parameters import SignParameters, SignRate
from briefing.core.phase.shares import STAGES
from briefing.core.readings import Sign
from briefing.vocabulary import SignKind, Zone

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

_CLEAR_SECCHI_M = 2.0
_USUAL_CLARITY = 0.75
_MOST_FISH = 4  # fish of one report that count in full
_MOST_COUNTED = 30
_MIXED_UP = 0.005  # chance that a fish is called what it is not
_FEWEST_SHARE = 0.05  # of the particles that must stay effective


class HasZones(Protocol):
    """A record of zone shares by day: (channels, zones, particles)."""

    zones: dict[int, Singles]


@dataclass(frozen=True)
class Evidence:
    """Weights (sum 1) after the signs, how many were used, which were set aside and why, and what surprised."""

    weights: Floats
    used: int
    visits: int
    refused: tuple[str, ...]
    surprises: tuple[str, ...]

    @property
    def effective(self) -> float:
        """Effective number of particles."""
        return float(1.0 / np.square(self.weights).sum())


def day_of(sign: Sign, longitude_deg: float) -> date:
    """Date of a sign by the sun at the lake: an evening's sign kept in UTC must not fall on the next day."""
    if sign.time.tzinfo is None:
        return sign.time.date()
    return (sign.time.astimezone(UTC) + timedelta(hours=longitude_deg / 15.0)).date()


def clarity_of(secchi_m: float | None) -> float:
    """Share of the nests that can be seen, 0..1; a usual value where nothing is known."""
    return _USUAL_CLARITY if secchi_m is None else float(np.clip(secchi_m / _CLEAR_SECCHI_M, 0.05, 1.0))


def generating_share(cube: Singles, zone: int, weights: Mapping[str, float]) -> Floats:
    """Weighted share of fish in the stages that make a sign; cube (channels, zones, particles) gives (particles,)."""
    share = np.zeros(cube.shape[-1])
    for name, weight in weights.items():
        if name == "prespawn_late":
            part = cube[STAGES.index("prespawn"), zone] - cube[EARLY, zone]
        else:
            part = cube[STAGES.index(name), zone]
        share += weight * part
    return np.clip(share, 0.0, 1.0)


def handled_chance(cube: Singles, zone: int, table: Sequence[float]) -> Floats:
    """Chance that one fish handled shows the sign; females leave the nest after about two days.

    table is over winter, early and late pre-spawn, eggs, larvae and fry, post-spawn, summer, autumn.
    """
    early = cube[EARLY, zone]
    late = cube[STAGES.index("prespawn"), zone] - early
    winter, _, eggs, larvae, fry, post, summer, autumn = (cube[n, zone] for n in range(len(STAGES)))
    parts = (winter, early, late, eggs, larvae + fry, post, summer, autumn)
    return np.asarray(sum(p * part for p, part in zip(table, parts, strict=True)), dtype=float)


def expected_count(rate: SignRate, cube: Singles, zone: int, sight: Singles, hours: float, clarity: float) -> Floats:
    """Mean number of a sign seen on a visit; (particles,)."""
    share = generating_share(cube, zone, rate.weights)
    return np.asarray(rate.rate * max(hours, 0.0) * clarity * sight * share)


def chance_seen(rate: SignRate, mean: Floats, patchiness: float) -> Floats:
    """Chance that a visit sees the sign at all, given its mean count; (particles,)."""
    return np.asarray(1.0 - (1.0 - rate.false_rate) * (1.0 + mean / patchiness) ** -patchiness)


def count_log_chance(rate: SignRate, mean: Floats, count: int, patchiness: float) -> Floats:
    """Log chance of counting exactly ``count`` (> 0): negative binomial, mixed with mistaken reports; (particles,).

    Mistaken beds come in small numbers: theirs halves with each bed more.
    """
    counted = min(count, _MOST_COUNTED)
    constant = math.lgamma(counted + patchiness) - math.lgamma(patchiness) - math.lgamma(counted + 1.0)
    share = np.clip(mean / (mean + patchiness), 1e-9, 1.0 - 1e-9)
    true = np.exp(constant + counted * np.log(share) + patchiness * np.log1p(-share))
    return np.log((1.0 - rate.false_rate) * true + rate.false_rate * 0.5**counted)


def ripe_share(cube: Singles, zone: int, rates: Mapping[SignKind, SignRate]) -> Floats:
    """Share of ripe ones among the females that are either ripe or spent; (particles,).

    The contrast of the two is used, not the chance of each: it does not depend on how eagerly females are looked at.
    """
    ripe = handled_chance(cube, zone, rates[SignKind.RIPE_FEMALES].handled)
    spent = handled_chance(cube, zone, rates[SignKind.SPENT_FEMALES].handled)
    return np.asarray((ripe + _MIXED_UP) / (ripe + spent + 2.0 * _MIXED_UP))


def sign_log_likelihood(
    sign: Sign, parameters: SignParameters, cube: Singles, zone: int, sight: Singles, secchi_m: float | None
) -> Floats:
    """Log chance of the report under each particle; (particles,)."""
    rates = parameters.rates
    rate = rates[sign.kind]
    if rate.handled:
        fish = min(max(sign.count or 1, 1), _MOST_FISH)
        if sign.kind == SignKind.WORN_TAILS:
            return fish * np.log(np.maximum(handled_chance(cube, zone, rate.handled), 1e-3))
        ripe = ripe_share(cube, zone, rates)
        return fish * np.log(ripe if sign.kind == SignKind.RIPE_FEMALES else 1.0 - ripe)
    clarity = clarity_of(sign.secchi_m if sign.secchi_m is not None else secchi_m)
    mean = expected_count(rate, cube, zone, sight, sign.hours_looked, clarity)
    if sign.kind != SignKind.LOOKED_NONE and sign.count is not None and sign.count > 0:
        return count_log_chance(rate, mean, sign.count, parameters.patchiness)
    seen = chance_seen(rate, mean, parameters.patchiness)
    return np.log(np.clip(1.0 - seen if sign.kind == SignKind.LOOKED_NONE else seen, 1e-6, 1.0))


def weigh(
    signs: Sequence[Sign],
    record: HasZones,
    day_index: Mapping[str, int],
    zones: Sequence[Zone],
    sight: Singles,
    parameters: SignParameters,
    secchi_m: float | None,
) -> Evidence:
    """Weights of the particles after the signs, day by day in order.

    Signs of one day are not independent and count with a reduced power; one day's word is capped. A day whose reports
    had little chance beforehand tempers what was believed before it, so that contradiction widens the estimate.
    day_index maps the id of each sign that can be used to its day of the season.
    """
    count = sight.size
    log_weight = np.zeros(count)
    usable = sorted((s for s in signs if s.id in day_index), key=lambda s: (day_index[s.id], s.id))
    surprises: list[str] = []
    days = sorted({day_index[s.id] for s in usable})
    for day in days:
        todays = [s for s in usable if day_index[s.id] == day]
        power = 1.0 if len(todays) == 1 else parameters.same_day_power
        likelihood = np.zeros(count)
        for sign in todays:
            likelihood += power * sign_log_likelihood(
                sign, parameters, record.zones[day], zones.index(sign.zone), sight, secchi_m
            )
        likelihood = np.maximum(likelihood, likelihood.max() - parameters.visit_cap)
        expected = float(normalised(log_weight) @ np.exp(likelihood - likelihood.max()))
        if expected < parameters.surprise_share:
            log_weight *= parameters.surprise_power
            surprises.append(todays[0].id)
        log_weight += likelihood
    weights = normalised(_tempered(log_weight, _FEWEST_SHARE * count))
    refused = tuple(s.id for s in signs if s.id not in day_index)
    return Evidence(weights, len(usable), len(days), refused, tuple(surprises))


def normalised(log_weight: Floats) -> Floats:
    """Weights that sum to 1."""
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def _tempered(log_weight: Floats, fewest: float) -> Floats:
    """Flatten the weights as far as needed to keep ``fewest`` particles effective."""
    power = 1.0
    while power > 0.05 and 1.0 / np.square(normalised(power * log_weight)).sum() < fewest:
        power *= 0.9
    return power * log_weight
