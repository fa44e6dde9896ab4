import numpy as np
import pytest

from briefing.core.wind.shape import LakeShape, equivalent_ellipse, shape_from_lonlat, tidy_ring

SQUARE = np.array([[-500.0, -500.0], [500.0, -500.0], [500.0, 500.0], [-500.0, 500.0]])
ISLAND = np.array([[-50.0, -50.0], [-50.0, 50.0], [50.0, 50.0], [50.0, -50.0]])


def test_water_is_inside_the_shore_and_off_the_islands() -> None:
    lake = LakeShape(SQUARE, (ISLAND,))
    assert lake.contains([[0, 0], [200, 0], [600, 0]]).tolist() == [False, True, False]
    assert lake.area_m2 == pytest.approx(1e6 - 1e4)
    assert lake.longest_arm_m == pytest.approx(1000.0 * 2**0.5, rel=2e-4)


def test_a_ramp_on_the_shore_or_inland_is_moved_onto_the_water() -> None:
    lake = LakeShape(SQUARE, (ISLAND,))
    moved = lake.onto_water([[-500, 0], [-540, 10], [0, 50]], reach_m=60.0)
    assert moved == pytest.approx(np.array([[-498, 0], [-498, 10], [0, 52]]), abs=1e-6)
    assert np.isnan(lake.onto_water([[-540, 10]], reach_m=30.0)).all()
    assert lake.onto_water([[-497, 0]], reach_m=60.0) == pytest.approx(np.array([[-497, 0]]))


def test_a_ramp_in_a_corner_finds_water() -> None:
    assert LakeShape(SQUARE).contains(LakeShape(SQUARE).onto_water([[-500, -500]])).all()


def test_key_follows_the_outline_only() -> None:
    assert LakeShape(SQUARE).key == LakeShape(SQUARE.copy()).key
    assert LakeShape(SQUARE).key != LakeShape(SQUARE + 1.0).key
    assert LakeShape(SQUARE).key != LakeShape(SQUARE, (ISLAND,)).key


def test_assumed_outlines_say_so_and_err_to_long_runs() -> None:
    along = equivalent_ellipse(2.0, 4.0, 90.0)
    assert along.assumed
    assert "ellipse" in along.note
    assert along.area_m2 == pytest.approx(2e6, rel=1e-3)
    assert np.ptp(along.outer_xy_m[:, 0]) == pytest.approx(4000.0, rel=1e-3)
    anyway = equivalent_ellipse(2.0, 4.0)
    assert np.ptp(anyway.outer_xy_m, axis=0) == pytest.approx([4000.0, 4000.0], rel=1e-3)
    assert equivalent_ellipse(2.0).longest_arm_m > 2.0 * (2e6 / np.pi) ** 0.5
    with pytest.raises(ValueError, match="above zero"):
        equivalent_ellipse(0.0)


def test_rings_from_degrees_are_tidied() -> None:
    ring = [(-90.0, 40.0), (-89.99, 40.0), (-89.99, 40.0), (-89.99, 40.01), (-90.0, 40.01), (-90.0, 40.0)]
    lake = shape_from_lonlat(ring)
    assert len(lake.outer_xy_m) == 4
    assert lake.lonlat_rings[0][-1] == pytest.approx((-90.0, 40.0), abs=1e-9)
    with pytest.raises(ValueError, match="three different"):
        tidy_ring([[0, 0], [1, 1], [0, 0]])
