"""Buoys and shore stations of the US National Data Buoy Center: a text table, newest row first, read by column name."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from briefing.core.plausible import Plausible
from briefing.core.readings import WaterReading, WindReading
from briefing.sources.bodies import NAN, read_number
from briefing.sources.http import Ask, Reply, Source
from briefing.sources.service_limits import SHARE_HOURLY

CREDIT = "Buoys: National Data Buoy Center, NOAA (public domain)"
#: How "missing" is written, by column, beside ``MM``: the files of continuous winds use nines even in real time.
_MISSING = {"WDIR": (999.0,), "WSPD": (99.0,), "GST": (99.0,), "WTMP": (999.0,), "ATMP": (999.0,), "PRES": (9999.0,)}
_FIELDS = {
    "WDIR": "wind_from_deg",
    "WSPD": "wind_mps",
    "GST": "gust_mps",
    "WTMP": "water_c",
    "ATMP": "air_c",
    "PRES": "pressure_hpa",
}
_LOOK_BACK = timedelta(minutes=90)
_NEEDED = ("YY", "MM", "DD", "hh", "mm")
_WIND_COLUMNS = frozenset({"WDIR", "WSPD", "GST"})  # in every kind of table; without one the heading is damaged


@dataclass(frozen=True)
class ParsedBuoy:
    """The newest wind and water temperature of a buoy, each None when there is none within 90 min of the last row."""

    wind: WindReading | None
    water: WaterReading | None
    problems: tuple[str, ...] = ()


def retrieve_buoy(source: Source, buoy: str) -> Reply:
    """Ask for the last 45 days of a buoy."""
    return source.get(Ask(f"{source.fetcher.urls.ndbc}/{buoy.upper()}.txt", expect="text", share_for=SHARE_HOURLY))


def parse_buoy(body: bytes | str, buoy: str, limits: Plausible) -> ParsedBuoy:
    """Read the table; rows with another number of fields than the heading are skipped and counted."""
    words = body.decode("ascii", errors="replace") if isinstance(body, bytes) else body
    names: list[str] = []
    read: list[tuple[datetime, dict[str, float]]] = []
    skipped = refused = 0
    for line in words.splitlines():
        if line.startswith("#"):
            names = names or line.lstrip("#").split()
            continue
        fields = line.split()
        at = _time(dict(zip(names, fields, strict=False))) if len(fields) == len(names) else None
        if at is None:
            skipped += bool(fields)
            continue
        values, odd = _row(dict(zip(names, fields, strict=True)), limits)
        refused += odd
        read.append((at, values))
    if names and not set(names) >= _WIND_COLUMNS:
        return ParsedBuoy(None, None, (f"Buoy {buoy}: the heading of its table could not be read, not used.",))
    if not read:
        return ParsedBuoy(None, None, (f"Buoy {buoy}: its table holds no row that could be read.",))
    read.sort(key=lambda row: row[0], reverse=True)
    problems = [f"Buoy {buoy}: {skipped} rows could not be read and were skipped."] if skipped else []
    problems += [f"Buoy {buoy}: {refused} values can't be true and were refused."] if refused else []
    recent = [row for row in read if read[0][0] - row[0] <= _LOOK_BACK]
    return ParsedBuoy(_wind(recent, buoy), _water(recent, buoy), tuple(problems))


def _time(row: dict[str, str]) -> datetime | None:
    try:
        year, month, day, hour, minute = (int(row[name]) for name in _NEEDED)
        return datetime(year, month, day, hour, minute, tzinfo=UTC)
    except (KeyError, ValueError):
        return None


def _row(row: dict[str, str], limits: Plausible) -> tuple[dict[str, float], int]:
    values, odd = {}, 0
    for column, field in _FIELDS.items():
        written = row.get(column, "MM")
        number, damaged = (NAN, False) if written in ("MM", "//") else read_number(written)
        if number in _MISSING[column]:
            number = NAN
        elif number == number and not limits.holds(field, number):
            number, damaged = NAN, True
        odd += damaged
        values[field] = number
        if damaged and field == "gust_mps":
            values["wind_mps"] = NAN  # a gust was sent and nobody knows which: the row's wind is no reading
    return values, odd


def _wind(recent: list[tuple[datetime, dict[str, float]]], buoy: str) -> WindReading | None:
    for at, row in recent:
        wind = row["wind_mps"]
        if wind == wind:
            known = {field: None if value != value else value for field, value in row.items()}
            gust = known["gust_mps"]
            return WindReading(
                time=at,
                wind_mps=wind,
                gust_mps=None if gust is None else max(gust, wind),
                wind_from_deg=None if wind == 0.0 else known["wind_from_deg"],
                source="ndbc",
                name=f"buoy {buoy}",
                air_c=known["air_c"],
                pressure_hpa=known["pressure_hpa"],
            )
    return None


def _water(recent: list[tuple[datetime, dict[str, float]]], buoy: str) -> WaterReading | None:
    for at, row in recent:
        if row["water_c"] == row["water_c"]:
            identity = f"ndbc:{buoy}:{at:%Y%m%dT%H%MZ}"
            return WaterReading(identity, at, row["water_c"], kind="buoy", source="ndbc", name=f"buoy {buoy}")
    return None
