"""One wind and one sea a morning: what is judged, what the table shows and what the plan goes by agree."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from briefing.core.readings import WindReading
from briefing.pipeline import hazard
from briefing.pipeline.build import Built, build
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.tables import load_tables
from tests.scenarios import SCENARIOS, inputs_of

TABLES = load_tables()


def measured(inputs: MorningInputs, wind_mps: float, gust_mps: float | None) -> MorningInputs:
    at = max(inputs.now, inputs.outing.launch - timedelta(minutes=60))
    reading = WindReading(inputs.now, wind_mps, gust_mps, 200.0, "metar", "Airfield KZZZ", 9.0)
    return replace(inputs, now=at, gathered=replace(inputs.gathered, wind_now=(replace(reading, time=at),)))


def morning(name: str, wind_mps: float, gust_mps: float | None, factor: float, patch: pytest.MonkeyPatch) -> Built:
    def raised(*_: object) -> np.ndarray:
        return np.full(_[-1].hours, factor)

    patch.setattr(hazard, "raised", raised)
    return build(measured(inputs_of(SCENARIOS[name]), wind_mps, gust_mps), TABLES)


@pytest.mark.parametrize("factor", [1.0, 1.4])
def test_the_row_beside_a_caution_shows_the_gust_that_was_measured(factor: float, monkeypatch) -> None:
    built = morning("north_summer_calm", 8.0, 13.0, factor, monkeypatch)
    rows = {row.hour: row for row in built.briefing.hours.rows}
    for level in built.hazards.levels:
        row = rows.get(level.hour)
        for factor_ in level.factors:
            if row is None or factor_.name not in ("gust", "sustained_wind") or factor_.number is None:
                continue
            shown = row.gust_mps if factor_.name == "gust" else row.wind_mps
            assert shown == pytest.approx(factor_.shown, abs=0.01)
            assert shown <= factor_.number + 0.01
    first = min(rows)
    assert rows[first].gust_mps >= 13.0
    assert rows[first].wind_mps >= 8.0


@pytest.mark.parametrize("name", ["north_summer_calm", "south_early_spring_front_coming"])
@pytest.mark.parametrize("factor", [1.0, 1.3])
def test_the_waves_printed_are_those_that_are_judged(name: str, factor: float, monkeypatch) -> None:
    built = morning(name, 9.0, 13.0, factor, monkeypatch)
    ranges = built.hazards.wave_ranges()
    checked = 0
    for level in built.hazards.levels:
        waves = next(one for one in level.factors if one.name == "waves")
        if waves.number is not None and level.hour in ranges:
            assert ranges[level.hour][1] == pytest.approx(waves.number)
            checked += 1
    assert checked >= 5
