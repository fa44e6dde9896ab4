import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.geo import LocalPlane, bearing_deg, destination, distance_m, radii_of_curvature_m


def test_radii_at_equator_and_pole() -> None:
    assert radii_of_curvature_m(0.0) == pytest.approx((6_335_439.327, 6_378_137.0), abs=0.01)
    assert radii_of_curvature_m(90.0) == pytest.approx((6_399_593.626, 6_399_593.626), abs=0.01)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.floats(-70, 70), st.floats(-179, 179), st.floats(-9000, 9000), st.floats(-9000, 9000))
def test_plane_goes_there_and_back(lat: float, lon: float, x: float, y: float) -> None:
    plane = LocalPlane(lat, lon)
    assert plane.to_xy(*plane.to_latlon([x, y])) == pytest.approx(np.array([x, y]), abs=1e-5)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.floats(-60, 60), st.floats(-179, 179), st.floats(0, 359.9), st.floats(10, 20_000))
def test_destination_lies_where_asked(lat: float, lon: float, bearing: float, length: float) -> None:
    there = destination(lat, lon, bearing, length)
    assert distance_m(lat, lon, *there) == pytest.approx(length, rel=2e-4)
    off = (bearing_deg(lat, lon, *there) - bearing + 180.0) % 360.0 - 180.0
    assert abs(off) < 0.3


def test_one_degree_of_latitude_and_across_the_date_line() -> None:
    # Length of a degree of latitude about 45 N: 111,132 m (meridian radius 6,367,382 m).
    assert distance_m(44.5, 10.0, 45.5, 10.0) == pytest.approx(111_131.7, abs=2.0)
    assert distance_m(10.0, 179.99, 10.0, -179.99) == pytest.approx(
        0.02 * math.radians(1) * 6_378_780 * math.cos(math.radians(10)), rel=1e-4
    )
    assert bearing_deg(10.0, 179.99, 10.0, -179.99) == pytest.approx(90.0, abs=0.01)
