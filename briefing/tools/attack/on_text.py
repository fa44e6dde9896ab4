"""Mutations of the hourly text forecast, where the grid is in trouble."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from briefing.tools.attack.bases import TEXT_ROUTE
from briefing.tools.attack.bodies import instant, opened, square
from briefing.tools.attack.kinds import Attack, Draw, kind
from briefing.tools.attack.on_grid import SPOILED

BOTH = ("wind_text", "thunder_text")


def periods(draw: Draw) -> list[dict[str, Any]]:
    """All periods."""
    found: list[dict[str, Any]] = draw.answer(TEXT_ROUTE).data["properties"]["periods"]
    return found


def rough_periods(draw: Draw) -> list[dict[str, Any]]:
    """Periods of the rough hours."""
    return [one for one in periods(draw) if draw.base.scene.is_rough(datetime.fromisoformat(one["startTime"]))]


#: Ways to write 15 to 25 mph; the upper number counts in each.
_FORMS: tuple[Any, ...] = (
    "15 to 25 mph", "15-25 mph", "15 - 25 mph", "15\u201325 mph", "15\u00a0to\u00a025\u00a0mph", "25 to 15 mph",
    "up to 25 mph", "around 25 mph", "near 25 mph", "25 mph", "25mph", "25 MPH", "  15  to  25  mph ", "15 to 25 MPH",
    "15 to 25 mph.", "25 mph or more", "15 to 25 mph with gusts to 40 mph", "10 mph increasing to 25 mph",
    "10 to 15 mph becoming 25 mph in the afternoon", "22 knots", "22 kt", "40 km/h", "24 to 40 km/h", "11 m/s",
    "fifteen to twenty-five mph", "Breezy", "15 to 25", "25", 25, 25.0, "", None, "WINDY", [25], {"value": 25},
    {"unitCode": "wmoUnit:km_h-1", "value": 40}, {"unitCode": "wmoUnit:km_h-1", "minValue": 24, "maxValue": 40},
    {"unitCode": "wmoUnit:m_s-1", "value": 11}, {"unitCode": "wmoUnit:km_h-1", "value": None}, {},
)  # fmt: skip


def written_as(draw: Draw, field: str, value: Any, **more: Any) -> Attack:
    """Put a value into a field of every rough period."""
    for period in rough_periods(draw):
        period[field] = value
    return draw.done(repr(value), **more)


@kind("text_wind_numbers", "wind_text")
def wind_numbers(draw: Draw) -> Attack:
    """The wind of the text as numbers, the strong one under any name."""
    low, high = draw.pick([0, 5]), draw.pick([38, 45])
    keys = draw.pick([("minValue", "maxValue"), ("maxValue", "minValue"), ("maxValue", "value"), ("value", "maxValue"),
                      ("minValue", "value"), ("value", "minValue")])  # fmt: skip
    written = {"unitCode": "wmoUnit:km_h-1", keys[0]: low, keys[1]: high}
    return written_as(draw, "windSpeed", written, strict=True)


@kind("text_wind_forms", "wind_text")
def wind_forms(draw: Draw) -> Attack:
    """The wind of the text in other words, ranges and units (A1)."""
    written = draw.pick(_FORMS)
    return written_as(draw, "windSpeed", written)


@kind("text_wind_spoiled", "wind_text")
def wind_spoiled(draw: Draw) -> Attack:
    """The wind of the text is no wind."""
    written = draw.pick(
        [
            *(one for one in SPOILED if one != "calm"),
            "-5 mph",
            "999 mph",
            "0 mph 25 mph",
            "25 mph 0 mph",
            "mph",
            "NaN mph",
        ]
    )
    return written_as(draw, "windSpeed", written)


@kind("text_field_gone", *BOTH)
def field_gone(draw: Draw) -> Attack:
    """The field is not there in the rough hours (C6)."""
    for period in rough_periods(draw):
        period.pop(draw.base.part)
    return draw.done()


#: Storm words as offices and clients write them; none of them excludes thunder.
STORMS = (
    "Storms Likely", "Severe Storms", "Stormy", "Tropical Storm", "Showers and Tstms", "Rain and Lightning",
    "Chance T-Storms", "Tstms", "Thundershowers", "Scattered Storms", "Storms", "Squalls",
    "Squall Line", "Tropical Storm Conditions Possible", "Hurricane Conditions", "Severe Weather", "Waterspouts",
    "Tornadoes", "Electrical Storms", "Rain, Heavy At Times, With Lightning", "T'storms", "T Storms", "Thunder Showers",
    "TSRA", "TS", "Tormentas", "Tormentas El\u00e9ctricas", "Orages", "Gewitter", "Strong Storms", "STORMS LIKELY",
    "Showers/Storms", "Showers & Storms", "Hail", "Derecho", "Microbursts", "Gusty Storms", "Monsoon Storms",
)  # fmt: skip


@kind("fault11_text_words", "thunder_text")
def storm_words(draw: Draw) -> Attack:
    """Storm words of the text in other forms."""
    said = draw.pick(STORMS)
    return written_as(draw, "shortForecast", said)


@kind("text_thunder_forms", "thunder_text")
def thunder_forms(draw: Draw) -> Attack:
    """Thunder named in other cases, spaces and marks."""
    said = draw.pick(
        ["THUNDERSTORMS LIKELY", "thunderstorms likely", " Thunderstorms  Likely ", "Thunderstorms\u00a0Likely",
         "Thunderstorms. Likely", "<b>Thunderstorms</b> Likely", "Showers And Thunderstorms Likely",
         "Thunder\u00adstorms Likely", "Thunder-storms Likely", "Thunderstorms likely then Sunny",
         "Sunny then Thunderstorms Likely", "No Thunderstorms then Thunderstorms"]
    )  # fmt: skip
    return written_as(draw, "shortForecast", said)


@kind("fault12_text_no_words", "thunder_text")
def no_words(draw: Draw) -> Attack:
    """The text says nothing of the weather."""
    said = draw.pick([None, "", " ", "Unknown", "Forecast Pending", "N/A", 5, [], {}, "-", "Slight Chance"])
    for period in periods(draw):
        period["shortForecast"] = said
    return draw.done(repr(said), unknown=frozenset({"thunder"}))


@kind("text_times_spoiled", *BOTH)
def times_spoiled(draw: Draw) -> Attack:
    """The times of the rough periods can't be read (E2)."""
    key = draw.pick(["startTime", "endTime"])
    written = draw.pick([None, "", "noon", 5, "2026-07-11", "2026-07-11T12:00:00", []])
    for period in rough_periods(draw):
        period[key] = written
    return draw.done(f"{key} {written!r}")


@kind("text_times_turned", *BOTH)
def times_turned(draw: Draw) -> Attack:
    """Periods end before they begin."""
    for period in rough_periods(draw):
        period["startTime"], period["endTime"] = period["endTime"], period["startTime"]
    return draw.done()


@kind("text_order", *BOTH)
def order(draw: Draw) -> Attack:
    """Periods out of order, with some of yesterday (C3)."""
    for period in [dict(one) for one in periods(draw)[:6]]:
        for key in ("startTime", "endTime"):
            period[key] = (datetime.fromisoformat(period[key]) - timedelta(days=1)).isoformat()
        periods(draw).append(period)
    draw.rng.shuffle(periods(draw))
    return draw.done(strict=True)


@kind("text_periods_gone", *BOTH)
def periods_gone(draw: Draw) -> Attack:
    """The periods of the rough hours are not there, or none is."""
    rough, inner = rough_periods(draw), draw.answer(TEXT_ROUTE).data["properties"]
    how = draw.pick(["rough", "all", "null", "object", "nulls"])
    inner["periods"] = {
        "rough": [one for one in periods(draw) if one not in rough],
        "all": [],
        "null": None,
        "object": {"0": periods(draw)[0]},
        "nulls": [None if one in rough else one for one in periods(draw)],
    }[how]
    return draw.done(how)


@kind("text_words_in_parts", "thunder_text")
def words_in_parts(draw: Draw) -> Attack:
    """The likely thunder stands beside other weather that has a lower chance of its own."""
    other = draw.pick(["Slight Chance Rain Showers", "Chance Drizzle", "Isolated Showers", "Patchy Fog", "Sunny"])
    word = draw.pick([" then ", " and ", " AND ", ", ", " becoming ", " with ", "; "])
    parts = [other, "Thunderstorms Likely"]
    if word in (" then ", " becoming ", "; ") and draw.pick([True, False]):
        parts.reverse()
    return written_as(draw, "shortForecast", word.join(parts), strict=True)


@kind("fault11_pictures", "thunder_text")
def pictures(draw: Draw) -> Attack:
    """The storm is a picture beside a calm word, or was lost on the way."""
    picture = draw.pick(["⛈", "⚡", "🌩", "☈", "⛈\ufe0f", "\ufffd\ufffd\ufffd", "???", "\x00\x00", "🌪", "🌀"])
    calm = draw.pick(["Sunny", "Cloudy", "Mostly Clear"])
    written = draw.pick([f"{calm} {picture}", f"{picture} {calm}", f"{calm}{picture}"])
    return written_as(draw, "shortForecast", written)


@kind("text_twins", *BOTH)
def twins(draw: Draw) -> Attack:
    """Periods twice, one of them calm."""
    calm = [{**one, "windSpeed": "5 mph", "shortForecast": "Sunny"} for one in rough_periods(draw)]
    inner = draw.answer(TEXT_ROUTE).data["properties"]
    inner["periods"] = calm + inner["periods"] if draw.pick([True, False]) else inner["periods"] + calm
    return draw.done()


@kind("text_issue_spoiled", *BOTH)
def issue_spoiled(draw: Draw) -> Attack:
    """The text says not when it was issued, or is old."""
    old = (draw.base.now - timedelta(hours=draw.pick([13, 25, 31]))).isoformat()
    value = draw.pick([None, "", "now", 5, "2026-07-11T08:00:00", old])
    draw.answer(TEXT_ROUTE).data["properties"]["updateTime"] = value
    for period in rough_periods(draw):
        period["windSpeed"], period["shortForecast"] = "5 mph", "Sunny"
    return draw.done(repr(value))


@kind("text_of_elsewhere", *BOTH)
def of_elsewhere(draw: Draw) -> Attack:
    """A calm text of another place or week, which its outline or its hours tell."""
    for period in rough_periods(draw):
        period["windSpeed"], period["shortForecast"] = "5 mph", "Sunny"
    body, north, east = draw.answer(TEXT_ROUTE).data, *draw.base.scene.place
    if draw.pick([True, False]):
        body["geometry"] = square((north + draw.pick([-5.0, 0.1]), east + draw.pick([0.0, 3.0])), 0.02)
    else:
        body["properties"]["validTimes"] = f"{instant(draw.base.now - timedelta(days=9))}/P7DT13H"
    return draw.done()


@kind("fault05_zero_gust_text", "wind_text")
def zero_gust(draw: Draw) -> Attack:
    """A gust of 0 mph beside a real wind, in the text."""
    written = draw.pick(["0 mph", "0 mph", {"unitCode": "wmoUnit:km_h-1", "value": 0}, "Calm", "0 kt"])
    gusty = opened(draw.answer(TEXT_ROUTE))
    for period in gusty.data["properties"]["periods"]:
        period["windSpeed"], period["windGust"] = "8 mph", "30 mph"
    sound = {**draw.base.bodies, TEXT_ROUTE: gusty}
    for period in periods(draw):
        period["windSpeed"], period["windGust"] = "8 mph", written
    return draw.done(repr(written), sound=sound)
