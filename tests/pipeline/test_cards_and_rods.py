"""The spots' cards and the rigging list speak of the same rods."""

import pytest

from briefing.pipeline.build import build
from briefing.pipeline.tables import load_tables
from tests.scenarios import SCENARIOS, inputs_of

TABLES = load_tables()


@pytest.mark.parametrize("name", ["south_early_spring_front_coming", "highland_winter_cold_water", "north_summer_calm"])
def test_every_choice_names_the_rod_of_the_list(name: str) -> None:
    advised = build(inputs_of(SCENARIOS[name]), TABLES).advised
    by_lure = {pick.setup.presentation: pick for pick in advised.rods.picks}
    numbers = {pick.number: pick for pick in advised.rods.picks}
    assert len(by_lure) == len(numbers)
    choices = [choice for stop in advised.plan.stops for choice in stop.choices if choice.setup is not None]
    assert choices
    for choice in choices:
        setup = choice.setup
        assert setup is not None
        if choice.id in by_lure:
            assert setup.rod_number == by_lure[choice.id].number
            assert not setup.retie
        elif setup.rod_number is not None:
            assert setup.retie
        if setup.rod_number is not None:
            rod = numbers[setup.rod_number].rod
            assert setup.owned_id == (None if rod is None else rod.id)


def test_first_choices_are_rigged_where_rods_allow() -> None:
    advised = build(inputs_of(SCENARIOS["highland_winter_cold_water"]), TABLES).advised
    rigged = {pick.setup.presentation for pick in advised.rods.picks}
    first = {stop.choices[0].id for stop in advised.plan.stops if stop.choices}
    assert len(first) <= len(rigged)
    assert first <= rigged


def test_winter_fish_are_looked_for_in_deep_places_for_long() -> None:
    stops = build(inputs_of(SCENARIOS["highland_winter_cold_water"]), TABLES).advised.plan.stops
    assert stops
    assert "back-of-the-north-arm" not in {stop.spot_id for stop in stops}
    assert all((stop.leave - stop.arrive).total_seconds() >= 45 * 60 for stop in stops)
