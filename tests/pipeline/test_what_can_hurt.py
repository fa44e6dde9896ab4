"""What a briefing says of its dangers: the answer of the day, cautions that fit, a wind that is not as forecast."""

from dataclasses import replace
from datetime import timedelta

import pytest

from briefing.core.readings import WindReading
from briefing.core.wind.windows import HardLeg
from briefing.pipeline.build import Built, build
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.say_hazards import on_the_water
from briefing.pipeline.tables import load_tables, reader_of
from briefing.profile.model import Clothing
from briefing.sections.cautions import more_text
from briefing.vocabulary import Level, Zone
from tests.scenarios import SCENARIOS, inputs_of

pytestmark = pytest.mark.long

COLD, LOWLAND = "highland_winter_cold_water", "lowland_autumn_after_the_front"
SOUTH, NORTH = "south_early_spring_front_coming", "north_summer_calm"


def morning(name: str, **change: object) -> MorningInputs:
    """A scenario with fields of its profile changed."""
    inputs = inputs_of(SCENARIOS[name])
    profile = inputs.profile.model_copy(update=change)
    return replace(inputs, profile=profile, reader=reader_of(profile))


def made(name: str, **change: object) -> Built:
    return build(morning(name, **change), load_tables())


@pytest.fixture(scope="module")
def cold() -> Built:
    return made(COLD)


def usual(built: Built) -> dict[str, str]:
    return {one.title: one.text for one in built.briefing.cautions.usual}


def item(built: Built, name: str) -> str:
    return next((f"{one.when} {one.text}" for one in built.briefing.cautions.items if one.name == name), "")


def test_alone_on_very_cold_water_without_clothing_the_answer_is_to_stay_ashore(cold: Built) -> None:
    day = cold.briefing.day
    assert day.line().startswith("■ Stay ashore. Alone, no immersion clothing, coldest water perhaps ")
    assert "Only with a second person and dressed for the water: out " in day.hours_text
    assert "I go with ____ (second person)" in cold.briefing.cautions.float_plan
    assert cold.briefing.cautions.items[0].name == "cold_water"


@pytest.mark.parametrize("change", [{"alone": False}, {"clothing": Clothing.DRYSUIT}])
def test_with_company_or_clothing_the_hours_come_first(change: dict[str, object]) -> None:
    assert made(COLD, **change).briefing.day.word.startswith("Within your limits")


def test_the_coldest_water_of_the_spots_counts(cold: Built) -> None:
    water = cold.water.series
    low = min(float(water.range80_c(zone)[0][water.today_index]) for zone in (Zone.MAIN, Zone.POCKET))
    assert float(cold.hazards.water_low_c.min()) == pytest.approx(low, abs=0.3)
    assert cold.hazards.zones[:2] == (Zone.MAIN, Zone.POCKET)
    spots = tuple(spot for spot in morning(COLD).profile.spots if spot.zone is Zone.MAIN)
    assert made(COLD, spots=spots).hazards.zones == (Zone.MAIN,)


def test_a_tailwater_off_the_route_is_named_and_stays_out_of_the_headline(cold: Built) -> None:
    cautions = cold.briefing.cautions
    assert not any("Tailwater" in text for text in (cautions.more_text, *(one.title for one in cautions.items)))
    aside = next(one for one in cautions.usual if one.title == "Tailwater, Upper river bend")
    assert aside.text == "Caution from 07:00 on, all day; no place of today's plan lies there."
    assert not any("tailwater" in line for line in (cold.briefing.day.line(), *cold.briefing.day.sentences))
    assert "Below a dam" not in usual(cold)


def test_cold_air_tells_of_ice_and_of_the_chill_at_running_speed(cold: Built) -> None:
    text = usual(cold)["Cold air"]
    assert "may ice ramp" in text
    assert "run slower" in text
    assert "Cold air" not in usual(made(NORTH))


def test_cold_water_is_not_called_checked_where_it_cuts_the_limits() -> None:
    built = made(LOWLAND)
    assert "cold water" not in built.briefing.cautions.checked
    assert "cut to nine tenths" in " ".join(built.briefing.hours.notes)
    assert any(line.startswith("Alone, water perhaps as cold as") for line in built.briefing.day.before)


def test_a_hazard_of_a_spot_stands_among_the_cautions_by_name() -> None:
    assert usual(made(LOWLAND))["Stump flat at the ferry"].startswith("Stumps stand to within a foot of the surface")


def test_light_is_told_by_the_sun() -> None:
    lowland, south = made(LOWLAND), made(SOUTH)
    assert item(lowland, "darkness") == item(south, "darkness") == ""  # launched after dawn
    assert usual(lowland)["Lights"].endswith("Today that is until 07:17.")
    early = morning(SOUTH)
    early = replace(early, outing=replace(early.outing, launch=early.outing.launch - timedelta(minutes=25)))
    assert item(build(early, load_tables()), "darkness") == ""  # the day opens at dawn
    fixed = replace(early, outing=replace(early.outing, fixed_launch=True))
    text = item(build(fixed, load_tables()), "darkness")
    assert text.startswith("until first light, 06:40 Dark until 06:40")
    assert "until sunrise, 07:04" in text


def _measured(from_deg: float, mps: float) -> MorningInputs:
    inputs = morning(SOUTH)
    wind = WindReading(inputs.now - timedelta(minutes=25), mps, None, from_deg, "nws_station", "airfield", 9.0)
    return replace(inputs, gathered=replace(inputs.gathered, wind_now=(wind,)))


@pytest.mark.parametrize(("from_deg", "mps", "told"), [(330.0, 2.0, True), (200.0, 2.0, False), (330.0, 0.4, True)])
def test_a_wind_from_elsewhere_than_forecast_is_told_in_three_places(from_deg: float, mps: float, told: bool) -> None:
    page = build(_measured(from_deg, mps), load_tables()).briefing
    assert any("forecast from S" in line and "look at the ramp" in line for line in page.day.before) == told
    assert any("The two directions disagree" in line for line in page.hours.notes) == told
    wind = page.sureness.parts[0]
    assert ("the airfield has it from" in wind.because) == told
    assert (wind.sure == "low") == told
    assert ("agrees on direction" in wind.because) != told


def test_a_light_wind_from_elsewhere_is_nothing_to_tell() -> None:
    inputs = morning(NORTH)
    wind = WindReading(inputs.now - timedelta(minutes=25), 0.5, None, 340.0, "nws_station", "airfield", 9.0)
    inputs = replace(inputs, gathered=replace(inputs.gathered, wind_now=(wind,)))
    assert not any("disagree" in line for line in build(inputs, load_tables()).briefing.hours.notes)


def test_the_float_plan_says_who_and_the_warning_where_to_read_it_again() -> None:
    page = made(SOUTH).briefing
    assert page.cautions.float_plan.startswith("Float plan. Overdue at 11:30: call me then;")
    assert "sit-on-top kayak (how many: ____)" in page.cautions.float_plan
    assert "weather.gov" in page.sources.next_check
    assert "Lake Wind Advisory from 12:00" in page.day.why


def test_cautions_past_the_third_are_named(cold: Built) -> None:
    rest = [one.model_copy(update={"level": Level.CAUTION}) for one in cold.briefing.cautions.items]
    assert more_text(rest).startswith(f"Also a caution, see the hour table: {rest[0].title}, {rest[0].when}; ")
    assert more_text([one.model_copy(update={"level": Level.UNKNOWN}) for one in rest]).startswith(
        "Also not known, see "
    )


def _hard_at(inputs: MorningInputs, built: Built, late: timedelta) -> str:
    """The sentence on a way home that becomes hard so long after the time to be off the water."""
    ends = built.hazards.deadlines
    assert ends is not None
    leg = HardLeg("Reeds to ramp", ends.off_water_by + late, "Reeds to ramp: 30 min back against the wind")
    return " ".join(on_the_water(inputs, replace(built.hazards, hard_leg=leg)))


def test_the_hour_a_way_home_gets_hard_is_told_when_it_falls_into_the_outing() -> None:
    inputs, built = morning(LOWLAND), made(LOWLAND)
    text = _hard_at(inputs, built, -timedelta(minutes=30))
    assert "The first way home to become hard, from 09:00 on: Reeds to ramp (30 min back against the wind)." in text
    assert "way home" not in _hard_at(inputs, built, timedelta(minutes=30))


def test_limits_in_use_say_why_they_are_a_novices() -> None:
    assert made(LOWLAND).briefing.head.row.endswith("you are held to a novice's limits because you paddle alone.")
    assert made(SOUTH).briefing.head.row == "Limits in use: sit-on-top kayak, experienced."


def test_rules_that_no_profile_notes_are_not_known() -> None:
    page = made(LOWLAND).briefing
    assert any("seasons, lead or hooks" in one.what for one in page.unknown.items)


@pytest.mark.parametrize("name", SCENARIOS)
def test_a_problem_has_one_entry(name: str) -> None:
    cautions = made(name).briefing.cautions
    factors = [factor for one in cautions.items for factor in one.factors]
    assert len(factors) == len(set(factors))
    assert sum(bool({"sustained_wind", "gust", "waves", "headway"} & set(one.factors)) for one in cautions.items) <= 1
    titles = [one.title for one in (*cautions.items, *cautions.usual)]
    assert len(titles) == len(set(titles))
    reminded = {"cold_water": ("Cold water", "Cool water"), "tailwater": ("Below a dam",), "thunder": ("Lightning",)}
    for factor in factors:
        assert not set(reminded.get(factor, ())) & {one.title for one in cautions.usual}
    # warnings that can't be read are told by the state of the feed alone
    assert "alerts" not in factors
    assert cautions.alerts_known == ("COULD NOT BE CHECKED" not in cautions.alerts_state)
