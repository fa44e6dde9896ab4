import dataclasses

import numpy as np
import pytest

from briefing import knowledge
from briefing.core.wind.heat import heat_index_c, humidity_from_dewpoint_pct, wind_chill_c
from briefing.core.wind.limits import LIMIT_FIELDS, OwnLimits, cold_band, cold_factor, limits_for
from briefing.core.wind.rules import SafetyRules
from briefing.resources import read_toml
from briefing.vocabulary import Craft, Skill

TABLE = knowledge.load_limits()


def chosen(craft=Craft.KAYAK, skill=Skill.EXPERIENCED, *, alone=False, practised=True, own=None):
    return limits_for(TABLE, craft, skill, alone=alone, reentry_practised=practised, own=own)


@pytest.mark.parametrize(
    ("skill", "alone", "practised", "stop"),
    [
        (Skill.EXPERIENCED, False, True, 8.0),
        (Skill.NOVICE, False, True, 5.4),
        (Skill.EXPERIENCED, True, True, 5.4),
        (Skill.EXPERIENCED, False, False, 5.4),
    ],
)
def test_row_in_use_is_named(skill, alone, practised, stop) -> None:
    row = chosen(skill=skill, alone=alone, practised=practised)
    assert row.sustained_stop_mps == stop
    assert ("novice" in row.row) == (stop == 5.4)
    assert row.why


def test_alone_matters_to_paddlers_only() -> None:
    assert "experienced" in chosen(Craft.BASS_BOAT, alone=True).row
    assert "novice" in chosen(Craft.CANOE, alone=True).row


@pytest.mark.parametrize("craft", list(Craft))
def test_experienced_row_is_never_tighter_and_cautions_lie_below_stops(craft) -> None:
    novice, skilled = TABLE.rows[craft, Skill.NOVICE], TABLE.rows[craft, Skill.EXPERIENCED]
    for name in LIMIT_FIELDS:
        assert getattr(novice, name) <= getattr(skilled, name)
    assert skilled.gust_stop_mps > skilled.sustained_stop_mps


def test_own_limits_count_only_when_tighter_until_both_rows_were_shown() -> None:
    looser = OwnLimits(sustained_stop_mps=12.0, gust_stop_mps=6.0, gust_caution_mps=5.0)
    before = chosen(own=looser)
    assert before.sustained_stop_mps == 8.0
    assert before.gust_stop_mps == 6.0
    after = chosen(own=dataclasses.replace(looser, shown_both_rows=True))
    assert after.sustained_stop_mps == 12.0
    assert after.own
    assert "your own" in after.row


def test_an_own_stop_below_the_caution_pulls_the_caution_down() -> None:
    row = chosen(own=OwnLimits(waves_stop_m=0.2, shown_both_rows=True))
    assert row.waves_caution_m == row.waves_stop_m == 0.2


def test_impossible_limits_are_refused() -> None:
    with pytest.raises(ValueError, match="above its stop"):
        chosen(own=OwnLimits(waves_caution_m=0.6, shown_both_rows=True))
    with pytest.raises(ValueError, match="above zero"):
        chosen(own=OwnLimits(waves_stop_m=float("nan"), shown_both_rows=True))


@pytest.mark.parametrize(
    ("fahrenheit", "factor"), [(75, 1.0), (70.1, 1.0), (65, 0.9), (55, 0.75), (49, 0.6), (33, 0.6)]
)
def test_cold_water_scales_by_water_temperature_alone(fahrenheit, factor) -> None:
    assert cold_factor(TABLE, (fahrenheit - 32) / 1.8, immersion_clothing=False) == factor
    assert cold_factor(TABLE, (fahrenheit - 32) / 1.8, immersion_clothing=True) == 1.0


def test_unknown_water_is_taken_as_very_cold() -> None:
    assert cold_band(TABLE, float("nan")).name == "very cold"


def test_missing_threshold_is_an_error_not_a_default() -> None:
    broken = {name: dict(part) if isinstance(part, dict) else part for name, part in read_toml("limits.toml").items()}
    del broken["thunder"]["stop_pct"]
    with pytest.raises(KeyError, match="stop_pct"):
        SafetyRules.from_mapping(broken)


@pytest.mark.parametrize(
    ("t", "r", "index"), [(96, 65, 121), (90, 70, 106), (88, 75, 103), (100, 40, 109), (86, 90, 105)]
)
def test_heat_index_table_of_the_weather_service(t, r, index) -> None:
    # National Weather Service heat index table.
    assert float(heat_index_c((t - 32) / 1.8, r)) * 1.8 + 32 == pytest.approx(index, abs=0.6)


def test_humidity_from_dew_point() -> None:
    assert float(humidity_from_dewpoint_pct(20.0, 20.0)) == pytest.approx(100.0)
    assert float(humidity_from_dewpoint_pct(30.0, 20.0)) == pytest.approx(55.1, abs=0.5)
    assert np.isnan(heat_index_c(np.nan, 50.0))


@pytest.mark.parametrize(("air_f", "mph", "chill_f"), [(0.0, 15.0, -19), (30.0, 25.0, 16), (40.0, 5.0, 36)])
def test_wind_chill_gives_the_table_of_the_weather_service(air_f: float, mph: float, chill_f: int) -> None:
    found = wind_chill_c((air_f - 32.0) / 1.8, mph * 0.44704) * 1.8 + 32.0
    assert found == pytest.approx(chill_f, abs=0.5)


@pytest.mark.parametrize(("air_c", "mps"), [(15.0, 10.0), (-5.0, 1.0)])
def test_wind_chill_is_the_air_itself_where_the_formula_does_not_hold(air_c: float, mps: float) -> None:
    assert wind_chill_c(air_c, mps) == air_c
