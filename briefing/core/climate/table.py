"""Climate normals from a grid of fitted coefficients: pure arrays, no stations, no files.

The grid holds sea-level air temperature (at several heights, because valleys, slopes and plateaus differ by more than
a lapse rate says) as harmonics of the year, made by kriging station means; see ``config/air_normals.toml``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from briefing.core.climate.harmonics import day_basis, fit_months, slope_basis
from briefing.core.climate.normals import AirNormals

Floats = NDArray[np.float64]
Arrays = Mapping[str, NDArray[Any]]

#: Steps in which coefficients are stored, C.
STORED_STEP_C = 0.05
#: Coefficients of each spread curve: constant and two harmonics.
SPREAD_TERMS = 5
_MONTH_DAYS = 365.25 / 12.0
#: Least spread of single days, C: below it the stations' own rounding shows.
_LEAST_DAY_SD_C = 0.3
_LEAST_YEAR_SD_C = 0.2
_TROPIC_DEG, _TEMPERATE_DEG = 20.0, 30.0


@dataclass(frozen=True)
class Grid:
    """Values at equal steps of latitude and longitude; shape (latitudes, longitudes, ...)."""

    south_deg: float
    west_deg: float
    step_deg: float
    values: NDArray[np.float32]

    def holds(self, latitude_deg: float, longitude_deg: float) -> bool:
        """Say whether a position lies within the grid."""
        rows, columns = self.values.shape[:2]
        north, east = self.south_deg + (rows - 1) * self.step_deg, self.west_deg + (columns - 1) * self.step_deg
        return bool(self.south_deg <= latitude_deg <= north and self.west_deg <= longitude_deg <= east)

    def at(self, latitude_deg: float, longitude_deg: float) -> Floats:
        """Bilinear value at a position; beyond the edges the value at the edge."""
        rows, columns = self.values.shape[:2]
        y = float(np.clip((latitude_deg - self.south_deg) / self.step_deg, 0, rows - 1))
        x = float(np.clip((longitude_deg - self.west_deg) / self.step_deg, 0, columns - 1))
        i, j = min(int(y), rows - 2), min(int(x), columns - 2)
        corners = self.values[i : i + 2, j : j + 2].astype(float)
        south, north = (corners[k, 0] + (x - j) * (corners[k, 1] - corners[k, 0]) for k in (0, 1))
        return np.asarray(south + (y - i) * (north - south))


@dataclass(frozen=True)
class NormalsTable:
    """Fitted coefficients, finest grid first; the last grid of each tuple covers the globe.

    ``air``: (latitudes, longitudes, heights, terms), sea-level values in C as they apply at ``heights_km``.
    ``spread``: (latitudes, longitudes, 16): five coefficients each of the spread of days within a month, of the spread
    of a month between years, of the dew-point depression, then the expected error of the curve; all C.
    ``lapse_c_per_km``: January to December, north of 30 N; six months later in the south; ``tropic_lapse`` within 20.
    """

    air: tuple[Grid, ...]
    spread: tuple[Grid, ...]
    heights_km: Floats
    lapse_c_per_km: Floats
    tropic_lapse_c_per_km: float

    @classmethod
    def from_mapping(cls, arrays: Arrays) -> NormalsTable:
        """Make the table from the arrays of its file; raise KeyError or ValueError when one is missing or misshapen."""
        air, spread = _grids(arrays, "air"), _grids(arrays, "spread")
        heights = np.asarray(arrays["heights_km"], dtype=float)
        lapse = np.asarray(arrays["lapse_c_per_km"], dtype=float)
        if any(grid.values.ndim != 4 or grid.values.shape[2] != heights.size for grid in air):
            raise ValueError("an air grid does not have the heights of the table")
        if any(grid.values.shape[2:] != (3 * SPREAD_TERMS + 1,) for grid in spread) or lapse.shape != (12,):
            raise ValueError("a spread grid or the lapse rates have another shape than expected")
        return cls(air, spread, heights, lapse, float(np.asarray(arrays["tropic_lapse_c_per_km"])))

    def lapse_months(self, latitude_deg: float) -> Floats:
        """Lapse rate of each month at a latitude, C/km; shape (12,)."""
        season = self.lapse_c_per_km if latitude_deg >= 0.0 else np.roll(self.lapse_c_per_km, 6)
        share = float(np.clip((abs(latitude_deg) - _TROPIC_DEG) / (_TEMPERATE_DEG - _TROPIC_DEG), 0.0, 1.0))
        return (1.0 - share) * self.tropic_lapse_c_per_km + share * season


def _grids(arrays: Arrays, name: str) -> tuple[Grid, ...]:
    grids: list[Grid] = []
    while f"{name}{len(grids)}_steps" in arrays:
        south, west, step = np.asarray(arrays[f"{name}{len(grids)}_frame"], dtype=np.float64).tolist()
        grids.append(Grid(south, west, step, decode(np.asarray(arrays[f"{name}{len(grids)}_steps"], dtype=np.int16))))
    if not grids:
        raise KeyError(f"{name}0_steps")
    return tuple(grids)


def encode(values: Floats) -> NDArray[np.int16]:
    """Round to ``STORED_STEP_C`` and keep differences along longitude, coefficients first: small numbers pack well."""
    steps = np.moveaxis(np.rint(values / STORED_STEP_C).astype(np.int16), -1, 0)
    return np.diff(steps, axis=2, prepend=np.int16(0)).astype(np.int16)


def decode(differences: NDArray[np.int16]) -> NDArray[np.float32]:
    """Undo ``encode``, up to its rounding."""
    steps = np.moveaxis(np.cumsum(differences, axis=2, dtype=np.int16), 0, -1)
    return np.asarray(steps * np.float32(STORED_STEP_C), dtype=np.float32)


def normals_at(table: NormalsTable, latitude_deg: float, longitude_deg: float, elevation_m: float) -> AirNormals:
    """Climate normals of daily air temperature at any place on the globe.

    The sea-level curve is read from the finest grid that holds the place, between its heights, and lowered by the lapse
    rate of the season. Spread of a single day: variance = s^2 - rise^2 / 12 + y^2, where s is the spread of days
    within a month, rise the curve's own change over a month, and y the spread between years. Far from any station
    ``error_c`` says how little the answer is worth.

    Parameters
    ----------
    latitude_deg, longitude_deg : north and east positive; longitude may be any turn of the circle
    elevation_m : height above sea; 100 m of error costs 0.6 C

    Raises ValueError for a latitude off the globe or an elevation that is not finite.
    """
    if not (abs(latitude_deg) <= 90.0 and np.isfinite(longitude_deg) and np.isfinite(elevation_m)):
        raise ValueError(f"no such place: latitude {latitude_deg}, longitude {longitude_deg}, {elevation_m} m")
    east = (longitude_deg + 180.0) % 360.0 - 180.0
    height_km = elevation_m / 1000.0
    levels = _finest(table.air, latitude_deg, east).at(latitude_deg, east)
    terms = levels.shape[-1]
    curve = _between(levels, table.heights_km, height_km)
    curve = curve - height_km * fit_months(table.lapse_months(latitude_deg), terms)
    rise = slope_basis(terms) @ curve * _MONTH_DAYS
    spread = _finest(table.spread, latitude_deg, east).at(latitude_deg, east)
    within, years, depression = (day_basis(SPREAD_TERMS) @ spread[:-1].reshape(3, SPREAD_TERMS).T).T
    years = np.maximum(years, _LEAST_YEAR_SD_C)
    mean = day_basis(terms) @ curve
    variance = np.maximum(within, 0.0) ** 2 - rise**2 / 12.0 + years**2
    return AirNormals(
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        elevation_m=elevation_m,
        mean_c=mean,
        day_sd_c=np.sqrt(np.maximum(variance, np.maximum(years, _LEAST_DAY_SD_C) ** 2)),
        year_sd_c=years,
        dewpoint_c=mean - np.maximum(depression, 0.0),
        error_c=float(spread[-1]),
    )


def _finest(grids: tuple[Grid, ...], latitude_deg: float, longitude_deg: float) -> Grid:
    return next((grid for grid in grids if grid.holds(latitude_deg, longitude_deg)), grids[-1])


def _between(levels: Floats, heights_km: Floats, height_km: float) -> Floats:
    """Linear between the heights of the table, the nearest beyond them; (heights, terms) to (terms,)."""
    position = float(np.interp(height_km, heights_km, np.arange(heights_km.size)))
    low = min(int(position), heights_km.size - 2)
    return np.asarray(levels[low] + (position - low) * (levels[low + 1] - levels[low]))
