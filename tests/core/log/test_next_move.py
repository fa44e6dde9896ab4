"""Places like one that produced, and the ladder of a place where nothing bit."""

import math
from dataclasses import replace

from briefing.core.log.next_move import KINDS, Place, Rung, Shared, alike, another_kind, rung_of
from briefing.knowledge import load_next_parameters
from briefing.vocabulary import Cover, WaterColour

P = load_next_parameters()
HERE = Place("here", Cover.REEDS, (0.6, 1.8), True, WaterColour.GREEN)


def test_every_cover_has_a_kind_and_every_kind_its_angle() -> None:
    assert set(KINDS) == set(Cover)
    assert set(KINDS.values()) == set(P.angle)


def test_the_most_alike_comes_first_and_of_those_the_nearest() -> None:
    twin = replace(HERE, name="twin", away_m=900.0)
    near = replace(HERE, name="near twin", away_m=300.0)
    other_side = replace(HERE, name="lee", blown=False, away_m=10.0)
    found = alike(HERE, (other_side, twin, near), P)
    assert [match.place.name for match in found] == ["near twin", "twin"]
    assert found[0].shared == (Shared.COVER, Shared.DEPTH, Shared.WIND, Shared.COLOUR)


def test_what_is_not_known_is_never_shared() -> None:
    nothing = Place("nothing")
    assert alike(nothing, (HERE, Place("other")), P) == ()
    assert alike(HERE, (Place("other"),), P) == ()


def test_depths_are_alike_where_half_of_them_overlaps() -> None:
    rock = Place("a", Cover.ROCK, (1.0, 3.0), True)
    half = Place("b", Cover.PADS, (2.0, 5.0), True)
    less = Place("c", Cover.PADS, (2.5, 5.0), True)
    assert [match.place.name for match in alike(rock, (half, less), P)] == ["b"]
    point = replace(rock, depth_m=(2.0, 2.0))
    assert Shared.DEPTH in alike(point, (half,), P)[0].shared


def test_cover_of_the_same_kind_counts_for_less() -> None:
    pads = replace(HERE, name="pads", cover=Cover.PADS)
    assert alike(HERE, (pads,), P)[0].shared[0] is Shared.KIND


def test_the_ladder_ends_at_the_place() -> None:
    assert [rung_of(n) for n in (0, 1, 2, 3, 4, 9)] == [
        Rung.ANGLE, Rung.ANGLE, Rung.PACE, Rung.LURE, Rung.PLACE, Rung.PLACE,
    ]  # fmt: skip


def test_another_kind_is_the_nearest_of_another_cover() -> None:
    dock, rock = Place("dock", Cover.DOCK, away_m=500.0), Place("rock", Cover.ROCK, away_m=200.0)
    same = Place("same", Cover.GRASS_DENSE, away_m=10.0)
    assert another_kind(HERE, (dock, rock, same)) is rock
    assert another_kind(HERE, (same,)) is None
    assert another_kind(HERE, (Place("?", away_m=math.inf),)) is None
