"""Forecasts held against what came."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from briefing.core.hours import HourSeries, Origin, field_of
from briefing.core.log.checks import (
    Check,
    Issued,
    WaterStated,
    nest_check,
    thunder_checks,
    water_checks,
    wind_checks,
)
from briefing.core.log.correction import fit_correction, mornings_of
from briefing.core.log.parameters import LogParameters
from briefing.core.log.skill import corrected_text, skill_of, water_text, wind_line
from briefing.core.readings import WaterReading, WindReading
from briefing.vocabulary import Zone

MIDNIGHT = datetime(2026, 5, 2, tzinfo=UTC)
FORECAST = Origin("nws_grid", "a forecast", "forecast")


def hour(n: float) -> datetime:
    return MIDNIGHT + timedelta(hours=n)


def issued(made: float, wind: float, *, kind: str = "forecast", damaged: bool = False, thunder: float = 20.0) -> Issued:
    origin = Origin("nws_grid", "a forecast", kind)
    fields = {
        "wind_mps": field_of(np.full(48, wind), origin, [damaged] * 48),
        "gust_mps": field_of(np.full(48, 1.5 * wind), origin),
        "wind_from_deg": field_of(np.full(48, 225.0), origin),
        "thunder_pct": field_of(np.full(48, thunder), origin),
    }
    return Issued(hour(made), HourSeries(MIDNIGHT, 48, fields))


def seen(
    at: float, wind: float, source: str = "nws_station", km: float | None = 5.0, gust: float | None = None
) -> WindReading:
    return WindReading(hour(at), wind, gust, 230.0, source, f"{source} {km}", distance_km=km)


def test_the_newest_forecast_of_each_lead_is_held_against_the_wind(parameters: LogParameters) -> None:
    stored = [issued(1, 3.0), issued(8, 4.0), issued(9, 5.0), issued(11, 9.0)]
    found = wind_checks(stored, [seen(10, 6.0, gust=9.0)], parameters.leads)
    assert {(one.element, one.lead, one.forecast, one.observed) for one in found} == {
        ("wind_mps", "at launch", 5.0, 6.0),
        ("gust_mps", "at launch", 7.5, 9.0),
        ("wind_mps", "same day", 3.0, 6.0),
        ("gust_mps", "same day", 4.5, 9.0),
    }
    assert {one.from_deg for one in found} == {225.0}
    assert found[0].error == found[0].observed - found[0].forecast


def test_the_nearest_station_of_an_hour_counts_and_the_user_apart(parameters: LogParameters) -> None:
    winds = [seen(10.1, 6.0, km=20.0), seen(10.2, 5.0, km=4.0), seen(10.3, 8.0, "user", None), seen(10.4, 7.0, km=9.0)]
    found = wind_checks([issued(8, 4.0)], winds, parameters.leads)
    assert [(one.kind, one.observed) for one in found] == [("station", 5.0), ("user", 8.0)]


@pytest.mark.parametrize(
    "stored", [issued(8, 4.0, damaged=True), issued(8, 4.0, kind="observed"), issued(8, float("nan"))]
)
def test_what_was_no_forecast_is_not_checked(parameters: LogParameters, stored: Issued) -> None:
    assert [one for one in wind_checks([stored], [seen(10, 6.0)], parameters.leads) if one.element == "wind_mps"] == []


def test_a_wind_without_a_number_or_beyond_the_forecast_gives_nothing(parameters: LogParameters) -> None:
    blank = WindReading(hour(10), None, None, None, "nws_station", "x")
    assert wind_checks([issued(8, 4.0)], [blank, seen(100, 6.0), seen(7, 6.0)], parameters.leads) == ()


def test_water_is_held_against_readings_of_the_day_and_the_main_lake(parameters: LogParameters) -> None:
    stated = [
        WaterStated(hour(5), date(2026, 5, 2), 18.0, 17.0, 19.0),
        WaterStated(hour(9), date(2026, 5, 2), 18.4, None, None),
    ]
    readings = [
        (WaterReading("a", hour(8), 18.7), date(2026, 5, 2)),
        (WaterReading("b", hour(8), 25.0, zone=Zone.POCKET), date(2026, 5, 2)),
        (WaterReading("c", hour(8), 18.7), date(2026, 5, 1)),
    ]
    (only,) = water_checks(stated, readings, parameters.leads)
    assert (only.forecast, only.low, only.observed, only.kind) == (18.0, 17.0, 18.7, "user")


def test_thunder_is_judged_only_where_somebody_listened(parameters: LogParameters) -> None:
    outings = [(hour(10), hour(14)), (hour(30), hour(33))]
    found = thunder_checks([issued(8, 3.0, thunder=40.0)], outings, [hour(12)], parameters.leads)
    assert [(one.forecast, one.observed) for one in found if one.lead == "at launch"] == [(40.0, 100.0)]
    assert [one.observed for one in found if one.lead == "day before"] == [0.0]


def test_the_first_nests_are_held_against_the_stated_date() -> None:
    found = nest_check(hour(9), date(2026, 4, 12), date(2026, 4, 1), date(2026, 4, 8), date(2026, 4, 15))
    assert found.error == 4.0
    with pytest.raises(ValueError, match="no date"):
        nest_check(hour(9), date(2026, 4, 12), None, None, None)


def biased(mornings: int, error: float, sector_deg: float = 225.0) -> list[Check]:
    return [
        Check("wind_mps", hour(24 * day + n), "at launch", 3.0, 4.0, 4.0 + error, "station", "x", from_deg=sector_deg)
        for day in range(mornings)
        for n in range(8, 12)
    ]


def test_the_line_names_the_direction_the_error_and_the_mornings(parameters: LogParameters) -> None:
    assert wind_line(biased(20, 1.34), parameters, "us") == (
        "Wind: last 14 mornings 3 mph too low from the south-west (14 mornings)."
    )
    assert "too high" in wind_line(biased(6, -1.34), parameters, "us")
    assert wind_line(biased(6, 0.1), parameters, "us").startswith("Wind: last 6 mornings right on average")
    assert wind_line(biased(4, 1.34), parameters, "us") == ""
    assert wind_line([], parameters, "us") == ""


def test_the_table_splits_by_lead_and_direction(parameters: LogParameters) -> None:
    checks = biased(20, 1.0) + biased(20, -1.0, 90.0)
    found = skill_of(checks, fit_correction(mornings_of(checks), parameters.correction), parameters, "us")
    rows = {(row.element, row.sector): row for row in found.rows}
    assert rows["wind_mps", 5].bias == pytest.approx(1.0)
    assert rows["wind_mps", 2].bias == pytest.approx(-1.0)
    assert rows["wind_mps", None].bias == pytest.approx(0.0)
    assert rows["wind_mps", None].rms == pytest.approx(1.0)
    assert rows["wind_mps", None].checks == 160
    assert found.row("wind_mps", 5) == rows["wind_mps", 5]
    assert found.row("gust_mps") is None


def test_likelihoods_are_sorted_into_classes(parameters: LogParameters) -> None:
    checks = [
        Check("thunder_pct", hour(n), "at launch", 3.0, chance, came, "user", "you")
        for n, (chance, came) in enumerate([(5.0, 0.0), (40.0, 0.0), (45.0, 100.0), (100.0, 100.0)])
    ]
    found = skill_of(checks, fit_correction([], parameters.correction), parameters, "us")
    assert [(row.low_pct, row.cases, row.came_pct) for row in found.chances] == [
        (0.0, 1, 0.0), (30.0, 2, 50.0), (70.0, 1, 100.0),
    ]  # fmt: skip
    assert found.rows == ()


def test_the_corrected_wind_stands_beside_the_raw_one(parameters: LogParameters) -> None:
    checks = biased(30, 2.0)
    correction = fit_correction(mornings_of(checks), parameters.correction)
    text = corrected_text(correction, 5.0, 225.0, "us")
    assert text.startswith("Forecast 11 mph from the south-west; by the checks at this lake rather 16 mph")
    assert corrected_text(fit_correction([], parameters.correction), 5.0, 225.0, "us") == ""
    assert corrected_text(correction, float("nan"), 225.0, "us") == ""


def test_water_in_words() -> None:
    checks = [
        Check("water_c", hour(n), "at launch", 3.0, 18.0, 18.5, "user", "you", 17.0, 18.2 if n == 0 else 19.0)
        for n in range(5)
    ]
    text = water_text(checks, "metric")
    assert text == "the last 5 statements were off by 0.5 C on average, and its range held 80% of 5 readings"
    assert water_text(checks[:4], "metric") == ""
