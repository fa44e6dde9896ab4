"""The evaluation of the normals on invented stations."""

import json

import numpy as np
import pytest

from briefing.core.climate import normals_at
from briefing.core.climate.harmonics import month_means
from briefing.evaluate.__main__ import main
from briefing.knowledge import load_normals_table

MONTHS = ",".join(f"t{month:02d}" for month in range(1, 13))
PLACES = {
    "lower48_s_canada": ("United States", 36.0, -86.0, 200.0),
    "europe": ("France", 47.0, 2.0, 150.0),
    "rest_of_north_america": ("Mexico", 25.0, -103.0, 1100.0),
    "elsewhere": ("Japan", 36.0, 138.0, 300.0),
}


@pytest.fixture
def stations_file(tmp_path):
    """Stations two degrees colder than the shipped normals, written in another order of columns."""
    lines = [f"elevation_m,lon,lat,country,{MONTHS}"]
    for country, lat, lon, height in PLACES.values():
        mean = month_means(normals_at(load_normals_table(), lat, lon, height).mean_c) - 2.0
        lines.append(f"{height},{lon},{lat},{country}," + ",".join(f"{value:.3f}" for value in mean))
    path = tmp_path / "some-stations.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def test_each_region_is_scored_by_month(stations_file, capsys):
    assert main(["normals", str(stations_file), "--json"]) == 0
    groups = json.loads(capsys.readouterr().out)["groups"]
    assert set(groups) == {*PLACES, "southeast_texas"}
    for row in groups.values():
        assert row["n"] == 1
        assert row["rmse_c"] == pytest.approx(2.0, abs=0.01)
        assert row["bias_c"] == pytest.approx(2.0, abs=0.01)
        assert row["by_month"] == pytest.approx(np.full(12, 2.0).tolist(), abs=0.01)
        assert row["dewpoint_rmse_c"] is None


def test_the_table_has_a_line_a_region(stations_file, capsys):
    assert main(["normals", str(stations_file)]) == 0
    out = capsys.readouterr().out
    assert "lower48_s_canada" in out
    assert "rmse by month" in out
