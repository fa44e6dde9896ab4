"""What of the inputs was refused, does not count or was not given is told where the reader looks first."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from briefing.core.gathered import Problem
from briefing.core.readings import WaterReading, WindReading
from briefing.pipeline import build as stage
from briefing.pipeline.build import build
from briefing.pipeline.fish import water_of
from briefing.pipeline.hazard import judge
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.say_trust import doubts_of
from briefing.pipeline.tables import load_tables
from briefing.report.render import to_text
from briefing.vocabulary import Level
from tests.mornings import without_hours
from tests.scenarios import SCENARIOS, inputs_of


def morning(**gathered: object) -> MorningInputs:
    inputs = inputs_of(SCENARIOS["north_summer_calm"])
    entered = replace(inputs.entered, water=())
    return replace(inputs, gathered=replace(inputs.gathered, **gathered), entered=entered)


def briefing_of(inputs: MorningInputs):
    return build(inputs, load_tables()).briefing


def gauge(inputs: MorningInputs, kind: str, value: float = 9.0, days: float = 0.1) -> WaterReading:
    at = inputs.now - timedelta(days=days)
    return WaterReading("g", at, value, kind=kind, source="usgs", name="USGS 1 (below a dam)")


def test_serious_problems_stand_before_the_cautions_and_in_the_glance_and_others_do_not() -> None:
    serious = Problem("open_meteo", "A model: 54 h old, not used.", "Hours may be unknown.", serious=True)
    plain = Problem("usgs", "A gauge: nothing there.", "The estimate stands alone.")
    briefing = briefing_of(morning(problems=(plain, serious)))
    text = to_text(briefing)
    cautions = " ".join(text[text.index("CAUTIONS") : text.index("RODS")].split())
    assert cautions.startswith("CAUTIONS A model: 54 h old, not used. Hours may be unknown.")
    assert "A gauge" not in cautions
    assert briefing.glance.lines[-1].text.startswith("part of the second forecast")


@pytest.mark.parametrize("count", range(10))
def test_at_most_six_are_told_in_full_and_the_rest_is_counted(count: int) -> None:
    problems = [Problem("x", f"Loss {number}.", "Unknown.", serious=True) for number in range(count)]
    lines = doubts_of([*problems, *problems, Problem("nws_alerts", "No warnings.", "Unknown.", serious=True)], "us")
    assert len(lines) == (count if count <= 6 else 7)
    assert (f"And {count - 6} more" in lines[-1]) if count > 6 else all("Loss" in line for line in lines)


def test_zero_gusts_draw_a_caution_and_are_told_as_estimated() -> None:
    inputs = morning()
    hours = inputs.gathered.hours
    wind = replace(hours["wind_mps"], values=np.full(hours.hours, 4.0))
    gust = replace(hours["gust_mps"], values=np.zeros(hours.hours))
    blown = morning(hours=replace(hours, fields={**hours.fields, "wind_mps": wind, "gust_mps": gust}))
    briefing = briefing_of(blown)
    assert all(row.gust_estimated and row.gust_mps == pytest.approx(6.0, abs=0.3) for row in briefing.hours.rows)
    assert all(row.level.rank >= Level.CAUTION.rank for row in briefing.hours.rows)
    assert any(item.what.startswith("Gust: only estimated") for item in briefing.unknown.items)


def test_a_gust_alone_is_no_wind_now() -> None:
    inputs = morning()
    gust = WindReading(inputs.now, None, 9.0, None, "nws_station", "a station")
    briefing = briefing_of(morning(wind_now=(gust,)))
    assert any(item.what.startswith("Wind now:") for item in briefing.unknown.items)
    assert any(row.gave == "gust or visibility" for row in briefing.sources.rows)


@pytest.mark.parametrize("kind", ["tailwater", "river_gauge", "unplaced_gauge"])
def test_cold_water_below_a_dam_does_not_move_the_lake_and_is_told(kind: str) -> None:
    inputs = morning(water=())
    plain = briefing_of(inputs)
    beside = morning(water=(gauge(inputs, kind),))
    briefing = briefing_of(beside)
    assert briefing.water.temperature == plain.water.temperature
    (told,) = (item for item in briefing.unknown.items if "USGS 1 (below a dam): 9.0 C" in item.what)
    assert "allow_river_gauge" in told.means
    assert any(item.what.startswith("Water temperature: never measured") for item in briefing.unknown.items)
    stations = inputs.profile.stations.model_copy(update={"allow_river_gauge": True})
    allowed = replace(beside, profile=inputs.profile.model_copy(update={"stations": stations}))
    near = {one: gauge(inputs, one, 22.0) for one in (kind, "gauge")}  # near enough not to be taken for a wrong one
    moved, within = (
        briefing_of(replace(allowed, gathered=replace(allowed.gathered, water=(one,)))).water.temperature.value
        for one in near.values()
    )
    assert within < moved < plain.water.temperature.value


@pytest.mark.parametrize(("days", "moves"), [(0.1, True), (6, True), (8, False), (25, False)])
def test_a_gauge_of_over_a_week_ago_does_not_move_now(days: float, moves: bool) -> None:
    inputs = morning(water=())
    plain = briefing_of(inputs).water.temperature
    found = briefing_of(morning(water=(gauge(inputs, "gauge", 12.0, days),))).water.temperature
    assert (found != plain) is moves


def test_a_reading_that_the_water_model_cannot_believe_is_told_at_the_top() -> None:
    inputs = morning(water=())
    plain = briefing_of(inputs)
    assert not any("in doubt" in line for line in plain.head.doubts)
    found = briefing_of(morning(water=(gauge(inputs, "buoy", 33.0),)))
    (line,) = [line for line in found.head.doubts if "in doubt" in line]
    assert line.endswith("above the water model. Dress for the colder.")
    assert found.water.basis.startswith("Modelled, since the newest reading looks wrong")
    assert line in " ".join(to_text(found).split("RODS")[0].split())


def test_ice_of_the_water_model_is_the_first_thing_said(monkeypatch: pytest.MonkeyPatch) -> None:
    inputs = morning()
    plain = judge(inputs, load_tables(), water_of(inputs, load_tables()).series)
    monkeypatch.setattr(stage, "judge", lambda *_: replace(plain, iced=True))
    found = briefing_of(inputs)
    assert found.day.answer is Level.STOP
    assert found.day.why == "The water model has ice on the lake."
    assert found.day.condition == "Only on water that you have seen open and dressed for it"
    assert found.glance.word == "Stay ashore"


@pytest.mark.parametrize("minutes", [0, 90])
def test_an_outing_whose_hours_are_over_is_no_hours_within_the_limits(minutes: int) -> None:
    inputs = morning()
    off = briefing_of(inputs).day.off_water_by
    assert off is not None
    late = replace(inputs, now=off + timedelta(minutes=minutes), kept=replace(inputs.kept, earlier=None))
    day = briefing_of(late).day
    assert (day.answer, day.off, day.off_water_by) == (Level.STOP, None, None)
    assert day.hours_text == "No hours of this outing are left."
    assert "Within" not in day.word


def test_hours_that_were_never_known_are_not_called_over() -> None:
    inputs = without_hours(morning())
    late = replace(inputs, now=inputs.outing.launch)
    glance = build(late, load_tables()).briefing.glance
    assert glance.level is Level.UNKNOWN
    assert "No hours of this outing are left." not in glance.level_lines()
