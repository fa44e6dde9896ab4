"""What is told can be done as it is told: the first lure is tied at home, a change changes something, cover decides."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import cache

import pytest

from briefing.core.advice.choice import RetrievePick
from briefing.core.advice.plan import PlanB, SurpriseKind, as_rigged
from briefing.core.advice.presentation import Presentation
from briefing.core.advice.weight import _holds
from briefing.knowledge import load_advice_knowledge
from briefing.pipeline.build import Built, build
from briefing.pipeline.tables import load_tables
from briefing.profile.model import LakeProfile, Rod
from briefing.report.render import to_text
from briefing.sections.plan import _done
from briefing.tools.compose import Weather
from tests.scenarios import LOWLAND, SCENARIOS, Scenario, inputs_of

K = load_advice_knowledge()
SPIN = Rod.model_validate(
    {"id": "spin", "name": "all-round rod", "length": "7 ft", "power": "medium", "action": "fast", "reel": "spinning"}
    | {"ratio": 6.2, "line": "braid", "line_lb": 15}
)
CAST = Rod.model_validate(
    {"id": "cast", "name": "long rod", "length": "7 ft", "power": "medium_heavy", "action": "fast", "reel": "baitcast"}
    | {"ratio": 7.1, "line": "fluoro", "line_lb": 15}
)


def _with(*rods: Rod, name: str) -> Built:
    def change(profile: LakeProfile) -> LakeProfile:
        return profile.model_copy(update={"rods": rods})

    return build(inputs_of(replace(SCENARIOS[name], change=change)), load_tables())


@cache
def _few_rods(name: str, rods: int) -> Built:
    return _with(*(SPIN, CAST)[:rods], name=name)


NAMES = ("north_summer_calm", "lowland_autumn_after_the_front", "south_early_spring_front_coming")


@pytest.mark.parametrize("rods", [1, 2])
@pytest.mark.parametrize("name", NAMES)
def test_the_first_place_is_begun_with_a_lure_that_is_tied_on(name: str, rods: int) -> None:
    made = _few_rods(name, rods)
    first = made.advised.plan.stops[0].choices[0]
    assert first.setup is not None
    assert not first.setup.retie
    assert first.id in {pick.setup.presentation for pick in made.advised.rods.picks}


def test_a_lure_that_is_tied_on_afloat_stands_in_the_list_with_its_place() -> None:
    found = 0
    for name in NAMES:
        for rods in (1, 2):
            made = _few_rods(name, rods)
            note = made.briefing.plan.rods_note
            for stop in made.advised.plan.stops:
                for choice in stop.choices:
                    if choice.setup is not None and choice.setup.retie:
                        found += 1
                        assert f"To tie on afloat at {stop.spot}" in note or stop.spot in note
    assert found


def test_a_change_where_one_stays_is_told_as_a_change() -> None:
    for name in SCENARIOS:
        for block in build(inputs_of(SCENARIOS[name]), load_tables()).briefing.plan.blocks:
            for stop in block.stops:
                assert not (stop.change_text and stop.same_as), name


def test_what_was_told_is_named_again_in_a_word_and_never_left_to_another_place() -> None:
    for name in SCENARIOS:
        text = to_text(build(inputs_of(SCENARIOS[name]), load_tables()).briefing)
        assert "likewise" not in text
        assert "as before" not in text


#: Retrieves that lose lure and fish in some cover, and the word of the place.
FORBIDDEN = [
    ("drag", "dock"), ("drag", "wood"), ("drag", "pads"), ("drag", "grass_dense"), ("hop", "pads"),
    ("lift_drop", "wood"), ("lift_drop", "grass_dense"), ("lift_drop", "dock"),
]  # fmt: skip


@pytest.mark.parametrize(("retrieve", "word"), FORBIDDEN)
def test_cover_forbids_what_hangs_up_in_it(retrieve: str, word: str) -> None:
    with_it = [(lure, one) for lure in K.presentations for one in lure.retrieves if one.id == retrieve]
    assert with_it
    for lure, option in with_it:
        assert not _holds(option, frozenset({word, *option.needs}), K), lure.id


def test_a_toad_is_buzzed_steadily_over_thick_grass() -> None:
    toad = next(one for one in K.presentations if one.id == "buzzing_toad")
    assert _best(toad, {"grass", "grass_dense", "active", "dim"}) == "steady"
    assert _best(toad, {"grass", "grass_dense", "negative"}) == "kill_fall"


def _best(lure: Presentation, words: set[str]) -> str:
    from briefing.core.advice.options import best_option

    found = best_option([one for one in lure.retrieves if _holds(one, frozenset(words), K)], frozenset(words))
    assert found is not None
    return found.id


@pytest.mark.parametrize("lure", ["texas_worm", "tube"])
def test_beside_posts_a_bottom_bait_is_pitched(lure: str) -> None:
    item = next(one for one in K.presentations if one.id == lure)
    assert _best(item, {"dock", "roof", "neutral", "sun"}) == "pitch_drop"


def test_in_cold_water_the_jerkbait_hangs_still_for_so_many_seconds() -> None:
    pick = RetrievePick("twitch_pause", "twitch and pause", "", pause_s=(6.0, 15.0))
    assert _done(pick) == "two twitches, then 6 to 15 s still"
    assert _done(replace(pick, pause_s=(0.5, 1.0))) == "twitch and pause"
    assert (
        _done(replace(pick, id="deadstick", name="leave the bait still")) == "leave the bait still, pauses of 6 to 15 s"
    )


HOT = Scenario(LOWLAND, date(2026, 8, 8), "04:45", "06:15", "13:00", Weather(seed=5, peak_mps=3.0, warm_c=6.0),
               water=((1, 31.5),))  # fmt: skip


def test_hot_water_is_fished_in_its_two_coolest_hours_alone() -> None:
    made = build(inputs_of(HOT), load_tables())
    stops = made.advised.plan.stops
    assert stops
    assert stops[-1].leave - stops[0].arrive <= timedelta(hours=2)
    assert "only the 2 coolest hours are planned" in made.briefing.plan.summary
    mild = build(
        inputs_of(replace(HOT, day=date(2026, 5, 16), water=((1, 22.0),), weather=Weather(seed=5))), load_tables()
    )
    later = mild.advised.plan.stops
    assert later[-1].leave - later[0].arrive > timedelta(hours=3)
    assert "coolest" not in mild.briefing.plan.summary


def test_no_search_lure_is_spoken_of_where_none_is_rigged() -> None:
    plan_b = PlanB(
        SurpriseKind.CLOUD_IN, "Flat light.", "Come back to the open edges with a search lure, louder.", (), ()
    )
    assert as_rigged(None, search=False) is None
    found = as_rigged(plan_b, search=False)
    assert found is not None
    assert found.do == "Come back to the open edges, louder."
    assert as_rigged(plan_b, search=True) == plan_b


def test_what_swims_keeps_off_the_ground() -> None:
    for name in (*NAMES, "highland_autumn_no_thunder_data"):
        made = build(inputs_of(SCENARIOS[name]), load_tables())
        for stop in made.advised.plan.stops:
            deepest = made.advised.spots[stop.spot_id, stop.block_id].depth_m[1]
            for choice in stop.choices:
                swum = choice.retrieve is not None and choice.retrieve.id in ("steady", "deflect", "stutter")
                if choice.running_depth_m and swum:
                    assert choice.running_depth_m[1] <= deepest - 0.1
