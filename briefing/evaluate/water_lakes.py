"""Measured lakes for the water engine's evaluation and fit: ``lakes.csv`` and a daily file a lake."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property, lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from briefing.core.climate import NormalsTable, normals_at
from briefing.core.climate.normals import AirNormals
from briefing.core.readings import DailyAir
from briefing.core.water.site import WaterSite
from briefing.core.water.slab import Floats, top_of_air_w_m2
from briefing.core.water.weather import day_weather, leap_day_index
from briefing.errors import InputError
from briefing.evaluate.rows import read_rows
from briefing.resources import read_arrays

FEBRUARY_TO_MAY = (31, 152)  # index of the days of a leap year, the end not in it


@dataclass(frozen=True)
class MeasuredLake:
    """One lake with its daily series, all (days,): water and air in C with NaN where not measured."""

    name: str
    group: str
    site: WaterSite
    sparse: bool
    start: date
    water_c: Floats
    air_c: Floats
    normals: AirNormals

    @property
    def day_of_year(self) -> NDArray[np.int64]:
        """Index of each day in a leap year."""
        return leap_day_index([self.start + timedelta(days=number) for number in range(self.water_c.size)])

    @property
    def year(self) -> NDArray[np.int64]:
        """Calendar year of each day."""
        return np.array([(self.start + timedelta(days=number)).year for number in range(self.water_c.size)])


@dataclass(frozen=True)
class Batch:
    """Lakes side by side; arrays are (days, lakes), short lakes padded with days without water."""

    lakes: tuple[MeasuredLake, ...]
    water_c: Floats
    air_c: Floats
    air_sd_c: Floats
    depression_c: Floats
    normal_c: Floats
    day_sd_c: Floats
    sun_w_m2: Floats
    day_of_year: NDArray[np.int64]

    @cached_property
    def season(self) -> tuple[Floats, Floats]:
        """Cosine and sine of the time of year, each (days, lakes)."""
        angle = 2 * np.pi * self.day_of_year / 366
        return np.asarray(np.cos(angle)), np.asarray(np.sin(angle))

    @property
    def spring(self) -> NDArray[np.bool_]:
        """True from 1 February to 31 May."""
        return (self.day_of_year >= FEBRUARY_TO_MAY[0]) & (self.day_of_year < FEBRUARY_TO_MAY[1])

    @property
    def coldest_air_c(self) -> Floats:
        """Lowest point of each lake's yearly air curve; (lakes,)."""
        return np.array([lake.normals.mean_c.min() for lake in self.lakes])


def _cell(row: dict[str, str], column: str, path: Path) -> float | None:
    text = row.get(column, "").strip()
    if not text:
        return None
    try:
        return float(text)
    except ValueError as error:
        raise InputError(f'{path}: {column} is "{text}", not a number') from error


@lru_cache(maxsize=1)
def _table() -> NormalsTable:
    return NormalsTable.from_mapping(read_arrays("air_normals.npz"))


def _normals(site: WaterSite, air_c: Floats, of_year: NDArray[np.int64]) -> AirNormals:
    """The product's normals, moved by a constant to the level of the measured air.

    The files give no elevation; the shift stands in for it (a user's profile has it). Shape of the year, spread and
    humidity come from the shipped table, never from the lake's own water.
    """
    normals = normals_at(_table(), site.latitude_deg, site.longitude_deg, 0.0)
    known = ~np.isnan(air_c)
    shift = float((air_c[known] - normals.mean_c[of_year[known]]).mean()) if known.any() else 0.0
    return AirNormals(
        latitude_deg=normals.latitude_deg,
        longitude_deg=normals.longitude_deg,
        elevation_m=normals.elevation_m,
        mean_c=normals.mean_c + shift,
        day_sd_c=normals.day_sd_c,
        year_sd_c=normals.year_sd_c,
        dewpoint_c=normals.dewpoint_c + shift,
        error_c=normals.error_c,
    )


def load_lakes(folder: Path) -> list[MeasuredLake]:
    """Read every lake of a folder; raises ``InputError`` naming the file that can't be used."""
    listing = folder / "lakes.csv"
    rows = read_rows(listing, ("file", "lat", "lon", "group"))
    return [_load_lake(folder / row["file"], row, listing) for row in rows]


def _load_lake(path: Path, row: dict[str, str], listing: Path) -> MeasuredLake:
    latitude, longitude = _cell(row, "lat", listing), _cell(row, "lon", listing)
    if latitude is None or longitude is None:
        raise InputError(f"{listing}: {path.name} has no position")
    site = WaterSite(
        latitude_deg=latitude,
        longitude_deg=longitude,
        mean_depth_m=_cell(row, "mean_depth_m", listing),
        max_depth_m=_cell(row, "max_depth_m", listing),
        area_km2=_cell(row, "area_km2", listing),
        river_fed=row.get("kind", "") == "river",
    )
    days = read_rows(path, ("date", "water_temp_c", "air_temp_c"))
    try:
        start = date.fromisoformat(days[0]["date"])
        length = (date.fromisoformat(days[-1]["date"]) - start).days + 1
        water, air = np.full(length, np.nan), np.full(length, np.nan)
        for day in days:
            place = (date.fromisoformat(day["date"]) - start).days
            water[place] = float(day["water_temp_c"] or "nan")
            air[place] = float(day["air_temp_c"] or "nan")
    except (ValueError, IndexError) as error:
        raise InputError(f"{path} can't be read: {error}") from error
    of_year = leap_day_index([start + timedelta(days=number) for number in range(length)])
    normals = _normals(site, air, of_year)
    sparse = row.get("sparse", "no") == "yes"
    return MeasuredLake(path.stem, row["group"], site, sparse, start, water, air, normals)


def make_batch(lakes: list[MeasuredLake]) -> Batch:
    """Lay lakes side by side, gaps of the air filled as the product fills them."""
    longest = max(lake.water_c.size for lake in lakes)
    columns: dict[str, list[Floats]] = {name: [] for name in ("water", "air", "sd", "gap", "normal", "day_sd", "sun")}
    years = []
    for lake in lakes:
        size = lake.air_c.size
        air = DailyAir(lake.start, lake.air_c, ("observed",) * size, np.zeros(size, np.int16), "file", "file")
        weather = day_weather(air, lake.normals, lake.start, longest)
        water = np.full(longest, np.nan)
        water[:size] = lake.water_c
        of_year = weather.day_of_year
        sun = top_of_air_w_m2(np.array([lake.site.latitude_deg]), np.asarray(of_year + 1, dtype=np.float64))[:, 0]
        years.append(of_year)
        values = (water, weather.air_c, weather.air_sd_c, weather.depression_c)
        normal = (lake.normals.mean_c[of_year], lake.normals.day_sd_c[of_year], sun)
        for name, array in zip(columns, (*values, *normal), strict=True):
            columns[name].append(array)
    stacked = {name: np.stack(arrays, axis=1) for name, arrays in columns.items()}
    return Batch(
        lakes=tuple(lakes),
        water_c=stacked["water"],
        air_c=stacked["air"],
        air_sd_c=stacked["sd"],
        depression_c=stacked["gap"],
        normal_c=stacked["normal"],
        day_sd_c=stacked["day_sd"],
        sun_w_m2=stacked["sun"],
        day_of_year=np.stack(years, axis=1),
    )
