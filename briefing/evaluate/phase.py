"""Scores the seasonal phase estimator on reported dates of spawning and hatching.

A folder with ``spawn-dates.csv`` (see ``spawn_dates``). No row comes with weather of its lake, so the estimator runs on
climate normals over many simulated years, and says so in ``driver``.

Baselines, each with a normal spread fitted with the row's region left out: a straight line on latitude for each group
of species and kind of event, and the first day on which the five-day mean of the same water passes a fixed temperature.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from briefing.core.climate import AirNormals, NormalsTable, normals_at
from briefing.core.phase import PhaseParameters, PhaseSite, PhaseTiming, run_phase
from briefing.core.phase.dates import weighted_quantiles
from briefing.core.phase.season import season_for
from briefing.core.phase.water_year import climate_water_c
from briefing.core.water.series import WaterSeries
from briefing.evaluate.rows import text_table
from briefing.evaluate.spawn_dates import Case, read_cases
from briefing.resources import read_arrays, read_toml
from briefing.vocabulary import LakeKind, SpeciesForm, Zone

Floats = NDArray[np.float64]

#: The fixed rule: five-day means (C) of surface water at which nests start, are half made, and end.
_RULE_C = {"start": 15.5, "middle": 18.0, "end": 23.0}
_EGG_DAYS = 4.0  # added to a rule's egg date for hatching
_ANY_YEAR = 2015
_MEMBERS = 64
_DRAWS = 4000
_SLICES = np.array([-1.2816, -0.5244, 0.0, 0.5244, 1.2816])  # a normal as five points
_FEWEST_ROWS = 3
_USUAL_WIDTH_DAYS = 14.0  # of a baseline with no other rows to fit its spread on


@dataclass(frozen=True)
class Forecast:
    """A day as points with weights, each a normal of ``width_days``."""

    days: Floats
    weights: Floats
    width_days: float

    def points(self) -> tuple[float, float, float]:
        """10, 50 and 90 % points."""
        days = (self.days[:, None] + self.width_days * _SLICES).ravel()
        low, middle, high = weighted_quantiles(
            days, np.repeat(self.weights / _SLICES.size, _SLICES.size), (0.1, 0.5, 0.9)
        )
        return float(low), float(middle), float(high)


def run(path: Path, particles: int = 1000) -> dict[str, Any]:
    """Score every row of the folder's ``spawn-dates.csv``; raise ``InputError`` when it can't be read.

    Fewer ``particles`` cut the work down for a quick check.
    """
    cases = read_cases(path)
    mapping = read_toml("phase.toml")
    sets = {
        region: Estimates(PhaseParameters.from_mapping(mapping, without=region), particles)
        for region in {c.region for c in cases}
    }
    rows = [_row(case, sets[case.region].of(case)) for case in cases]
    pooled = PhaseParameters.from_mapping(mapping)
    baselines = {
        "latitude_line": _baseline(cases, _latitude_line),
        "fixed_temperature": _baseline(cases, lambda case, _: _rule_day(case, pooled)),
    }
    return {"rows": rows, "baselines": baselines, "summary": _summary(cases, rows, baselines)}


class Estimates:
    """Runs of the estimator under one set of parameters, each place and form once."""

    def __init__(self, parameters: PhaseParameters, particles: int = 1000) -> None:
        self.parameters = parameters
        self.particles = particles
        self._runs: dict[tuple[float, float, float, SpeciesForm], PhaseTiming | None] = {}

    def of(self, case: Case) -> Forecast | None:
        """The estimator's day of the event, counted like the case's; None where it is refused or has no nests."""
        key = (case.latitude_deg, case.longitude_deg, case.elevation_m, case.form)
        if key not in self._runs:
            self._runs[key] = _timing(*key, self.parameters, self.particles)
        timing = self._runs[key]
        if timing is None:
            return None
        days, good = timing.days[case.event], np.isfinite(timing.days[case.event])
        if timing.weights[good].sum() < 0.5:
            return None
        if case.pooled:
            days = _without_weather(days)
        weights = timing.weights[good] / timing.weights[good].sum()
        first = (timing.start - date(_ANY_YEAR, 1, 1)).days
        spread = float(np.sqrt(weights @ np.square(days[good] - weights @ days[good])))
        floor = self.parameters.common.floor_sd_days_no_water
        return Forecast(days[good] + first, weights, float(np.sqrt(max(floor**2 - spread**2, 1.0))))


def _without_weather(days: Floats) -> Floats:
    """Days under average weather: a report that pools years has averaged the weather out, but not what is not known.

    Particle ``i`` lives under simulated year ``i modulo members``; each year's mean departure is taken off.
    """
    years = np.arange(days.size) % _MEMBERS
    good = np.isfinite(days)
    total = np.bincount(years[good], days[good], _MEMBERS)
    count = np.maximum(np.bincount(years[good], minlength=_MEMBERS), 1)
    return np.asarray(days - (total / count)[years] + days[good].mean())


@lru_cache(maxsize=1)
def _normals_table() -> NormalsTable:
    return NormalsTable.from_mapping(read_arrays("air_normals.npz"))


@lru_cache(maxsize=512)
def _normals(latitude_deg: float, longitude_deg: float, elevation_m: float) -> AirNormals:
    return normals_at(_normals_table(), latitude_deg, longitude_deg, elevation_m)


def _timing(
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float,
    form: SpeciesForm,
    parameters: PhaseParameters,
    particles: int,
) -> PhaseTiming | None:
    site = PhaseSite(latitude_deg, longitude_deg, LakeKind.LOWLAND_RESERVOIR, elevation_m)
    # The last day of the year of the nests lies in the same season in the south, 31 August in the north.
    today = date(_ANY_YEAR, 12, 31) if latitude_deg < 0 else date(_ANY_YEAR, 8, 31)
    normals = _normals(latitude_deg, longitude_deg, elevation_m)
    water = _unknown_water(site, today, normals, parameters)
    return run_phase(
        site, water, form, (), parameters, today=today, units="metric", normals=normals, seed=1, particles=particles
    ).timing


def _unknown_water(site: PhaseSite, today: date, normals: AirNormals, parameters: PhaseParameters) -> WaterSeries:
    """A series of one day at the season's start: the estimator carries it on by climate and simulated weather."""
    start = season_for(today, site.latitude_deg).start
    day = start.timetuple().tm_yday - 1
    climate = climate_water_c(normals, parameters.climate.usual_depth_m, parameters.climate)
    spread = parameters.common.spread_ratio * float(normals.day_sd_c[day])
    members = climate[day] + spread * np.random.default_rng(5).standard_normal((_MEMBERS, 1, 1))
    return WaterSeries(start, 0, (Zone.MAIN,), members, climate[day : day + 1], 0.0, None, normals_only=True)


def _rule_day(case: Case, parameters: PhaseParameters) -> float | None:
    """Day on which the five-day mean of the climate's water first passes the rule's temperature; None if never."""
    kind, stage = case.event.split("_")
    normals = _normals(case.latitude_deg, case.longitude_deg, case.elevation_m)
    curve = climate_water_c(normals, parameters.climate.usual_depth_m, parameters.climate)
    coldest = int(np.argmin(curve))
    rising = np.concatenate([curve[coldest:], curve[:coldest]])
    passed = rising >= _RULE_C[stage]
    if not passed.any():
        return None
    day = float(coldest + int(np.argmax(passed)) + 2)  # a five-day mean runs two days behind
    if day > 330 and case.latitude_deg > 0:
        day -= 366.0
    return day + (_EGG_DAYS if kind == "hatch" else 0.0)


def _latitude_line(case: Case, others: Sequence[Case]) -> float | None:
    """Straight line on latitude through the other regions' rows of the same species group and kind of event."""
    stage = case.event.split("_")[1]
    alike = [one for one in others if one.group == case.group and one.event.split("_")[1] == stage]
    if len(alike) < _FEWEST_ROWS:
        alike = [one for one in others if one.event.split("_")[1] == stage]
    if not alike:
        return None
    eggs = [one.middle_day - (_EGG_DAYS if one.event.startswith("hatch") else 0.0) for one in alike]
    latitudes = [abs(one.latitude_deg) for one in alike]
    if np.ptp(latitudes) < 2.0:
        return float(np.mean(eggs))
    slope, level = np.polyfit(latitudes, eggs, 1)
    day = float(level + slope * abs(case.latitude_deg)) + (_EGG_DAYS if case.event.startswith("hatch") else 0.0)
    return day if case.latitude_deg >= 0 else day + 184.0


def _baseline(cases: Sequence[Case], predict: Callable[[Case, Sequence[Case]], float | None]) -> dict[str, Any]:
    """Score a rule that gives one day; its normal spread comes from the headline rows of the other regions."""
    rows = []
    for case in cases:
        others = [one for one in cases if one.headline and one.region != case.region]
        day = predict(case, others)
        if day is None:
            rows.append(_blank(case))
            continue
        known = [one for one in others if one.width_days is not None and one.region != "florida"]
        errors = [
            found - one.middle_day
            for one in known
            if (found := predict(one, [two for two in others if two.region != one.region])) is not None
        ]
        width = float(np.sqrt(np.mean(np.square(errors)))) if errors else _USUAL_WIDTH_DAYS
        rows.append(_row(case, Forecast(np.array([day]), np.ones(1), width)))
    return {"rows": rows}


def _blank(case: Case) -> dict[str, Any]:
    row = case.row
    return {
        "species": row["species"],
        "form": case.form.value,
        "water": case.water,
        "region": case.region,
        "event": row["event"],
        "start": row["date_or_doy_start"],
        "end": row["date_or_doy_end"],
        "p10": None,
        "p50": None,
        "p90": None,
        "distance_days": None,
        "bias_days": None,
        "mass_in_interval": None,
        "covered80": None,
        "headline": case.headline,
        "scored": case.scored,
        "driver": "normals",
    }


def _row(case: Case, forecast: Forecast | None) -> dict[str, Any]:
    row = _blank(case)
    if forecast is None:
        return row
    low, middle, high = forecast.points()
    half = 0.5 * (case.width_days or 0.0)
    error = case.distance(round(middle))
    return row | {
        "p10": _date(low),
        "p50": _date(middle),
        "p90": _date(high),
        "distance_days": round(abs(error), 1),
        "bias_days": round(error, 1),
        "mass_in_interval": round(case.mass(forecast.days, forecast.weights, forecast.width_days), 4),
        "covered80": bool(low - half <= case.middle_day <= high + half),
    }


def _date(day: float) -> str:
    return (date(_ANY_YEAR, 1, 1) + timedelta(days=round(day))).strftime("%m-%d")


def _summary(cases: Sequence[Case], rows: list[dict[str, Any]], baselines: dict[str, Any]) -> list[dict[str, Any]]:
    """Scores by set of rows; a set's rows are those that the estimator and both baselines could answer."""
    line, rule = (baselines[name]["rows"] for name in ("latitude_line", "fixed_temperature"))
    usable = [n for n in range(len(cases)) if all(one[n]["distance_days"] is not None for one in (rows, line, rule))]
    stages = {"start": "start", "middle": "middle", "end": "end"}
    sets: dict[str, list[int]] = {
        "headline outside Florida": [n for n in usable if cases[n].headline and cases[n].region != "florida"]
    }
    for stage in stages:
        chosen = [n for n in sets["headline outside Florida"] if cases[n].event.endswith(stage)]
        sets[f"  of these, {stage}"] = chosen
    sets["headline, Florida"] = [n for n in usable if cases[n].headline and cases[n].region == "florida"]
    others = [n for n in usable if cases[n].scored and not cases[n].headline]
    sets["press and memory rows outside Florida"] = [n for n in others if cases[n].region != "florida"]
    sets["press and memory rows, Florida"] = [n for n in others if cases[n].region == "florida"]
    return [
        {"set": name, **_scores(chosen, cases, {"estimator": rows, "latitude_line": line, "fixed_temperature": rule})}
        for name, chosen in sets.items()
        if chosen
    ]


def _scores(chosen: list[int], cases: Sequence[Case], tables: dict[str, list[dict[str, Any]]]) -> dict[str, Any]:
    scores: dict[str, Any] = {"n": len(chosen), "waters": len({cases[n].water for n in chosen})}
    groups: dict[str, list[int]] = {}
    for n in chosen:
        groups.setdefault(cases[n].water, []).append(n)
    for name, table in tables.items():
        distance = np.array([table[n]["distance_days"] for n in chosen])
        mass = np.array([np.log(max(table[n]["mass_in_interval"], 1e-4)) for n in chosen])
        scores[name] = {
            "mean_distance_days": round(float(distance.mean()), 2),
            "distance_range80": _bootstrap([[table[n]["distance_days"] for n in group] for group in groups.values()]),
            "mean_log_mass": round(float(mass.mean()), 3),
            "bias_days": round(float(np.mean([table[n]["bias_days"] for n in chosen])), 1),
            "covered80": round(float(np.mean([table[n]["covered80"] for n in chosen])), 3),
        }
    return scores


def _bootstrap(groups: list[list[float]]) -> list[float]:
    """80 % range of the mean distance over waters drawn again with replacement."""
    rng = np.random.default_rng(11)
    sums = np.array([sum(group) for group in groups])
    counts = np.array([len(group) for group in groups])
    drawn = rng.integers(0, len(groups), (_DRAWS, len(groups)))
    means = sums[drawn].sum(axis=1) / counts[drawn].sum(axis=1)
    return [round(float(value), 1) for value in np.quantile(means, (0.1, 0.9))]


def table(result: dict[str, Any]) -> str:
    """Lay out scores by set of rows, then every row."""
    header = ("rows", "n", "waters", "method", "distance", "80 % range", "bias", "log mass", "cover")
    lines = []
    for part in result["summary"]:
        for method in ("estimator", "latitude_line", "fixed_temperature"):
            score = part[method]
            low, high = score["distance_range80"]
            lines.append(
                (
                    part["set"],
                    part["n"],
                    part["waters"],
                    method,
                    f"{score['mean_distance_days']:.1f}",
                    f"{low}-{high}",
                    f"{score['bias_days']:+.1f}",
                    f"{score['mean_log_mass']:.2f}",
                    f"{score['covered80']:.0%}",
                )
            )
    rows = [
        (
            row["water"][:40],
            row["form"],
            row["event"],
            f"{row['start']}..{row['end']}",
            row["p10"],
            row["p50"],
            row["p90"],
            row["bias_days"],
            row["mass_in_interval"],
            "yes" if row["headline"] else "",
        )
        for row in result["rows"]
    ]
    each = text_table(
        ("water", "form", "event", "reported", "10 %", "50 %", "90 %", "off by", "mass", "headline"), rows
    )
    note = "No row has weather of its lake: the estimator ran on climate normals over simulated years."
    return f"{text_table(header, lines)}\n\n{note}\n\n{each}"
