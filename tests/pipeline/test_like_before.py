"""The page tells of the log's morning most like this one, and keeps silent where there is none."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from briefing.core.log.records import Condition, Fish, Segment
from briefing.pipeline.build import build
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.tables import load_tables
from briefing.report.render import to_text
from tests.scenarios import SCENARIOS, inputs_of


def _morning() -> MorningInputs:
    return inputs_of(SCENARIOS["north_summer_calm"])


def _segment(
    inputs: MorningInputs, days: int, lure: str, fish: int, water_c: float = 24.0, wind: float = 1.5
) -> Segment:
    start = datetime.combine(inputs.day - timedelta(days=days), datetime.min.time(), tzinfo=inputs.profile.zone)
    start += timedelta(hours=6)
    conditions = {
        name: Condition(value, "observed", "log")
        for name, value in {"water_c": water_c, "wind_mps": wind, "secchi_m": 3.4, "cloud_pct": 10.0}.items()
    }
    return Segment(
        outing=days, start=start, end=start + timedelta(hours=2), minutes=120.0, effort="clocked",
        spot=inputs.profile.spots[0].name, cover=None, depth_m=None, presentation=lure, weight_g=None,
        fish=tuple(Fish() for _ in range(fish)), contacts=0, follows=0, marks=(days,), planned=None, prior=None,
        conditions=conditions,
    )  # fmt: skip


def _told(inputs: MorningInputs, *segments: Segment) -> str:
    kept = replace(inputs.kept, segments=segments)
    made = build(replace(inputs, kept=kept), load_tables()).briefing
    line = next((one for one in made.plan.notes if one.startswith("Your log: ")), "")
    assert not line or line in " ".join(to_text(made).split())
    return line


def test_the_nearest_morning_is_told_with_what_it_brought_and_what_it_did_not() -> None:
    inputs = _morning()
    line = _told(
        inputs,
        _segment(inputs, 364, "wacky_rig", 5),
        _segment(inputs, 364, "hollow_body_frog", 0),
        _segment(inputs, 20, "spinnerbait", 9, water_c=14.0, wind=9.0),
        _segment(inputs, 30, "spinnerbait", 1, water_c=15.0, wind=9.0),
    )
    day = inputs.day - timedelta(days=364)
    assert f"{day.day} {day:%B} {day.year}" in line
    assert "five on the wacky-rigged stick worm at" in line
    assert "nothing on the hollow-body frog" in line
    assert len(line.split()) <= 25


@pytest.mark.parametrize("far", [True, False])
def test_without_enough_or_near_mornings_nothing_is_told(far: bool) -> None:
    inputs = _morning()
    days = (100, 120, 140) if far else (364, 365)
    strange = {"water_c": 9.0, "wind": 11.0} if far else {}
    assert _told(inputs, *(_segment(inputs, day, "wacky_rig", 2, **strange) for day in days)) == ""
