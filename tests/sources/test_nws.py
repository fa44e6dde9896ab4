"""The raw grid and the text forecast: intervals, missing against damaged, units, the recorded bodies."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.hours import HourSeries
from briefing.sources import nws, nws_text
from briefing.sources.bodies import plausible_limits
from briefing.sources.intervals import Piece, read_duration, read_interval, spread
from briefing.sources.result import ParsedHours
from briefing.sources.thunder_words import thunder_words

ISSUED = datetime(2026, 7, 1, 12, 30, tzinfo=UTC)
START = datetime(2026, 7, 1, 6, tzinfo=UTC)
LIMITS = plausible_limits()


def span(hours: int, length: str) -> str:
    return f"{(START + timedelta(hours=hours)).isoformat()}/{length}"


def layer(*entries: tuple[int, str, object], uom: object = "wmoUnit:km_h-1") -> dict[str, Any]:
    values = [{"validTime": span(hours, length), "value": value} for hours, length, value in entries]
    return {"values": values} if uom is None else {"uom": uom, "values": values}


def grid(**layers: object) -> ParsedHours:
    return nws.parse_grid(json.dumps({"properties": {"updateTime": ISSUED.isoformat(), **layers}}), ISSUED, LIMITS)


def series(**layers: object) -> HourSeries:
    found = grid(**layers).series
    assert found is not None
    return found


# -- durations and intervals ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "hours"),
    [("PT1H", 1), ("P3DT23H", 95), ("P8DT6H", 198), ("PT30M", 0.5), ("PT0S", 0), ("P1W", 168), ("P1DT1H30M", 25.5)],
)
def test_durations(text: str, hours: float) -> None:
    assert read_duration(text) == timedelta(hours=hours)


@pytest.mark.parametrize("text", ["", "P", "PT", "P1M", "P1Y", "1H", "PT-1H", "P1DT", "PTH", "P1H", "PT1D"][:12])
def test_what_is_no_duration(text: str) -> None:
    assert read_duration(text) is None


@pytest.mark.parametrize(
    "text",
    [
        "2026-07-01T06:00:00+00:00/PT2H",
        "2026-07-01T06:00:00Z/2026-07-01T08:00:00Z",
        "PT2H/2026-07-01T08:00:00+00:00",
        "2026-07-01T02:00:00-04:00/PT2H",
        "NOW/PT2H",
    ],
)
def test_interval_forms(text: str) -> None:
    assert read_interval(text, START) == (START, START + timedelta(hours=2))


@pytest.mark.parametrize(
    "text",
    [
        None, 5, "", "/", "PT1H/PT2H", "2026-07-01T06:00:00/PT1H", "2026-07-01T06:00:00Z", "NOW/PT1H",
        "9999-12-31T23:00:00Z/P9999D", "2026-13-01T06:00:00Z/PT1H", "2026-07-01T06:00:00Z/PT1H/PT1H", "x" * 500,
    ],
)  # fmt: skip
def test_intervals_that_cannot_be_read(text: object) -> None:
    assert read_interval(text) is None


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(0, 9), st.integers(0, 23), st.integers(0, 59), st.integers(0, 59))
def test_duration_round_trip(days: int, hours: int, minutes: int, seconds: int) -> None:
    text = f"P{days}DT{hours}H{minutes}M{seconds}S"
    assert read_duration(text) == timedelta(days=days, hours=hours, minutes=minutes, seconds=seconds)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.text(max_size=60))
def test_interval_reader_never_raises(text: str) -> None:
    found = read_interval(text, START)
    assert found is None or (found[0].tzinfo is not None and found[1].tzinfo is not None)


PIECES = st.lists(st.tuples(st.integers(-300, 1500), st.integers(1, 700), st.floats(0, 60), st.booleans()), max_size=7)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(PIECES)
def test_spread_agrees_with_a_minute_by_minute_reading(rows: list[tuple[int, int, float, bool]]) -> None:
    """Oracle: write each minute's pieces, later starts over earlier ones, then look at the hour."""
    pieces = [
        Piece(START + timedelta(minutes=begin), START + timedelta(minutes=begin + length), value, hurt)
        for begin, length, value, hurt in rows
    ]
    values, damaged = spread(pieces, START, 24, "max")
    for hour in range(24):
        shown: list[Piece] = []
        for minute in range(hour * 60, hour * 60 + 60):
            at = START + timedelta(minutes=minute)
            over = [piece for piece in pieces if piece.start <= at < piece.end]
            newest = max((piece.start for piece in over), default=None)
            shown += [piece for piece in over if piece.start == newest]
        if any(piece.damaged for piece in shown):
            assert damaged[hour]
            assert np.isnan(values[hour])
        elif shown:
            assert values[hour] == max(piece.value for piece in shown)
            assert not damaged[hour]
        else:
            assert np.isnan(values[hour])
            assert not damaged[hour]


# -- missing is not zero ----------------------------------------------------------------------------------------------


def test_values_stand_for_their_hours_and_the_first_is_not_now() -> None:
    found = series(windSpeed=layer((0, "PT6H", 9.0), (6, "PT3H", 30.0)))
    now = found.index_of(ISSUED)
    assert found.values("wind_mps")[now] * 3.6 == pytest.approx(30.0)


def test_layers_end_apart_and_uncovered_is_missing() -> None:
    found = series(windSpeed=layer((0, "P2D", 10.0)), probabilityOfThunder=layer((9, "PT3H", 37), uom=None))
    thunder = found.values("thunder_pct")
    assert np.nanmax(thunder) == 37
    assert np.isfinite(thunder).sum() == 3
    assert not found["thunder_pct"].damaged.any()


def test_thunder_without_unit_counts_and_with_a_strange_one_does_not() -> None:
    assert series(probabilityOfThunder=layer((0, "PT1H", 8.699999809265137), uom=None)).values("thunder_pct")[
        0
    ] == pytest.approx(8.7)
    odd = series(probabilityOfThunder=layer((0, "PT1H", 8.7), uom="wmoUnit:K"))["thunder_pct"]
    assert np.isnan(odd.values[0])
    assert odd.damaged[0]


def test_empty_layers_are_missing_and_levels_stay() -> None:
    found = series(
        probabilityOfThunder={"values": []},
        lightningActivityLevel=layer((0, "PT6H", 2), uom=None),
        weather={"values": []},
    )
    assert np.isnan(found.values("thunder_pct")).all()
    assert np.isnan(found.values("thunder_words_pct")).all()
    assert not found["thunder_pct"].damaged.any()
    assert (found.values("lightning_level") == 2).all()


def test_null_is_missing_and_not_damaged() -> None:
    gust = series(windSpeed=layer((0, "PT2H", 10)), windGust=layer((0, "PT1H", None), (1, "PT1H", 20)))["gust_mps"]
    assert np.isnan(gust.values[0])
    assert not gust.damaged[0]
    assert gust.values[1] * 3.6 == pytest.approx(20)


@pytest.mark.parametrize("value", [804.67, -5, "calm", True, [], {}, -999999, 1e400, "1e999", "12 km/h"])
def test_values_that_cannot_be_are_damaged_never_clipped(value: object) -> None:
    wind = series(windSpeed=layer((0, "PT1H", value), (1, "PT1H", 10)))["wind_mps"]
    assert np.isnan(wind.values[0])
    assert wind.damaged[0]
    assert wind.values[1] * 3.6 == pytest.approx(10)
    assert not wind.damaged[1]


def test_numbers_as_text_are_numbers() -> None:
    assert series(windSpeed=layer((0, "PT1H", "10"))).values("wind_mps")[0] * 3.6 == pytest.approx(10)


@pytest.mark.parametrize(("uom", "mps"), [("wmoUnit:km_h-1", 10.0), ("unit:m_s-1", 36.0), ("wmoUnit:m_s-1", 36.0)])
def test_units_are_read_and_never_assumed(uom: str, mps: float) -> None:
    assert series(windSpeed=layer((0, "PT1H", 36), uom=uom)).values("wind_mps")[0] == pytest.approx(mps)


@pytest.mark.parametrize("uom", ["nwsUnit:km_h-1", "wmoUnit:furlong", "", None, 5, ["wmoUnit:km_h-1"]])
def test_unknown_units_refuse_the_layer(uom: object) -> None:
    wind = series(windSpeed=layer((0, "PT3H", 36), uom=uom))["wind_mps"]
    assert np.isnan(wind.values).all()
    assert wind.damaged.all()


@pytest.mark.parametrize("body", [None, 5, "x", [], {}, {"values": None}, {"values": {}}])
def test_a_layer_that_cannot_be_read_is_damaged_throughout(body: object) -> None:
    gust = series(windSpeed=layer((0, "PT4H", 10)), windGust=body)["gust_mps"]
    assert gust.damaged.all()
    assert series(windSpeed=layer((0, "PT4H", 10)))["gust_mps"].damaged.sum() == 0


def test_an_entry_without_readable_time_hurts_the_hours_that_nothing_covers() -> None:
    body = layer((0, "PT1H", 20))
    body["values"].append({"validTime": "sometime", "value": 90})
    gust = series(windSpeed=layer((0, "PT3H", 10)), windGust=body)["gust_mps"]
    assert gust.damaged.tolist() == [False, True, True]


def test_zero_length_is_skipped_with_a_note() -> None:
    found = grid(windSpeed=layer((0, "PT0S", 99), (0, "PT2H", 10)))
    assert found.series is not None
    assert np.nanmax(found.series.values("wind_mps")) * 3.6 == pytest.approx(10)
    assert any("covers no time" in note for note in found.notes)


def test_the_later_start_wins_an_overlap() -> None:
    wind = series(windSpeed=layer((0, "PT3H", 10), (2, "PT2H", 20))).values("wind_mps") * 3.6
    assert wind == pytest.approx([10, 10, 20, 20])


def test_rain_is_a_total_over_its_interval() -> None:
    rain = series(quantitativePrecipitation=layer((0, "PT6H", 12), uom="wmoUnit:mm")).values("precip_mm")
    assert rain == pytest.approx([2.0] * 6)


def test_gust_below_wind_is_raised_and_flagged() -> None:
    gust = series(windSpeed=layer((0, "PT2H", 24)), windGust=layer((0, "PT1H", 13), (1, "PT1H", 30)))["gust_mps"]
    assert gust.values * 3.6 == pytest.approx([24, 30])
    assert "raised" in gust.origin_at(0).note  # type: ignore[union-attr]
    assert gust.origin_at(1).note == ""  # type: ignore[union-attr]


WORDS: list[tuple[object, float, bool]] = [
    ([{"coverage": "isolated", "weather": "thunderstorms"}], 15, False),
    ([{"coverage": "slight_chance", "weather": "thunderstorms"}], 15, False),
    ([{"coverage": "chance", "weather": "rain"}, {"coverage": "chance", "weather": "thunderstorms"}], 40, False),
    ([{"coverage": "scattered", "weather": "thunderstorms"}], 40, False),
    ([{"coverage": "likely", "weather": "thunderstorms"}], 65, False),
    ([{"coverage": "definite", "weather": "thunderstorms"}], 90, False),
    ([{"coverage": "definite", "weather": "rain_showers"}], np.nan, False),
    ([{"coverage": "patchy", "weather": "fog"}, {"coverage": "chance", "weather": "rain"}], np.nan, False),
    ([{"coverage": "patchy", "weather": "fog"}], np.nan, False),
    ([{"coverage": "likely", "weather": "snow"}], 0, False),
    ([{"coverage": "isolated", "weather": "water_spouts"}], 15, False),
    ([{"coverage": "likely", "weather": "rain"}, {"coverage": "isolated", "weather": "thunderstorms"}], 15, False),
    ([{"coverage": None, "weather": None}], 0, False),
    ([{"coverage": "unheard_of", "weather": "thunderstorms"}], np.nan, True),
    ([{"coverage": None, "weather": "thunderstorms"}], np.nan, True),
    ([], np.nan, False),
    (None, np.nan, False),
    ("thunderstorms", np.nan, True),
    ([5], np.nan, True),
    ([{"coverage": "likely", "weather": 5}], np.nan, True),
]


def beside(weather: object, *attributes: object, coverage: object = None, intensity: object = None) -> list[object]:
    """A value of the weather layer with what stands beside its weather word."""
    return [{"coverage": coverage, "weather": weather, "intensity": intensity, "attributes": list(attributes)}]


WORDS += [
    # storm words anywhere in an entry draw thunder
    (beside(None, "dry_thunderstorms"), 90, False),
    (beside(None, "tornadoes"), 90, False),
    (beside(None, "large_hail", "tornadoes", "damaging_wind"), 90, False),
    (beside(None, "frequent_lightning"), 90, False),
    (beside("frost", "Frequent Lightning", coverage="patchy"), 90, False),
    (beside("snow", "small_hail", coverage="likely"), 90, False),
    (beside("rain_showers", "small_hail", coverage="chance"), 40, False),
    (beside("fog", "large_hail", coverage="areas"), 40, False),
    (beside("none", "dry_thunderstorms"), 90, False),
    (beside(None, intensity="thunderstorms"), 90, False),
    (beside("frost", intensity="⛈", coverage="areas"), 90, False),
    (beside("frost", coverage="lightning"), 90, False),
    (beside("likely", coverage="thunderstorms"), 90, False),
    ([{**beside("frost")[0], "note": ["severe storms"]}], 90, False),  # type: ignore[dict-item]
    (beside("thunderstorms", "small_hail", "gusty_wind", coverage="isolated"), 15, False),
    (beside("severe_thunderstorms", coverage="likely"), 65, False),
    # what nobody knows to go without thunder leaves it unknown
    (beside(None, "damaging_wind"), np.nan, True),
    (beside("frost", "never_heard_of"), np.nan, True),
    (beside("frost", 5), np.nan, True),
    (beside("frost", None), np.nan, True),
    (beside("frost", intensity="violent"), np.nan, True),
    (beside("frost", intensity=3), np.nan, True),
    ([{"coverage": None, "weather": None, "attributes": {}}], np.nan, True),
    (beside("ice_storm", coverage="likely"), np.nan, True),
    # what is known to go without thunder changes nothing
    (beside(None, intensity=""), 0, False),
    (beside("frost", "on_grassy_areas", coverage="areas"), 0, False),
    (beside("snow", "Gusty Wind", "on_bridges", coverage="likely", intensity="heavy"), 0, False),
    (beside("rain_showers", "heavy_rain", "flooding", coverage="definite", intensity="heavy"), np.nan, False),
    ([{"coverage": "patchy", "weather": "frost", "attributes": None, "intensity": None}], 0, False),
    ([{**beside("frost")[0], "visibility": {"unitCode": "wmoUnit:km", "value": None}}], 0, False),  # type: ignore[dict-item]
]


def test_every_word_beside_the_weather_is_harmless_by_name_or_never_zero() -> None:
    """Whatever stands among the attributes of frost: only those that the list holds leave thunder out."""
    harmless = thunder_words().attributes
    assert not any("hail" in word or "thunder" in word or "dry" in word for word in harmless)
    for word in ("dry", "dry_thunderstorms", "damaging_wind", "tornado", "tornadoes", "x", "⚡", "", *harmless):
        field = series(weather=layer((0, "PT1H", beside("frost", word, coverage="areas")), uom=None))
        assert bool(field["thunder_words_pct"].values[0] == 0.0) is (word in harmless), word


@pytest.mark.parametrize(("value", "chance", "hurt"), WORDS)
def test_weather_words(value: object, chance: float, hurt: bool) -> None:
    field = series(windSpeed=layer((0, "PT1H", 10)), weather=layer((0, "PT1H", value), uom=None))["thunder_words_pct"]
    assert field.values[0] == pytest.approx(chance, nan_ok=True)
    assert bool(field.damaged[0]) is hurt


@pytest.mark.parametrize("body", [b"", b"null", b"[]", b"{}", b'{"properties": null}', b'{"properties": {}}', b"\xff"])
def test_a_grid_without_an_issue_time_is_not_used(body: bytes) -> None:
    found = nws.parse_grid(body, ISSUED, LIMITS)
    assert found.series is None
    assert found.problems


# -- the recorded bodies: an oracle expanded by hand ------------------------------------------------------------------

ORACLE = [
    ("gridpoint_raw_ALY_20260715_thunder", "America/New_York", "2026-07-16T05", "2026-07-16T12", 7, 16.668, 29.632, 1),
    ("gridpoint_raw_ALY_20260715_thunder", "America/New_York", "2026-07-18T12", "2026-07-18T21", 9, 16.668, 33.336, 41),
    (
        "gridpoint_raw_MPX_20260304_spans_dst_start",
        "America/Chicago",
        "2026-03-08T00",
        "2026-03-08T12",
        11,
        20.372,
        38.892,
        0,
    ),
    (
        "gridpoint_raw_OAX_20241203_lightning_level",
        "America/Chicago",
        "2024-12-03T00",
        "2024-12-03T08",
        8,
        14.816,
        25.928,
        0,
    ),
    ("pynws_detailed_forecast", "America/New_York", "2022-02-03T21", "2022-02-04T06", 9, 14.816, 24.076, None),
]


def recorded(folder: Path, name: str) -> HourSeries:
    body = (folder / "samples" / "nws" / f"{name}.json").read_bytes()
    found = nws.parse_grid(body, datetime(2026, 7, 15, tzinfo=UTC), LIMITS)
    assert found.series is not None
    assert found.problems == ()
    return found.series


@pytest.mark.parametrize("row", ORACLE)
def test_windows_of_recorded_grids(row: tuple[Any, ...], reference_data: Path) -> None:
    name, zone, begin, end, hours, wind, gust, thunder = row
    bounds = [datetime.fromisoformat(f"{text}:00").replace(tzinfo=ZoneInfo(zone)) for text in (begin, end)]
    window = recorded(reference_data, name).window(*bounds)
    assert window.hours == hours
    assert window.values("wind_mps").max() * 3.6 == pytest.approx(wind)
    assert window.values("gust_mps").max() * 3.6 == pytest.approx(gust)
    if thunder is None:
        assert np.isnan(window.values("thunder_pct")).all()
        assert window.values("lightning_level").tolist() == [1, 2, 2, 2, 1, 1, 1, 1, 1]
    else:
        assert window.values("thunder_pct").max() == thunder


def test_whole_recorded_grids(reference_data: Path) -> None:
    albany = recorded(reference_data, "gridpoint_raw_ALY_20260715_thunder")
    assert np.isfinite(albany.values("wind_mps")).sum() == 181
    assert np.nanmax(albany.values("wind_mps")) * 3.6 == pytest.approx(27.78)
    peak = int(np.nanargmax(albany.values("gust_mps")))
    assert albany.values("gust_mps")[peak] * 3.6 == pytest.approx(48.152)
    assert albany.times[peak].astimezone(ZoneInfo("America/New_York")).isoformat() == "2026-07-16T15:00:00-04:00"
    at = int(np.nanargmax(albany.values("thunder_pct")))
    assert albany.values("thunder_pct")[at] == 41
    assert albany.times[at].astimezone(ZoneInfo("America/New_York")).isoformat() == "2026-07-18T20:00:00-04:00"
    afternoon = albany.window(datetime(2026, 7, 18, 16, tzinfo=UTC), datetime(2026, 7, 19, 1, tzinfo=UTC))
    assert afternoon.values("thunder_pct").tolist() == [10, 10, 37, 37, 37, 37, 37, 37, 41]
    north = recorded(reference_data, "gridpoint_raw_AFG_20260602_no_thunder_layer")
    assert np.isfinite(north.values("wind_mps")).sum() == 188
    assert np.nanmax(north.values("gust_mps")) * 3.6 == pytest.approx(27.78)
    assert np.isnan(north.values("thunder_pct")).all()
    assert np.nanmax(north.values("lightning_level")) == 1
    omaha = recorded(reference_data, "gridpoint_raw_OAX_20241203_lightning_level")
    assert np.isfinite(omaha.values("lightning_level")).sum() == 51


def test_no_recorded_grid_has_damage(reference_data: Path) -> None:
    for path in sorted((reference_data / "samples" / "nws").glob("gridpoint_raw_*.json")):
        found = recorded(reference_data, path.stem)
        assert not any(field.damaged.any() for field in found.fields.values()), path.stem
        with np.errstate(invalid="ignore"):
            assert not (found.values("gust_mps") < found.values("wind_mps")).any()


# -- text forecast ----------------------------------------------------------------------------------------------------

MPH = 0.44704
WIND_TEXT: list[tuple[object, tuple[float, float] | None]] = [
    ("2 to 17 mph", (2 * MPH, 17 * MPH)),
    ("14 mph", (14 * MPH, 14 * MPH)),
    ("0 mph", (0, 0)),
    ("16 km/h", (16 / 3.6, 16 / 3.6)),
    ("around 10 mph", (10 * MPH, 10 * MPH)),
    ("10 to 5 mph", (5 * MPH, 10 * MPH)),
    ("Calm", (0, 0)),
    ({"unitCode": "wmoUnit:km_h-1", "minValue": 3.6, "maxValue": 36}, (1, 10)),
    ({"unitCode": "wmoUnit:km_h-1", "value": 36}, (10, 10)),
    ({"unitCode": "wmoUnit:km_h-1", "minValue": 36, "maxValue": 3.6}, (1, 10)),
    ({"unitCode": "wmoUnit:km_h-1", "value": 36, "maxValue": 3.6}, (1, 10)),
    ({"unitCode": "wmoUnit:km_h-1", "value": 3.6, "minValue": 36}, (1, 10)),
    ({"unitCode": "wmoUnit:km_h-1", "value": 3.6, "maxValue": "much"}, None),
    ({"unitCode": "wmoUnit:km_h-1", "value": None}, None),
    ({"unitCode": "what", "value": 36}, None),
    ("", None),
    (None, None),
    ("breezy", None),
    ("10", None),
    ("10 mph and more", None),
    (10, None),
    ("9" * 400 + " mph", None),
]


@pytest.mark.parametrize(("text", "pair"), WIND_TEXT)
def test_wind_as_text(text: object, pair: tuple[float, float] | None) -> None:
    found = nws_text.read_wind_text(text)
    assert found is None if pair is None else found == pytest.approx(pair)


def period(start: str, end: str, **more: object) -> dict[str, object]:
    plain = {"startTime": start, "endTime": end, "temperature": 68, "temperatureUnit": "F", "windSpeed": "5 to 10 mph"}
    return {**plain, "windDirection": "NW", "shortForecast": "Chance Showers And Thunderstorms", **more}


def hourly(*periods: object) -> ParsedHours:
    body = {"properties": {"updateTime": ISSUED.isoformat(), "periods": list(periods)}}
    return nws_text.parse_hourly(json.dumps(body), ISSUED, LIMITS)


@given(st.permutations([7.2, 18.0, 36.0]), st.sets(st.sampled_from(["value", "minValue", "maxValue"]), min_size=1))
def test_of_a_wind_in_numbers_the_largest_counts_under_any_name(numbers: list[float], keys: set[str]) -> None:
    written = {key: one for key, one in zip(("value", "minValue", "maxValue"), numbers, strict=True) if key in keys}
    found = nws_text.read_wind_text({"unitCode": "wmoUnit:km_h-1", **written})
    assert found == pytest.approx((min(written.values()) / 3.6, max(written.values()) / 3.6))


def test_text_takes_the_upper_wind_and_has_no_gust() -> None:
    found = hourly(period("2026-07-01T13:00:00+00:00", "2026-07-01T14:00:00+00:00")).series
    assert found is not None
    assert found.values("wind_mps")[0] == pytest.approx(10 * MPH)
    assert found.values("air_c")[0] == pytest.approx(20.0)
    assert found.values("wind_from_deg")[0] == 315.0
    assert found.values("thunder_words_pct")[0] == 40.0
    assert np.isnan(found.values("gust_mps")).all()
    assert not found["gust_mps"].damaged.any()


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"windSpeed": "breezy"}, "wind_mps"),
        ({"windDirection": "up"}, "wind_from_deg"),
        ({"windGust": "big"}, "gust_mps"),
    ],
)
def test_unreadable_text_is_damaged_never_zero(change: dict[str, object], field: str) -> None:
    found = hourly(period("2026-07-01T13:00:00+00:00", "2026-07-01T14:00:00+00:00", **change)).series
    assert found is not None
    assert found[field].damaged[0]
    assert np.isnan(found.values(field)[0])


def test_implausible_temperatures_leave_the_other_periods() -> None:
    found = hourly(
        period("2026-07-01T13:00:00+00:00", "2026-07-01T14:00:00+00:00", temperature=250),
        period("2026-07-01T14:00:00+00:00", "2026-07-01T15:00:00+00:00"),
        {"startTime": None},
        5,
    )
    assert found.series is not None
    assert found.series["air_c"].damaged.tolist() == [True, False]
    assert found.series.values("air_c")[1] == pytest.approx(20.0)
    assert "2 periods" in found.notes[0]


def test_the_clock_change_in_the_recorded_text(reference_data: Path) -> None:
    body = (reference_data / "samples/nws/forecast_hourly_MPX_20260304_spans_dst_start.json").read_bytes()
    found = nws_text.parse_hourly(body, ISSUED, LIMITS).series
    assert found is not None
    morning = found.window(datetime(2026, 3, 8, 6, tzinfo=UTC), datetime(2026, 3, 8, 17, tzinfo=UTC))
    assert morning.hours == 11
    assert np.isfinite(morning.values("wind_mps")).all()


def test_older_text_bodies_are_survived(reference_data: Path) -> None:
    for path in sorted((reference_data / "samples/nws").glob("pynws_gridpoints_forecast*.json")):
        found = nws_text.parse_hourly(path.read_bytes(), ISSUED, LIMITS)
        assert found.series is not None or found.problems


# -- points -----------------------------------------------------------------------------------------------------------


def test_points(reference_data: Path) -> None:
    links = nws.parse_points((reference_data / "samples/nws/points_42.745_-73.752_ALY_20260715.json").read_bytes())
    assert links == nws.PointLinks(
        "/gridpoints/ALY/71,67",
        "/gridpoints/ALY/71,67/forecast/hourly",
        "/gridpoints/ALY/71,67/stations",
        ("NYZ052", "NYC001"),
        False,
    )


@pytest.mark.parametrize("spoil", [lambda p: {**p, "forecastGridData": None}, lambda p: None, lambda p: []])
def test_points_without_a_grid(spoil: Callable[[dict[str, object]], object]) -> None:
    plain = {"forecastGridData": "https://x/gridpoints/A/1,2", "forecastZone": 5, "county": "https://x/../../etc"}
    assert nws.parse_points(json.dumps({"properties": plain})) is not None
    assert nws.parse_points(json.dumps({"properties": spoil(plain)})) is None


@pytest.mark.parametrize(("second", "hurt"), [(19.0, False), (20.5, False), (30.0, True), (-5.0, True)])
def test_two_values_of_one_time_that_clearly_differ_are_no_value(second: float, hurt: bool) -> None:
    air = series(temperature=layer((0, "PT1H", 18.0), (0, "PT1H", second), uom="wmoUnit:degC"))["air_c"]
    assert bool(air.damaged[0]) is hurt
    assert np.isnan(air.values[0]) == hurt
