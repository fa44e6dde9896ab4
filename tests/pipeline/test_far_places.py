"""Where no season can be told: everything else of the morning is there all the same."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing import knowledge
from briefing.core.climate import normals_at
from briefing.pipeline.build import build
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.shape import lake_shape
from briefing.pipeline.tables import load_tables
from briefing.report.render import to_html, to_text
from tests.scenarios import SCENARIOS, inputs_of

TABLES = load_tables()


def moved(latitude: float, day: date) -> MorningInputs:
    """A calm summer morning with its weather as it is, at another latitude and on another day."""
    inputs = inputs_of(SCENARIOS["north_summer_calm"])
    shift = day - inputs.day
    profile = inputs.profile.model_copy(
        update={"latitude": latitude, "shoreline": None, "spots": (), "ramps": (), "elevation_m": 100.0}
    )
    hours = inputs.gathered.hours
    return replace(
        inputs,
        profile=profile,
        shape=lake_shape(profile, None),
        normals=normals_at(knowledge.load_normals_table(), latitude, profile.longitude, 100.0),
        day=day,
        now=inputs.now + shift,
        outing=replace(inputs.outing, launch=inputs.outing.launch + shift, back=inputs.outing.back + shift),
        gathered=replace(inputs.gathered, hours=replace(hours, start=hours.start + shift)),
        entered=replace(inputs.entered, water=(), signs=()),
    )


@pytest.mark.parametrize("latitude", [69.5, -69.5, 1.0])
def test_the_season_says_that_it_is_not_known_and_the_rest_is_printed(latitude: float) -> None:
    built = build(moved(latitude, date(2026, 7, 11)), TABLES)
    page = built.briefing
    assert page.season[0].refused.startswith("The season is not known here")
    assert page.season[0].headline == page.season[0].refused
    assert page.hours.rows
    assert page.day.told()
    for text in (to_text(page), to_html(page)):
        assert "season is not known here" in " ".join(text.split())


@settings(max_examples=8, deadline=None)
@given(latitude=st.floats(-84.0, 84.0), day=st.dates(date(2026, 1, 1), date(2026, 12, 31)))
def test_no_place_and_no_day_is_without_a_page(latitude: float, day: date) -> None:
    page = build(moved(latitude, day), TABLES).briefing
    assert page.hours.rows
    assert all(section.headline for section in page.season)
