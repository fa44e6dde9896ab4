"""Low light decides lures too, stays are advised anew where it changes, and the tide is not passed over."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from briefing.core.advice.conditions import Conditions, Spot
from briefing.core.advice.scoring import score
from briefing.core.advice.situation import expected_mood, feeding_up, fish_depth_m
from briefing.knowledge import load_advice_knowledge
from briefing.pipeline.build import build
from briefing.pipeline.tables import load_tables
from briefing.report.render import to_text
from briefing.tools.compose import Weather
from briefing.vocabulary import Cover, LakeKind, Level, Phase, Sky
from tests.scenarios import LOWLAND, NORTH, Scenario, inputs_of

K = load_advice_knowledge()
DAWN = Conditions(
    phases={Phase.SUMMER: 1.0}, water_temp_c=25.0, secchi_m=1.0, sky=Sky.LOW_SUN, lake_kind=LakeKind.LOWLAND_RESERVOIR
)
BANK = Spot(depth_m=(1.0, 5.0), cover={Cover.LAYDOWN: 1.0})
#: One place all through an evening.
EVENING = Scenario(
    LOWLAND, date(2026, 8, 15), "13:00", "14:00", "20:15", Weather(seed=5, breeze_mps=1.0, peak_mps=2.0),
    change=lambda profile: profile.model_copy(update={"spots": profile.spots[-1:]}),
)  # fmt: skip


@pytest.mark.parametrize(
    ("change", "spot", "up"),
    [
        ({}, BANK, True),
        ({"sky": Sky.BRIGHT}, BANK, False),
        ({"phases": {Phase.WINTER: 1.0}, "water_temp_c": 7.0}, BANK, False),
        ({}, replace(BANK, depth_m=(4.0, 8.0)), False),
    ],
)
def test_fish_come_up_in_low_sun_warm_water_and_shallows(change: dict[str, object], spot: Spot, up: bool) -> None:
    at = replace(DAWN, **change)  # type: ignore[arg-type]
    assert (feeding_up(at, spot, K) > 0.9) == up
    assert up or feeding_up(at, spot, K) == 0.0


def test_they_are_then_looked_for_in_the_shallow_part() -> None:
    noon = replace(DAWN, sky=Sky.BRIGHT)
    low, high = fish_depth_m(DAWN, BANK, K)
    assert low == pytest.approx(1.0)
    assert high <= 1.0 + K.rules.factors.dawn_band_m + 1e-9
    assert sum(fish_depth_m(noon, BANK, K)) > low + high


def test_moving_lures_gain_then_and_creeping_ones_lose() -> None:
    gain = score(DAWN, BANK, K).factors["dawn"]
    at = K.tables.index
    assert gain[at["spinnerbait"]] == pytest.approx(K.rules.factors.dawn_search)
    assert gain[at["texas_worm"]] == pytest.approx(K.rules.factors.dawn_slow)
    assert gain[at["popper"]] > 1.0
    reeds = replace(BANK, depth_m=(0.5, 1.5), cover={Cover.REEDS: 1.0})
    assert score(DAWN, reeds, K).factors["dawn"][at["popper"]] > gain[at["popper"]], "most over plants"
    assert np.all(score(replace(DAWN, sky=Sky.BRIGHT), BANK, K).factors["dawn"] == 1.0)


def test_hot_water_feeds_at_dawn_if_at_all() -> None:
    hot = replace(DAWN, water_temp_c=32.5)
    assert expected_mood(hot, BANK, K) > expected_mood(replace(hot, sky=Sky.BRIGHT), BANK, K) + 0.5


def test_what_hangs_up_in_wood_stays_in_the_box() -> None:
    at = K.tables.index
    noon = replace(DAWN, sky=Sky.BROKEN)
    misfit = score(noon, BANK, K).factors["misfit"]
    for lure in ("tube", "swimbait_jighead", "football_jig", "lipless_crankbait"):
        assert misfit[at[lure]] == pytest.approx(K.rules.misfit.open_in_wood), lure
    for lure in ("texas_worm", "shaky_head", "squarebill_crankbait", "spinnerbait"):
        assert misfit[at[lure]] == 1.0, lure
    assert score(noon, replace(BANK, cover={Cover.ROCK: 1.0}), K).factors["misfit"][at["tube"]] == 1.0


def test_a_stay_through_a_change_of_light_is_told_with_the_lures_of_both() -> None:
    built = build(inputs_of(EVENING), load_tables())
    stops = built.advised.plan.stops
    parts = [stop for stop in stops if stop.goes_on]
    assert parts
    for part in parts:
        before = stops[stops.index(part) - 1]
        assert (part.spot_id, part.arrive) == (before.spot_id, before.leave)
        assert part.travel_min == 0
        assert part.block_id != before.block_id
        fished = [
            [(one.id, one.weight_oz, one.retrieve and one.retrieve.id) for one in at.choices] for at in (before, part)
        ]
        assert fished[0] != fished[1], "what is fished alike is one stay"
    text = " ".join(to_text(built.briefing).split())
    assert ": stay, and change." in text
    assert "It has rested since" not in text


def test_on_tidal_water_the_tide_is_not_known_and_the_level_not_steady() -> None:
    tidal = Scenario(
        NORTH, date(2026, 6, 13), "05:00", "06:00", "11:00", Weather(seed=4, peak_mps=2.0),
        change=lambda profile: profile.model_copy(update={"kind": LakeKind.TIDAL_RIVER}),
    )  # fmt: skip
    briefing = build(inputs_of(tidal), load_tables()).briefing
    assert briefing.water.level_text == "Water level: moves with the tide, which is not known here."
    assert any(item.short == "the tide" and item.serious for item in briefing.unknown.items)
    assert "the tide" in {line.name: line.text for line in briefing.glance.lines}["Not known"]


def test_hours_that_are_not_known_leave_places_and_rods_on_a_condition() -> None:
    blind = Scenario(
        NORTH, date(2026, 7, 11), "04:30", "05:15", "10:30", Weather(seed=4, peak_mps=2.0, missing=("wind_mps",))
    )
    briefing = build(inputs_of(blind), load_tables()).briefing
    lines = {line.name: line.text for line in briefing.glance.lines}
    assert briefing.day.answer is Level.UNKNOWN
    assert lines["First"].endswith(", only once that is known and within your limits")
    assert "," in lines["Rod 1"], "with its weight or colour"
    assert briefing.plan.later[0].startswith("Once that is known and within your limits, places in order: ")
    assert not any(block.stops for block in briefing.plan.blocks), "no times, no window"
    stop = replace(blind, weather=Weather(seed=4, peak_mps=20.0, peak_h=4, peak_width_h=9))
    ashore = build(inputs_of(stop), load_tables()).briefing
    assert "Once that is known" not in to_text(ashore)
