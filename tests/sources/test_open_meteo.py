"""Open-Meteo bodies: nulls, shifted hours, gusts below wind, units, times, cells and corrupted temperatures."""

from __future__ import annotations

import json
from collections.abc import Callable
from copy import deepcopy
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from briefing.core.hours import HourField, HourSeries, Origin, field_of
from briefing.sources.bodies import plausible_limits
from briefing.sources.daily_air import daily_air, day_bounds, mean_of_day
from briefing.sources.open_meteo import height_problem, parse_hours
from briefing.sources.result import ParsedHours
from tests.replay import composed_open_meteo

NOW = datetime(2026, 7, 1, 12, tzinfo=UTC)
PLACE = (45.0, -93.0)
AGE = timedelta(hours=6)
Change = Callable[[dict[str, Any]], object]


def parse(change: Change | None = None, days: tuple[int, int] = (1, 1)) -> ParsedHours:
    body = deepcopy(composed_open_meteo(PLACE, NOW, days))
    if change is not None:
        change(body)
    return parse_hours(json.dumps(body), NOW, PLACE, AGE, plausible_limits())


def hours(change: Change | None = None, days: tuple[int, int] = (1, 1)) -> HourSeries:
    found = parse(change, days).series
    assert found is not None
    return found


def column(name: str, values: list[Any]) -> Change:
    def change(body: dict[str, Any]) -> None:
        body["hourly"][name][: len(values)] = values

    return change


def test_issue_time_is_six_hours_before_the_retrieval() -> None:
    found = parse()
    assert found.issued == NOW - AGE
    assert found.series is not None
    origin = found.series["wind_mps"].origin_at(0)
    assert origin is not None
    assert (origin.issued, origin.retrieved) == (NOW - AGE, NOW)


def test_gust_rain_and_radiation_belong_to_the_hour_before_their_stamp() -> None:
    found = hours(column("wind_gusts_10m", [0, 54.0, 72.0]))
    assert found.values("gust_mps")[:2] == pytest.approx([15.0, 20.0])
    assert found.values("precip_mm")[0] == 0.0
    assert hours(column("precipitation", [9, 1])).values("precip_mm")[0] == 1.0
    assert np.isnan(found.values("gust_mps")[-1])  # the hour after the last stamp is not known
    assert hours(column("wind_speed_10m", [36.0])).values("wind_mps")[0] == pytest.approx(10.0)  # an instant


def test_effective_gust_is_at_least_the_wind_and_flagged() -> None:
    found = hours(lambda b: b["hourly"].update(wind_speed_10m=[24.0] * 48, wind_gusts_10m=[13.0] * 48))
    assert found.values("gust_mps")[:47] * 3.6 == pytest.approx([24.0] * 47)
    assert "doubtful" in found["gust_mps"].origin_at(0).note  # type: ignore[union-attr]


def test_nulls_are_missing_each_for_itself() -> None:
    found = hours(column("temperature_2m", [None, 12.1]))
    assert np.isnan(found.values("air_c")[0])
    assert found.values("air_c")[1] == 12.1
    assert not found["air_c"].damaged.any()
    gone = parse(lambda b: b["hourly"].update(wind_gusts_10m=[None] * 48))
    assert gone.series is not None
    assert np.isnan(gone.series.values("gust_mps")).all()
    assert not gone.series["gust_mps"].damaged.any()
    assert any("wind_gusts_10m" in note for note in gone.notes)


def test_wind_that_ends_early_is_not_carried_on() -> None:
    found = hours(lambda b: b["hourly"].update(wind_speed_10m=[10.0] * 26 + [None] * 22))
    assert np.isfinite(found.values("wind_mps")).sum() == 26
    assert np.isfinite(found.values("gust_mps")).sum() == 47


def test_variables_that_are_not_there_are_missing() -> None:
    found = hours(lambda b: b["hourly"].pop("wind_gusts_10m"))
    assert np.isnan(found.values("gust_mps")).all()
    assert not found["gust_mps"].damaged.any()


SPOILED: list[Change] = [
    lambda b: b["hourly"].update(wind_speed_10m=None),
    lambda b: b["hourly"].update(wind_speed_10m={}),
    lambda b: b["hourly"].update(wind_speed_10m=[10.0]),
    lambda b: b["hourly"].update(wind_speed_10m=["calm"] * 48),
    lambda b: b["hourly"].update(wind_speed_10m=[-999.0] * 48),
    lambda b: b["hourly"].update(wind_speed_10m=[True] * 48),
    lambda b: b["hourly_units"].update(wind_speed_10m="furlong"),
    lambda b: b["hourly_units"].update(wind_speed_10m=None),
    lambda b: b["hourly_units"].pop("wind_speed_10m"),
]


@pytest.mark.parametrize("change", SPOILED)
def test_spoiled_columns_are_damaged_and_the_rest_is_used(change: Change) -> None:
    found = hours(change)
    assert found["wind_mps"].damaged.all()
    assert np.isnan(found.values("wind_mps")).all()
    assert np.isfinite(found.values("air_c")).all()


@pytest.mark.parametrize(("unit", "mps"), [("km/h", 10.0), ("m/s", 36.0), ("mp/h", 16.09344), ("kn", 18.52)])
def test_units_come_from_the_body(unit: str, mps: float) -> None:
    def change(body: dict[str, Any]) -> None:
        body["hourly"]["wind_speed_10m"] = [36.0] * 48
        body["hourly_units"]["wind_speed_10m"] = unit

    assert hours(change).values("wind_mps")[0] == pytest.approx(mps)


UNUSED: list[Change] = [
    lambda b: b["hourly_units"].update(time="iso8601"),
    lambda b: b["hourly"].update(time=None),
    lambda b: b["hourly"].update(time=[]),
    lambda b: b["hourly"].update(time=["2026-03-08T02:00"] * 48),
    lambda b: b["hourly"].update(time=[5] * 48),
    lambda b: b["hourly"]["time"].reverse(),
    lambda b: b["hourly"]["time"].__setitem__(3, b["hourly"]["time"][2]),
    lambda b: b["hourly"]["time"].__setitem__(3, b["hourly"]["time"][3] + 60),
    lambda b: b["hourly"]["time"].__setitem__(-1, 4_000_000_800),
    lambda b: b["hourly"]["time"].pop(9) and b["hourly"]["wind_speed_10m"].pop(19),
    lambda b: b.clear(),
    lambda b: b.update(hourly=[], error=True),
]


@pytest.mark.parametrize("change", UNUSED)
def test_bodies_whose_times_cannot_be_trusted_are_not_used(change: Change) -> None:
    found = parse(change)
    assert found.series is None
    assert found.problems[0].startswith("Open-Meteo")


def test_a_row_left_out_is_a_missing_hour() -> None:
    def change(body: dict[str, Any]) -> None:
        for values in body["hourly"].values():
            del values[5]

    found = hours(change)
    assert found.hours == 48
    assert np.isnan(found.values("wind_mps")[5])
    assert np.isfinite(found.values("wind_mps")[6])


def test_codes_of_thunder_pass_and_unknown_ones_stay_as_they_are() -> None:
    codes = hours(column("weather_code", [95, 97, 13, 120])).values("weather_code")
    assert codes[:3].tolist() == [95, 97, 13]
    assert np.isnan(codes[3])


def test_a_far_or_unknown_cell_is_said() -> None:
    assert parse().problems == ()
    assert "cell {14 mi|22 km} away" in parse(lambda b: b.update(latitude=45.2, longitude=-93.0)).problems[0]
    assert "not for which place" in parse(lambda b: b.pop("latitude")).problems[0]
    body = json.dumps({"elevation": 460.0})
    assert "{525 ft|160 m} above" in height_problem(body, 300.0)
    assert height_problem(body, 400.0) == height_problem(body, None) == height_problem("[]", 1.0) == ""


def test_jumps_and_standstills_of_temperature_are_refused() -> None:
    def air(values: list[float]) -> HourField:
        def change(body: dict[str, Any]) -> None:
            column("temperature_2m", values)(body)
            del body["hourly"]["dew_point_2m"]  # it belongs to other temperatures

        return hours(change)["air_c"]

    assert air([10.0, 35.0, 12.0]).damaged[:3].tolist() == [True, True, True]
    assert air([15.0] * 30).damaged[:30].all()
    assert not air([15.0] * 29).damaged.any()


def test_replies_to_other_questions_are_not_used(reference_data: Path) -> None:
    folder = reference_data / "samples/open-meteo"
    for path in sorted(folder.glob("*.json")):
        found = parse_hours(path.read_bytes(), NOW, PLACE, AGE, plausible_limits())
        assert found.series is None, path.name


# -- daily means ------------------------------------------------------------------------------------------------------


def constant(start: datetime, count: int, value: float) -> HourSeries:
    return HourSeries(start, count, {"air_c": field_of([value] * count, Origin("x", "x", "modelled"))})


def test_local_days_have_23_or_25_hours_at_a_clock_change() -> None:
    zone = ZoneInfo("America/Chicago")
    lengths = [day_bounds(date(2026, month, day), zone) for month, day in ((3, 8), (3, 9), (11, 1))]
    assert [(end - begin) / timedelta(hours=1) for begin, end in lengths] == [23, 24, 25]


def test_a_day_needs_nine_tenths_of_its_hours() -> None:
    zone = ZoneInfo("UTC")
    start = datetime(2026, 7, 1, tzinfo=UTC)
    assert mean_of_day(constant(start, 22, 20.0), date(2026, 7, 1), zone) == 20.0
    assert np.isnan(mean_of_day(constant(start, 21, 20.0), date(2026, 7, 1), zone))


def test_days_say_what_they_are() -> None:
    zone = ZoneInfo("UTC")
    archive = constant(datetime(2026, 6, 20, tzinfo=UTC), 24 * 4, 10.0)
    recent = constant(datetime(2026, 6, 28, tzinfo=UTC), 24 * 3, 15.0)
    ahead = constant(datetime(2026, 7, 1, tzinfo=UTC), 24 * 3, 20.0)
    air = daily_air([recent, archive], ahead, date(2026, 6, 20), NOW, zone)
    assert air.start == date(2026, 6, 20)
    kinds = ["modelled"] * 4 + ["missing"] * 4 + ["modelled"] * 3 + ["forecast"] * 3
    assert list(air.kind) == kinds
    assert air.lead_days.tolist() == [0] * 11 + [0, 1, 2]
    assert air.mean_c[[0, 8, 13]].tolist() == [10.0, 15.0, 20.0]
    assert np.isnan(air.mean_c[4:8]).all()
