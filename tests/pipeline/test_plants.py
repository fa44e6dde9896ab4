"""A reading of plants moves a place's tops and cover: advice, snag and running depth follow."""

from dataclasses import replace
from datetime import timedelta

import pytest

from briefing.core.readings import PlantReading
from briefing.pipeline.build import Built, build
from briefing.pipeline.tables import load_tables
from briefing.vocabulary import Cover, PlantDensity, PlantState
from tests.scenarios import SCENARIOS, inputs_of

SPOT = "Cabbage edge"


def built(*readings: PlantReading) -> Built:
    inputs = inputs_of(SCENARIOS["north_summer_calm"])
    return build(replace(inputs, entered=replace(inputs.entered, plants=readings)), load_tables())


def reading(days: int, top_m: float | None, density: PlantDensity | None, state: PlantState = PlantState.GROWING):  # type: ignore[no-untyped-def]
    return PlantReading(
        inputs_of(SCENARIOS["north_summer_calm"]).now - timedelta(days=days), SPOT, top_m, density, state
    )


def place(found: Built):  # type: ignore[no-untyped-def]
    return next(spot for (key, _), spot in found.advised.spots.items() if key == "cabbage-edge")


def test_without_a_reading_the_profile_stands() -> None:
    assert place(built()).cover_top_m == pytest.approx(0.9)
    assert built().advised.plants == {}


def test_growth_since_the_reading_moves_the_tops_and_what_is_shown() -> None:
    found = built(reading(20, 1.5, PlantDensity.DENSE))
    now = place(found).cover_top_m
    assert 1.25 <= now < 1.5, "20 days in water of about 23 C"
    told = [stop.conditions_text for block in found.briefing.plan.blocks for stop in block.stops if stop.spot == SPOT]
    assert any("You saw the tops 1.5 m down 20 days ago" in text for text in told)


def test_tops_at_the_surface_ask_for_what_passes_over_a_roof() -> None:
    open_water, roof = built(reading(1, 1.8, PlantDensity.SPARSE)), built(reading(1, 0.0, PlantDensity.TOPPED))
    assert Cover.GRASS_TOPPED in place(roof).cover
    scores = [found.advised.trade_scores["cabbage-edge"] for found in (open_water, roof)]
    assert scores[1]["bladed_swim_jig"] < 0.5 * scores[0]["bladed_swim_jig"], "it fouls in a roof"


def test_sprayed_plants_leave_open_bottom_in_the_end() -> None:
    found = place(built(reading(40, 0.9, PlantDensity.DENSE, PlantState.SPRAYED)))
    assert found.cover_top_m is None
    assert set(found.cover) == {Cover.BARE}
