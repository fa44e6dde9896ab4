"""The water engine against measured lakes: a seeded slice of the full evaluation, and its parts on made-up lakes."""

import csv
import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from briefing.errors import InputError
from briefing.evaluate.water import parameters_for, run, table
from briefing.evaluate.water_engine import weekly_readings
from briefing.evaluate.water_lakes import load_lakes, make_batch
from briefing.evaluate.water_scores import climatology, damped_anomaly, last_before, passing_errors, score, week_means
from briefing.evaluate.water_why import lake_errors, since_first_reading, why_rows

pytestmark = pytest.mark.long

DAYS = 1100


def write_lakes(folder: Path, names: dict[str, tuple[float, str]]) -> None:
    """Made-up lakes whose water lags smooth air; ``names`` gives depth and group."""
    header = ["file", "name", "lat", "lon", "area_km2", "mean_depth_m", "max_depth_m", "kind", "group", "sparse"]
    with (folder / "lakes.csv").open("w", newline="") as handle:
        writer = csv.writer(handle)
        writer.writerow(header)
        for name, (depth, group) in names.items():
            writer.writerow([f"{name}.csv", name, 42.0, -85.0, 2.0, depth, "", "lake", group, "no"])
    for place, (name, (depth, _)) in enumerate(names.items()):
        generator = np.random.default_rng(place)
        water = 8.0
        with (folder / f"{name}.csv").open("w", newline="") as handle:
            writer = csv.writer(handle)
            writer.writerow(["date", "water_temp_c", "air_temp_c"])
            for number in range(DAYS):
                day = date(2019, 1, 1) + timedelta(days=number)
                season = np.cos(2 * np.pi * (number - 200) / 365.25)
                air = 10 + 10 * season + 3 * generator.standard_normal()
                water += (air + 3 - water) / (2 + 2 * depth)
                shown = "" if number % 11 == 0 else f"{max(water, 0):.2f}"
                writer.writerow([day.isoformat(), shown, f"{air:.2f}"])


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_lakes(tmp_path, {"alder-pond": (1.5, "ponds"), "birch-lake": (9.0, "ponds"), "cedar-lake": (6.0, "south")})
    return tmp_path


def test_any_folder_of_the_layout_is_scored(tmp_path: Path) -> None:
    write_lakes(tmp_path, {"alder-pond": (1.5, "ponds"), "cedar-lake": (6.0, "south")})
    result = run(tmp_path, seeds=1)
    assert json.loads(json.dumps(result, allow_nan=False)) == result
    kinds = {
        (row["method"], row["readings"], row["season"], row["lead_days"], row["weather"]) for row in result["rows"]
    }
    for needed in (
        ("engine", "none", "all", 0, "perfect"),
        ("engine", "weekly", "feb_may", 7, "forecast_error"),
        ("engine", "daily", "all", 1, "perfect"),
        ("climatology", "none", "all", 0, "perfect"),
        ("last_reading", "weekly", "feb_may", 3, "perfect"),
        ("damped_anomaly", "weekly", "all", 7, "perfect"),
    ):
        assert needed in kinds
    assert {row["lake"] for row in result["rows"]} == {"alder-pond", "cedar-lake"}
    assert "engine" in table(result)
    assert {row["group"] for row in result["why"]} == {"ponds", "south"}
    assert "8 days and more after it" in table(result)


def test_same_folder_same_scores(folder: Path) -> None:
    first, second = (run(folder, seeds=1, groups=["south"], daily=False) for _ in range(2))
    assert first == second


def test_unknown_groups_get_the_pooled_set() -> None:
    assert parameters_for("ponds").name == "pooled"
    assert parameters_for("south").name == "without_south"
    assert parameters_for("south").slab != parameters_for("ponds").slab


def test_a_broken_folder_is_named(folder: Path) -> None:
    (folder / "alder-pond.csv").write_text("date,water_temp_c,air_temp_c\n2019-01-01,warm,3\n")
    with pytest.raises(InputError, match="alder-pond"):
        run(folder, seeds=1)


def test_readings_are_one_a_week_on_measured_days(folder: Path) -> None:
    batch = make_batch(load_lakes(folder))
    readings = weekly_readings(batch, seeds=3)
    there = ~np.isnan(readings)
    assert not there[np.isnan(batch.water_c[:, 0])][:, :3].any()
    assert DAYS / 7 - 2 < there[:, 0].sum() <= DAYS / 7 + 2
    error = (readings[:, :3] - batch.water_c[:, :1])[there[:, :3]]
    assert error.std() == pytest.approx(0.5, abs=0.06)
    assert not np.array_equal(there[:, 0], there[:, 1])


def test_climatology_knows_only_other_years(folder: Path) -> None:
    lake = load_lakes(folder)[1]
    before = climatology(lake)
    lake.water_c[:365] += 5.0
    after = climatology(lake)
    assert after[:365] == pytest.approx(before[:365])
    assert np.nanmean(after[365:1095] - before[365:1095]) > 1.0


def test_last_reading_and_damped_anomaly() -> None:
    readings = np.full((8, 1), np.nan)
    readings[2, 0] = 12.0
    now, age = last_before(readings, 0)
    assert np.isnan(now[2, 0])
    assert now[3, 0] == 12.0
    assert age[5, 0] == 3
    ahead, _ = last_before(readings, 3)
    assert np.isnan(ahead[4, 0])
    assert ahead[5, 0] == 12.0
    damped = damped_anomaly(np.full(8, 10.0), readings, 0, 10.0)
    assert damped[6, 0] == pytest.approx(10.0 + 2.0 * np.exp(-0.4))


def test_score_counts_error_bias_and_cover() -> None:
    estimate = np.array([[1.0], [2.0], [9.0]])
    result = score(estimate, np.ones((3, 1)), np.array([0.0, 2.0, np.nan]), np.ones((3, 1), dtype=bool))
    assert (result.n, result.bias_c, result.cover80) == (2, 0.5, 1.0)
    assert result.rmse_c == pytest.approx(np.sqrt(0.5))


def test_a_season_begins_with_its_first_reading() -> None:
    water = np.full(100, 5.0)
    water[10:50] = np.nan
    readings = np.full((100, 2), np.nan)
    readings[[2, 55], 0] = 5.0
    since = since_first_reading(water, readings)
    assert since[[1, 2, 3, 9, 20, 50, 55, 56, 99], 0].tolist() == [-1, -1, 1, 7, -1, -1, -1, 1, 44]
    assert (since[:, 1] == -1).all()
    assert (since_first_reading(np.full(4, np.nan), np.full((4, 1), np.nan)) == -1).all()


def test_the_error_is_split_by_air_and_by_readings() -> None:
    water, readings = np.zeros(40), np.full((40, 1), np.nan)
    readings[10] = 0.0
    estimate = np.where(np.arange(40) < 10, 3.0, 1.0)[:, None]
    share = np.where(np.arange(40) < 20, 0.0, 1.0)
    errors = lake_errors(estimate, estimate - 0.5, water, readings, share, np.ones(40, dtype=bool))
    rows = {row["part"]: row for row in why_rows("ponds", errors)}
    assert errors.error_c.size == 39
    assert rows["before the first reading"]["rmse_c"] == 3.0
    assert rows["before the first reading"]["error_percent"] == pytest.approx(100 * 90 / 119, abs=0.1)
    assert rows["1-7 days after it"]["days_percent"] == pytest.approx(100 * 7 / 39, abs=0.1)
    assert rows["8 days and more after it"]["damped_rmse_c"] == 0.5
    assert rows["air on 24-30"]["rmse_c"] == 1.0
    assert "air on 12-23" not in rows


def test_passing_dates(folder: Path) -> None:
    lake = load_lakes(folder)[2]
    truth = week_means(lake.water_c[:, None])
    assert (passing_errors(lake, truth, 15.0)[0] == 0).all()
    assert passing_errors(lake, truth, 15.0)[1].all()
    late = np.vstack([np.full((4, 1), 5.0), truth[:-4]])
    assert np.median(passing_errors(lake, late, 15.0)[0]) == 4.0


def test_a_passing_while_the_sensor_was_away_is_told_apart(folder: Path) -> None:
    lake = load_lakes(folder)[2]
    truth = week_means(lake.water_c[:, None])
    first = int(np.flatnonzero((lake.year == 2020) & (truth[:, 0] > 15.0))[0])
    lake.water_c[first - 8 : first + 12] = np.nan
    errors, seen = passing_errors(lake, truth, 15.0)
    assert list(seen) == [True, False, True][: seen.size]
    assert errors[1] < -10
    assert errors[0] == 0


#: group, days, readings, season, lead, weather, RMSE in C that must not be passed. Full figures: ``evaluate water``.
BARS: tuple[tuple[str, str, str, str, int, str, float], ...] = (
    ("south", "measured", "none", "feb_may", 0, "perfect", 1.70),
    ("south", "measured", "weekly", "feb_may", 0, "perfect", 0.83),
    ("south", "measured", "weekly", "all", 0, "perfect", 0.75),
    ("south", "measured", "weekly", "feb_may", 3, "perfect", 0.91),
    ("south", "measured", "weekly", "feb_may", 7, "perfect", 0.97),
    ("south", "measured", "weekly", "feb_may", 7, "forecast_error", 1.25),
    ("south", "air_known", "weekly", "all", 0, "perfect", 0.74),
    ("north", "measured", "weekly", "all", 0, "perfect", 0.84),
    ("north", "measured", "weekly", "feb_may", 0, "perfect", 1.20),
    ("north", "air_known", "weekly", "all", 0, "perfect", 0.81),
    ("north", "air_known", "weekly", "feb_may", 0, "perfect", 1.00),
)


@pytest.fixture(scope="module")
def slice_of_bars(reference_data: Path, whole: bool) -> dict[str, Any]:
    return run(
        reference_data / "data" / "lake-temperature", seeds=4 if whole else 2, groups=["south", "north"], daily=whole
    )


@pytest.mark.parametrize("bar", BARS)
def test_bars_on_measured_lakes(slice_of_bars: dict[str, Any], bar: tuple[str, str, str, str, int, str, float]) -> None:
    keys = ("group", "days", "readings", "season", "lead_days", "weather")
    found = [
        row
        for row in slice_of_bars["groups"]
        if row["method"] == "engine" and tuple(row[key] for key in keys) == bar[:6]
    ]
    assert len(found) == 1
    assert found[0]["rmse_c"] <= bar[6]


@pytest.mark.parametrize("days", ["measured", "air_known"])
def test_ranges_hold_on_measured_lakes(slice_of_bars: dict[str, Any], days: str) -> None:
    covers = [
        row["cover80"]
        for row in slice_of_bars["rows"]
        if (row["method"], row["readings"], row["season"], row["lead_days"]) == ("engine", "weekly", "all", 0)
        and row["days"] == days
    ]
    assert len(covers) == 7
    assert 0.77 <= np.mean(covers) <= 0.84
    assert min(covers) >= 0.68


def test_engine_beats_the_simple_estimates_on_measured_lakes(slice_of_bars: dict[str, Any]) -> None:
    def rmse(group: str, method: str, lead: int, days: str) -> float:
        rows = [
            row["rmse_c"]
            for row in slice_of_bars["groups"]
            if (row["group"], row["days"], row["method"], row["season"], row["lead_days"], row["weather"])
            == (group, days, method, "feb_may", lead, "perfect")
            and row["readings"] == ("none" if method == "climatology" else "weekly")
        ]
        return float(rows[0])

    for group, days, now, week in (
        ("south", "measured", 0.62, 0.60),
        ("north", "measured", 0.62, 0.57),
        ("north", "air_known", 0.55, 0.52),
    ):
        assert rmse(group, "engine", 0, days) <= now * rmse(group, "damped_anomaly", 0, days)
        assert rmse(group, "engine", 7, days) <= week * rmse(group, "damped_anomaly", 7, days)
        assert rmse(group, "engine", 0, days) < rmse(group, "last_reading", 0, days)
        assert rmse(group, "engine", 7, days) < rmse(group, "climatology", 7, days)


def test_passing_dates_on_measured_lakes(slice_of_bars: dict[str, Any]) -> None:
    north = [row for row in slice_of_bars["thresholds"] if row["group"] == "north"]
    assert [row["threshold_c"] for row in north] == [10.0, 15.0, 18.0]
    assert all(row["seen_mean_abs_days"] <= 3.0 for row in north)
    assert all(row["mean_abs_days"] <= 3.8 for row in north)
