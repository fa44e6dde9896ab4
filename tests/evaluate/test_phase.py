"""The evaluation of the seasonal phases on a small invented table, and on the measured one where it is at hand."""

import json

import pytest

from briefing.errors import InputError
from briefing.evaluate import phase
from briefing.evaluate.spawn_dates import COLUMNS, read_cases

pytestmark = pytest.mark.long

HEAD = ",".join(COLUMNS)
ROWS = (
    "Micropterus nigricans,northern,Alder Pond,WI,US,45.0,-90.0,typical,spawn_start,05-15,05-25,yes,A; invented",
    "Micropterus nigricans,northern,Birch Lake,IL,US,40.0,-89.0,2001,spawn_start,2001-04-20,2001-05-01,yes,B; invented",
    "Micropterus nigricans,northern,Cedar Lake,SC,US,33.5,-81.0,typical,spawn_start,03-10,03-25,yes,A; invented",
    "Micropterus nigricans,northern,Cedar Lake,SC,US,33.5,-81.0,typical,spawn_end,,05-20,yes,A; invented",
    "Micropterus dolomieu,,Dune River,VA,US,38.0,-79.0,typical,spawn_end,06-10,06-25,memory,M; invented",
    "Micropterus salmoides,Florida,Elm Lake,FL,US,28.0,-82.0,typical,spawn_start,12-10,01-20,yes,B; invented",
    "Micropterus dolomieu,,Fir Lake,ON,CA,45.0,-79.0,typical,spawn_peak,06-01,06-10,yes,A; exclude from scoring",
)


def folder(tmp_path, *rows):
    (tmp_path / "spawn-dates.csv").write_text("\n".join([HEAD, *rows]) + "\n", encoding="utf-8")
    return tmp_path


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    return phase.run(folder(tmp_path_factory.mktemp("dates"), *ROWS))


def test_rows_follow_the_contract(result):
    assert len(result["rows"]) == len(ROWS)
    for row in result["rows"]:
        assert {"species", "form", "water", "event", "start", "end", "p10", "p50", "p90"} <= set(row)
        assert row["driver"] == "normals"
        assert row["distance_days"] >= 0
        assert 0 <= row["mass_in_interval"] <= 1
    assert [row["headline"] for row in result["rows"]] == [True, True, True, True, False, True, False]
    assert set(result["baselines"]) == {"latitude_line", "fixed_temperature"}
    assert json.loads(json.dumps(result, allow_nan=False)) == result


def test_the_table_names_every_method_and_water(result):
    text = phase.table(result)
    assert "fixed_temperature" in text
    assert "Cedar Lake" in text
    assert "climate normals" in text


def test_cases_know_their_distance_and_open_edges(tmp_path):
    cases = read_cases(folder(tmp_path, *ROWS))
    assert cases[0].distance(cases[0].start_day - 3) == -3
    assert cases[0].distance(cases[0].end_day) == 0
    assert cases[3].distance(-50.0) == 0
    assert cases[3].width_days is None
    assert cases[5].start_day < 0 < cases[5].end_day
    assert not cases[1].pooled
    assert cases[4].group == "smallmouth"


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        (ROWS[0].replace("05-15", "15 May"), "not a date"),
        (ROWS[0].replace("spawn_start", "spawning"), "event"),
        (ROWS[0].replace("45.0", "north"), "not a number"),
    ],
)
def test_bad_cells_are_named(tmp_path, bad, words):
    with pytest.raises(InputError, match=words):
        phase.run(folder(tmp_path, bad))


def test_headline_bars_on_the_measured_table(reference_data, whole, tmp_path):
    """Whole, or every third case of the table with fewer particles."""
    data = reference_data / "data"
    if not whole:
        (tmp_path / "climate-normals").symlink_to(data / "climate-normals")
        head, *cases = (data / "spawn-dates.csv").read_text(encoding="utf-8").splitlines()
        (tmp_path / "spawn-dates.csv").write_text("\n".join([head, *cases[::3]]) + "\n", encoding="utf-8")
    result = phase.run(data if whole else tmp_path, particles=1000 if whole else 150)
    (headline,) = [part for part in result["summary"] if part["set"] == "headline outside Florida"]
    mine = headline["estimator"]
    assert mine["mean_distance_days"] <= 8.0
    for name in ("latitude_line", "fixed_temperature"):
        assert mine["mean_distance_days"] < headline[name]["mean_distance_days"]
        assert mine["mean_log_mass"] > headline[name]["mean_log_mass"]
