"""Fits the grid of air-temperature normals to a stations file: ``python -m briefing.tools.fit_normals STATIONS``.

Writes ``air_normals.npz`` (coefficients) and ``air_normals.toml`` (provenance and scores) and prints the scores of
a cross-validation of the whole way from stations to ``normals_at``, gridding and rounding included.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from briefing.core.climate import NormalsTable
from briefing.core.climate.harmonics import fit_months
from briefing.core.climate.table import SPREAD_TERMS, encode
from briefing.errors import BriefingError
from briefing.evaluate.normals import Stations, predict, read_stations, score, table
from briefing.resources import root
from briefing.tools.kriging import Covariance, Sites, krige, nearest

Floats = NDArray[np.float64]
Arrays = dict[str, NDArray[Any]]

CREDIT = "Source: Deutscher Wetterdienst, CLIMAT reports; averaged and screened"

HEIGHTS_KM = np.array([0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0])
#: Lapse rates January-December north of 30 N and within 20 deg of the equator, C/km, from pairs of stations.
LAPSE = np.array([4.5, 5.1, 5.8, 6.1, 6.2, 6.3, 6.2, 6.0, 5.5, 5.3, 4.9, 4.4])
TROPIC_LAPSE = 5.5
#: Errors of stations kept apart are this much larger than their neighbours' leave-one-out errors tell.
_SHORTFALL = 1.1
#: Stations whose exposure to the sea differs by more than this tell little about each other's dew point and spread.
_ALIKE = 0.4


@dataclass(frozen=True)
class Frame:
    """A grid's south-west corner, step, numbers of rows and columns, and terms kept of a year's curve."""

    south_deg: float
    west_deg: float
    step_deg: float
    rows: int
    columns: int
    terms: int = SPREAD_TERMS

    def nodes(self) -> tuple[Floats, Floats]:
        """Latitudes and longitudes of all nodes, row by row."""
        lat = self.south_deg + self.step_deg * np.arange(self.rows)
        lon = self.west_deg + self.step_deg * np.arange(self.columns)
        return np.repeat(lat, self.columns), np.tile(lon, self.rows)


#: The Pacific coast, North America between Mexico and the Barren Grounds, Europe, then the globe.
AIR_FRAMES = (
    Frame(31.5, -126.0, 0.5, 38, 22, 11),
    Frame(23.75, -130.0, 1.25, 30, 64, 11),
    Frame(35.0, -11.25, 1.25, 29, 43, 9),
    Frame(-90.0, -180.0, 3.0, 61, 121, 9),
)
SPREAD_FRAMES = (Frame(31.5, -126.0, 1.0, 20, 12), Frame(22.5, -130.0, 2.5, 16, 33), Frame(-90.0, -180.0, 5.0, 37, 73))


def fit(stations: Stations) -> Arrays:
    """Fit all coefficients; the result is what the file holds and ``NormalsTable.from_mapping`` reads."""
    arrays: Arrays = {
        "heights_km": HEIGHTS_KM,
        "lapse_c_per_km": LAPSE,
        "tropic_lapse_c_per_km": np.array(TROPIC_LAPSE),
    }
    where = Sites.of(stations.latitude_deg, stations.longitude_deg)
    sea = _sea_level(stations)
    height = stations.elevation_m / 1000.0
    for number, frame in enumerate(AIR_FRAMES):
        lat, lon = frame.nodes()
        levels = np.tile(HEIGHTS_KM, (lat.size, 1))
        values = krige(Sites.of(lat, lon), levels, where, height, fit_months(sea, frame.terms), Covariance())
        arrays |= _stored("air", number, frame, values)
    left_out = krige(where, height[:, None], where, height, sea, Covariance(), skip_same=True)[:, 0]
    misses = np.mean((left_out - sea) ** 2, axis=1)
    for number, frame in enumerate(SPREAD_FRAMES):
        arrays |= _stored("spread", number, frame, _spread(stations, where, misses, Sites.of(*frame.nodes())))
    return arrays


def _stored(name: str, number: int, frame: Frame, values: Floats) -> Arrays:
    shaped = values.reshape(frame.rows, frame.columns, *values.shape[1:])
    return {
        f"{name}{number}_frame": np.array([frame.south_deg, frame.west_deg, frame.step_deg]),
        f"{name}{number}_steps": encode(shaped),
    }


def _sea_level(stations: Stations) -> Floats:
    """Monthly means reduced to sea level; (n, 12)."""
    frame = NormalsTable((), (), HEIGHTS_KM, LAPSE, TROPIC_LAPSE)
    lapse = np.array([frame.lapse_months(float(lat)) for lat in stations.latitude_deg])
    return stations.mean_c + lapse * stations.elevation_m[:, None] / 1000.0


def _spread(stations: Stations, where: Sites, misses: Floats, points: Sites) -> Floats:
    """Coefficients of the three spread curves and the expected error at each point; (p, 16)."""
    depression = stations.mean_c - stations.dewpoint_c
    columns = [
        _inverse_distance(points, where, stations.within_sd_c, 12),
        _inverse_distance(points, where, stations.year_sd_c, 12),
        _inverse_distance(points, where, depression, 8),
    ]
    return np.concatenate([*columns, _expected_error(points, where, misses)[:, None]], axis=1)


def _weights(points: Sites, where: Sites, count: int) -> tuple[NDArray[np.int64], Floats, Floats]:
    """Indices, distances and weights 1 / (d + 100 km)^2, less for another exposure, of the nearest; (p, count) each."""
    chosen, apart = nearest(points.units, where.units, count)
    unlike = where.exposure[chosen] - points.exposure[:, None]
    weights = np.exp(-((unlike / _ALIKE) ** 2)) / (apart + 100.0) ** 2
    return chosen, apart, weights / weights.sum(axis=1)[:, None]


def _inverse_distance(points: Sites, where: Sites, months: Floats, count: int) -> Floats:
    """Weighted harmonics of the ``count`` nearest stations that have all months."""
    full = ~np.isnan(months).any(axis=1)
    chosen, _, weights = _weights(points, Sites(where.units[full], where.exposure[full]), count)
    return np.asarray(np.einsum("pk,pkm->pm", weights, fit_months(months[full], SPREAD_TERMS)[chosen]))


def _expected_error(points: Sites, where: Sites, misses: Floats) -> Floats:
    """Root mean square error to expect: as at the stations around when each is left out, by distance to the nearest.

    Under an exponential covariance the variance of the error grows in proportion to the distance; within 60 km of
    a station it is the place itself, not the distance, that decides.
    """
    spacing = np.maximum(nearest(where.units, where.units, 1, skip_same=True)[1][:, 0], 60.0)
    chosen, apart, weights = _weights(points, where, 12)
    per_km = (weights * misses[chosen]).sum(axis=1) / (weights * spacing[chosen]).sum(axis=1)
    expected = _SHORTFALL * np.sqrt(per_km * np.maximum(apart[:, 0], 60.0))
    return np.asarray(np.clip(expected, 0.4, 6.0))


def cross_validate(stations: Stations, folds: int, seed: int, scored: int | None = None) -> dict[str, Any]:
    """Score each station by a fit to the other folds; the folds are drawn once from ``seed``.

    Only the stations of the first ``scored`` folds, where that is given.
    """
    fold = np.random.default_rng(seed).permutation(len(stations)) % folds
    normals = np.empty(len(stations), dtype=object)
    scored = folds if scored is None else scored
    for number in range(scored):
        kept_apart = fold == number
        fitted = NormalsTable.from_mapping(fit(stations.subset(~kept_apart)))
        for index, one in zip(np.flatnonzero(kept_apart), predict(fitted, stations.subset(kept_apart)), strict=True):
            normals[index] = one
        print(f"fold {number + 1} of {folds} done", file=sys.stderr)
    return score(stations.subset(fold < scored), list(normals[fold < scored]))


def main(argv: Sequence[str] | None = None) -> int:
    """Cross-validate, fit to all stations and write both files."""
    parser = argparse.ArgumentParser(prog="python -m briefing.tools.fit_normals", description=__doc__)
    parser.add_argument("stations", type=Path, help="stations file, one row a station")
    parser.add_argument("--out", type=Path, default=root("config"), help="folder to write to (default: config/)")
    parser.add_argument("--folds", type=int, default=10)
    parser.add_argument("--seed", type=int, default=0, help="draws the folds")
    arguments = parser.parse_args(argv)
    try:
        stations = read_stations(arguments.stations)
    except BriefingError as error:
        print(f"error: {error}", file=sys.stderr)
        return error.exit_code
    scores = cross_validate(stations, arguments.folds, arguments.seed)
    print(table(scores))
    write(arguments.out, stations, fit(stations), scores, arguments)
    return 0


def write(folder: Path, stations: Stations, arrays: Arrays, scores: dict[str, Any], arguments: Any) -> None:
    """Write ``air_normals.npz`` and its provenance ``air_normals.toml`` into ``folder``."""
    np.savez_compressed(folder / "air_normals.npz", allow_pickle=False, **arrays)
    model = Covariance()
    lines = [
        "# Made by python -m briefing.tools.fit_normals: don't edit. Describes air_normals.npz.",
        f'credit = "{CREDIT}"',
        'licence = "CC BY 4.0"',
        f"stations = {len(stations)}",
        'period = "2003-2021, moved to the common years 2004-2020"',
        'method = "sea-level values by lapse rate, kriged to places and heights, then harmonics of the year"',
        'drift = "a local plane, and along the Pacific coast of North America the nearness of the shore"',
        f"kriging_range_km = {model.range_km:g}",
        f"kriging_height_km = {model.height_km:g}",
        f"kriging_neighbours = {model.neighbours}",
        "# by grid: Pacific coast, North America, Europe, the globe",
        f"harmonics = {[(frame.terms - 1) // 2 for frame in AIR_FRAMES]}",
        f"lapse_c_per_km = {LAPSE.tolist()}",
        "",
        f"# {arguments.folds}-fold cross-validation, folds drawn with seed {arguments.seed}; monthly means, C.",
    ]
    for name, row in scores["groups"].items():
        lines += ["", f"[cross_validation.{name}]", f"stations = {row['n']}", f"rmse_c = {row['rmse_c']}"]
        lines += [f"by_month_c = {row['by_month']}", f"stated_error_c = {row['stated_error_c']}"]
    (folder / "air_normals.toml").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    sys.exit(main())
