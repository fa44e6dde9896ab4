"""Size, speed, running depth and set-up as solved for a spot."""

from dataclasses import replace

import pytest

from briefing.core.advice.conditions import Conditions, OwnedRod, Spot, TackleBox
from briefing.core.advice.depth_words import about_range
from briefing.core.advice.gear_words import feet, length_words, line_words
from briefing.core.advice.options import best_option, fit_of
from briefing.core.advice.pace import Pace
from briefing.core.advice.physics.running import lure_running_depth
from briefing.core.advice.presentation import LineSpec, Option
from briefing.core.advice.ranking import rank
from briefing.core.advice.weight import at_ratio, target_depth_m
from briefing.knowledge import load_advice_knowledge
from briefing.vocabulary import BaitEvent, Cover, LakeKind, Mood, Phase, Sky, SpeciesForm

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
    return next(choice for choice in rank(conditions, spot, knowledge, box, units="us") if choice.id == name)


def test_worked_example_of_a_bladed_jig_over_grass(knowledge):
    """Tops at 1.2 m (4 ft) in cool water, active fish: 3/8 oz at a slow to medium pace, let sink or not."""
    choice = solved(knowledge, "bladed_swim_jig", BREEZE, TOPS)
    assert choice.weight_oz == "3/8"
    assert 7.0 <= choice.retrieve.reel_turns_per_10s <= 17.0
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


def test_speed_follows_mood_and_temperature(knowledge):
    item, paces = knowledge.presentation("spinnerbait"), knowledge.paces
    speeds = [paces.speed_mps(item, paces.pace("steady", 16.0, mood), mood) for mood in (-1.0, 0.0, 1.0)]
    assert speeds == sorted(speeds)
    cold, warm = (paces.speed_mps(item, paces.pace("steady", temp, 1.0), 1.0) for temp in (9.0, 22.0))
    assert cold < warm
    assert paces.pace("burn", 22.0, 1.0) is Pace.BURN
    assert paces.pace("slow_roll", 22.0, 1.0) is Pace.CRAWL


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
    assert "{50-65 lb|0.36-0.41 mm} braid" in choice.setup.line


def test_the_depth_told_is_the_one_the_physics_gives_at_the_pace_told(knowledge):
    """Reeled single-hook swimmers: weight, line and pace as printed, within the spread of the physics."""
    for name in ("swim_jig", "swimbait_weedless", "spinnerbait", "bladed_swim_jig"):
        item = knowledge.presentation(name)
        for top in (None, 0.8, 1.2):
            spot = Spot(depth_m=(0.9, 2.1), cover={Cover.GRASS_SPARSE: 1.0}, cover_top_m=top)
            choice = solved(knowledge, name, BREEZE, spot)
            told = choice.depth_text
            if (
                told.startswith("just under")
                or "sinking" in told
                or "Rod " in choice.how
                or not choice.retrieve.speed_mps
            ):
                continue
            speed = sum(choice.retrieve.speed_mps) / 2
            lifts = ("low", "medium", "high", "very_high")
            runs = [
                float(
                    lure_running_depth(
                        item.fall, choice.weight_g, speed, 0.35, 18.0, knowledge.physics, trailer_lift=lift
                    ).mean_m
                )
                for lift in lifts
            ]
            low, high = choice.running_depth_m
            assert min(runs) <= high + 0.2, (name, top)
            assert max(runs) >= low - 0.2, (name, top)


def test_over_plants_at_the_surface_a_swimmer_runs_along_the_top(knowledge):
    summer = replace(BREEZE, phases={Phase.SUMMER: 1.0}, water_temp_c=25.0)
    for cover in (Cover.PADS, Cover.GRASS_TOPPED):
        spot = Spot(depth_m=(0.6, 1.5), cover={cover: 1.0}, cover_top_m=0.0)
        for name in ("swim_jig", "swimbait_weedless", "soft_jerkbait"):
            choice = solved(knowledge, name, summer, spot)
            assert choice.running_depth_m[1] <= 0.3, (name, cover)
            assert choice.depth_text.startswith(("just under the surface", "across the top"))
            assert choice.weight_g <= 7.1


def test_trebles_on_top_stay_outside_standing_plants(knowledge):
    summer = replace(BREEZE, phases={Phase.SUMMER: 1.0}, water_temp_c=25.0, sky=Sky.LOW_SUN, secchi_m=3.0, wind_mps=1.0)
    reeds = Spot(depth_m=(0.6, 1.8), cover={Cover.REEDS: 1.0}, cover_top_m=0.0)
    assert solved(knowledge, "popper", summer, reeds).depth_text == "on the surface, along the outside edge"
    assert solved(knowledge, "hollow_body_frog", summer, reeds).depth_text == "on the surface"


def test_a_lure_that_must_be_let_down_says_for_how_long(knowledge):
    winter = replace(BREEZE, phases={Phase.WINTER: 1.0}, water_temp_c=7.5, lake_kind=LakeKind.HIGHLAND_RESERVOIR)
    winter = replace(winter, secchi_m=2.4, mood=Mood.NEUTRAL, sky=Sky.BROKEN)
    bluff = Spot(depth_m=(7.0, 10.0), cover={Cover.ROCK: 1.0})
    under = solved(knowledge, "underspin", winter, bluff)
    assert under.running_depth_m[1] > 8.0
    minnow = solved(knowledge, "jighead_minnow", winter, bluff)
    assert " down, after " in minnow.depth_text


def test_bottom_lures_lie_on_the_bottom_and_weightless_ones_sink(knowledge):
    spot = Spot(depth_m=(0.6, 1.8), cover={Cover.LAYDOWN: 1.0})
    assert solved(knowledge, "texas_creature", BREEZE, spot).depth_text == "on the bottom in 2 to 6 ft"
    worm = solved(knowledge, "wacky_rig", replace(BREEZE, mood=Mood.NEUTRAL, wind_mps=1.0), spot)
    assert worm.depth_text.startswith("sinks to 6 ft in about ")


def test_a_weightless_worm_gets_a_nail_where_its_fall_takes_too_long(knowledge):
    summer = replace(BREEZE, phases={Phase.SUMMER: 1.0}, water_temp_c=24.0, secchi_m=3.0, mood=Mood.NEUTRAL)
    shoal = Spot(depth_m=(1.5, 4.5), cover={Cover.ROCK: 1.0})
    still = solved(knowledge, "wacky_rig", replace(summer, wind_mps=0.5), Spot(depth_m=(1.0, 1.5), cover=shoal.cover))
    deep = solved(knowledge, "wacky_rig", replace(summer, wind_mps=4.0), shoal)
    assert still.weight_g == 0.0
    assert deep.weight_g > 0.0


def test_over_stumps_the_crankbait_runs_at_their_tops(knowledge):
    stumps = Spot(depth_m=(0.6, 1.8), cover={Cover.LAYDOWN: 0.5, Cover.BARE: 0.5}, cover_top_m=0.3)
    dirty = replace(BREEZE, secchi_m=0.4)
    crank = solved(knowledge, "squarebill_crankbait", dirty, stumps)
    assert crank.running_depth_m[1] <= 1.3
    blade = solved(knowledge, "spinnerbait", dirty, stumps)
    assert blade.weight_g <= 10.6
    assert blade.blade.startswith("round blade")


def test_turns_are_for_the_owned_reel(knowledge):
    rods = {
        ratio: (OwnedRod("mine", 7.2, "medium_heavy", "moderate_fast", "baitcast", ratio=ratio, line="fluoro"),)
        for ratio in (5.4, 7.5)
    }
    picks = {
        ratio: solved(knowledge, "bladed_swim_jig", BREEZE, TOPS, TackleBox(rods=rods[ratio])).retrieve
        for ratio in rods
    }
    assert all(pick.reel_ratio == ratio and pick.reel == "baitcast" for ratio, pick in picks.items())
    assert picks[5.4].reel_turns_per_10s > 1.2 * picks[7.5].reel_turns_per_10s
    assert picks[5.4].feel
    moved = at_ratio(picks[5.4], "baitcast", 7.5)
    assert moved.reel_turns_per_10s == pytest.approx(picks[7.5].reel_turns_per_10s, rel=0.05)
    assert at_ratio(picks[5.4], "spinning", 6.2).reel_turns_per_10s is None


@pytest.mark.parametrize(
    ("low", "high", "units", "text"),
    [
        (0.9, 1.5, "us", "3 to 5 ft"),
        (0.1, 0.46, "us", "0.5 to 1.5 ft"),
        (0.67, 1.1, "metric", "0.7 to 1.1 m"),
        (1.7, 4.5, "metric", "1.7 to 4.5 m"),
        (1.5, 1.5, "us", "about 5 ft"),
    ],
)
def test_depths_are_rounded_as_one_says_them(low, high, units, text):
    assert about_range(low, high, units) == text


def test_a_light_set_up_is_only_for_the_light_size(knowledge):
    shy = replace(BREEZE, mood=Mood.NEGATIVE, secchi_m=1.5, wind_mps=5.5)
    deep = Spot(depth_m=(2.5, 2.5), cover={Cover.GRASS_SPARSE: 1.0}, cover_top_m=2.0)
    jig = solved(knowledge, "swim_jig", shy, deep)
    assert jig.weight_g > 5.5
    assert "medium-heavy" in jig.setup.rod


def test_words_of_the_trade():
    assert feet(7.0) == "7'0\""
    assert feet(7.25) == "7'3\""
    assert line_words(LineSpec("fluoro", (15, 17), (0.35, 0.38)), "us") == "15-17 lb fluorocarbon"
    assert line_words(LineSpec("braid", (50, 50), (0.36, 0.36)), "metric") == "0.36 mm braid"
    assert length_words((7.0, 7.25), "us") == "7'0\" to 7'3\""
    assert length_words((7.0, 7.25), "metric") == "2.13 to 2.21 m"


def test_the_most_particular_option_wins():
    plain = Option("a", "", "", ("default", "grass"))
    particular = Option("b", "", "", ("grass+neutral",))
    words = frozenset({"grass", "neutral"})
    assert best_option([plain, particular], words) is particular
    assert best_option([plain, particular], frozenset({"grass"})) is plain
    assert fit_of(particular, frozenset({"rock"})) == 0.0
    assert best_option([], words) is None


@pytest.mark.parametrize("name", ["bladed_swim_jig", "spinnerbait", "swim_jig", "swimbait_weedless"])
@pytest.mark.parametrize("temp_c", [5.0, 9.0, 13.0, 20.0, 27.0])
@pytest.mark.parametrize("top_m", [0.6, 0.9, 1.5])
def test_what_is_reeled_over_plants_stays_at_their_tops_in_cold_water_too(knowledge, name, temp_c, top_m):
    spot = Spot(depth_m=(3.0, 3.0), cover={Cover.GRASS_DENSE: 1.0}, cover_top_m=top_m)
    only = TackleBox(presentations=frozenset({name}))  # told, though out of season
    choice = solved(knowledge, name, replace(BREEZE, water_temp_c=temp_c, mood=Mood.NEUTRAL), spot, only)
    on_the_bottom = "on the bottom" in choice.depth_text
    assert on_the_bottom or sum(choice.running_depth_m) / 2 <= top_m + 0.3


@pytest.mark.parametrize(
    ("top_m", "wind_mps", "said"),
    [
        (0.2, 3.0, "1/4 oz, lighter than the base weight of 3/8 oz: tops close under the surface."),
        (0.9, 3.0, "3/8 oz is the base weight; speed and rod height do the rest."),
        (2.4, 3.0, "1/2 oz, heavier than the base weight of 3/8 oz: tops at 7.9 ft."),
        (0.9, 6.5, "3/8 oz is the base weight. In still water 3/8 oz would do; the wind"),
    ],
)
def test_the_size_says_what_moved_it_from_the_base_weight(knowledge, top_m, wind_mps, said):
    spot = Spot(depth_m=(top_m + 1.0, top_m + 1.0), cover={Cover.GRASS_DENSE: 1.0}, cover_top_m=top_m)
    choice = solved(knowledge, "bladed_swim_jig", replace(BREEZE, water_temp_c=17.0, wind_mps=wind_mps), spot)
    assert choice.size_why.startswith(said)


def test_bait_in_the_upper_water_draws_the_lures_up(knowledge):
    docks = Spot(depth_m=(1.5, 1.5), cover={Cover.DOCK: 1.0})
    warm = replace(BREEZE, water_temp_c=20.0)
    plain = solved(knowledge, "swim_jig", warm, docks)
    spawn = solved(knowledge, "swim_jig", replace(warm, bait=BaitEvent.SHAD_SPAWN), docks)
    assert max(spawn.fish_depth_m) == 0.6 < max(plain.fish_depth_m)
    assert max(spawn.running_depth_m) < max(plain.running_depth_m)
