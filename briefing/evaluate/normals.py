"""Scores the climate normals of air temperature on stations, best on some that the fit never saw.

The stations file has one row a station: country, lat, lon, elevation_m, monthly means t01..t12 in C and, if at hand,
dew points d01..d12, spreads within a month s01..s12 and between years y01..y12 (cells may be empty).
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from briefing.core.climate import AirNormals, NormalsTable, normals_at
from briefing.core.climate.harmonics import month_means
from briefing.errors import InputError
from briefing.evaluate.rows import number, read_rows, text_table
from briefing.resources import read_arrays

Floats = NDArray[np.float64]

_MONTHS = [f"{month:02d}" for month in range(1, 13)]
#: No monthly mean on earth lies outside, C: it is in another unit then.
_LIKELY_C = (-70.0, 50.0)
#: Within the box of Europe but not of it.
_NOT_EUROPE = ("Algeria", "Tunisia", "Morocco", "Turkey", "Syria", "Cyprus", "Lebanon", "Georgia", "Armenia")


@dataclass(frozen=True)
class Stations:
    """Stations of a file: positions (n,) and monthly values (n, 12) in C, NaN where a cell is empty or absent."""

    country: NDArray[np.str_]
    latitude_deg: Floats
    longitude_deg: Floats
    elevation_m: Floats
    mean_c: Floats
    dewpoint_c: Floats
    within_sd_c: Floats
    year_sd_c: Floats

    def __len__(self) -> int:
        return self.latitude_deg.size

    def subset(self, chosen: NDArray[np.bool_]) -> Stations:
        """Return the stations where ``chosen`` is true."""
        return Stations(*(getattr(self, name)[chosen] for name in self.__dataclass_fields__))


def read_stations(path: Path) -> Stations:
    """Read a stations file; raise ``InputError`` naming row and column of what can't be read."""
    rows = read_rows(path, ("country", "lat", "lon", "elevation_m", *(f"t{month}" for month in _MONTHS)))
    lat, lon, height = (
        np.array([number(path, line, row, name) for line, row in enumerate(rows, start=2)])
        for name in ("lat", "lon", "elevation_m")
    )
    mean = _months(path, rows, "t")
    if np.isnan(mean).any():
        raise InputError(f"{path}, row {int(np.argwhere(np.isnan(mean))[0, 0]) + 2}: a monthly mean is empty")
    if mean.min() < _LIKELY_C[0] or mean.max() > _LIKELY_C[1]:
        raise InputError(f"{path}: a monthly mean lies outside {_LIKELY_C[0]:g} to {_LIKELY_C[1]:g} C; they are in C")
    if (np.abs(lat) > 90.0).any() or (np.abs(lon) > 360.0).any():
        raise InputError(f"{path}: a position lies off the globe")
    dewpoint, within, years = (_months(path, rows, letter) for letter in "dsy")
    return Stations(np.array([row["country"] for row in rows]), lat, lon, height, mean, dewpoint, within, years)


def _months(path: Path, rows: list[dict[str, str]], letter: str) -> Floats:
    names = [f"{letter}{month}" for month in _MONTHS]
    return np.array(
        [
            [number(path, line, row, name) if row.get(name) else np.nan for name in names]
            for line, row in enumerate(rows, start=2)
        ]
    )


def groups(stations: Stations) -> dict[str, NDArray[np.bool_]]:
    """Masks of the regions that are scored; the parts of ``lower48_s_canada`` follow it and overlap with it."""
    lat, lon, country = stations.latitude_deg, stations.longitude_deg, stations.country
    states = (country == "United States") & (lat > 24.3) & (lat < 49.5) & (lon > -125.0) & (lon < -66.5)
    home = states | ((country == "Canada") & (lat < 55.0))
    box = (lat > 35.0) & (lat < 72.0) & (lon > -25.0) & (lon < 40.0)
    europe = box & ~np.isin(country, _NOT_EUROPE)
    america = (lat > 7.0) & (lon > -180.0) & (lon < -50.0) & ~home
    east = home & (lon >= -103.0)
    return {
        "lower48_s_canada": home,
        "southeast_texas": east & (lat < 37.0),
        "great_lakes_northeast": east & (lat >= 40.5) & (lon > -93.0) & (lat < 50.0),
        "west": home & (lon < -103.0),
        "rest_of_north_america": america,
        "europe": europe,
        "elsewhere": ~home & ~europe & ~america,
    }


def predict(table: NormalsTable, stations: Stations) -> list[AirNormals]:
    """Normals at every station."""
    places = zip(stations.latitude_deg, stations.longitude_deg, stations.elevation_m, strict=True)
    return [normals_at(table, float(lat), float(lon), float(height)) for lat, lon, height in places]


def score(stations: Stations, normals: list[AirNormals]) -> dict[str, Any]:
    """Errors of ``normals`` at ``stations`` by region: n, rmse_c, bias_c, by_month, stated error, dew point, spread."""
    gap = np.array([month_means(one.mean_c) for one in normals]) - stations.mean_c
    dew = np.array([month_means(one.dewpoint_c) for one in normals]) - stations.dewpoint_c
    years = np.array([month_means(one.year_sd_c) for one in normals]) - stations.year_sd_c
    stated = np.array([one.error_c for one in normals])
    result = {}
    for name, mask in groups(stations).items():
        if mask.any():
            result[name] = {
                "n": int(mask.sum()),
                "rmse_c": _rms(gap[mask]),
                "bias_c": round(float(gap[mask].mean()), 3),
                "by_month": [_rms(gap[mask, month]) for month in range(12)],
                "stated_error_c": _rms(stated[mask]),
                "dewpoint_rmse_c": _rms(dew[mask]),
                "year_sd_rmse_c": _rms(years[mask]),
            }
    return {"groups": result}


def _rms(values: Floats) -> float | None:
    known = values[~np.isnan(values)]
    return round(float(np.sqrt(np.mean(known**2))), 3) if known.size else None


def run(path: Path) -> dict[str, Any]:
    """Score the shipped table on the stations file ``path``."""
    stations = read_stations(path)
    return score(stations, predict(NormalsTable.from_mapping(read_arrays("air_normals.npz")), stations))


def table(result: dict[str, Any]) -> str:
    """Lay out one line a region, then the error by month."""
    columns = ("n", "rmse_c", "bias_c", "stated_error_c", "dewpoint_rmse_c", "year_sd_rmse_c")
    groups_ = result["groups"]
    first = text_table(("region", *columns), [(name, *(row[c] for c in columns)) for name, row in groups_.items()])
    header = ("rmse by month, C", *"JFMAMJJASOND")
    second = text_table(header, [(name, *(f"{v:.2f}" for v in row["by_month"])) for name, row in groups_.items()])
    return f"{first}\n\n{second}"
