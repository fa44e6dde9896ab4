"""Interaction rules, exclusions, the three that are shown, and what a choice carries."""

from dataclasses import replace
from random import Random

import numpy as np
import pytest

from briefing.core.advice.choice import Choice
from briefing.core.advice.conditions import Case, Conditions, FrontStage, OwnedRod, Spot, TackleBox
from briefing.core.advice.places import place_reasons, place_worth
from briefing.core.advice.ranking import rank, score, score_lake, shown_three
from briefing.core.advice.situation import expected_mood, fish_depth_m, situation_words
from briefing.knowledge import load_advice_knowledge
from briefing.vocabulary import Bottom, Cover, Craft, Forage, LakeKind, Mood, Phase, Sky, SpeciesForm


@pytest.fixture(scope="module")
def knowledge():
    return load_advice_knowledge()


SPRING = Conditions(
    phases={Phase.LATE_PRESPAWN: 1.0},
    water_temp_c=16.0,
    species={SpeciesForm.LARGEMOUTH_NORTHERN: 1.0},
    secchi_m=1.2,
    sky=Sky.OVERCAST,
    wind_mps=4.0,
    lake_kind=LakeKind.LOWLAND_RESERVOIR,
)
WOOD = Spot(depth_m=(1.2, 1.2), cover={Cover.LAYDOWN: 1.0})
OPEN = Spot(depth_m=(4.0, 4.0), cover={Cover.BARE: 1.0})


def value(knowledge, name, conditions, spot, **more):
    return float(score(conditions, spot, knowledge, **more).total[knowledge.tables.index[name]])


def ids(choices):
    return [choice.id for choice in choices]


def test_score_is_the_product_of_its_factors(knowledge):
    scores = score(SPRING, WOOD, knowledge)
    product = np.prod(np.stack(list(scores.factors.values())), axis=0)
    usable = scores.total > 0
    assert np.allclose(scores.total[usable], product[usable])
    assert usable.sum() >= 15


def test_a_whole_lake_gives_the_same_scores_as_spot_by_spot(knowledge):
    blocks = [SPRING, replace(SPRING, sky=Sky.BRIGHT, wind_mps=1.0)]
    spots = [WOOD, OPEN]
    table = score_lake(blocks, spots, knowledge)
    for i, conditions in enumerate(blocks):
        for j, spot in enumerate(spots):
            assert np.allclose(table[i, j], score(conditions, spot, knowledge).total)


def test_order_falls_and_ranks_stand_once(knowledge):
    choices = rank(SPRING, WOOD, knowledge, solve=0, units="us")
    assert [choice.score for choice in choices] == sorted((choice.score for choice in choices), reverse=True)
    assert sorted(choice.rank for choice in choices if choice.rank) == ["first choice", "if refused", "second"]
    assert choices[0].rank == "first choice"


def test_same_inputs_same_choices(knowledge):
    assert rank(SPRING, WOOD, knowledge, solve=3, units="us") == rank(SPRING, WOOD, knowledge, solve=3, units="us")


@pytest.mark.parametrize("cover", list(Cover))
@pytest.mark.parametrize("sky", [Sky.BRIGHT, Sky.NIGHT])
@pytest.mark.parametrize("phase", list(Phase))
def test_the_three_shown_are_not_of_one_group(knowledge, cover, sky, phase):
    conditions = replace(SPRING, phases={phase: 1.0}, sky=sky)
    choices = rank(conditions, Spot(depth_m=(1.0, 2.5), cover={cover: 1.0}), knowledge, solve=0, units="us")
    shown = shown_three(choices)
    assert len({choice.id for choice in shown}) == len(shown)
    good = [choice for choice in choices if choice.score >= 0.33 * choices[0].score]
    if len({choice.group for choice in good}) > 1 and len(shown) == 3:
        assert len({choice.group for choice in shown}) > 1


def test_no_shown_three_from_nothing():
    assert shown_three(()) == ()


def test_nesting_places_get_no_advice_in_the_spawn(knowledge):
    nest = replace(WOOD, nests=True)
    assert rank(replace(SPRING, phases={Phase.SPAWN: 0.6, Phase.LATE_PRESPAWN: 0.4}), nest, knowledge, units="us") == ()
    assert rank(replace(SPRING, phases={Phase.SUMMER: 1.0}), nest, knowledge, solve=0, units="us")


def test_box_law_skill_and_waves_leave_presentations_out(knowledge):
    box = TackleBox(presentations=frozenset({"spinnerbait", "drop_shot"}))
    assert set(ids(rank(SPRING, WOOD, knowledge, box, solve=0, units="us"))) <= {"spinnerbait", "drop_shot"}
    no_trebles = TackleBox(legal={"treble_hooks": False})
    assert not {"squarebill_crankbait", "lipless_crankbait"} & set(
        ids(rank(SPRING, WOOD, knowledge, no_trebles, solve=0, units="us"))
    )
    rough = replace(SPRING, wind_mps=9.0)
    assert "squarebill_crankbait" not in ids(rank(rough, WOOD, knowledge, solve=0, units="us"))
    assert "squarebill_crankbait" in ids(
        rank(replace(rough, craft=Craft.BASS_BOAT), WOOD, knowledge, solve=0, units="us")
    )
    reasons = score(rough, WOOD, knowledge).excluded
    assert "small craft" in reasons[knowledge.tables.index["squarebill_crankbait"]]


def test_where_lead_is_forbidden_lures_are_offered_in_other_metals(knowledge):
    no_lead, usual = TackleBox(legal={"lead_tackle": False}, lead_free=False), TackleBox(lead_free=False)
    banned = {choice.id: choice for choice in rank(SPRING, WOOD, knowledge, no_lead, units="us")}
    assert list(banned) == ids(rank(SPRING, WOOD, knowledge, usual, solve=0, units="us"))
    assert any("isn't allowed" in text for text in banned["texas_creature"].cautions)
    assert not any("isn't allowed" in text for text in banned["weightless_stick_worm"].cautions)


def test_a_skill_not_yet_learned_leaves_its_presentation_out(knowledge):
    summer = replace(SPRING, phases={Phase.SUMMER: 1.0}, water_temp_c=24.0, sky=Sky.LOW_SUN)
    assert "walking_topwater" in ids(rank(summer, WOOD, knowledge, solve=0, units="us"))
    beginner = TackleBox(skills={"walk": 0})
    assert "walking_topwater" not in ids(rank(summer, WOOD, knowledge, beginner, solve=0, units="us"))


def test_a_moving_level_moves_fish_and_lures(knowledge):
    wide = Spot(depth_m=(0.5, 6.0), cover={Cover.LAYDOWN: 1.0})
    still, rising, falling = (replace(SPRING, level_change_24h_m=change) for change in (0.0, 0.3, -0.3))
    bands = [fish_depth_m(what, wide, knowledge) for what in (rising, still, falling)]
    assert bands[0][1] < bands[1][1] < bands[2][1]
    assert value(knowledge, "flipping_jig", rising, WOOD) > value(knowledge, "flipping_jig", still, WOOD)
    assert value(knowledge, "flipping_jig", falling, WOOD) < value(knowledge, "flipping_jig", still, WOOD)


def test_learning_moves_a_presentation_by_a_factor_of_two_at_most(knowledge):
    plain = value(knowledge, "spinnerbait", SPRING, WOOD)
    assert value(knowledge, "spinnerbait", SPRING, WOOD, learned={"spinnerbait": 0.3}) == pytest.approx(
        1.3499 * plain, rel=1e-3
    )
    assert value(knowledge, "spinnerbait", SPRING, WOOD, learned={"spinnerbait": 9.0}) == pytest.approx(
        2.0138 * plain, rel=1e-3
    )


def test_hard_fished_water_favours_quiet_baits(knowledge):
    pressured = replace(SPRING, mood=Mood.NEUTRAL, pressured=True)
    calm = replace(SPRING, mood=Mood.NEUTRAL)
    assert value(knowledge, "spinnerbait", pressured, WOOD) < value(knowledge, "spinnerbait", calm, WOOD)
    assert value(knowledge, "wacky_rig", pressured, WOOD) > value(knowledge, "wacky_rig", calm, WOOD)


def test_windward_hard_cover_favours_moving_lures(knowledge):
    lee, windward = replace(WOOD, exposed=False), replace(WOOD, exposed=True)
    chop = replace(SPRING, wind_mps=6.0)
    assert value(knowledge, "spinnerbait", chop, windward) > value(knowledge, "spinnerbait", chop, lee)
    assert value(knowledge, "flipping_jig", chop, windward) == value(knowledge, "flipping_jig", chop, lee)


def test_dark_hides_a_lure_on_flat_water(knowledge):
    flat = replace(SPRING, wind_mps=0.0, mood=Mood.ACTIVE)
    by_day = score(flat, WOOD, knowledge).factors["wind"]
    by_night = score(replace(flat, sky=Sky.NIGHT), WOOD, knowledge).factors["wind"]
    number = knowledge.tables.index["spinnerbait"]
    assert by_night[number] > by_day[number]


def test_shade_lends_light_lures_the_fit_of_cloud(knowledge):
    sun = replace(SPRING, sky=Sky.BRIGHT)
    open_light = score(sun, WOOD, knowledge).factors["light"]
    shaded = score(sun, replace(WOOD, shade=1.0), knowledge).factors["light"]
    assert (shaded >= open_light).all()
    assert (shaded > open_light).any()


def test_fish_under_a_roof_are_reached_from_above_and_through_it(knowledge):
    mat = Spot(depth_m=(2.5, 2.5), cover={Cover.GRASS_TOPPED: 1.0}, cover_top_m=0.0)
    summer = replace(SPRING, phases={Phase.SUMMER: 1.0}, water_temp_c=28.0, mood=Mood.NEUTRAL)
    first = ids(rank(summer, mat, knowledge, solve=0, units="us"))[:2]
    assert set(first) == {"hollow_body_frog", "punch_rig"}


@pytest.mark.parametrize(
    ("change", "sign"),
    [
        ({"front_stage": FrontStage.DAY2}, -1),
        ({"front_stage": FrontStage.APPROACHING}, 1),
        ({"pressured": True}, -1),
        ({"wind_mps": 8.0}, 1),
        ({"water_temp_c": 32.0}, -1),
    ],
)
def test_expected_mood_moves_with_front_pressure_wind_and_heat(knowledge, change, sign):
    neutral = replace(SPRING, phases={Phase.POSTSPAWN: 1.0}, wind_mps=1.0)
    before = expected_mood(neutral, WOOD, knowledge)
    after = expected_mood(replace(neutral, **change), WOOD, knowledge)
    assert (after - before) * sign > 0


def test_warming_lifts_cold_water_only(knowledge):
    cold = replace(SPRING, phases={Phase.WINTER: 1.0}, water_temp_c=8.0, wind_mps=1.0)
    assert expected_mood(replace(cold, trend_3d_c=2.0), WOOD, knowledge) > expected_mood(cold, WOOD, knowledge)
    warm = replace(cold, water_temp_c=20.0)
    assert expected_mood(replace(warm, trend_3d_c=2.0), WOOD, knowledge) == expected_mood(warm, WOOD, knowledge)


def test_what_the_user_saw_wins(knowledge):
    for mood, number in ((Mood.NEGATIVE, -1.0), (Mood.NEUTRAL, 0.0), (Mood.ACTIVE, 1.0)):
        seen = replace(SPRING, mood=mood, front_stage=FrontStage.DAY2, pressured=True)
        assert expected_mood(seen, WOOD, knowledge) == number


def test_a_front_counts_by_season_and_water(knowledge):
    day2 = replace(SPRING, front_stage=FrontStage.DAY2, wind_mps=1.0)
    loss = {
        phase: expected_mood(replace(day2, phases={phase: 1.0}, front_stage=None), WOOD, knowledge)
        - expected_mood(replace(day2, phases={phase: 1.0}), WOOD, knowledge)
        for phase in (Phase.LATE_PRESPAWN, Phase.SUMMER)
    }
    assert loss[Phase.LATE_PRESPAWN] > 3 * loss[Phase.SUMMER]


def test_the_first_half_day_after_a_front_is_quiet_and_then_passes(knowledge):
    autumn = replace(SPRING, phases={Phase.AUTUMN: 1.0}, trend_3d_c=-0.2, wind_mps=1.0)
    mood = {
        age: expected_mood(replace(autumn, front_stage=FrontStage.DAY1, front_age_h=age), WOOD, knowledge)
        for age in (14.0, 19.0, 29.0)
    }
    before = expected_mood(replace(autumn, front_stage=FrontStage.NONE), WOOD, knowledge)
    assert mood[14.0] == mood[19.0] < before - 0.4
    assert mood[29.0] == pytest.approx(before, abs=0.05)
    quiet, usual = (
        score(replace(autumn, front_stage=stage, front_age_h=17.0), WOOD, knowledge).total
        for stage in (FrontStage.DAY1, FrontStage.NONE)
    )
    at = knowledge.tables.index
    assert quiet[at["buzzbait"]] < usual[at["buzzbait"]]
    assert quiet[at["texas_creature"]] > quiet[at["spinnerbait"]]


def test_the_depth_of_the_fish(knowledge):
    grass = Spot(depth_m=(3.0, 3.0), cover={Cover.GRASS_DENSE: 1.0}, cover_top_m=1.2)
    low, high = fish_depth_m(SPRING, grass, knowledge)
    assert low < 1.2 < high <= 3.0
    wide = Spot(depth_m=(1.0, 12.0), cover={Cover.ROCK: 1.0})
    summer = replace(SPRING, phases={Phase.SUMMER: 1.0}, lake_kind=LakeKind.HIGHLAND_RESERVOIR)
    bright = fish_depth_m(replace(summer, sky=Sky.BRIGHT), wide, knowledge)
    dark = fish_depth_m(replace(summer, sky=Sky.OVERCAST), wide, knowledge)
    assert bright[0] > dark[0]
    floor = fish_depth_m(replace(summer, oxygen_floor_m=5.0), wide, knowledge)
    assert floor[1] <= 5.0
    assert fish_depth_m(summer, Spot(depth_m=(0.5, 1.5), cover={Cover.REEDS: 1.0}), knowledge)[1] <= 1.5


def test_a_full_choice_carries_everything(knowledge):
    rods = (OwnedRod("mine", 7.0, "medium_heavy", "moderate_fast", "baitcast", line="fluoro"),)
    for choice in rank(SPRING, WOOD, knowledge, TackleBox(rods=rods), units="us"):
        assert isinstance(choice, Choice)
        assert choice.weight_oz
        assert choice.weight_g is not None
        assert choice.retrieve is not None
        assert choice.setup is not None
        assert "lb" in choice.setup.line
        assert " lb|" in choice.setup.line
        assert len(choice.colours) == 2
        assert choice.reasons
        assert choice.follow_up
        assert choice.faults
        assert choice.running_depth_m is None or choice.running_depth_m[1] <= 1.2
    owned = {
        choice.setup.owned_id
        for choice in rank(SPRING, WOOD, knowledge, TackleBox(rods=rods), solve=10, units="us")[:10]
    }
    assert "mine" in owned


def test_surface_lures_run_on_the_surface(knowledge):
    summer = replace(SPRING, phases={Phase.SUMMER: 1.0}, water_temp_c=26.0, sky=Sky.LOW_SUN)
    depths = {choice.id: choice.running_depth_m for choice in rank(summer, WOOD, knowledge, units="us")}
    for item in knowledge.presentations:
        if item.surface and item.id in depths:
            assert depths[item.id] == (0.0, 0.0)


def test_owned_weights_are_the_only_ones_offered(knowledge):
    box = TackleBox(weights_oz={"spinnerbait": ("3/4",)})
    choice = next(choice for choice in rank(SPRING, WOOD, knowledge, box, units="us") if choice.id == "spinnerbait")
    assert choice.weight_oz == "3/4"


def test_deeper_tops_ask_for_more_weight(knowledge):
    grams = []
    for top in (0.5, 1.2, 2.2):
        spot = Spot(depth_m=(3.5, 3.5), cover={Cover.GRASS_DENSE: 1.0}, cover_top_m=top)
        choice = next(item for item in rank(SPRING, spot, knowledge, units="us") if item.id == "bladed_swim_jig")
        grams.append(choice.weight_g)
        assert choice.running_depth_m[0] <= top
    assert grams == sorted(grams)
    assert grams[0] < grams[-1]


def test_fairly_sure_needs_known_water_and_one_phase(knowledge):
    assert rank(SPRING, WOOD, knowledge, solve=1, units="us")[0].how_sure == "fairly sure"
    for doubt in (
        {"secchi_m": None},
        {"water_temp_c": None},
        {"phases": {Phase.LATE_PRESPAWN: 0.5, Phase.SPAWN: 0.5}},
        {"phase_spread": 0.8},
    ):
        assert rank(replace(SPRING, **doubt), WOOD, knowledge, solve=1, units="us")[0].how_sure == "open"


def test_care_and_law_are_said(knowledge):
    hot = replace(SPRING, phases={Phase.SUMMER: 1.0}, water_temp_c=31.0)
    deep = Spot(depth_m=(10.0, 10.0), cover={Cover.BARE: 1.0})
    choice = rank(hot, deep, knowledge, solve=1, units="us")[0]
    assert any("86 F" in text for text in choice.cautions)
    assert any("bloat" in text for text in choice.cautions)
    known = TackleBox(legal={"lead_tackle": True, "treble_hooks": True})
    told = rank(hot, deep, knowledge, known, solve=1, units="us")[0].cautions
    assert not any("Lead" in text for text in told)


def test_situation_words_know_place_and_hour(knowledge):
    words = situation_words(replace(SPRING, wind_mps=6.0), WOOD, knowledge, 0.8)
    assert {"wood", "laydown", "wind", "grey", "cool", "moderate", "active", "shallow", "largemouth", "seated"} <= words
    night = situation_words(replace(SPRING, sky=Sky.NIGHT, water_temp_c=8.0), OPEN, knowledge, -0.9)
    assert {"night", "dim", "cold", "negative", "open"} <= night


def test_a_case_refuses_unknown_keys():
    with pytest.raises(ValueError, match="colour"):
        Case.from_mapping({"phase": "summer", "water_temp_c": 20, "cover": "rock", "depth_m": 2, "colour": "red"})


def test_missing_phase_share_is_refused(knowledge):
    with pytest.raises(ValueError, match="phases"):
        rank(replace(SPRING, phases={Phase.SUMMER: 0.0}), WOOD, knowledge, units="us")


def test_a_spot_without_cover_is_open_bottom_and_a_falling_range_is_refused():
    assert Spot(depth_m=(1.0, 2.0), cover={}).cover == {Cover.BARE: 1.0}
    with pytest.raises(ValueError, match="depth_m"):
        Spot(depth_m=(3.0, 2.0), cover={Cover.ROCK: 1.0})


def anything(random):
    """Any situation at all, with gaps."""
    pick = random.choice
    maybe = lambda value: value if random.random() < 0.7 else None  # noqa: E731
    low = random.uniform(0.1, 10.0)
    conditions = Conditions(
        phases={phase: random.random() for phase in pick([list(Phase), [Phase.SPAWN, Phase.SUMMER]])},
        water_temp_c=maybe(random.uniform(1.0, 35.0)),
        species={pick(list(SpeciesForm)): 1.0},
        trend_3d_c=maybe(random.uniform(-6.0, 6.0)),
        secchi_m=maybe(random.uniform(0.05, 12.0)),
        sky=pick(list(Sky)),
        wind_mps=random.uniform(0.0, 14.0),
        mood=maybe(pick(list(Mood))),
        front_stage=maybe(pick(list(FrontStage))),
        lake_kind=maybe(pick(list(LakeKind))),
        craft=pick(list(Craft)),
        pressured=random.random() < 0.5,
        oxygen_floor_m=maybe(random.uniform(1.0, 12.0)),
        level_change_24h_m=maybe(random.uniform(-0.5, 0.5)),
        cast_m=random.uniform(8.0, 30.0),
    )
    spot = Spot(
        depth_m=(low, low + pick([0.0, random.uniform(0.0, 8.0)])),
        cover={pick(list(Cover)): random.random() + 0.01, pick(list(Cover)): random.random() + 0.01},
        cover_top_m=maybe(random.uniform(0.0, 4.0)),
        exposed=pick([True, False, None]),
        shade=random.random(),
        current=random.random() < 0.3,
    )
    return conditions, spot


@pytest.mark.parametrize("seed", range(120))
def test_any_situation_gives_an_order_that_can_be_told(knowledge, seed):
    conditions, spot = anything(Random(seed))
    scores = score(conditions, spot, knowledge)
    assert np.isfinite(scores.total).all()
    assert (scores.total >= 0.0).all()
    assert 0.0 <= scores.fish_depth_m[0] <= scores.fish_depth_m[1] <= spot.depth_m[1] + 1e-9
    assert -1.0 <= scores.mood <= 1.0
    for choice in rank(conditions, spot, knowledge, solve=3, units="metric")[:3]:
        assert choice.reasons
        assert choice.setup is not None
        low, high = choice.running_depth_m or (0.0, 0.0)
        assert 0.0 <= low <= high <= spot.depth_m[1] + 1e-9


def test_winter_fish_make_a_steep_deep_place_worth_far_more_than_a_shallow_arm(knowledge):
    cold = Conditions(
        phases={Phase.WINTER: 0.9, Phase.EARLY_PRESPAWN: 0.1}, water_temp_c=7.0, lake_kind=LakeKind.HIGHLAND_RESERVOIR
    )
    bluff = Spot(depth_m=(2.4, 10.7), cover={Cover.ROCK: 1.0}, slope_deg=60.0)
    arm = Spot(depth_m=(0.6, 2.7), cover={Cover.LAYDOWN: 1.0}, slope_deg=3.0)
    assert place_worth(cold, bluff, knowledge) > 3.0 * place_worth(cold, arm, knowledge)


def test_low_sun_brings_summer_fish_shallow_and_grass_holds_them_there(knowledge):
    summer = Conditions(
        phases={Phase.SUMMER: 1.0}, water_temp_c=24.0, lake_kind=LakeKind.NORTHERN_NATURAL, sky=Sky.BRIGHT
    )
    bare, grass = (Spot(depth_m=(0.5, 1.8), cover={one: 1.0}) for one in (Cover.BARE, Cover.GRASS_DENSE))
    at_noon = place_worth(summer, bare, knowledge)
    assert place_worth(replace(summer, sky=Sky.LOW_SUN), bare, knowledge) > at_noon
    assert place_worth(summer, grass, knowledge) > at_noon


def test_a_deep_wall_is_fished_in_a_narrow_band(knowledge):
    cold = Conditions(phases={Phase.WINTER: 1.0}, water_temp_c=7.0, lake_kind=LakeKind.HIGHLAND_RESERVOIR)
    low, high = fish_depth_m(cold, Spot(depth_m=(2.4, 30.0), cover={Cover.ROCK: 1.0}), knowledge)
    assert high - low <= 3.0 + 1e-9
    assert 5.0 <= low < high <= 15.0


def test_the_answer_to_a_refusal_is_never_faster_or_louder(knowledge):
    paces = ("search", "medium", "slow")
    for item in knowledge.presentations:
        case = Case.from_mapping(item.lead_case)
        shown = shown_three(rank(case.conditions, case.spot, knowledge, solve=0, units="us"))
        refused = next((one for one in shown if one.rank == "if refused"), None)
        if refused is not None:
            assert paces.index(refused.pace) >= paces.index(shown[0].pace)
            assert refused.group != "topwater" or shown[0].group == "topwater"


def test_a_surface_lure_leads_at_a_calm_summer_dawn(knowledge):
    dawn = replace(SPRING, phases={Phase.SUMMER: 1.0}, water_temp_c=24.5, sky=Sky.LOW_SUN, wind_mps=1.0, secchi_m=2.5)
    for cover, depth in ((Cover.REEDS, 1.2), (Cover.PADS, 1.2), (Cover.GRASS_DENSE, 1.5)):
        top = 0.3 if cover is Cover.GRASS_DENSE else 0.0
        spot = Spot(depth_m=(depth, depth), cover={cover: 1.0}, cover_top_m=top)
        first = rank(replace(dawn, lake_kind=LakeKind.NORTHERN_NATURAL), spot, knowledge, solve=0, units="us")[0]
        assert first.group == "topwater", (cover, first.id)


def test_a_jerkbait_in_cold_water_carries_the_pause_of_the_day(knowledge):
    cold = Conditions(phases={Phase.WINTER: 1.0}, water_temp_c=8.5, secchi_m=2.5, sky=Sky.BROKEN, wind_mps=3.0)
    ranked = rank(cold, Spot(depth_m=(1.0, 2.5), cover={Cover.ROCK: 1.0}), knowledge, units="us")
    bait = next(choice for choice in ranked if choice.id == "suspending_jerkbait")
    assert bait.retrieve.id == "twitch_pause"
    low, high = bait.retrieve.pause_s
    assert 4.0 <= low <= 6.0
    assert 9.0 <= high <= 13.0


def test_claws_never_come_on_a_worm(knowledge):
    for choice in rank(SPRING, WOOD, knowledge, units="us"):
        if choice.id in ("weightless_stick_worm", "wacky_rig", "drop_shot", "texas_worm", "shaky_head"):
            assert "claws" not in " ".join(colour.name for colour in choice.colours)
        assert choice.size
        assert choice.hook


def test_ahead_of_a_front_moving_lures_gain_on_slow_ones(knowledge):
    usual, ahead = (replace(SPRING, trend_3d_c=0.5, front_stage=stage, mood=Mood.NEUTRAL) for stage in _STAGES)
    before, after = (score(one, WOOD, knowledge).total for one in (usual, ahead))
    at = knowledge.tables.index
    assert after[at["spinnerbait"]] > before[at["spinnerbait"]]
    assert after[at["texas_worm"]] < before[at["texas_worm"]]
    cooling = replace(ahead, trend_3d_c=-0.5)
    assert score(cooling, WOOD, knowledge).total[at["spinnerbait"]] == pytest.approx(before[at["spinnerbait"]])


_STAGES = (FrontStage.NONE, FrontStage.APPROACHING)


def test_a_lure_waked_at_the_film_is_never_said_to_run_deep(knowledge):
    for item in knowledge.presentations:
        case = Case.from_mapping(item.lead_case)
        for choice in rank(case.conditions, case.spot, knowledge, solve=4, units="us"):
            if choice.retrieve is not None and choice.retrieve.id == "wake":
                assert choice.running_depth_m[1] <= 0.3


def test_what_stands_by_for_a_refusal_is_slower_where_one_is_good_enough(knowledge):
    paces = ("search", "medium", "slow")
    for item in knowledge.presentations:
        case = Case.from_mapping(item.lead_case)
        ranked = rank(case.conditions, case.spot, knowledge, solve=0, units="us")
        first, refused = ranked[0], next((one for one in ranked if one.rank == "if refused"), None)
        slower = [
            one
            for one in ranked[1:]
            if one.score >= 0.33 * first.score
            and paces.index(one.pace) > paces.index(first.pace)
            and (one.group != "topwater" or first.group == "topwater")
        ]
        if slower:
            assert paces.index(refused.pace) > paces.index(first.pace), item.id


@pytest.mark.parametrize("units", ["us", "metric"])
def test_reasons_hold_for_the_lure_and_come_in_one_unit(knowledge, units):
    for item in knowledge.presentations:
        case = Case.from_mapping(item.lead_case)
        for choice in rank(case.conditions, case.spot, knowledge, solve=4, units=units)[:4]:
            told = " ".join(choice.reasons)
            lure = knowledge.presentation(choice.id)
            assert "%" not in told
            assert not ("ripple" in told and lure.pace != "search" and not lure.surface), (choice.id, told)
            assert not (choice.pace != "search" and "ready to chase" in told), (choice.id, told)
            assert (" ft" not in told and " mph" not in told) if units == "metric" else " m/s" not in told
            if choice.how_sure == "fairly sure":
                assert not choice.doubt


def test_reasons_for_a_place_say_why_fish_are_there(knowledge):
    cold = Conditions(phases={Phase.WINTER: 1.0}, water_temp_c=7.0, lake_kind=LakeKind.HIGHLAND_RESERVOIR)
    bluff = Spot(depth_m=(2.4, 10.7), cover={Cover.ROCK: 1.0}, slope_deg=60.0)
    assert "winter fish stand at" in place_reasons(cold, bluff, knowledge, "us")[0]
    sunny = place_reasons(cold, replace(bluff, depth_m=(0.5, 1.5), slope_deg=3.0), knowledge, "us", sunny=True)
    assert any("sun warms first" in text for text in sunny)
    autumn = replace(SPRING, phases={Phase.AUTUMN: 1.0}, front_stage=FrontStage.DAY1, front_age_h=17.0)
    assert "pull tight to cover" in place_reasons(autumn, WOOD, knowledge, "us")[0]
    staging = Spot(depth_m=(0.9, 3.0), cover={Cover.GRASS_SPARSE: 0.6, Cover.BARE: 0.4}, bottom=Bottom.SHELL)
    spring = replace(SPRING, lake_kind=LakeKind.SOUTHERN_GRASS)
    told = " ".join(place_reasons(spring, staging, knowledge, "metric"))
    assert "on their way to spawn" in told
    assert "shell" in told
    assert " ft" not in told
    for cover in Cover:
        for phase in Phase:
            texts = place_reasons(replace(SPRING, phases={phase: 1.0}), Spot((1.0, 2.5), {cover: 1.0}), knowledge, "us")
            assert 1 <= len(texts) == len(set(texts)) <= 3


def test_bars_of_a_perch_are_not_offered_where_bass_eat_shad_first(knowledge):
    cold = Conditions(
        phases={Phase.WINTER: 1.0},
        water_temp_c=7.5,
        secchi_m=2.4,
        forage=(Forage.SHAD, Forage.CRAWFISH, Forage.BLUEGILL),
        species={SpeciesForm.SPOTTED: 1.0},
        lake_kind=LakeKind.HIGHLAND_RESERVOIR,
    )
    spot = Spot(depth_m=(5.0, 7.0), cover={Cover.ROCK: 1.0})
    for choice in rank(cold, spot, knowledge, solve=6, units="us")[:6]:
        if choice.id in ("jighead_minnow", "blade_bait", "underspin"):
            assert "perch" not in {colour.id for colour in choice.colours}
            assert choice.colour_hint
