"""Size, speed, running depth and set-up as solved for a spot."""

from dataclasses import replace

import pytest

from briefing.core.advice.conditions import Conditions, OwnedRod, Spot, TackleBox
from briefing.core.advice.options import best_option, fit_of
from briefing.core.advice.presentation import LineSpec, Option
from briefing.core.advice.ranking import rank
from briefing.core.advice.weight import feet, line_words, target_depth_m, wanted_speed_mps
from briefing.knowledge import load_advice_knowledge
from briefing.vocabulary import Cover, LakeKind, Mood, Phase, Sky, SpeciesForm

BREEZE = Conditions(
    phases={Phase.LATE_PRESPAWN: 1.0},
    water_temp_c=14.0,
    species={SpeciesForm.LARGEMOUTH_NORTHERN: 1.0},
    secchi_m=1.1,
    sky=Sky.OVERCAST,
    wind_mps=4.0,
    mood=Mood.ACTIVE,
    lake_kind=LakeKind.LOWLAND_RESERVOIR,
)
TOPS = Spot(depth_m=(2.0, 2.0), cover={Cover.GRASS_DENSE: 1.0}, cover_top_m=1.2)


@pytest.fixture(scope="module")
def knowledge():
    return load_advice_knowledge()


def solved(knowledge, name, conditions, spot, tackle=None):
    box = tackle or TackleBox()
    return next(choice for choice in rank(conditions, spot, knowledge, box) if choice.id == name)


def test_worked_example_of_a_bladed_jig_over_grass(knowledge):
    """Tops at 1.2 m, 18 m casts from the seat, active fish: 3/8 oz at about nine turns in ten seconds."""
    choice = solved(knowledge, "bladed_swim_jig", BREEZE, TOPS)
    assert choice.weight_oz == "3/8"
    assert 8.0 <= choice.retrieve.reel_turns_per_10s <= 10.0
    low, high = choice.running_depth_m
    assert low < 1.2 < high


def test_shorter_casts_run_shallower_and_ask_for_no_less_weight(knowledge):
    far = solved(knowledge, "bladed_swim_jig", replace(BREEZE, cast_m=24.0), TOPS)
    near = solved(knowledge, "bladed_swim_jig", replace(BREEZE, cast_m=12.0), TOPS)
    assert near.weight_g >= far.weight_g


def test_wind_asks_for_no_less_weight_on_the_bottom(knowledge):
    point = Spot(depth_m=(5.0, 5.0), cover={Cover.BARE: 1.0})
    summer = replace(BREEZE, phases={Phase.SUMMER: 1.0}, water_temp_c=26.0)
    for name in ("drop_shot", "football_jig", "texas_worm", "shaky_head"):
        calm = solved(knowledge, name, replace(summer, wind_mps=0.5), point)
        windy = solved(knowledge, name, replace(summer, wind_mps=6.5), point)
        assert windy.weight_g >= calm.weight_g


def test_deeper_bottom_asks_for_more_weight(knowledge):
    summer = replace(BREEZE, phases={Phase.SUMMER: 1.0}, water_temp_c=26.0, wind_mps=1.0)
    for name in ("drop_shot", "football_jig", "texas_worm"):
        grams = [
            solved(knowledge, name, summer, Spot(depth_m=(d, d), cover={Cover.BARE: 1.0})).weight_g
            for d in (2.5, 5.0, 8.0)
        ]
        assert grams == sorted(grams)
        assert grams[0] < grams[-1]


def test_a_crankbait_is_chosen_by_the_depth_its_size_runs_at(knowledge):
    deep = {}
    for depth in (1.0, 2.0):
        spot = Spot(depth_m=(depth, depth), cover={Cover.ROCK: 1.0})
        deep[depth] = solved(knowledge, "squarebill_crankbait", BREEZE, spot)
    assert deep[1.0].weight_g < deep[2.0].weight_g
    assert deep[1.0].running_depth_m[1] <= 1.0


def test_speed_follows_the_mood(knowledge):
    item = knowledge.presentation("spinnerbait")
    speeds = [wanted_speed_mps(item, BREEZE, knowledge, mood, None) for mood in (-1.0, 0.0, 1.0)]
    assert speeds == sorted(speeds)
    assert item.speed_mps.best_low <= speeds[0] < speeds[-1] <= item.speed_mps.best_high


def test_target_lies_over_the_tops_or_at_the_fish(knowledge):
    item = knowledge.presentation("swim_jig")
    assert target_depth_m(item, TOPS, (1.0, 2.0)) == pytest.approx(1.1)
    assert target_depth_m(item, replace(TOPS, cover_top_m=None), (1.0, 2.0)) == pytest.approx(1.5)


def test_the_top_of_a_dock_is_no_height_to_swim_at(knowledge):
    item = knowledge.presentation("swim_jig")
    dock = Spot(depth_m=(2.0, 2.0), cover={Cover.DOCK: 1.0}, cover_top_m=0.2)
    assert target_depth_m(item, dock, (0.8, 2.0)) == pytest.approx(1.4)


def test_heavy_cover_gets_strong_line_and_the_owned_rod_is_named(knowledge):
    rods = (
        OwnedRod("frog rod", 7.3, "heavy", "fast", "baitcast", line="braid"),
        OwnedRod("spinning", 7.0, "medium", "fast", "spinning", line="braid"),
    )
    mat = Spot(depth_m=(2.0, 2.0), cover={Cover.GRASS_TOPPED: 1.0}, cover_top_m=0.0)
    summer = replace(BREEZE, phases={Phase.SUMMER: 1.0}, water_temp_c=28.0)
    choice = solved(knowledge, "hollow_body_frog", summer, mat, TackleBox(rods=rods))
    assert choice.setup.owned_id == "frog rod"
    assert "50-65 lb braid" in choice.setup.line


def test_words_of_the_trade():
    assert feet(7.0) == "7'0\""
    assert feet(7.25) == "7'3\""
    assert line_words(LineSpec("fluoro", (15, 17), (0.35, 0.38))) == "15-17 lb fluorocarbon (0.35-0.38 mm)"
    assert line_words(LineSpec("braid", (50, 50), (0.36, 0.36))) == "50 lb braid (0.36 mm)"


def test_the_most_particular_option_wins():
    plain = Option("a", "", "", ("default", "grass"))
    particular = Option("b", "", "", ("grass+neutral",))
    words = frozenset({"grass", "neutral"})
    assert best_option([plain, particular], words) is particular
    assert best_option([plain, particular], frozenset({"grass"})) is plain
    assert fit_of(particular, frozenset({"rock"})) == 0.0
    assert best_option([], words) is None
