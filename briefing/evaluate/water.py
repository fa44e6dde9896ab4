"""``evaluate water DIR``: the water engine over measured lakes, beside three simple estimates.

Numbers of the engine come from the set that was fitted without the lake's whole group, where the parameter file has
one, else from the pooled set. Readings are the truth plus noise of 0.5 C on a random measured day of each week, for
twenty seeds; a reading's own day is not scored for "now". Forecasts start from every day.

Two countings stand side by side. ``measured``: every day with measured water, every lake. ``air_known``: of those the
days with measured air on 24 of the last 30 days, as a user's lake nearly always has, and lakes with at least 30 of
them. An RMSE is the mean over the seeds' own, a group's the mean over its lakes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from briefing.core.water.parameters import WaterParameters
from briefing.core.water.slab import Floats
from briefing.evaluate.rows import text_table
from briefing.evaluate.water_engine import LEADS, READING_SD_C, Estimates, estimate, weekly_readings
from briefing.evaluate.water_lakes import Batch, MeasuredLake, load_lakes, make_batch
from briefing.evaluate.water_scores import (
    THRESHOLDS_C,
    Score,
    best_damping,
    climatology,
    damped_anomaly,
    last_before,
    passing_errors,
    score,
)
from briefing.evaluate.water_why import SEASON_GAP_DAYS, Errors, lake_errors, why_rows
from briefing.resources import read_toml

SEEDS = 20
_DAILY_SEEDS = 2
_DAILY_SD_C = 0.2
#: Where air is asked for, a season of a lake with fewer scored days is listed, but left out of its group's mean.
LEAST_DAYS = 30
_KNOWN_SHARE, _KNOWN_DAYS = 0.8, 30
WEATHERS = ("perfect", "forecast_error")
MEASURED, AIR_KNOWN = "measured", "air_known"


@dataclass(frozen=True)
class _Case:
    """What a row is about, and the columns of a lake that it scores."""

    method: str
    readings: str
    lead_days: int
    weather: str
    estimate_c: Floats
    variance_c2: Floats | None


def parameters_for(group: str) -> WaterParameters:
    """The set fitted without a group, or the pooled one where there is none."""
    mapping = read_toml("water.toml")
    name = f"without_{group}"
    return WaterParameters.from_mapping(mapping, name if name in mapping["sets"] else "pooled")


def air_share(batch: Batch) -> Floats:
    """Share of the last 30 days with measured air; (days, lakes)."""
    known = np.stack([_padded(~np.isnan(lake.air_c), batch.water_c.shape[0]) for lake in batch.lakes], axis=1)
    total = np.vstack([np.zeros((1, known.shape[1])), np.cumsum(known, axis=0)])
    index = np.arange(known.shape[0])
    since = np.maximum(index - _KNOWN_DAYS + 1, 0)
    return np.asarray((total[index + 1] - total[since]) / (index - since + 1)[:, None])


def counted_days(batch: Batch) -> NDArray[np.bool_]:
    """Days with measured water, and measured air on 24 of the last 30 days; (days, lakes)."""
    return np.asarray(~np.isnan(batch.water_c) & (air_share(batch) >= _KNOWN_SHARE))


def _padded(values: NDArray[np.bool_], size: int) -> NDArray[np.bool_]:
    return np.concatenate([values, np.zeros(size - values.size, dtype=bool)])


def run(path: Path, seeds: int = SEEDS, groups: Iterable[str] | None = None, *, daily: bool = True) -> dict[str, Any]:
    """Score every lake of a folder; ``seeds``, ``groups`` (names) and no ``daily`` readings make a quick check."""
    lakes = load_lakes(path)
    wanted = sorted({lake.group for lake in lakes}) if groups is None else list(groups)
    rows: list[dict[str, Any]] = []
    thresholds: list[dict[str, Any]] = []
    why: list[dict[str, Any]] = []
    for group in wanted:
        found, passed, parts = _run_group([lake for lake in lakes if lake.group == group], group, seeds, daily)
        rows += found
        thresholds += passed
        why += parts
    return {"rows": rows, "groups": _group_means(rows), "thresholds": thresholds, "why": why}


def _run_group(
    lakes: list[MeasuredLake], group: str, seeds: int, with_daily: bool
) -> tuple[list[dict[str, Any]], list[dict[str, Any]], list[dict[str, Any]]]:
    batch, parameters = make_batch(lakes), parameters_for(group)
    weekly = weekly_readings(batch, seeds)
    without = np.full((weekly.shape[0], len(lakes)), np.nan)
    runs = {
        "none": estimate(batch, parameters, without, leads=()),
        "weekly": estimate(batch, parameters, weekly, weathers=WEATHERS),
    }
    if with_daily:
        daily = weekly_readings(batch, _DAILY_SEEDS, 1, _DAILY_SD_C)
        runs["daily"] = estimate(batch, parameters, daily, reading_sd_c=_DAILY_SD_C)
    counted, shares = counted_days(batch), air_share(batch)
    errors: list[Errors] = []
    rows: list[dict[str, Any]] = []
    late: dict[float, list[tuple[Floats, NDArray[np.bool_]]]] = {threshold: [] for threshold in THRESHOLDS_C}
    for place, lake in enumerate(lakes):
        size = lake.water_c.size
        mine = weekly[:size, place * seeds : (place + 1) * seeds]
        cases = [*_engine_cases(runs, place, size), *_baseline_cases(lake, mine)]
        spring = batch.spring[:size, place]
        now, damped = (_now(cases, method) for method in ("engine", "damped_anomaly"))
        errors.append(lake_errors(now, damped, lake.water_c, mine, shares[:size, place], spring))
        ours = partial(_row, lake=lake, spring=spring, unread=np.isnan(mine))
        for name, days in ((MEASURED, ~np.isnan(lake.water_c)), (AIR_KNOWN, counted[:size, place])):
            rows += [row | {"days": name} for case in cases for row in ours(case, counted=days)]
        estimated = runs["weekly"].week_c[:size, place * seeds : (place + 1) * seeds]
        for threshold in THRESHOLDS_C:
            late[threshold].append(passing_errors(lake, estimated, threshold))
    passed = [_passing(group, threshold, found) for threshold, found in late.items()]
    return rows, passed, why_rows(group, Errors.join(errors))


def _now(cases: list[_Case], method: str) -> Floats:
    """A method's estimates for today with weekly readings, (days, columns)."""
    return next(
        case.estimate_c for case in cases if (case.method, case.readings, case.lead_days) == (method, "weekly", 0)
    )


def _engine_cases(runs: dict[str, Estimates], place: int, size: int) -> list[_Case]:
    cases = []
    for readings, made in runs.items():
        columns = np.flatnonzero(made.lake_index == place)
        if readings != "daily":
            mean, variance = made.now
            cases.append(_Case("engine", readings, 0, "perfect", mean[:size, columns], variance[:size, columns]))
        for (lead, weather), (mean, variance) in made.ahead.items():
            cases.append(_Case("engine", readings, lead, weather, mean[:size, columns], variance[:size, columns]))
    return cases


def _baseline_cases(lake: MeasuredLake, readings_c: Floats) -> list[_Case]:
    climate = climatology(lake)
    damping = best_damping(climate, readings_c, lake.water_c)
    cases = []
    for lead in (0, *LEADS):
        repeated = np.repeat(climate[:, None], readings_c.shape[1], axis=1)
        last = last_before(readings_c, lead)[0]
        damped = damped_anomaly(climate, readings_c, lead, damping)
        cases += [
            _Case("climatology", "none", lead, "perfect", repeated, None),
            _Case("last_reading", "weekly", lead, "perfect", last, None),
            _Case("damped_anomaly", "weekly", lead, "perfect", damped, None),
        ]
    return cases


def _row(
    case: _Case,
    *,
    lake: MeasuredLake,
    counted: NDArray[np.bool_],
    spring: NDArray[np.bool_],
    unread: NDArray[np.bool_],
) -> list[dict[str, Any]]:
    rows = []
    for season, days in (("all", counted), ("feb_may", counted & spring)):
        scored = np.repeat(days[:, None], case.estimate_c.shape[1], axis=1)
        if case.lead_days == 0 and case.readings == "weekly":
            scored &= unread
        result = score(case.estimate_c, case.variance_c2, lake.water_c, scored)
        if result.n:
            rows.append(_as_row(case, lake, season, result))
    return rows


def _as_row(case: _Case, lake: MeasuredLake, season: str, result: Score) -> dict[str, Any]:
    return {
        "lake": lake.name,
        "group": lake.group,
        "method": case.method,
        "readings": case.readings,
        "season": season,
        "lead_days": case.lead_days,
        "weather": case.weather,
        "rmse_c": round(result.rmse_c, 3),
        "bias_c": round(result.bias_c, 3),
        "cover80": None if np.isnan(result.cover80) else round(result.cover80, 3),
        "n": result.n,
    }


def _passing(group: str, threshold_c: float, found: list[tuple[Floats, NDArray[np.bool_]]]) -> dict[str, Any]:
    errors = np.abs(np.concatenate([late for late, _ in found]))
    measured = errors[np.concatenate([seen for _, seen in found])]
    return {
        "group": group,
        "threshold_c": threshold_c,
        "mean_abs_days": _mean(errors, 2),
        "within5": _mean(errors <= 5, 3),
        "n": int(errors.size),
        "seen_mean_abs_days": _mean(measured, 2),
        "seen_within5": _mean(measured <= 5, 3),
        "seen_n": int(measured.size),
    }


def _mean(values: NDArray[Any], digits: int) -> float | None:
    return round(float(values.mean()), digits) if values.size else None


_KEYS = ("group", "days", "method", "readings", "season", "lead_days", "weather")


def _group_means(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Mean over a group's lakes, each with the same weight, of every kind of row."""
    kinds: dict[tuple[Any, ...], list[dict[str, Any]]] = {}
    for row in rows:
        kinds.setdefault(tuple(row[key] for key in _KEYS), []).append(row)
    means = []
    for kind, members in kinds.items():
        enough = [row for row in members if row["days"] == MEASURED or row["n"] >= LEAST_DAYS]
        if enough:
            cover = [row["cover80"] for row in enough if row["cover80"] is not None]
            means.append(
                dict(zip(_KEYS, kind, strict=True))
                | {
                    "rmse_c": round(float(np.mean([row["rmse_c"] for row in enough])), 3),
                    "cover80": round(float(np.mean(cover)), 3) if cover else None,
                    "lakes": len(enough),
                }
            )
    return means


def table(result: dict[str, Any]) -> str:
    """The result's group means and passing dates as text."""
    header = ("group", "days", "method", "readings", "season", "lead", "weather", "RMSE C", "in 80 %", "lakes")
    order = sorted(result["groups"], key=lambda row: tuple(str(row[key]) for key in _KEYS))
    lines = [
        (
            *(row[key] for key in _KEYS),
            f"{row['rmse_c']:.2f}",
            "" if row["cover80"] is None else f"{100 * row['cover80']:.0f}",
            row["lakes"],
        )
        for row in order
    ]
    passing = [
        (
            *(row["group"], f"{row['threshold_c']:g}", row["mean_abs_days"], f"{100 * row['within5']:.0f} %", row["n"]),
            *(row["seen_mean_abs_days"], row["seen_n"]),
        )
        for row in result["thresholds"]
        if row["n"]
    ]
    parts = [
        (
            *(row[key] for key in ("group", "part", "days_percent", "error_percent")),
            *(f"{row['rmse_c']:.2f}", f"{row['bias_c']:+.2f}"),
            "" if row["damped_rmse_c"] is None else f"{row['damped_rmse_c']:.2f}",
        )
        for row in result["why"]
    ]
    return "\n\n".join(
        (
            f"Readings: truth with noise of {READING_SD_C} C; parameters fitted without the group; "
            f'days "{MEASURED}": all with measured water, "{AIR_KNOWN}": with measured air on most of the last '
            f"{_KNOWN_DAYS} days too, lakes with at least {LEAST_DAYS} of them.",
            text_table(header, lines),
            "First day from January on which the 7-day mean passes a threshold (last two columns: where the day before "
            "was measured too, so that the date is known):",
            text_table(("group", "C", "mean error, days", "within 5", "cases", "mean error", "cases"), passing),
            "Where the error of now comes from, February to May, weekly readings, every day with measured water: split "
            "by the days of the last 30 with measured air, and by the time since the season's first reading (a season "
            f"begins after {SEASON_GAP_DAYS} days without measured water). Days weigh the same, whatever their lake.",
            text_table(
                ("group", "part", "days %", "squared error %", "RMSE C", "mean error C", "damped anomaly"), parts
            ),
        )
    )
