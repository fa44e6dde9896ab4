"""One start and one end of the outing, whatever section tells them; the map is of those hours alone."""

import re
from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from briefing.pipeline.build import Built, build
from briefing.pipeline.demo import demo_inputs
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.say_hazards import out_of
from briefing.pipeline.tables import load_tables
from briefing.sections.clock import clock
from tests.scenarios import SCENARIOS, inputs_of

pytestmark = pytest.mark.long

HOUR = timedelta(hours=1)


def _before_dawn(inputs: MorningInputs, **change: object) -> MorningInputs:
    outing = replace(inputs.outing, launch=inputs.outing.launch - timedelta(minutes=25), **change)
    return replace(inputs, outing=outing)


def _mornings() -> dict[str, MorningInputs]:
    found = {"demo": demo_inputs(), **{name: inputs_of(one) for name, one in SCENARIOS.items()}}
    south = found["south_early_spring_front_coming"]
    found["launch before dawn"] = _before_dawn(south)
    found["fixed launch before dawn"] = _before_dawn(south, fixed_launch=True)
    found["out already"] = replace(south, now=south.outing.launch + timedelta(minutes=20))
    return found


MORNINGS = _mornings()


@pytest.fixture(scope="module")
def made() -> dict[str, Built]:
    return {name: build(inputs, load_tables()) for name, inputs in MORNINGS.items()}


def told(pattern: str, text: str) -> list[str]:
    return re.findall(pattern, text)


@pytest.mark.parametrize("name", MORNINGS)
def test_headline_float_plan_and_first_cast_agree(made: dict[str, Built], name: str) -> None:
    inputs, page = MORNINGS[name], made[name].briefing
    out = out_of(inputs, made[name].hazards)
    zone = inputs.profile.zone
    day = " ".join((page.day.told(), *page.day.sentences))
    if out is None:
        assert page.cautions.float_plan == ""
        return
    begin, off = clock(out.begin, zone, inputs.day), clock(out.off, zone, inputs.day)
    assert set(told(r"\b[Oo]ut (\d\d:\d\d)", day)) <= {begin}
    if not page.day.fixed_launch_outside:
        assert (page.day.begin, page.day.off) == (out.begin, out.off)
    if page.glance.strip is not None and page.day.begin is not None and not page.day.condition:
        assert (page.glance.strip.out, page.glance.strip.off) == (out.begin, out.off)
    assert told(r"On the water from (\d\d:\d\d)", page.cautions.float_plan) == [begin]
    assert set(told(r"\boff (?:the water )?by (\d\d:\d\d)", f"{day} {page.cautions.float_plan}".lower())) == {off}
    planned = clock(inputs.outing.launch, zone, inputs.day)
    if begin != planned:
        assert f"launch at {begin}, " in day.lower()
    stops = [stop for block in page.plan.blocks for stop in block.stops]
    if stops:
        cast = clock(stops[0].begin, zone, inputs.day)
        assert page.glance.lines[0].text.endswith(f", {cast}")
        assert page.glance.strip is not None
        at = [stop.at for stop in page.glance.strip.stops[:1]]
        assert at == ([] if page.day.condition else [stops[0].begin])
        assert stops[0].begin >= out.begin
        assert page.plan.blocks[0].time_text.startswith(cast)


def test_the_demonstration_begins_at_first_light_everywhere(made: dict[str, Built]) -> None:
    page = made["demo"].briefing
    assert page.day.hours_text == "Out 06:33. Off the water by 10:30."
    assert "On the water from 06:33, off the water by 10:30" in page.cautions.float_plan
    assert "Launch at 06:33, first light; your return at 11:30 is too late today." in page.day.sentences


def test_a_fixed_launch_stays_the_start(made: dict[str, Built]) -> None:
    page = made["fixed launch before dawn"].briefing
    assert page.day.hours_text.startswith("Out 06:20.")
    assert "On the water from 06:20" in page.cautions.float_plan


@pytest.mark.parametrize("name", MORNINGS)
def test_the_map_is_of_an_hour_out(made: dict[str, Built], name: str) -> None:
    inputs, shown = MORNINGS[name], made[name].briefing.map
    assert shown is not None
    out = out_of(inputs, made[name].hazards)
    if out is None:
        assert shown.wind_hour is None
        assert shown.wind_text == "There are no hours out today: no bank is marked."
        return
    assert isinstance(shown.wind_hour, datetime)
    assert out.begin - HOUR < shown.wind_hour < out.off
    assert clock(shown.wind_hour, inputs.profile.zone, inputs.day) in shown.text
