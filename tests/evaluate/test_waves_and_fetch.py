"""The two evaluations find wrong numbers, and refuse what is no table of theirs."""

import json
from pathlib import Path
from typing import Any

import pytest

from briefing.errors import InputError
from briefing.evaluate import fetch, waves

HEADER = "id,formula,wind_m_s,adjusted_wind_m_s,fetch_m,depth_m,hs_m,tp_s,hs_tol_m,tp_tol_s\n"
SQUARE = {"kind": "polygon", "exterior": [[0, 0], [1000, 0], [1000, 1000], [0, 1000]], "interiors": []}


def wave_file(tmp_path: Path, *rows: str) -> Path:
    path = tmp_path / "waves.csv"
    path.write_text(HEADER + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def fetch_file(tmp_path: Path, expected: float) -> Path:
    body: dict[str, Any] = {
        "geometries": {"square": SQUARE},
        "cases": [
            {"geometry": "square", "point": [400, 500], "bearing_deg": [90], "fetch_m": [expected], "tolerance_m": 0.01}
        ],
        "edge_cases": [{"id": "dry", "geometry": "square", "point": [-50, 5], "expect": "no value"}],
        "effective_fetch": [],
        "bank_side": [],
        "geodesic": {
            "point_lon_lat": [0.0, 0.0],
            "land_polygon_lon_lat": [[-0.1, 0.1], [0.1, 0.1], [0.1, 0.2], [-0.1, 0.2]],
            "limit_m": 20000,
            "bearing_deg": [0, 180],
            "recomputed_m": [11057.4, 20000],
            "weighted_rays_deg": [0],
            "weighted_fetch_m": [11057, 20000],
        },
    }
    path = tmp_path / "fetch.json"
    path.write_text(json.dumps(body), encoding="utf-8")
    return path


def test_wave_rows_are_judged_by_absolute_and_relative_tolerance(tmp_path: Path) -> None:
    # 10 m/s, 5 km, 5 m deep: both methods within the spread printed for them (0.41 m and 0.34 m).
    result = waves.run(
        wave_file(
            tmp_path,
            "1,SPM84 shallow,10,,5000,5,0.41,2.2,0.01,0.1",
            "2,Young-Verhagen 1996,10,,5000,5,0.34,,4%,4%",
            "3,Young-Verhagen 1996,10,,5000,5,0.30,,4%,4%",
            "4,SPM84 shallow,,12.06,5000,5,0.41,9.9,0.01,0.1",
            "5,Wilson 1965,10,,5000,5,0.4,2,1,1",
        )
    )
    assert [row["within"] for row in result["rows"]] == [True, True, False, False]
    assert (result["checked"], result["failed"], result["not_used"]) == (4, 2, 1)
    assert "spm84_shallow" in waves.table(result)


def test_wave_files_that_are_none_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no row of"):
        waves.run(wave_file(tmp_path, "5,Wilson 1965,10,,5000,5,0.4,2,1,1"))
    with pytest.raises(InputError, match="not a number"):
        waves.run(wave_file(tmp_path, "1,SPM84 shallow,x,,5000,5,0.41,2.2,0.01,0.1"))


def test_fetch_cases_are_judged(tmp_path: Path) -> None:
    good, bad = fetch.run(fetch_file(tmp_path, 600.0)), fetch.run(fetch_file(tmp_path, 610.0))
    assert (len(good["cases"]), good["failed"], bad["failed"]) == (4, 0, 1)
    assert bad["cases"][0]["max_error_m"] == pytest.approx(10.0)
    assert "1 failed" in fetch.table(bad)


@pytest.mark.parametrize(("text", "word"), [("{", "JSON"), ("{}", "as expected"), ("[]", "as expected")])
def test_fetch_files_that_are_none_are_refused(tmp_path: Path, text: str, word: str) -> None:
    path = tmp_path / "fetch.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=word):
        fetch.run(path)
