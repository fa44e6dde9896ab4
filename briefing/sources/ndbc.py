"""Buoys and shore stations of the US National Data Buoy Center: a text table, newest row first, read by column name."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from briefing.core.plausible import Plausible
from briefing.core.readings import WaterReading, WindReading
from briefing.sources.bodies import NAN, Read, read_number
from briefing.sources.http import Ask, Reply, Source
from briefing.sources.observed import Observed, known, observed, of_last_hour
from briefing.sources.service_limits import SHARE_HOURLY
from briefing.sources.tables import ahead

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
_Row = tuple[datetime, dict[str, Read]]
_WIND_COLUMNS = frozenset({"WDIR", "WSPD", "GST"})  # in every kind of table; without one the heading is damaged


@dataclass(frozen=True)
class ParsedBuoy:
    """The wind of a buoy's last hour and its newest water temperature, none where there is none near its last row.

    ``last`` is the time of its last row; ``serious`` are those of the problems that a level may rest on.
    """

    winds: tuple[WindReading, ...]
    water: WaterReading | None
    problems: tuple[str, ...] = ()
    serious: tuple[str, ...] = ()
    last: datetime | None = None

    @property
    def wind(self) -> WindReading | None:
        """The reading with the wind in it."""
        return next((one for one in self.winds if one.wind_mps is not None), None)


def retrieve_buoy(source: Source, buoy: str) -> Reply:
    """Ask for the last 45 days of a buoy."""
    return source.get(Ask(f"{source.fetcher.urls.ndbc}/{buoy.upper()}.txt", expect="text", share_for=SHARE_HOURLY))


def parse_buoy(body: bytes | str, buoy: str, limits: Plausible, now: datetime | None = None) -> ParsedBuoy:
    """Read the table; rows with another number of fields than the heading are skipped and counted.

    With ``now`` rows dated ahead of it are skipped too, and wind that is too old for it is left out.
    """
    words = body.decode("ascii", errors="replace") if isinstance(body, bytes) else body
    names: list[str] = []
    read: list[_Row] = []
    skipped = ahead_of = 0
    for line in words.splitlines():
        if line.startswith("#"):
            names = names or line.lstrip("#").split()
            continue
        fields = line.split()
        at = _time(dict(zip(names, fields, strict=False))) if len(fields) == len(names) else None
        if at is None:
            skipped += bool(fields)
            continue
        if now is not None and ahead(at, now):
            ahead_of += 1
            continue
        read.append((at, _row(dict(zip(names, fields, strict=True)), limits)))
    if names and not set(names) >= _WIND_COLUMNS:
        said = f"Buoy {buoy}: the heading of its table could not be read, not used."
        return ParsedBuoy((), None, (said,), (said,))
    if not read:
        said = f"Buoy {buoy}: its table holds no row that could be read."
        return ParsedBuoy((), None, (said,), (said,))
    read.sort(key=lambda row: row[0], reverse=True)
    recent = [row for row in read if read[0][0] - row[0] <= _LOOK_BACK]
    refused = sum(damaged for _, values in read for _, damaged in values.values())
    problems = [f"Buoy {buoy}: {skipped} rows could not be read and were skipped."] if skipped else []
    problems += [f"Buoy {buoy}: {refused} values can't be true and were refused."] if refused else []
    late = (f"Buoy {buoy}: {ahead_of} rows are dated ahead of now and were skipped.",) if ahead_of else ()
    found = of_last_hour([_report(row, buoy, limits) for row in recent], f"Buoy {buoy}", now, gust_expected=True)
    told, serious = (*late, *problems, *found.problems), (*late, *found.serious)
    return ParsedBuoy(found.readings, _water(recent, buoy), told, serious, last=read[0][0])


def _time(row: dict[str, str]) -> datetime | None:
    try:
        year, month, day, hour, minute = (int(row[name]) for name in _NEEDED)
        return datetime(year, month, day, hour, minute, tzinfo=UTC)
    except (KeyError, ValueError):
        return None


def _row(row: dict[str, str], limits: Plausible) -> dict[str, Read]:
    out = {}
    for column, field in _FIELDS.items():
        written = row.get(column, "MM")
        number, damaged = (NAN, False) if written in ("MM", "//") else read_number(written)
        if number in _MISSING[column]:
            number = NAN
        elif number == number and not limits.holds(field, number):
            number, damaged = NAN, True
        out[field] = (number, damaged)
    return out


def _report(row: _Row, buoy: str, limits: Plausible) -> Observed:
    at, values = row
    reading = WindReading(
        time=at,
        wind_mps=None,
        gust_mps=None,
        wind_from_deg=None,
        source="ndbc",
        name=f"buoy {buoy}",
        air_c=known(values["air_c"]),
        pressure_hpa=known(values["pressure_hpa"]),
    )
    return observed(reading, values, None, limits)


def _water(recent: list[_Row], buoy: str) -> WaterReading | None:
    for at, row in recent:
        water = known(row["water_c"])
        if water is not None:
            identity = f"ndbc:{buoy}:{at:%Y%m%dT%H%MZ}"
            return WaterReading(identity, at, water, kind="buoy", source="ndbc", name=f"buoy {buoy}")
    return None
