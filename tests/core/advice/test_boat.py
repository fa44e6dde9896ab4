"""Boat control: distances, casts, drift and holds against the numbers of the trade."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.advice.boat import (
    DRIFTED,
    VERTICAL,
    BoatPlace,
    Hold,
    Move,
    Side,
    boat_control,
    cast_m,
    distance_m,
    drift_mps,
    hold_of,
    other_distances,
)
from briefing.knowledge import load_advice_knowledge, load_boat_parameters
from briefing.sections.boat import boat_more, boat_text, others_text
from briefing.vocabulary import Bottom, Cover, Craft

P = load_boat_parameters()
DOCK = BoatPlace(Cover.DOCK, (1.0, 2.0), Craft.KAYAK, wind_mps=5.0, seen_m=1.0)
FT, MPH = 0.3048, 0.44704


@pytest.mark.parametrize(("seen_ft", "off_m"), [(1.0, 8.0), (3.0, 12.0), (8.0, 18.0), (15.0, 22.0)])
def test_the_clearer_the_farther_off(seen_ft: float, off_m: float) -> None:
    assert distance_m(seen_ft * FT, P) == off_m


def test_an_unknown_visibility_takes_a_usual_distance() -> None:
    assert distance_m(None, P) == distance_m(math.nan, P) == P.unknown_m


def test_at_eleven_mph_a_kayak_drifts_ten_to_fifteen_metres_a_minute() -> None:
    assert 10.0 <= 60.0 * drift_mps(11 * MPH, P) <= 15.0
    pick = boat_control(replace(DOCK, wind_mps=11 * MPH), P)
    assert 3.0 <= pick.edge_min <= 4.0, "an edge of 40 m lasts three to four minutes"


@pytest.mark.parametrize("cover", [Cover.PADS, Cover.GRASS_TOPPED, Cover.LAYDOWN, Cover.BRUSH])
def test_casts_are_short_where_long_ones_hang_up(cover: Cover) -> None:
    assert cast_m(replace(DOCK, cover=cover, seen_m=5.0), P) == (6.0, 10.0)


def test_what_is_skipped_in_under_a_dock_is_not_thrown_far_in_clear_water() -> None:
    clear = replace(DOCK, seen_m=5.0)
    assert cast_m(clear, P) == P.cast_targets_m
    assert cast_m(replace(clear, retrieve="skip"), P) == (5.0, 8.0)
    assert boat_control(replace(clear, retrieve="skip"), P).off_m == 6.5
    assert boat_control(replace(clear, lure="texas_worm", retrieve="drag"), P).off_m == 8.5


@pytest.mark.parametrize("cover", [Cover.GRASS_DENSE, Cover.GRASS_SPARSE, Cover.BARE])
def test_casts_are_long_over_open_tops(cover: Cover) -> None:
    assert cast_m(replace(DOCK, cover=cover), P) == (18.0, 22.0)


def test_targets_are_staked_or_anchored_from_nine_mph() -> None:
    assert hold_of(replace(DOCK, wind_mps=8 * MPH), P) is Hold.PADDLE
    assert hold_of(replace(DOCK, wind_mps=9.5 * MPH), P) is Hold.STAKE
    assert hold_of(replace(DOCK, depth_m=(3.0, 6.0)), P) is Hold.ANCHOR
    assert hold_of(replace(DOCK, bottom=Bottom.ROCK), P) is Hold.ANCHOR
    assert hold_of(replace(DOCK, wind_mps=0.0, current=True), P) is Hold.STAKE
    assert hold_of(replace(DOCK, craft=Craft.BASS_BOAT), P) is Hold.MOTOR


def test_a_target_is_come_up_to_from_down_wind_and_a_bank_fished_bow_into_the_wind() -> None:
    assert boat_control(DOCK, P).side is Side.DOWN_WIND
    assert boat_control(replace(DOCK, cover=Cover.GRASS_DENSE, search=True), P).side is Side.BOW_TO_WIND
    assert boat_control(replace(DOCK, wind_mps=1.0), P).side is Side.ANY


def test_the_drift_is_the_retrieve_for_what_is_dragged_over_open_water() -> None:
    drag = replace(DOCK, cover=Cover.BARE, search=True, lure="tube", wind_mps=3.0, depth_m=(4.0, 6.0))
    light, strong = boat_control(drag, P), boat_control(replace(drag, wind_mps=6.0), P)
    assert (light.hold, light.side) == (Hold.DRIFT, Side.UP_WIND)
    assert strong.hold is Hold.SOCK
    assert drift_mps(6.0, P) * P.sock < P.fast_mps, "the sock halves the drift"


def test_what_is_let_down_to_deep_fish_is_fished_from_right_over_them() -> None:
    deep = replace(DOCK, cover=Cover.ROCK, depth_m=(3.0, 10.0), lure="drop_shot", lure_depth_m=7.0)
    assert hold_of(deep, P) is Hold.OVER
    assert hold_of(replace(deep, lure_depth_m=2.0), P) is not Hold.OVER
    assert boat_text(boat_control(deep, P), "us") == (
        "Boat: lie right over it, bow into the wind; fish straight below."
    )


def test_a_sheltered_bank_feels_less_of_the_wind() -> None:
    open_bank, lee = boat_control(DOCK, P), boat_control(replace(DOCK, sheltered=True), P)
    assert (open_bank.hold, lee.hold) == (Hold.STAKE, Hold.PADDLE)
    assert lee.drift_mps == pytest.approx(P.lee_share * open_bank.drift_mps)


def test_a_drift_that_counts_beside_the_lure_is_told() -> None:
    slow = replace(DOCK, wind_mps=3.5, lure_mps=0.4)
    assert boat_control(slow, P).told_drift
    assert not boat_control(replace(slow, lure_mps=1.2), P).told_drift
    assert any("adds to the lure's pace" in text for text in boat_more(boat_control(slow, P), "us", P.edge_m))


def test_waves_and_current_are_met_by_the_bow_alone() -> None:
    assert boat_control(replace(DOCK, wave_m=0.2), P).bow_only
    assert boat_control(replace(DOCK, current=True), P).bow_only
    assert not boat_control(DOCK, P).bow_only


def test_fifteen_mph_asks_for_shelter_first() -> None:
    hard = replace(DOCK, wind_mps=15.1 * MPH)
    text = boat_text(boat_control(hard, P), "us")
    assert text.startswith("This wind asks for sheltered water. Boat: come up from down-wind, stake out 40 ft off")
    assert not boat_control(replace(hard, sheltered=True), P).sheltered_only


def test_an_unknown_wind_promises_nothing() -> None:
    pick = boat_control(replace(DOCK, wind_mps=math.nan), P)
    assert pick.side is Side.ANY
    assert math.isnan(pick.drift_mps)
    assert boat_more(pick, "us", P.edge_m) == ()


def test_words_in_both_systems() -> None:
    pick = boat_control(replace(DOCK, wind_mps=5.0), P)
    assert boat_text(pick, "us") == "Boat: come up from down-wind, stake out 40 ft off; cast 40 to 50 ft."
    assert boat_text(pick, "metric") == "Boat: come up from down-wind, stake out 12 m off; cast 12 to 15 m."
    assert boat_more(pick, "metric", P.edge_m) == (
        "Unheld you drift about 12 m a minute: 40 m of edge last three minutes.",
    )


def test_lures_that_are_drifted_exist() -> None:
    assert {item.id for item in load_advice_knowledge().presentations} >= DRIFTED | VERTICAL


@settings(max_examples=200, deadline=None, derandomize=True)
@given(
    st.sampled_from(list(Cover)),
    st.sampled_from(list(Craft)),
    st.floats(0.0, 12.0),
    st.floats(0.0, 1.0),
    st.one_of(st.none(), st.floats(0.05, 12.0)),
    st.booleans(),
    st.booleans(),
    st.sampled_from(["", "tube", "swim_jig"]),
)
def test_every_place_gets_a_hold_that_fits_it(
    cover: Cover, craft: Craft, wind: float, wave: float, seen: float | None, search: bool, current: bool, lure: str
) -> None:
    at = BoatPlace(cover, (1.0, 3.0), craft, wind, wave, seen, search=search, current=current, lure=lure, lure_mps=0.5)
    pick = boat_control(at, P)
    assert pick.off_m <= pick.cast_m[1], "nobody stays farther off than the cast"
    assert pick.cast_m[0] <= pick.cast_m[1]
    if pick.hold in (Hold.DRIFT, Hold.SOCK):
        assert lure == "tube"
    assert pick.hold is not Hold.OVER, "nothing is let down here"
    if craft in (Craft.KAYAK, Craft.CANOE):
        assert pick.hold is not Hold.MOTOR
    for text in (boat_text(pick, "us"), *boat_more(pick, "us", P.edge_m)):
        assert max(len(one.split()) for one in text.split(". ")) <= 25


@pytest.mark.parametrize("cover", list(Cover))
@pytest.mark.parametrize("retrieve", ["steady", "skip", "pitch_drop"])
@pytest.mark.parametrize("seen_m", [0.3, 1.0, 2.0, 5.0, None])
def test_the_shortest_cast_reaches_what_one_lies_off(cover: Cover, retrieve: str, seen_m: float | None) -> None:
    pick = boat_control(replace(DOCK, cover=cover, retrieve=retrieve, seen_m=seen_m), P)
    assert pick.off_m <= pick.cast_m[0] <= pick.cast_m[1]
    assert retrieve == "steady" or cover not in (Cover.DOCK, Cover.REEDS) or pick.off_m <= 8.0


def test_a_steep_face_is_fished_along_from_close_by() -> None:
    face = replace(DOCK, cover=Cover.ROCK, depth_m=(3.0, 10.0), seen_m=5.0, lure="swimbait_jighead", search=True)
    pick = boat_control(replace(face, wind_mps=2.0), P)
    assert (pick.side, pick.off_m) == (Side.ALONG, 4.5)
    assert boat_text(pick, "us") == "Boat: stay 15 ft off the face and cast along it, 60 to 70 ft."
    assert boat_control(replace(face, depth_m=(1.0, 5.0)), P).side is not Side.ALONG


def test_at_anchor_a_craft_swings_clear_of_the_rock() -> None:
    face = replace(DOCK, cover=Cover.ROCK, depth_m=(3.0, 10.0), seen_m=5.0, lure="swimbait_jighead", search=True)
    pick = boat_control(replace(face, wind_mps=6.0), P)
    assert (pick.hold, pick.side) == (Hold.ANCHOR, Side.BOW_TO_WIND)
    assert pick.off_m >= 12.0
    assert pick.cast_m[0] >= pick.off_m


def test_what_is_drawn_over_pads_is_thrown_farther_than_what_hangs_up_in_them() -> None:
    pads = replace(DOCK, cover=Cover.PADS, seen_m=3.5)
    frog, worm = replace(pads, lure="hollow_body_frog"), replace(pads, lure="texas_worm")
    assert boat_control(frog, P).off_m >= 12.0
    assert boat_control(worm, P).off_m <= 8.5


def test_deep_fish_do_not_mind_the_craft() -> None:
    deep = replace(DOCK, cover=Cover.REEDS, seen_m=5.0, lure="jighead_minnow", depth_m=(4.0, 8.0), lure_depth_m=7.0)
    assert boat_control(deep, P).off_m == 12.0
    assert boat_control(replace(deep, lure_depth_m=2.0), P).off_m > 18.0


def test_a_lure_that_asks_for_another_distance_is_told_beside_the_first() -> None:
    first = replace(DOCK, cover=Cover.REEDS, seen_m=1.0, lure="swim_jig", search=True)
    pitch = replace(first, lure="flipping_jig", retrieve="pitch_drop", search=False)
    over = replace(first, lure="jigging_spoon", depth_m=(3.0, 9.0), lure_depth_m=8.0)
    others = other_distances([first, pitch, first, over], P)
    assert [(one.number, one.move) for one in others] == [(1, Move.IN), (3, Move.OVER)]
    assert others_text(others, ["rod 1", "rod 2", "rod 3", "rod 4"], "us") == (
        "With rod 2 go in to 20 ft off.",
        "With rod 4 lie right over it.",
    )
    assert other_distances([pitch, first], P)[0].move is Move.OUT
    assert other_distances([first], P) == ()
