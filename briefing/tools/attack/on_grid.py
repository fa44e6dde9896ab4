"""Mutations of the raw forecast grid."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from briefing.tools.attack.bases import GRID, MODEL, Base
from briefing.tools.attack.bodies import KMH, instant, opened, square, weather_entry
from briefing.tools.attack.kinds import Attack, Draw, kind

WIND = ("wind_grid", "gust_grid", "marine_wind", "marine_gust")
THUNDER = ("thunder_pct", "thunder_level", "thunder_weather")
ALL = (*WIND, *THUNDER, "fog_grid", "heat_grid")
NUMBERS = (*WIND, "thunder_pct", "thunder_level", "fog_grid", "heat_grid")
UNITS = (*WIND, "fog_grid", "heat_grid")

#: Values that services send where a number should be, and that are no number anyone may use.
SPOILED: tuple[Any, ...] = (
    "", "NaN", "n/a", "M", "--", "calm", "light", "37 km/h", [], [37], {}, {"value": 37}, True, False, -999, -9999.0,
    999999, -1, -0.5, 1e9, float("nan"), float("inf"), float("-inf"), "1e400", "٣٧", "0x25", "3 7",
)  # fmt: skip


def properties(draw: Draw) -> dict[str, Any]:
    """The properties of the grid's body."""
    found: dict[str, Any] = draw.answer(GRID).data["properties"]
    return found


def layer(draw: Draw) -> dict[str, Any]:
    """The layer that carries the hazard."""
    found: dict[str, Any] = properties(draw)[draw.base.part]
    return found


def span_of(entry: dict[str, Any]) -> tuple[datetime, datetime]:
    """Begin and end of a composed interval."""
    begin, _, length = entry["validTime"].partition("/PT")
    start = datetime.fromisoformat(begin)
    return start, start + timedelta(hours=int(length.removesuffix("H")))


def rough_entries(draw: Draw) -> list[dict[str, Any]]:
    """Entries of the layer that lie in the rough hours."""
    return [one for one in layer(draw)["values"] if draw.base.scene.is_rough(span_of(one)[0])]


def calm_value(base: Base) -> Any:
    """What the layer says in a calm hour of the base."""
    values = base.bodies[GRID].data["properties"][base.part]["values"]  # type: ignore[union-attr]
    return values[0]["value"]


@kind("grid_layer_gone", *ALL)
def layer_gone(draw: Draw) -> Attack:
    """The layer is not there at all."""
    del properties(draw)[draw.base.part]
    return draw.done()


@kind("grid_layer_null", *ALL)
def layer_null(draw: Draw) -> Attack:
    """The layer is null, a text, a list or a number."""
    value = draw.pick([None, "", "none", [], [1, 2], 7, False, {}])
    properties(draw)[draw.base.part] = value
    return draw.done(repr(value))


@kind("grid_layer_empty", *ALL)
def layer_empty(draw: Draw) -> Attack:
    """The layer holds no entries (B1)."""
    layer(draw)["values"] = []
    return draw.done()


@kind("grid_layer_reshaped", *ALL)
def layer_reshaped(draw: Draw) -> Attack:
    """The layer's entries are no list."""
    value = draw.pick([None, {}, "none", 0, {"0": layer(draw)["values"][0]}, [layer(draw)["values"]]])
    layer(draw)["values"] = value
    return draw.done(repr(value)[:40])


@kind("grid_values_null", *ALL)
def values_null(draw: Draw) -> Attack:
    """Every value of the layer is null (A5, C8)."""
    for entry in layer(draw)["values"]:
        entry["value"] = None
    return draw.done()


@kind("grid_rough_null", *ALL)
def rough_null(draw: Draw) -> Attack:
    """The values of the rough hours are null (A8)."""
    for entry in rough_entries(draw):
        entry["value"] = None
    return draw.done()


@kind("grid_rough_gone", *ALL)
def rough_gone(draw: Draw) -> Attack:
    """The rough hours have no entry."""
    gone = rough_entries(draw)
    layer(draw)["values"] = [one for one in layer(draw)["values"] if one not in gone]
    return draw.done()


@kind("grid_rough_spoiled", *ALL)
def rough_spoiled(draw: Draw) -> Attack:
    """The values of the rough hours are no numbers, sentinels or impossible (F5, A12)."""
    cold = draw.base.part == "temperature"  # -1 C is an air that can be, on another day
    value = draw.pick([one for one in SPOILED if not (cold and one in (-1, -0.5))])
    for entry in rough_entries(draw):
        entry["value"] = value
    return draw.done(repr(value))


@kind("grid_rough_valueless", *ALL)
def rough_valueless(draw: Draw) -> Attack:
    """The entries of the rough hours have no value."""
    for entry in rough_entries(draw):
        entry[draw.pick(["val", "Value", "values"])] = entry.pop("value")
    return draw.done()


@kind("grid_entry_reshaped", *ALL)
def entry_reshaped(draw: Draw) -> Attack:
    """Entries of the rough hours are no objects."""
    gone, value = rough_entries(draw), draw.pick([None, 1, "x", [], {}])
    layer(draw)["values"] = [value if one in gone else one for one in layer(draw)["values"]]
    return draw.done(repr(value))


@kind("grid_number_text", *NUMBERS)
def number_text(draw: Draw) -> Attack:
    """Numbers of the layer come as texts (F3)."""
    for entry in layer(draw)["values"]:
        if entry["value"] is not None:
            entry["value"] = str(entry["value"])
    return draw.done(strict=True)


@kind("grid_unit_gone", *UNITS)
def unit_gone(draw: Draw) -> Attack:
    """The layer has no unit."""
    if draw.pick([True, False]):
        layer(draw).pop("uom")
    else:
        layer(draw)["uom"] = draw.pick([None, "", [], 5])
    return draw.done()


@kind("grid_unit_unknown", *UNITS)
def unit_unknown(draw: Draw) -> Attack:
    """The layer has a unit that nobody knows (F6)."""
    unit = draw.pick(["nwsUnit:s", "wmoUnit:furlong", "wmoUnit:km_h", "km", "wmoUnit:", "unit:Pa", "wmoUnit:m_s-2"])
    layer(draw)["uom"] = unit
    return draw.done(unit)


@kind("grid_unit_renamed", "wind_grid", "gust_grid")
def unit_renamed(draw: Draw) -> Attack:
    """Another unit with its values, as once happened over night (F1)."""
    unit, factor = draw.pick(
        [("unit:m_s-1", 1.0), ("wmoUnit:m_s-1", 1.0), ("unit:km_h-1", KMH), ("wmoUnit:km_h-1", KMH)]
    )
    layer(draw)["uom"] = unit
    for entry in layer(draw)["values"]:
        entry["value"] = entry["value"] / KMH * factor
    return draw.done(unit, strict=True)


_TIMES = ("", None, 5, "tomorrow", "2026-07-11", "2026-07-11T08:00:00", "2026-13-41T99:00:00+00:00/PT1H",
          "{}/", "{}", "{}/P", "{}/1H", "/PT1H", "{}/PT1H/PT2H", "{}/-PT1H", "{}/PT0S", "{}/PT1H30",
          "{}/1970-01-01T00:00:00+00:00")  # fmt: skip


@kind("grid_time_spoiled", *ALL)
def time_spoiled(draw: Draw) -> Attack:
    """The times of the rough hours' entries can't be read or cover nothing (E8)."""
    written = draw.pick(_TIMES)
    for entry in rough_entries(draw):
        begin = entry["validTime"].partition("/")[0]
        entry["validTime"] = written.replace("{}", begin) if isinstance(written, str) else written
    return draw.done(repr(written))


@kind("grid_order", *ALL)
def order(draw: Draw) -> Attack:
    """Entries out of order."""
    draw.rng.shuffle(layer(draw)["values"])
    return draw.done(strict=True)


@kind("grid_twins", *ALL)
def twins(draw: Draw) -> Attack:
    """Entries twice, one of them calm, in any order."""
    calm = [{**one, "value": calm_value(draw.base)} for one in rough_entries(draw)]
    values = layer(draw)["values"]
    layer(draw)["values"] = calm + values if draw.pick([True, False]) else values + calm
    return draw.done()


@kind("grid_past_first", *ALL)
def past_first(draw: Draw) -> Attack:
    """The first entry lies far in the past and is calm (C2)."""
    begin = span_of(layer(draw)["values"][0])[0] - timedelta(hours=draw.rng.randrange(1, 40))
    layer(draw)["values"].insert(0, {"validTime": f"{begin.isoformat()}/PT1H", "value": calm_value(draw.base)})
    return draw.done(strict=True)


@kind("grid_long_entry", *ALL)
def long_entry(draw: Draw) -> Attack:
    """A calm entry of eight days before all others."""
    begin = span_of(layer(draw)["values"][0])[0].isoformat()
    length = draw.pick(["P8D", "P7DT12H", "P3DT23H", "PT190H"])
    layer(draw)["values"].insert(0, {"validTime": f"{begin}/{length}", "value": calm_value(draw.base)})
    return draw.done(length, strict=True)


@kind("grid_ends_early", *ALL)
def ends_early(draw: Draw) -> Attack:
    """All layers end before the outing does (C8)."""
    last = draw.base.launch - timedelta(hours=draw.rng.randrange(-3, 2))
    for name, one in properties(draw).items():
        if isinstance(one, dict) and isinstance(one.get("values"), list) and name != "hazards":
            one["values"] = _until(one["values"], last)
    return draw.done(f"{last:%H}Z")


@kind("grid_layer_ends_early", *ALL)
def layer_ends_early(draw: Draw) -> Attack:
    """The layer ends before the outing does, the others go on (A8)."""
    last = draw.base.launch - timedelta(hours=draw.rng.randrange(-3, 2))
    layer(draw)["values"] = _until(layer(draw)["values"], last)
    return draw.done(f"{last:%H}Z")


def _until(values: list[dict[str, Any]], last: datetime) -> list[dict[str, Any]]:
    out = []
    for entry in values:
        begin, end = span_of(entry)
        hours = int((min(end, last) - begin) / timedelta(hours=1))
        if hours > 0:
            out.append({**entry, "validTime": f"{begin.isoformat()}/PT{hours}H"})
    return out


@kind("heat_contradicted", "heat_grid")
def heat_contradicted(draw: Draw) -> Attack:
    """Air, dew point and humidity of the hot hours contradict each other: a unit or a fraction is wrong."""
    body = properties(draw)
    key, factor, offset = draw.pick(
        [("relativeHumidity", 0.0, 0.0), ("relativeHumidity", 0.01, 0.0), ("relativeHumidity", 0.0, 10.0),
         ("temperature", 1 / 1.8, -32 / 1.8), ("temperature", 1.0, -15.0), ("dewpoint", 1.0, -25.0)]
    )  # fmt: skip
    for entry in body[key]["values"]:
        if draw.base.scene.is_rough(span_of(entry)[0]):
            entry["value"] = entry["value"] * factor + offset
    return draw.done(f"{key} times {factor:g} and {offset:+g}")


ZEROS = (0, 0.0, -0.0, "0", "0.0", 0.000001)


@kind("fault05_zero_gust_grid", "gust_grid", "marine_gust")
def zero_gust(draw: Draw) -> Attack:
    """A gust of exactly 0 beside a real wind, in the grid."""
    value, everywhere = draw.pick(ZEROS[:5]), draw.pick([True, False])
    body = properties(draw)["windGust"]["values"]
    for entry in body:
        if everywhere or draw.base.scene.is_rough(span_of(entry)[0]):
            entry["value"] = value
    return draw.done(f"{value!r} {'everywhere' if everywhere else 'in the rough hours'}")


@kind("gust_zero_beside_light_wind", "gust_grid", "marine_gust")
def zero_beside_light_wind(draw: Draw) -> Attack:
    """A gust of exactly 0 beside a light wind, where the sound grid has a strong one."""
    wind_kmh, value = draw.pick([4.0, 7.4, 9.0, 10.4]), draw.pick([*ZEROS])
    for entry in properties(draw)["windSpeed"]["values"]:
        entry["value"] = wind_kmh
    sound = {**draw.bodies, GRID: opened(draw.answer(GRID))}
    for entry in rough_entries(draw):
        entry["value"] = value
    return draw.done(f"{value!r} beside {wind_kmh} km/h", sound=sound)


@kind("fault05_gust_of_another_source", "gust_grid")
def gust_of_another(draw: Draw) -> Attack:
    """The grid's gust is 0 or not there, and the model has next to no wind and a gust to match."""
    value = draw.pick([0.0, None])
    properties(draw)["windGust"]["values"] = (
        [] if value is None else [{**entry, "value": value} for entry in properties(draw)["windGust"]["values"]]
    )
    hourly = draw.answer(MODEL).data["hourly"]
    wind, gust = draw.pick([(7.0, 0.0), (10.0, 0.0), (7.0, 12.0)])
    hourly["wind_speed_10m"] = [wind] * len(hourly["time"])
    hourly["wind_gusts_10m"] = [gust] * len(hourly["time"])
    return draw.done(f"{value}, model {wind} and {gust} km/h")


@kind("gust_below_wind_grid", "gust_grid")
def gust_below(draw: Draw) -> Attack:
    """A gust below the wind, which no gust is (A4)."""
    value = draw.pick([0.2, 0.5, 1.0, 1.852, 3.0, 5.0, 3.6])
    for entry in rough_entries(draw):
        entry["value"] = value
    return draw.done(f"{value} km/h")


@kind("fault12_thunder_not_given", *THUNDER)
def thunder_not_given(draw: Draw) -> Attack:
    """No thunder is given, and the word names only other weather."""
    body = properties(draw)
    for key in ("probabilityOfThunder", "lightningActivityLevel"):
        how = draw.pick(["empty", "nulls", "gone"] + (["ones"] if key.startswith("lightning") else []))
        spans = [one["validTime"] for one in body["windSpeed"]["values"]]
        value = {"nulls": None, "ones": 1}.get(how)
        body[key] = {"values": [] if how == "empty" else [{"validTime": span, "value": value} for span in spans]}
        if how == "gone":
            del body[key]
    words = draw.pick(
        [("likely", "rain"), ("chance", "rain_showers"), ("definite", "drizzle"), ("patchy", "fog"), None]
    )
    # "no weather at all" is a statement of its own: that thunder is given nowhere must then be told, no more
    spans = [one["validTime"] for one in body["windSpeed"]["values"]]
    body["weather"] = {"values": [{"validTime": span, "value": weather_entry(words)} for span in spans]}
    return draw.done(repr(words), unknown=frozenset({"thunder"} if words else ()))


@kind("fault12_column_and_list", "wind_text", "thunder_text", "wind_grid", "thunder_pct", "thunder_level", "gust_grid")
def column_and_list(draw: Draw) -> Attack:
    """Nothing is changed: what the page lists as checked must stand in its column, too."""
    return draw.done(whole_page=True)


@kind("fault12_level_one", "thunder_pct", "thunder_weather")
def level_one(draw: Draw) -> Attack:
    """Lightning level 1 in place of any chance of thunder."""
    body = properties(draw)
    spans = [one["validTime"] for one in body["windSpeed"]["values"]]
    for key, value in (("probabilityOfThunder", None), ("lightningActivityLevel", draw.pick([1, "1", 1.0]))):
        body[key] = {"values": [{"validTime": span, "value": value} for span in spans]}
    body["weather"] = {"values": []}
    return draw.done(unknown=frozenset({"thunder"}))


_WEATHER = (
    ("likely", "thunderstorm"), ("likely", "Thunderstorms"), ("likely", "tstms"), ("likely", "severe_thunderstorms"),
    ("likely", "thunder"), ("likely", "lightning"), ("likely", "squalls"), (None, "thunderstorms"),
    ("", "thunderstorms"), ("some", "thunderstorms"), ("in_the_vicinity", "thunderstorms"), (5, "thunderstorms"),
    ("likely", ["thunderstorms"]), ("likely", None), ("likely", ""), ("likely", "thunderstorms rain"),
    ("likely", "tropical_storm"), ("likely", "waterspouts"), ("likely", "funnel_clouds"), ("likely", "tornado"),
)  # fmt: skip


@kind("fault11_grid_words", "thunder_weather")
def weather_words(draw: Draw) -> Attack:
    """Storm words of the weather layer in other forms."""
    said = draw.pick(_WEATHER)
    for entry in rough_entries(draw):
        entry["value"] = weather_entry(said)
    return draw.done(repr(said))


@kind("fault11_beside_the_weather", "thunder_weather")
def beside_the_weather(draw: Draw) -> Attack:
    """The storm stands beside the weather word: among the attributes, as intensity, or in a field of its own."""
    word = draw.pick(["dry_thunderstorms", "tornadoes", "frequent_lightning", "large_hail", "small_hail", "tornado",
                      "damaging_wind", "dry", "severe", "⛈", "thunder", "Tstms", 5])  # fmt: skip
    entry = weather_entry(draw.pick([None, ("areas", "frost"), ("likely", "snow"), (None, "none")]))[0]
    where = draw.pick(["attributes", "attributes", "intensity", "note"]) if isinstance(word, str) else "attributes"
    entry[where] = ["gusty_wind", word] if where == "attributes" else word if where == "intensity" else "thunder"
    for one in layer(draw)["values"]:
        one["value"] = [entry]
    return draw.done(repr(entry), unknown=frozenset({"thunder"}))


@kind("grid_weather_reshaped", "thunder_weather")
def weather_reshaped(draw: Draw) -> Attack:
    """Values of the weather layer in other shapes."""
    value = draw.pick(
        [None, [], {}, "thunderstorms", [None], ["thunderstorms"], [{}], [{"coverage": "likely"}], [[]],
         {"coverage": "likely", "weather": "thunderstorms"}, [{"weather": "thunderstorms"}]]
    )  # fmt: skip
    for entry in rough_entries(draw):
        entry["value"] = value
    return draw.done(repr(value))


@kind("grid_issue_spoiled", *ALL)
def issue_spoiled(draw: Draw) -> Attack:
    """The grid says not when it was issued."""
    value = draw.pick([None, "", "now", 5, [], "2026-07-11", "2026-07-11T08:00:00", "0000-00-00T00:00:00Z"])
    properties(draw)["updateTime"] = value
    return draw.done(repr(value))


@kind("grid_stale_calm", *ALL)
def stale_calm(draw: Draw) -> Attack:
    """An older, calm grid, by its own issue time (C1)."""
    hours = draw.pick([13, 18, 23, 25, 31, 49, 24 * 7])
    properties(draw)["updateTime"] = (draw.base.now - timedelta(hours=hours)).isoformat()
    for entry in rough_entries(draw):
        entry["value"] = calm_value(draw.base)
    return draw.done(f"{hours} h old")


@kind("grid_of_elsewhere", *ALL)
def of_elsewhere(draw: Draw) -> Attack:
    """A calm grid of another cell, place or week, which its outline, its name or its hours tell."""
    body = draw.answer(GRID).data
    for entry in rough_entries(draw):
        entry["value"] = calm_value(draw.base)
    how = draw.pick(["outline", "outline in a collection", "cell", "office", "hours"])
    north, east = draw.base.scene.place
    shape = square((north + draw.pick([-5.0, 0.1, 1.0]), east + draw.pick([0.0, 0.2, 3.0])), 0.02)
    if how.startswith("outline"):
        body["geometry"] = shape if how == "outline" else {"type": "GeometryCollection", "geometries": [shape]}
    elif how == "hours":
        body["properties"]["validTimes"] = f"{instant(draw.base.now - timedelta(days=draw.pick([4, 9])))}/P2DT18H"
    else:
        body["properties"] |= {"gridX": "71"} if how == "cell" else {"gridId": "ZZZ"}
    return draw.done(how)


@kind("grid_direction_lost", "wind_grid", "gust_grid")
def direction_lost(draw: Draw) -> Attack:
    """The wind direction is lost where a shore is set."""
    body = properties(draw)
    how = draw.pick(["gone", "nulls", "empty", "spoiled", "VRB"])
    if how == "gone":
        del body["windDirection"]
    else:
        value = {"nulls": None, "spoiled": 999, "VRB": "VRB"}.get(how)
        values = body["windDirection"]["values"]
        body["windDirection"]["values"] = [] if how == "empty" else [{**one, "value": value} for one in values]
    return draw.done(how)
