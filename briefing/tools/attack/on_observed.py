"""Mutations of what is measured now: stations, airport reports, buoys."""

from __future__ import annotations

import copy
from datetime import timedelta
from typing import Any

from briefing.tools.attack.bases import BUOY_ROUTE, METAR
from briefing.tools.attack.bodies import (
    BUOY_HEAD,
    GRID_PATH,
    STATIONS,
    Answer,
    buoy_row,
    instant,
    observation,
    report,
    stations_body,
)
from briefing.tools.attack.kinds import Attack, Draw, kind
from briefing.tools.attack.on_grid import SPOILED

STATION = ("station_wind", "station_gust")
AIRPORT = ("airport_wind", "airport_gust")
JSON = "application/json"


def listed(draw: Draw) -> list[Any]:
    """The observations of the station that measured it."""
    found: list[Any] = draw.answer().data
    return found


def inner(draw: Draw) -> dict[str, Any]:
    """Properties of the observation that carries the hazard."""
    found: dict[str, Any] = listed(draw)[0]["properties"]
    return found


# -- stations ---------------------------------------------------------------------------------------------------------


@kind("fault06_newest_blank", *STATION)
def newest_blank(draw: Draw) -> Attack:
    """The newest report is blank, the complete one before it is not asked for."""
    listed(draw).insert(0, observation(draw.base.scene, STATIONS[0], 5, None, None))
    return draw.done(strict=True)


@kind("fault06_newest_light", *STATION)
def newest_light(draw: Draw) -> Attack:
    """The newest report has a light wind and no gust, the one before it the gust."""
    wind = inner(draw)["windSpeed"]["value"] / 3.6 if draw.base.holder == "gust" else None
    listed(draw).insert(0, observation(draw.base.scene, STATIONS[0], 5, wind, None))
    return draw.done(strict=True)


@kind("fault06_same_minute", *STATION)
def same_minute(draw: Draw) -> Attack:
    """Two reports of one minute, the weaker in any place."""
    weak = copy.deepcopy(listed(draw)[0])
    for key in ("windSpeed", "windGust"):
        if weak["properties"][key]["value"] is not None:
            weak["properties"][key]["value"] = 9.0
    listed(draw).insert(draw.pick([0, 1]), weak)
    return draw.done(strict=True)


@kind("fault06_refused_field", *STATION)
def refused_field(draw: Draw) -> Attack:
    """One field of the newest report is refused, the report before it is sound."""
    newest = copy.deepcopy(listed(draw)[0])
    key = draw.pick(["windSpeed", "windGust", "windDirection", "temperature", "seaLevelPressure"])
    newest["properties"]["timestamp"] = instant(draw.base.now - timedelta(minutes=4))
    newest["properties"][key] = draw.pick(
        [{"unitCode": "wmoUnit:km_h-1", "value": 804.67, "qualityControl": "V"},
         {"unitCode": "wmoUnit:km_h-1", "value": 55, "qualityControl": "X"}, {"unitCode": "x", "value": 3}]
    )  # fmt: skip
    listed(draw).insert(0, newest)
    return draw.done(key, strict=True)


@kind("station_raw_only", *STATION)
def raw_only(draw: Draw) -> Attack:
    """The field is null, the raw report has the wind (A9, A12)."""
    wind, gust = (inner(draw)[key]["value"] for key in ("windSpeed", "windGust"))
    group = f"{round(wind / 1.852):02d}" + ("" if gust is None else f"G{round(gust / 1.852):02d}")
    inner(draw)["rawMessage"] = f"{STATIONS[0]} 111153Z 16{'0'}{group}KT 10SM CLR 24/17 A2998 RMK AO2"
    for key in ("windSpeed", "windGust"):
        inner(draw)[key] = draw.pick(
            [{"unitCode": "wmoUnit:km_h-1", "value": None, "qualityControl": "Z"}, None,
             {"unitCode": "wmoUnit:km_h-1", "value": 804.67, "qualityControl": "Z"}]
        )  # fmt: skip
    return draw.done(strict=True)


@kind("station_field_spoiled", *STATION)
def field_spoiled(draw: Draw) -> Attack:
    """The field that carries it is no number, of no unit or failed its check (C6, F1)."""
    own = inner(draw)[draw.base.part]
    nothing = None if draw.base.holder == "sustained_wind" else ""  # a gust of null is none, as stations report it
    change = draw.pick(
        [nothing, {}, [], 55, "55", {**own, "unitCode": None}, {**own, "unitCode": "wmoUnit:furlong"},
         {**own, "qualityControl": "X"}, {**own, "value": draw.pick(SPOILED)}, {"unitCode": own["unitCode"]}]
    )  # fmt: skip
    inner(draw)[draw.base.part] = change
    return draw.done(repr(change)[:60])


@kind("station_field_gone", "station_wind")
def field_gone(draw: Draw) -> Attack:
    """The wind is null or not there."""
    if draw.pick([True, False]):
        del inner(draw)[draw.base.part]
    else:
        inner(draw)[draw.base.part]["value"] = None
    return draw.done()


@kind("station_unit_renamed", *STATION)
def unit_renamed(draw: Draw) -> Attack:
    """Another unit with its values (F1)."""
    unit, factor = draw.pick([("unit:m_s-1", 1 / 3.6), ("wmoUnit:m_s-1", 1 / 3.6), ("unit:km_h-1", 1.0)])
    for key in ("windSpeed", "windGust"):
        if inner(draw)[key]["value"] is not None:
            inner(draw)[key] |= {"unitCode": unit, "value": inner(draw)[key]["value"] * factor}
    return draw.done(unit, strict=True)


@kind("station_time_spoiled", *STATION)
def time_spoiled(draw: Draw) -> Attack:
    """The time of the report can't be read or lies elsewhere (C4)."""
    value = draw.pick(
        [None, "", "now", 5, "2026-07-11", "2026-07-11T12:00:00", instant(draw.base.now + timedelta(hours=3)),
         instant(draw.base.now - timedelta(hours=13)), instant(draw.base.now - timedelta(minutes=95)),
         instant(draw.base.now - timedelta(days=400))]
    )  # fmt: skip
    inner(draw)["timestamp"] = value
    return draw.done(repr(value))


@kind("station_ahead_of_now", *STATION)
def ahead_of_now(draw: Draw) -> Attack:
    """The report that carries it is dated some minutes ahead of now, beside a calm older one."""
    minutes = draw.pick([11, 15, 40, 61, 300])
    inner(draw)["timestamp"] = instant(draw.base.now + timedelta(minutes=minutes))
    listed(draw).append(observation(draw.base.scene, STATIONS[0], draw.pick([5, 20, 50]), 2.0, 3.0))
    return draw.done(f"{minutes} min")


@kind("station_every_minute", *STATION)
def every_minute(draw: Draw) -> Attack:
    """The station reports every minute, and newer calm reports stand before the one that carries it."""
    newer = draw.pick([24, 27, 30])
    wind = inner(draw)["windSpeed"]["value"] / 3.6 if draw.base.holder == "gust" else None
    inner(draw)["timestamp"] = instant(draw.base.now - timedelta(minutes=newer + 1))
    for minutes in range(newer, 0, -1):
        listed(draw).insert(0, observation(draw.base.scene, STATIONS[0], minutes, wind, None))
    return draw.done(f"{newer} newer", strict=True)


@kind("station_order", *STATION)
def order(draw: Draw) -> Attack:
    """Older and newer reports in any order."""
    for minutes in (70, 130, 400):
        listed(draw).append(observation(draw.base.scene, STATIONS[0], minutes, 2.0, None))
    if draw.pick([True, False]):
        listed(draw).reverse()
    else:
        draw.rng.shuffle(listed(draw))
    return draw.done(strict=True)


@kind("station_zero_wind", "station_gust")
def zero_wind(draw: Draw) -> Attack:
    """A wind of 0 beside a gust."""
    inner(draw)["windSpeed"]["value"] = draw.pick([0, 0.0, "0"])
    return draw.done(strict=True)


@kind("fault05_zero_gust_station", "station_gust")
def zero_gust(draw: Draw) -> Attack:
    """A gust of exactly 0 beside a real wind, measured."""
    inner(draw)["windGust"]["value"] = draw.pick([0, 0.0, "0"])
    return draw.done()


@kind("stations_list_spoiled", *STATION)
def stations_spoiled(draw: Draw) -> Attack:
    """The list of stations is empty, reshaped or of others."""
    how = draw.pick(["empty", "null", "objects", "names", "gone", "twins"])
    body = stations_body()
    value: Any = {
        "empty": {"features": []},
        "null": {"features": None},
        "objects": {"features": [{}, None, 5]},
        "names": {"features": [{"properties": {"stationIdentifier": one}} for one in ("", None, "../x", "K" * 99)]},
        "gone": {},
        "twins": {"features": [body["features"][1]] * 3 + body["features"]},
    }[how]
    draw.bodies[f"/nws{GRID_PATH}/stations"] = Answer(value)
    return draw.done(how, strict=True)  # the airport of the profile is the same station


@kind("station_links_gone", *STATION)
def links_gone(draw: Draw) -> Attack:
    """The position names no stations, zones or hourly text, or its list of stations lacks the nearest one."""
    body = draw.answer("/nws/points").data["properties"]
    for name in draw.pick([("observationStations",), ("observationStations", "county"), ("forecastHourly",)]):
        if draw.pick([True, False]):
            del body[name]
        else:
            body[name] = draw.pick([None, "", 5, "stations"])
    names = [draw.pick(["", None, "../x"]), *STATIONS[1:]]
    draw.bodies[f"/nws{GRID_PATH}/stations"] = Answer(
        {"features": [{"properties": {"stationIdentifier": one}} for one in names]}
    )
    return draw.done()


@kind("station_body_reshaped", *STATION)
def station_reshaped(draw: Draw) -> Attack:
    """The list of observations is no list."""
    first = listed(draw)[0]
    value = draw.pick(
        [{}, {"features": None}, {"features": {}}, {"features": []}, {"features": [None]}, {"features": [{}]},
         {"properties": first["properties"]}, {"features": [{"properties": None}]}, {"features": [first["properties"]]}]
    )  # fmt: skip
    draw.bodies[draw.base.route] = Answer(value)
    return draw.done(repr(value)[:40])


# -- airport reports --------------------------------------------------------------------------------------------------


@kind("fault06_airport_same_minute", *AIRPORT)
def airport_same_minute(draw: Draw) -> Attack:
    """Two reports of one minute, the weaker in any place."""
    own = listed(draw)[0]
    weak = report(draw.base.scene, STATIONS[0], 14, 5, None, obsTime=own["obsTime"], metarType="SPECI")
    listed(draw).insert(draw.pick([0, 1]), weak)
    return draw.done(strict=True)


@kind("fault06_airport_newest_light", "airport_gust")
def airport_newest_light(draw: Draw) -> Attack:
    """The newest report names no gust, the one before it does."""
    listed(draw).insert(draw.pick([0, 1]), report(draw.base.scene, STATIONS[0], 4, 8, None))
    return draw.done(strict=True)


@kind("fault06_airport_newest_blank", *AIRPORT)
def airport_newest_blank(draw: Draw) -> Attack:
    """The newest report is blank."""
    blank = report(draw.base.scene, STATIONS[0], 4, None, None)
    listed(draw).insert(draw.pick([0, 1]), blank)
    return draw.done(strict=True)


@kind("airport_field_spoiled", *AIRPORT)
def airport_spoiled(draw: Draw) -> Attack:
    """Wind or gust is no number (A11, F3)."""
    listed(draw)[0][draw.base.part] = value = draw.pick(
        [*SPOILED, "21KT", "21 kt", "P49", "VRB", "21+", {"repr": 21}, "G30", "30.0"]
    )
    if draw.pick([True, False]):
        listed(draw)[0]["rawOb"] = draw.pick(["", None, 5, "METAR KTSA 111153Z AUTO", "NIL="])
    return draw.done(f"{value!r} {listed(draw)[0]['rawOb']!r}"[:80])


@kind("airport_field_gone", *AIRPORT)
def airport_gone(draw: Draw) -> Attack:
    """Wind or gust is not there, the raw report has it."""
    if draw.pick([True, False]):
        del listed(draw)[0][draw.base.part]
    else:
        listed(draw)[0][draw.base.part] = None
    return draw.done(strict=True)


@kind("airport_field_and_raw_gone", "airport_wind")
def airport_all_gone(draw: Draw) -> Attack:
    """The wind stands neither in the field nor in the raw report."""
    own = listed(draw)[0]
    own.pop(draw.base.part)
    own["rawOb"] = draw.pick(["", None, "METAR KTSA 111153Z NIL=", "KTSA 111153Z AUTO 10SM CLR", "/////KT"])
    return draw.done(repr(own["rawOb"]))


_GROUPS = (
    "16021G30KT", "VRB21G30KT", "16021G30MPS", "160P49KT", "16021KT 140V190", "16021G30KT 140V190", "160021G030KT",
    "16021G30", "160/21G30KT", "16021g30kt", "16021 G30 KT", "16011G15MPS", "16021G//KT", "/////G30KT", "///21G30KT",
    "36021G30KT",
)  # fmt: skip


@kind("airport_raw_forms", *AIRPORT)
def airport_raw(draw: Draw) -> Attack:
    """The raw report in other forms, the fields not there (H7)."""
    own, group = listed(draw)[0], draw.pick(_GROUPS)
    lead = draw.pick(
        ["METAR KTSA 111153Z ", "SPECI KTSA 111153Z COR ", "KTSA 111153Z AUTO ", "METAR COR KTSA 111153Z "]
    )
    own["rawOb"] = f"{lead}{group} 10SM FEW050 24/17 A2998 RMK AO2 PK WND 16035/1140"
    for key in ("wspd", "wgst"):
        own.pop(key, None)
    return draw.done(f"{lead}{group}")


@kind("airport_peak_in_remarks", "airport_gust")
def airport_peak(draw: Draw) -> Attack:
    """The gust stands only in the remarks, as the peak wind of the hour."""
    own = listed(draw)[0]
    own.pop("wgst")
    peak = f"{draw.base.now - timedelta(minutes=25):%H%M}"
    own["rawOb"] = f"METAR KTSA 111153Z 16008KT 10SM CLR 24/17 A2998 RMK AO2 PK WND 16030/{peak}"
    return draw.done()


@kind("airport_time_odd", *AIRPORT)
def airport_time(draw: Draw) -> Attack:
    """The time of the report in another form, or none."""
    own = listed(draw)[0]
    value = draw.pick(
        [None, "", own["obsTime"] * 1000, str(own["obsTime"]), instant(draw.base.now), 0, -1, "noon",
         own["obsTime"] + 4 * 3600, own["obsTime"] - 4 * 3600]
    )  # fmt: skip
    own["obsTime"] = value
    return draw.done(repr(value))


@kind("airport_station_odd", *AIRPORT)
def airport_station(draw: Draw) -> Attack:
    """The station's name or place can't be read (H8)."""
    key = draw.pick(["icaoId", "lat", "lon", "name"])
    listed(draw)[0][key] = value = draw.pick([None, "", "x", [], 999])
    return draw.done(f"{key} {value!r}")


@kind("airport_body_reshaped", *AIRPORT)
def airport_reshaped(draw: Draw) -> Attack:
    """The body is no list, empty, or a sentence (D14)."""
    value, mime = draw.pick(
        [({"data": listed(draw)}, JSON), ({}, JSON), ([], JSON), ("", JSON), ("No data", "text/plain"),
         ("This API endpoint has moved", "text/plain"), ([None], JSON), ([[listed(draw)]], JSON), (b"\xff\xfe[]", JSON)]
    )  # fmt: skip
    draw.bodies[METAR] = Answer(value, kind=mime)
    return draw.done(repr(value)[:40])


@kind("fault05_zero_gust_airport", "airport_gust")
def airport_zero_gust(draw: Draw) -> Attack:
    """A gust of exactly 0 beside a real wind, in an airport report."""
    listed(draw)[0]["wgst"] = draw.pick([0, "0", 0.0])
    return draw.done(strict=True)  # the raw report still has it


# -- buoys ------------------------------------------------------------------------------------------------------------


def table(draw: Draw) -> tuple[str, list[str]]:
    """Heading and rows of the buoy's table."""
    lines = draw.answer(BUOY_ROUTE).data.splitlines(keepends=True)
    return "".join(lines[:2]), lines[2:]


def put(draw: Draw, head: str, rows: list[str]) -> None:
    """Set the buoy's table."""
    draw.answer(BUOY_ROUTE).data = head + "".join(rows)


def swapped(row: str, number: int, value: str) -> str:
    """A row with another value in a column."""
    fields = row.split()
    fields[number] = value
    return " ".join(fields) + "\n"


@kind("buoy_value_missing", "buoy")
def buoy_missing(draw: Draw) -> Attack:
    """The value is missing in every form that the files know (H1)."""
    head, rows = table(draw)
    value = draw.pick(["MM", "99.0", "999", "//", "9999", "-", "NaN", "99.00", "999.0", "-99", "M", "0x9"])
    number = head.split("\n", maxsplit=1)[0].lstrip("#").split().index(draw.base.part)
    put(draw, head, [swapped(row, number, value) for row in rows])
    return draw.done(value)


@kind("fault06_buoy_newest_light", "buoy")
def buoy_newest(draw: Draw) -> Attack:
    """The newest row is light or blank, those before it are not."""
    head, rows = table(draw)
    wind = draw.pick(["MM", rows[0].split()[6]]) if draw.base.holder == "gust" else "MM"
    put(draw, head, [buoy_row(draw.base.scene, 3, wind, "MM"), *rows])
    return draw.done(wind, strict=True)


@kind("buoy_rows_broken", "buoy")
def buoy_broken(draw: Draw) -> Attack:
    """The newest rows are half written, doubled or too long (H2)."""
    head, rows = table(draw)
    first = draw.pick(
        [rows[0][:30] + "\n", rows[0].strip() + " " + rows[0], "\n", "Error 500\n", "<html>\n", rows[0] * 2]
    )
    put(draw, head, [first, *rows[1:]])
    return draw.done(repr(first)[:30], strict=True)


@kind("buoy_order", "buoy")
def buoy_order(draw: Draw) -> Attack:
    """Rows oldest first, or in any order."""
    head, rows = table(draw)
    rows += [buoy_row(draw.base.scene, minutes, "2.0", "3.0") for minutes in (95, 200, 900)]
    draw.rng.shuffle(rows)
    put(draw, head, rows)
    return draw.done(strict=True)


@kind("buoy_head_changed", "buoy")
def buoy_head(draw: Draw) -> Attack:
    """Columns in another order, renamed, or no heading (H3)."""
    head, rows = table(draw)
    how = draw.pick(["gone", "renamed", "units gone", "blank"])
    changed = {
        "gone": "",
        "renamed": head.replace("GST ", "GUST").replace("WSPD", "WIND"),
        "units gone": head.split("\n", maxsplit=1)[0] + "\n",
        "blank": "#\n#\n",
    }[how]
    put(draw, changed, rows)
    return draw.done(how)


@kind("buoy_stale", "buoy")
def buoy_stale(draw: Draw) -> Attack:
    """The last rows are old: the buoy is out for the season (H4)."""
    hours = draw.pick([2, 5, 30, 24 * 200])
    put(draw, BUOY_HEAD, [buoy_row(draw.base.scene, 60 * hours + n * 10, "10.5", "14.0") for n in range(4)])
    return draw.done(f"{hours} h")


@kind("buoy_zero_gust", "buoy")
def buoy_zero(draw: Draw) -> Attack:
    """A gust of exactly 0 beside a real wind, at a buoy."""
    head, rows = table(draw)
    put(draw, head, [swapped(row, 7, draw.pick(["0.0", "0", "0.00"])) for row in rows])
    return draw.done()
