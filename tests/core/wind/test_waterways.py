"""Ways over water: round a headland, round an island, straight where nothing lies between."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.wind.shape import LakeShape
from briefing.core.wind.waterways import SLIVER_M, points_along, water_ways

SQUARE = np.array([(0.0, 0.0), (4000.0, 0.0), (4000.0, 4000.0), (0.0, 4000.0)])
#: A bay to the west and one to the east, with a headland between them up to y = 3000.
HORSESHOE = np.array(
    [(0, 0), (1800, 0), (1800, 3000), (2200, 3000), (2200, 0), (4000, 0), (4000, 4000), (0, 4000)], dtype=float
)
ISLAND = np.array([(1500.0, 1500.0), (2500.0, 1500.0), (2500.0, 2500.0), (1500.0, 2500.0)])


def test_where_nothing_lies_between_a_way_is_straight() -> None:
    ways = water_ways(LakeShape(SQUARE), [(500.0, 500.0), (500.0, 2500.0), (2500.0, 500.0)])
    assert ways.length_m[0, 1] == pytest.approx(2000.0)
    assert ways.bearing_deg[0, 1] == pytest.approx(0.0)
    assert ways.bearing_deg[0, 2] == pytest.approx(90.0)
    assert ways.bearing_deg[2, 0] == pytest.approx(270.0)
    assert len(ways.paths[0, 2]) == 2


def test_a_headland_is_gone_round_and_no_one_bearing_is_left() -> None:
    ways = water_ways(LakeShape(HORSESHOE), [(900.0, 300.0), (3100.0, 300.0)])
    round_it = 2.0 * np.hypot(900.0, 2700.0) + 400.0
    assert round_it - 4.0 * SLIVER_M < ways.length_m[0, 1] <= round_it
    assert np.isnan(ways.bearing_deg[0, 1])
    assert np.isnan(ways.bearing_deg[1, 0])
    assert ways.paths[0, 1].tolist() == ways.paths[1, 0][::-1].tolist()
    assert ways.paths[0, 1][0].tolist() == [900.0, 300.0]


def test_an_island_is_gone_round_the_shorter_way() -> None:
    ways = water_ways(LakeShape(SQUARE, (ISLAND,)), [(1000.0, 1800.0), (3000.0, 1800.0)])
    south = 2.0 * np.hypot(500.0, 300.0) + 1000.0
    assert south - 4.0 * SLIVER_M < ways.length_m[0, 1] <= south
    assert ways.paths[0, 1][:, 1].min() < 1800.0
    assert ways.paths[0, 1][:, 1].max() == 1800.0


def test_an_assumed_outline_and_a_point_on_land_give_straight_ways() -> None:
    points = [(900.0, 300.0), (3100.0, 300.0)]
    assert water_ways(LakeShape(HORSESHOE, assumed=True), points).length_m[0, 1] == pytest.approx(2200.0)
    assert water_ways(LakeShape(HORSESHOE), [(2000.0, 300.0), (3100.0, 300.0)]).length_m[0, 1] == pytest.approx(1100.0)


def test_points_that_are_not_known_stay_so() -> None:
    ways = water_ways(LakeShape(SQUARE), [(500.0, 500.0), (np.nan, np.nan)])
    assert np.isnan(ways.length_m[0, 1])


WET = st.tuples(st.floats(100.0, 3900.0), st.floats(100.0, 3900.0))


@settings(deadline=None, max_examples=25)
@given(st.lists(WET, min_size=2, max_size=4))
def test_no_way_is_shorter_than_straight_and_each_is_a_way_over_water(points: list[tuple[float, float]]) -> None:
    shape = LakeShape(HORSESHOE)
    wet = [point for point in points if shape.contains([point])[0]]
    if len(wet) < 2:
        return
    ways = water_ways(shape, wet)
    for (a, b), path in ways.paths.items():
        straight = float(np.hypot(*(np.array(wet[a]) - np.array(wet[b]))))
        assert ways.length_m[a, b] >= straight - 1e-6
        assert ways.length_m[a, b] == pytest.approx(ways.length_m[b, a])
        on_the_way = np.concatenate([path, points_along(path, 50.0)])
        dry = on_the_way[~shape.contains(on_the_way)]
        assert all(shape.nearest_shore(point)[0] <= 1.5 * SLIVER_M for point in dry)


def test_points_along_a_path_lie_on_it_at_their_distance() -> None:
    path = np.array([(0.0, 0.0), (300.0, 0.0), (300.0, 400.0)])
    assert points_along(path, 200.0).tolist() == [[200.0, 0.0], [300.0, 100.0], [300.0, 300.0]]
    assert points_along(path, 1000.0).shape == (0, 2)
