import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon

from briefing.core.wind.fetch import arc_means, fetch_table, sweep, table_key
from briefing.core.wind.shape import LakeShape
from briefing.evaluate import fetch as evaluation


def ring(radius: float, count: int, wobble: float = 0.0, x: float = 0.0, y: float = 0.0) -> np.ndarray:
    angle = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    reach = radius * (1.0 + wobble * np.sin(5 * angle) + 0.5 * wobble * np.sin(17 * angle))
    return np.stack([x + reach * np.cos(angle), y + reach * np.sin(angle)], axis=1)


def turned(xy: np.ndarray, degrees: float) -> np.ndarray:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.stack([xy[:, 0] * c + xy[:, 1] * s, -xy[:, 0] * s + xy[:, 1] * c], axis=1)


def test_every_reference_case(reference_data: Path) -> None:
    result = evaluation.run(reference_data / "data" / "fetch-check.json")
    assert len(result["cases"]) > 35
    assert [case["name"] for case in result["cases"] if not case["within"]] == []


def test_sweep_agrees_with_rays_cut_by_shapely() -> None:
    lake = LakeShape(ring(3000.0, 300, 0.2), (ring(300.0, 40, 0.1, 900.0, 400.0), ring(200.0, 30, 0.0, -1000.0, 0.0)))
    water = Polygon(lake.outer_xy_m, [list(map(tuple, one)) for one in lake.islands_xy_m])
    points = np.array([[0.0, 0.0], [500.0, 900.0], [-600.0, -700.0]])
    found = sweep(lake, points, np.arange(0.0, 360.0, 7.3))
    for row, point in enumerate(points):
        for column, bearing in enumerate(np.arange(0.0, 360.0, 7.3)):
            far = point + 9000.0 * np.array([math.sin(math.radians(bearing)), math.cos(math.radians(bearing))])
            hits = LineString([point, far]).intersection(water.boundary)
            nearest = min(math.dist(point, hit.coords[0]) for hit in getattr(hits, "geoms", [hits]))
            assert found[row, column] == pytest.approx(nearest, abs=1e-6)


def test_whole_degrees_and_any_bearings_agree() -> None:
    lake = LakeShape(ring(2000.0, 500, 0.15))
    table = fetch_table(lake, [[100.0, 50.0]])
    some = np.array([0.0, 17.0, 90.0, 181.0, 359.0])
    assert sweep(lake, [[100.0, 50.0]], some)[0] == pytest.approx(table.fetch_m[0, some.astype(int)], abs=1e-6)


def test_wind_rule_in_a_circle_is_the_radius() -> None:
    table = fetch_table(LakeShape(ring(1000.0, 7200)), [[0.0, 0.0]])
    assert table.for_wind([0.0, 45.0, 359.6]) == pytest.approx(1000.0, abs=0.01)


def test_wind_rule_in_a_channel_is_the_mean_of_fifteen_rays() -> None:
    channel = LakeShape(np.array([[0.0, 0.0], [10000.0, 0.0], [10000.0, 500.0], [0.0, 500.0]]))
    table = fetch_table(channel, [[9990.0, 250.0]])
    # Ray at offset a from the axis: 9990/cos a as long as it reaches the end, else 250/sin a.
    rays = [
        min(9990.0 / math.cos(math.radians(a)), 250.0 / max(math.sin(math.radians(abs(a))), 1e-9)) for a in range(-7, 8)
    ]
    expected = sum(rays) / 15.0
    assert table.for_wind([270.0])[0, 0] == pytest.approx(expected, abs=0.01)
    # 20 degrees off the axis the arc along it still counts; 21 degrees off its centre is out of reach.
    assert table.for_wind([290.0])[0, 0] == pytest.approx(expected, abs=0.01)
    assert table.for_wind([291.0])[0, 0] < expected - 1.0


def test_wind_rule_looks_round_the_corner_of_an_l() -> None:
    shape = LakeShape(np.array([[0, 0], [3000, 0], [3000, 1000], [1000, 1000], [1000, 3000], [0, 3000]], float))
    table = fetch_table(shape, [[500.0, 2500.0]])
    # Down the arm (180) rays end at y = 0 (2500/cos a) or pass the inner corner into the other arm.
    assert table.fetch_m[0, 180] == pytest.approx(2500.0, abs=1e-6)
    centre = max(range(160, 201), key=lambda b: arc_means(table.fetch_m)[0, b])
    rays = []
    for bearing in range(centre - 7, centre + 8):
        sine, cosine = math.sin(math.radians(bearing)), -math.cos(math.radians(bearing))
        reach = 2500.0 / cosine
        if sine > 0.0 and 500.0 / sine < 1500.0 / cosine:
            reach = 500.0 / sine  # the arm's east side, above the inner corner
        elif sine < 0.0:
            reach = min(reach, 500.0 / -sine)
        rays.append(reach)
    assert table.for_wind([180.0])[0, 0] == pytest.approx(sum(rays) / 15.0, abs=0.01)
    assert table.for_wind([180.0])[0, 0] > 2500.0


@settings(max_examples=15, deadline=None, derandomize=True)
@given(st.integers(0, 359), st.integers(0, 359), st.floats(-800, 800), st.floats(-800, 800))
def test_turning_lake_and_wind_together_changes_nothing(turn: int, wind: int, x: float, y: float) -> None:
    lake, point = ring(3000.0, 200, 0.25), np.array([[x, y]])
    here = fetch_table(LakeShape(lake), point).for_wind([float(wind)])
    there = fetch_table(LakeShape(turned(lake, turn)), turned(point, turn)).for_wind([float((wind + turn) % 360)])
    assert there == pytest.approx(here, abs=0.01)


def test_points_on_land_have_no_fetch_and_no_direction_no_waves() -> None:
    table = fetch_table(LakeShape(ring(1000.0, 90)), [[5000.0, 0.0], [0.0, 0.0]], ["spot: dry", "ramp: wet"])
    assert np.isnan(table.fetch_m[0]).all()
    assert np.isnan(table.for_wind([np.nan])).all()
    assert table.rows("ramp: ").tolist() == [1]
    with pytest.raises(ValueError, match="one label"):
        fetch_table(LakeShape(ring(1000.0, 90)), [[0.0, 0.0]], ["a", "b"])


def test_table_key_depends_on_lake_and_points() -> None:
    one, other = LakeShape(ring(1000.0, 90)), LakeShape(ring(1001.0, 90))
    assert table_key(one, [[0, 0]]) == fetch_table(one, [[0.0, 0.0]]).key
    assert len({table_key(one, [[0, 0]]), table_key(other, [[0, 0]]), table_key(one, [[0, 1]])}) == 3
