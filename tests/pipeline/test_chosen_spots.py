"""Spots named for an outing are the only ones the plan goes to; without names it may use all of the profile's."""

from dataclasses import replace

from briefing.pipeline.build import build
from briefing.pipeline.tables import load_tables
from tests.scenarios import SCENARIOS, inputs_of

TABLES = load_tables()
MORNING = SCENARIOS["north_summer_calm"]


def test_the_plan_goes_only_to_chosen_spots_and_says_so() -> None:
    inputs = inputs_of(MORNING)
    free = build(inputs, TABLES)
    everywhere = {stop.spot_id for stop in free.advised.plan.stops}
    assert len(everywhere) > 1
    one = next(spot for spot in inputs.profile.spots if spot.id not in {free.advised.plan.stops[0].spot_id})
    outing = replace(inputs.outing, planned=True, spots=(one.name, "a spot since deleted"))
    chosen = build(replace(inputs, outing=outing), TABLES)
    assert {stop.spot_id for stop in chosen.advised.plan.stops} == {one.id}
    words = chosen.briefing.model_dump_json()
    assert f"Only the spots you chose for this outing: {one.name}." in words
    assert "Only the spots you chose" not in free.briefing.model_dump_json()


def test_names_that_are_all_gone_leave_the_whole_lake() -> None:
    inputs = inputs_of(MORNING)
    gone = replace(inputs, outing=replace(inputs.outing, spots=("a spot since deleted",)))
    assert build(gone, TABLES).advised.plan == build(inputs, TABLES).advised.plan
