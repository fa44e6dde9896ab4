"""Fits the few numbers of the seasonal phases that rest on data, and prints them as TOML.

    python -m briefing.tools.fit_phase spawning FOLDER   spawning centre, waves and spread, by species group
    python -m briefing.tools.fit_phase climate FOLDER    long-term water from long-term air

``spawning`` reads ``spawn-dates.csv``. For each group it picks from a grid the numbers with the highest log mass on the
reported intervals (verified studies and agencies 1, press and memory 0.3, Florida and other left-out rows 0), with a
normal prior on the shift. It does so once on all rows and once without each region, so that a region is scored with
numbers that never saw it, and prints the score of that cross-validation.

``climate`` reads ``lake-temperature``: daily water and air of lakes with coordinates and depth in ``lakes.csv``.
"""

from __future__ import annotations

import argparse
import itertools
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from briefing.core.climate import AirNormals
from briefing.core.phase import PhaseParameters
from briefing.core.phase.parameters import ClimateParameters
from briefing.core.phase.water_year import climate_water_c
from briefing.evaluate.phase import Estimates
from briefing.evaluate.rows import number, read_rows
from briefing.evaluate.spawn_dates import REGIONS, Case, read_cases
from briefing.resources import read_toml

Floats = NDArray[np.float64]

SHIFTS_C = (0.0, 0.5, 1.0, 1.5, 2.0, 2.5)
WAVES = (0.6, 0.9)
SPREADS = (0.5, 0.75)
PARTICLES = 256
Numbers = tuple[float, float, float]
NAMES = ("centre_shift_c", "wave_factor", "spread_factor")
GROUPS = ("largemouth", "smallmouth", "spotted")
WEAK_WEIGHT = 0.3
#: Prior of the shift, C: onsets at 14-15 C and middles at 17-19 C measured at nest depth.
SHIFT_PRIOR_C = (1.25, 0.75)
_LEAST_MASS = 1e-4
_YEAR = 366
_FEWEST_DAYS = 330  # of the year with air
_SPRING_DAYS = 200
_CLIMATE_START = (1.0, 1.0, 1.5, 0.2, 2.0, 3.0, 0.6)
_CLIMATE_BOUNDS = ((-10.0, 0.5, -3.0, 0.0, -8.0, 1.0, 0.0), (10.0, 1.3, 6.0, 0.8, 3.0, 30.0, 1.0))
_NOT_LAKES = {"river", "great_lake"}  # heat comes with the flow; a satellite mean of a sea


def log_masses(cases: Sequence[Case]) -> dict[Numbers, Floats]:
    """Log mass of each case for each shift, wave and spread factor; NaN where no estimate is made."""
    mapping = dict(read_toml("phase.toml"))
    out = {}
    for numbers in itertools.product(SHIFTS_C, WAVES, SPREADS):
        mapping["fitted"] = {"pooled": {group: dict(zip(NAMES, numbers, strict=True)) for group in GROUPS}}
        runs = Estimates(PhaseParameters.from_mapping(mapping), PARTICLES)
        out[numbers] = np.array([_log_mass(case, runs) for case in cases])
    return out


def _log_mass(case: Case, runs: Estimates) -> float:
    forecast = runs.of(case)
    if forecast is None:
        return float("nan")
    return float(np.log(max(case.mass(forecast.days, forecast.weights, forecast.width_days), _LEAST_MASS)))


def fit_spawning(path: Path) -> str:
    """Return the TOML of all sets, and the cross-validated log mass as a comment."""
    cases = read_cases(path)
    masses = log_masses(cases)
    lines, held_out = [], []
    for name in ("", *(region for region in REGIONS if region != "florida"), "overseas"):
        lines.append(f"[fitted.{'without_' + name if name else 'pooled'}]")
        for group in GROUPS:
            best = _best(masses, cases, group, name)
            pairs = ", ".join(f"{key} = {value:.2f}" for key, value in zip(NAMES, best, strict=True))
            lines.append(f"{group} = {{ {pairs} }}")
            held_out += [
                masses[best][n]
                for n, case in enumerate(cases)
                if name and case.region == name and case.group == group and case.headline
            ]
        lines.append("")
    lines.append(
        f"# mean log mass of {len(held_out)} headline rows with their region left out: {np.nanmean(held_out):.3f}"
    )
    return "\n".join(lines)


def _best(masses: dict[Numbers, Floats], cases: Sequence[Case], group: str, without: str) -> Numbers:
    weights = np.array(
        [
            (1.0 if case.headline else WEAK_WEIGHT)
            * (case.scored and case.group == group and case.region not in (without, "florida"))
            for case in cases
        ]
    )

    def worth(numbers: Numbers) -> float:
        prior = 0.5 * ((numbers[0] - SHIFT_PRIOR_C[0]) / SHIFT_PRIOR_C[1]) ** 2
        return float(np.nansum(weights * np.nan_to_num(masses[numbers], nan=np.log(_LEAST_MASS)))) - prior

    return max(masses, key=worth)


def fit_climate(path: Path) -> str:
    """Return the TOML of the ``climate`` table; spring curves of all lakes count alike."""
    lakes = [lake for row in _lakes(path) if (lake := _lake(path, row)) is not None]

    def gaps(values: Floats) -> Floats:
        parts = []
        for normals, depth_m, water, count in lakes:
            curve = climate_water_c(normals, depth_m, _climate(values))
            used = (count > 0) & (water >= 3.0) & (np.arange(_YEAR) < _SPRING_DAYS)
            parts.append((curve - water)[used] / np.sqrt(used.sum()))
        return np.concatenate(parts)

    found = least_squares(gaps, _CLIMATE_START, bounds=_CLIMATE_BOUNDS)
    climate = _climate(found.x)
    lines = ["[climate]", *(f"{name} = {getattr(climate, name):.3f}" for name in _CLIMATE_NAMES)]
    return "\n".join(
        [*lines, f"# rms {np.sqrt(np.square(found.fun).sum() / len(lakes)):.2f} C over {len(lakes)} lakes"]
    )


_CLIMATE_NAMES = ("level_c", "air", "sun_c", "evaporation", "ice_goal_c", "lag_days", "lag_power")


def _climate(values: Floats) -> ClimateParameters:
    numbers = dict(zip(_CLIMATE_NAMES, (float(value) for value in values), strict=True))
    return replace(PhaseParameters.from_mapping(read_toml("phase.toml")).climate, **numbers)


def _lakes(path: Path) -> list[dict[str, str]]:
    table = path / "lake-temperature" / "lakes.csv"
    rows = read_rows(table, ("file", "lat", "mean_depth_m", "kind", "group"))
    return [row for row in rows if not _NOT_LAKES & {row["kind"], row["group"]}]


def _lake(path: Path, row: dict[str, str]) -> tuple[AirNormals, float, Floats, Floats] | None:
    """Air curve, depth, mean water by day of year and how many years it rests on; None where air is missing."""
    table = path / "lake-temperature" / row["file"]
    rows = read_rows(table, ("date", "water_temp_c", "air_temp_c"))
    day = np.array([date.fromisoformat(one["date"]).timetuple().tm_yday - 1 for one in rows])
    air, water = (np.array([float(one[name] or "nan") for one in rows]) for name in ("air_temp_c", "water_temp_c"))
    has_air, has_water = np.isfinite(air), np.isfinite(water)
    if np.unique(day[has_air]).size < _FEWEST_DAYS:
        return None
    angle = 2.0 * np.pi * np.arange(_YEAR) / 365.25
    basis = np.column_stack([np.ones(_YEAR), *(wave(k * angle) for k in (1, 2, 3) for wave in (np.cos, np.sin))])
    curve = basis @ np.linalg.lstsq(basis[day[has_air]], air[has_air], rcond=None)[0]
    count = np.bincount(day[has_water], minlength=_YEAR).astype(float)
    mean = np.bincount(day[has_water], water[has_water], _YEAR) / np.maximum(count, 1.0)
    latitude = number(table, 0, row, "lat")
    zeros = np.zeros(_YEAR)
    normals = AirNormals(latitude, 0.0, 0.0, curve, zeros, zeros, zeros, 0.0)
    return normals, float(row["mean_depth_m"]), mean, count


def main(argv: Sequence[str] | None = None) -> None:
    """Run one fit and print its numbers."""
    parser = argparse.ArgumentParser(prog="python -m briefing.tools.fit_phase", description=__doc__)
    parser.add_argument("what", choices=("spawning", "climate"))
    parser.add_argument("path", type=Path)
    chosen: Any = parser.parse_args(argv)
    print(fit_spawning(chosen.path) if chosen.what == "spawning" else fit_climate(chosen.path))


if __name__ == "__main__":
    main()
