"""Readings: what is refused, how the rest is corrected, and what is said about it."""

from datetime import timedelta

import pytest

from briefing.core.water.observe import Observation, by_day, daily_range_c, joined, sort_readings
from briefing.core.water.parameters import WaterParameters
from briefing.core.water.site import WaterSite
from briefing.vocabulary import Zone

from .conftest import NOW, ZONE, reading


def sort(site: WaterSite, parameters: WaterParameters, *readings: object) -> tuple[list[Observation], list[str]]:
    used, refused = sort_readings(site, readings, parameters.reading, now=NOW, timezone=ZONE, units="us")  # type: ignore[arg-type]
    return used, [item.why for item in refused]


def test_fahrenheit_taken_for_celsius_is_refused_with_the_likely_meaning(
    site: WaterSite, parameters: WaterParameters
) -> None:
    used, why = sort(site, parameters, reading(1, 61.0))
    assert not used
    assert "61 F" in why[0]
    assert "16.1 C" in why[0]


@pytest.mark.parametrize("value", [float("nan"), -5.0, 150.0])
def test_impossible_values_are_refused(site: WaterSite, parameters: WaterParameters, value: float) -> None:
    used, why = sort(site, parameters, reading(1, value))
    assert not used
    assert why[0].startswith("Not used:")


def test_future_reading_is_refused(site: WaterSite, parameters: WaterParameters) -> None:
    used, why = sort(site, parameters, reading(-2, 15.0), reading(0, 15.0, hour=10))
    assert len(used) == 1
    assert "future" in why[0]


def test_duplicate_counts_once(site: WaterSite, parameters: WaterParameters) -> None:
    used, why = sort(site, parameters, reading(3, 12.0), reading(3, 12.0), reading(3, 12.5))
    assert len(used) == 2
    assert "entered before" in why[0]


@pytest.mark.parametrize("kind", ["tailwater", "river_gauge", "unplaced_gauge"])
def test_a_gauge_outside_the_lake_counts_only_where_allowed_and_less(parameters: WaterParameters, kind: str) -> None:
    gauge = reading(1, 12.0, kind=kind, source="usgs", name="the gauge")
    lake, fed, allowed = (
        WaterSite(35.0, -83.0, mean_depth_m=6.0, river_fed=through, river_gauges=counts)
        for through, counts in ((False, False), (True, False), (True, True))
    )
    for site in (lake, fed):
        used, why = sort(site, parameters, gauge)
        assert not used
        assert "allow_river_gauge" in why[0]
    (observed,) = sort(allowed, parameters, gauge)[0]
    (inside,) = sort(allowed, parameters, reading(1, 12.0, kind="gauge", source="usgs"))[0]
    assert observed.var_c2 >= 9 * inside.var_c2
    assert "flowing water" in observed.remark


def test_afternoon_reading_is_lowered_and_trusted_less(site: WaterSite, parameters: WaterParameters) -> None:
    used, _ = sort(site, parameters, reading(1, 18.0, hour=15), reading(1, 18.0, hour=9), reading(1, 18.0, hour=6))
    dawn, morning, afternoon = used
    assert afternoon.value_c < 18.0 < morning.value_c < dawn.value_c
    assert afternoon.var_c2 > morning.var_c2
    assert "F warmer than the day's mean" in afternoon.remark, "in the reader's units"


def test_unknown_hour_counts_less(site: WaterSite, parameters: WaterParameters) -> None:
    used, _ = sort(site, parameters, reading(1, 18.0), reading(2, 18.0, hour_known=False))
    unknown, morning = used
    assert unknown.var_c2 > morning.var_c2
    assert unknown.value_c == 18.0


def test_ponds_have_a_wider_day_at_the_surface(site: WaterSite, parameters: WaterParameters) -> None:
    pond = WaterSite(35.0, -83.0, mean_depth_m=2.0, area_km2=0.01)
    surface = reading(1, 18.0, hour=15, kind="surface")
    hull = reading(1, 18.0, hour=15, kind="hull")
    deep = reading(1, 18.0, hour=15, kind="hull", depth_m=1.0)
    ranges = [daily_range_c(pond, item, parameters.reading) for item in (surface, hull, deep)]
    assert ranges == sorted(ranges, reverse=True)
    assert ranges[0] == pytest.approx(4.5, abs=0.6)
    assert daily_range_c(site, hull, parameters.reading) == pytest.approx(1.3, abs=0.01)


def test_distance_and_depth_of_a_gauge_widen_its_noise(site: WaterSite, parameters: WaterParameters) -> None:
    kinds = [
        {"kind": "gauge", "source": "usgs"},
        {"kind": "gauge", "source": "usgs", "distance_km": 15.0},
        {"kind": "gauge", "source": "usgs", "distance_km": 15.0, "depth_m": 4.0},
    ]
    used, _ = sort(site, parameters, *(reading(days, 15.0, **kind) for days, kind in enumerate(kinds, start=1)))
    near_last = [item.var_c2 for item in used]
    assert near_last == sorted(near_last, reverse=True)


def test_one_thermometer_is_one_witness_a_day(site: WaterSite, parameters: WaterParameters) -> None:
    many = [reading(1, 15.0 + 0.01 * minute) for minute in range(3)]
    shifted = [
        type(item)(
            **{name: getattr(item, name) for name in item.__slots__} | {"time": item.time + timedelta(minutes=n)}
        )
        for n, item in enumerate(many)
    ]
    used, _ = sort(site, parameters, *shifted, reading(1, 17.0, zone=Zone.POCKET))
    groups = by_day(used)[used[0].day]
    assert sorted(len(group) for group in groups) == [1, 3]
    value, variance = joined(max(groups, key=len))
    assert value == pytest.approx(sum(item.value_c for item in used if item.reading.zone == Zone.MAIN) / 3)
    assert used[0].var_c2 / 2 < variance < used[0].var_c2
