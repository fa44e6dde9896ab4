"""A check of the wind before an outing: when its forecast counts as lost."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from briefing.core.water.engine import WaterResult
from briefing.core.wind.note import NoteKind
from briefing.pipeline import wind_check
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.tables import load_tables
from tests.scenarios import SCENARIOS, inputs_of, steady_water

TABLES = load_tables()


def issued(inputs: MorningInputs, at: datetime | None) -> MorningInputs:
    """The same morning with its wind forecast issued at another time, or at none that is stated."""
    hours = inputs.gathered.hours
    wind = hours["wind_mps"]
    field = replace(wind, origins=tuple(replace(one, issued=at) for one in wind.origins))
    hours = replace(hours, fields={**hours.fields, "wind_mps": field})
    return replace(inputs, gathered=replace(inputs.gathered, hours=hours))


@pytest.mark.parametrize(("age_h", "lost"), [(2.0, False), (9.0, False), (9.1, True), (None, True)])
def test_a_forecast_that_is_old_or_of_no_known_age_counts_as_lost(
    age_h: float | None, lost: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    inputs = inputs_of(SCENARIOS["north_summer_calm"])
    water = WaterResult(series=steady_water(inputs.day, main=22.0, pocket=23.0), learned=None, state=None, skill=())
    monkeypatch.setattr(wind_check, "water_of", lambda *_: water)
    inputs = issued(inputs, None if age_h is None else inputs.now - timedelta(hours=age_h))
    check = wind_check.check_wind(inputs, TABLES, (), (), "Check again.")
    assert check.decision.signature.data_lost is lost
    if lost:
        assert check.decision.kind is not NoteKind.NONE
        assert check.text is not None
        assert "A newer forecast could not be had." in check.text.body
