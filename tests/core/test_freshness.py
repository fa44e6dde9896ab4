"""Ages and limits from their tables."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import pytest

from briefing.core.freshness import StaleTable, is_stale
from briefing.core.plausible import Plausible
from briefing.resources import read_toml

NOW = datetime(2026, 5, 1, 12, tzinfo=UTC)
TABLE = StaleTable.from_mapping(read_toml("stale.toml"))
LIMITS = Plausible.from_mapping(read_toml("plausible.toml"))

AGES = {
    "alerts": 20, "alerts_typed": 60, "thunder_heard": 60, "forecast": 720, "wind_forecast_typed": 720,
    "observation": 90, "wind_seen": 90, "visibility": 3 * 24 * 60, "gauge": 360,
}  # fmt: skip


@pytest.mark.parametrize("kind", AGES)
def test_each_kind_goes_stale_just_after_its_age(kind: str) -> None:
    limit = timedelta(minutes=AGES[kind])
    assert not is_stale(kind, NOW - limit, NOW, TABLE)
    assert is_stale(kind, NOW - limit - timedelta(seconds=1), NOW, TABLE)


def test_the_table_names_all_kinds() -> None:
    assert set(TABLE.after) == set(AGES)


def test_a_water_reading_never_goes_stale() -> None:
    assert not is_stale("water_reading", NOW - timedelta(days=4000), NOW, TABLE)


def test_unknown_ages_and_the_future_are_stale() -> None:
    assert is_stale("alerts", None, NOW, TABLE)
    assert is_stale("alerts", NOW + timedelta(minutes=11), NOW, TABLE)
    assert not is_stale("alerts", NOW + timedelta(minutes=9), NOW, TABLE)
    with pytest.raises(KeyError):
        is_stale("rumours", NOW, NOW, TABLE)


@pytest.mark.parametrize(
    ("kind", "value", "holds"),
    [
        ("wind_mps", 250 / 3.6, True),
        ("wind_mps", 251 / 3.6, False),
        ("wind_mps", -0.1, False),
        ("air_c", -60.0, True),
        ("air_c", 60.1, False),
        ("water_c", -0.5, True),
        ("water_c", -0.6, False),
        ("water_c", 40.1, False),
        ("gust_mps", math.nan, False),
        ("gust_mps", math.inf, False),
        ("lightning_level", 0.0, False),
    ],
)
def test_limits(kind: str, value: float, holds: bool) -> None:
    assert LIMITS.holds(kind, value) is holds


def test_sentinels() -> None:
    assert LIMITS.is_sentinel(-999999.0)
    assert not LIMITS.is_sentinel(-9.0)
    with pytest.raises(KeyError):
        LIMITS.holds("mood", 1.0)
