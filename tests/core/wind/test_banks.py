import numpy as np
import pytest

from briefing.core.wind.banks import bank_sides, bank_words, ramp_exposures
from briefing.core.wind.fetch import fetch_table
from briefing.core.wind.shape import LakeShape

SQUARE = np.array([[-500.0, -500.0], [500.0, -500.0], [500.0, 500.0], [-500.0, 500.0]])  # S, E, N, W edges
ISLAND = np.array([[-50.0, -50.0], [50.0, -50.0], [50.0, 50.0], [-50.0, 50.0]])


@pytest.mark.parametrize("turned", [False, True])
def test_west_wind_blows_onto_the_east_bank_and_the_islands_west_side(turned) -> None:
    lake = LakeShape(SQUARE[::-1] if turned else SQUARE, (ISLAND[::-1] if turned else ISLAND,))
    sides = bank_sides(lake, 270.0)
    middles = (lake.edges[0] + lake.edges[1]) / 2.0
    named = {tuple(middle): side for middle, side in zip(middles.tolist(), sides.tolist(), strict=True)}
    assert named[500.0, 0.0] == 1
    assert named[-500.0, 0.0] == -1
    assert named[0.0, 500.0] == named[0.0, -500.0] == 0
    assert named[-50.0, 0.0] == 1
    assert named[50.0, 0.0] == -1


def test_hours_and_unknown_direction() -> None:
    sides = bank_sides(LakeShape(SQUARE), np.array([270.0, np.nan, 90.0]))
    assert sides.shape == (3, 4)
    assert not sides[1].any()
    assert (sides[0] == -sides[2]).all()


def test_words() -> None:
    assert bank_words(225.0) == ("north-east", "south-west")
    assert bank_words(359.0) == ("south", "north")


def test_ramps_face_the_waves_or_not() -> None:
    lake = LakeShape(SQUARE)
    table = fetch_table(lake, [[500, 0], [-500, 0], [9000, 0]], ["ramp: east", "ramp: west", "ramp: wrong"])
    found = ramp_exposures(lake, table, [0.3, 0.05, np.nan], 270.0, units="us")
    assert [(one.name, one.faces_waves) for one in found] == [("east", True), ("west", False), ("wrong", False)]
    assert "1.0 ft" in found[0].text
    assert "not known" in found[2].text
