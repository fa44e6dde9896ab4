"""Mutations of the model's body, at a place that no other forecast covers."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from briefing.tools.attack.bases import MODEL
from briefing.tools.attack.bodies import KMH, KNOT, MPH
from briefing.tools.attack.kinds import Attack, Draw, kind
from briefing.tools.attack.on_grid import SPOILED, ZEROS

ALL = ("wind_model", "gust_model", "cape_model", "code_model")
WIND = ("wind_model", "gust_model")


def hourly(draw: Draw) -> dict[str, list[Any]]:
    """The columns."""
    found: dict[str, list[Any]] = draw.answer(MODEL).data["hourly"]
    return found


def column(draw: Draw) -> list[Any]:
    """The column that carries the hazard."""
    return hourly(draw)[draw.base.part]


def rough_rows(draw: Draw) -> list[int]:
    """Numbers of the rows of the rough hours, and of the hour after them, to which some columns are moved."""
    hour = timedelta(hours=1)
    at = [datetime.fromtimestamp(value, UTC) for value in hourly(draw)["time"]]
    scene = draw.base.scene
    return [n for n, time in enumerate(at) if scene.is_rough(time) or scene.is_rough(time - hour)]


def fill_rough(draw: Draw, value: Any) -> None:
    """Put a value into the rough hours."""
    for row in rough_rows(draw):
        column(draw)[row] = value


@kind("model_rough_null", *ALL)
def rough_null(draw: Draw) -> Attack:
    """The rough hours are null (A5, A8, C8)."""
    fill_rough(draw, None)
    return draw.done()


@kind("model_all_null", *ALL)
def all_null(draw: Draw) -> Attack:
    """The column is null throughout (A5, C9)."""
    hourly(draw)[draw.base.part] = [None] * len(column(draw))
    return draw.done()


@kind("model_column_gone", *ALL)
def column_gone(draw: Draw) -> Attack:
    """The column is not there, or under the name of a model."""
    values = hourly(draw).pop(draw.base.part)
    if draw.pick([True, False]):
        hourly(draw)[f"{draw.base.part}_best_match"] = values
    return draw.done()


@kind("model_column_reshaped", *ALL)
def column_reshaped(draw: Draw) -> Attack:
    """The column is no list."""
    value = draw.pick([None, {}, [], "", 5, {"0": 1}, [column(draw)]])
    hourly(draw)[draw.base.part] = value
    return draw.done(repr(value)[:30])


@kind("model_column_length", *ALL)
def column_length(draw: Draw) -> Attack:
    """The column is shorter or longer than the times."""
    cut = draw.pick([-30, -5, -1, 1, 5, 24])
    values = column(draw)
    hourly(draw)[draw.base.part] = values[:cut] if cut < 0 else values[:1] * cut + values
    return draw.done(f"{cut:+d}")


@kind("model_columns_length", *ALL)
def columns_length(draw: Draw) -> Attack:
    """All columns are shorter or longer than the times."""
    cut = draw.pick([-30, -5, -1, 1, 5, 24])
    for name, values in list(hourly(draw).items()):
        if name != "time":
            hourly(draw)[name] = values[:cut] if cut < 0 else values[:1] * cut + values
    return draw.done(f"{cut:+d}")


@kind("model_rough_spoiled", *ALL)
def rough_spoiled(draw: Draw) -> Attack:
    """The rough hours are no numbers, sentinels or impossible."""
    value = draw.pick(SPOILED)
    fill_rough(draw, value)
    return draw.done(repr(value))


@kind("model_all_zero", "wind_model", "gust_model")
def all_zero(draw: Draw) -> Attack:
    """Nulls became zeros throughout (C7)."""
    for name in ("wind_speed_10m", "wind_gusts_10m", "wind_direction_10m"):
        hourly(draw)[name] = [0] * len(hourly(draw)[name])
    return draw.done()


@kind("fault05_zero_gust_model", "gust_model")
def zero_gust(draw: Draw) -> Attack:
    """A gust of exactly 0 beside a real wind, in the model."""
    value = draw.pick(ZEROS[:5])
    if draw.pick([True, False]):
        fill_rough(draw, value)
    else:
        hourly(draw)[draw.base.part] = [value] * len(column(draw))
    return draw.done(repr(value))


@kind("gust_below_wind_model", "gust_model")
def gust_below(draw: Draw) -> Attack:
    """A gust below the wind, as one model sends (A4)."""
    value = draw.pick([0.2, 1.0, 3.0, 5.0, 7.0])
    fill_rough(draw, value)
    return draw.done(f"{value} km/h")


@kind("model_number_text", *ALL)
def number_text(draw: Draw) -> Attack:
    """Numbers come as texts (F3)."""
    hourly(draw)[draw.base.part] = [None if one is None else str(one) for one in column(draw)]
    return draw.done(strict=True)


@kind("model_unit_unknown", *ALL)
def unit_unknown(draw: Draw) -> Attack:
    """The column has no unit, or one that nobody knows (F6)."""
    units = draw.answer(MODEL).data["hourly_units"]
    unit = draw.pick([None, "", "furlong", "bft", "km", 5, [], "undefined"])
    if unit is None:
        units.pop(draw.base.part)
    else:
        units[draw.base.part] = unit
    return draw.done(repr(unit))


@kind("model_unit_renamed", *WIND)
def unit_renamed(draw: Draw) -> Attack:
    """Another unit with its values."""
    unit, factor = draw.pick([("m/s", 1.0), ("mph", 1 / MPH), ("mp/h", 1 / MPH), ("kn", 1 / KNOT), ("km/h", KMH)])
    for name in ("wind_speed_10m", "wind_gusts_10m"):
        draw.answer(MODEL).data["hourly_units"][name] = unit
        hourly(draw)[name] = [one / KMH * factor for one in hourly(draw)[name]]
    return draw.done(unit, strict=unit != "mp/h")


@kind("model_times_text", *ALL)
def times_text(draw: Draw) -> Attack:
    """Times as local text, or units that say other than seconds (E1)."""
    body = draw.answer(MODEL).data
    how = draw.pick(["iso", "unit", "texts", "milliseconds"])
    if how == "iso":
        body["hourly_units"]["time"] = "iso8601"
        body["hourly"]["time"] = [f"{datetime.fromtimestamp(n, UTC):%Y-%m-%dT%H:%M}" for n in body["hourly"]["time"]]
    elif how == "unit":
        body["hourly_units"]["time"] = draw.pick(["", None, "s", "iso8601"])
    elif how == "texts":
        body["hourly"]["time"] = [str(n) for n in body["hourly"]["time"]]
    else:
        body["hourly"]["time"] = [n * 1000 for n in body["hourly"]["time"]]
    return draw.done(how)


@kind("model_times_gap", *ALL)
def times_gap(draw: Draw) -> Attack:
    """The rows of the rough hours are not there (C11)."""
    rough = set(rough_rows(draw))
    for name, values in list(hourly(draw).items()):
        hourly(draw)[name] = [one for n, one in enumerate(values) if n not in rough]
    return draw.done()


@kind("model_times_turned", *ALL)
def times_turned(draw: Draw) -> Attack:
    """Times out of order, twice, or not of full hours (E4)."""
    times, how = hourly(draw)["time"], draw.pick(["twice", "turned", "half", "null", "huge"])
    row = rough_rows(draw)[1]
    if how == "turned":
        times.reverse()
    else:
        times[row] = {"twice": times[row - 1], "half": times[row] + 1800, "null": None, "huge": 10**12}[how]
    return draw.done(how)


@kind("model_ends_early", *ALL)
def ends_early(draw: Draw) -> Attack:
    """The body ends before the outing does."""
    last = rough_rows(draw)[0] + draw.rng.randrange(-2, 3)
    for name, values in list(hourly(draw).items()):
        hourly(draw)[name] = values[:last]
    return draw.done()


@kind("fault10_days_ahead", *ALL)
def days_ahead(draw: Draw) -> Attack:
    """The times of the whole body lie days ahead."""
    days = draw.pick([2, 3, 6])
    hourly(draw)["time"] = [one + 86400 * days for one in hourly(draw)["time"]]
    return draw.done(f"{days} days")


@kind("model_other_place", *ALL)
def other_place(draw: Draw) -> Attack:
    """The body is of a place far away, or says not of which (I6)."""
    body = draw.answer(MODEL).data
    value = draw.pick([None, "", 0.0, body["latitude"] + 3, "north", -999])
    body["latitude"] = value
    fill_rough(draw, column(draw)[0])
    return draw.done(repr(value))


@kind("model_body_reshaped", *ALL)
def body_reshaped(draw: Draw) -> Attack:
    """The body is a list, an error or half of one."""
    answer = draw.answer(MODEL)
    how = draw.pick(["list", "empty list", "error", "no hourly", "no units", "hourly list", "null times"])
    body = answer.data
    answer.data = {
        "list": [body],
        "empty list": [],
        "error": {"error": True, "reason": "Data corrupted at path ''. Cannot initialize"},
        "no hourly": {key: value for key, value in body.items() if key != "hourly"},
        "no units": {key: value for key, value in body.items() if key != "hourly_units"},
        "hourly list": {**body, "hourly": [body["hourly"]]},
        "null times": {**body, "hourly": {**body["hourly"], "time": None}},
    }[how]
    return draw.done(how)


@kind("model_code_odd", "code_model")
def code_odd(draw: Draw) -> Attack:
    """A weather code outside the service's list, some of which mean lightning (B4)."""
    value = draw.pick([4, 11, 12, 13, 17, 18, 19, 29, 91, 92, 93, 94, 100, 195, 96.5])
    fill_rough(draw, value)
    return draw.done(repr(value))


@kind("model_code_forms", "code_model")
def code_forms(draw: Draw) -> Attack:
    """The storm codes in other forms (B4)."""
    value = draw.pick([95, 95.0, "95", "95.0", 96, 97, 98, 99])
    fill_rough(draw, value)
    return draw.done(repr(value), strict=True)


@kind("fault12_model_no_thunder", "cape_model", "code_model")
def no_thunder(draw: Draw) -> Attack:
    """Neither instability nor weather code is given."""
    for name in ("cape", "weather_code"):
        if draw.pick([True, False]):
            hourly(draw)[name] = [None] * len(hourly(draw)[name])
        else:
            hourly(draw).pop(name)
    return draw.done()


@kind("model_cape_lost", "cape_model")
def cape_lost(draw: Draw) -> Attack:
    """The instability is lost and the code names only rain."""
    hourly(draw)["cape"] = [None] * len(hourly(draw)["cape"])
    for row in rough_rows(draw):
        hourly(draw)["weather_code"][row] = draw.pick([2, 3, 61, 80])
    return draw.done()


@kind("model_rain_lost", "cape_model", "code_model")
def rain_lost(draw: Draw) -> Attack:
    """The rain chance beside the instability is lost (B3)."""
    value = draw.pick([None, "", -1, 999, "n/a"])
    for row in rough_rows(draw):
        hourly(draw)["precipitation_probability"][row] = value
    return draw.done(repr(value))
