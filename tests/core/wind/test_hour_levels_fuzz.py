"""Series with holes, wild numbers and damage: no traceback, and nothing below what missing data demand."""

from dataclasses import replace

import numpy as np
import pytest

from briefing.core.hours import FIELDS, HourSeries, field_of
from briefing.core.wind.hour_levels import hour_levels
from briefing.vocabulary import Craft, Level

WILD = (np.nan, 0.0, -1.0, 1e9, -1e9, np.inf, -np.inf, 1e-300, 50.0, 360.0, 361.0, 5.0)
RANGES = {"wind_mps": (0.0, 60.0), "wind_from_deg": (0.0, 360.0)}
THUNDER = ("thunder_pct", "lightning_level", "thunder_words_pct")


@pytest.mark.seeds(4, 60)
def test_wild_series_never_look_better_than_their_gaps(make_morning, seed: int) -> None:
    rng = np.random.default_rng(seed)
    for number in range(20):
        morning = make_morning()
        morning.craft = list(Craft)[number % 4]
        inputs = morning.inputs()
        series = wild_series(rng, morning.values, inputs.hours)
        accepted = inputs.hours if number % 3 == 0 else None
        for hour, level in enumerate(hour_levels(replace(inputs, hours=series, accepted=accepted))):
            assert level.level.rank >= least(series, hour).rank
            for factor in level.factors:
                assert factor.number is None or np.isfinite(factor.number)
                assert factor.text


def wild_series(rng: np.random.Generator, calm: dict[str, float], like: HourSeries) -> HourSeries:
    fields = {}
    for name in FIELDS:
        if rng.random() < 0.2:
            continue
        values = np.full(like.hours, calm.get(name, 10.0))
        for _ in range(rng.integers(0, like.hours)):
            values[rng.integers(like.hours)] = WILD[rng.integers(len(WILD))]
        hurt = rng.random(like.hours) < 0.1
        origin = like["wind_mps"].origins[0]
        fields[name] = field_of(np.where(hurt, np.nan, values), origin, hurt)
    return HourSeries(like.start, like.hours, fields)


def least(series: HourSeries, hour: int) -> Level:
    """The least level that the missing-data rules demand of an hour."""
    for name, (low, high) in RANGES.items():
        if not low <= series.values(name)[hour] <= high:
            return Level.UNKNOWN
    if series["gust_mps"].damaged[hour] or any(series[name].damaged[hour] for name in THUNDER):
        return Level.UNKNOWN
    told = [series.values(name)[hour] for name in (*THUNDER, "cape_jkg", "weather_code")]
    if np.isnan(told).all():
        return Level.UNKNOWN
    return Level.CAUTION if np.isnan(series.values("gust_mps")[hour]) else Level.WITHIN_LIMITS
