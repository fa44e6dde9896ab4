import re
from dataclasses import replace
from datetime import date

import pytest

from briefing import knowledge
from briefing.core.wind.cautions import CautionFacts, CautionTable, usual_cautions
from briefing.resources import read_toml
from briefing.vocabulary import Craft

TABLE = knowledge.load_cautions()
QUIET = CautionFacts(Craft.KAYAK, date(2026, 6, 3), water_low_c=25.0, heat_index_max_c=20.0, uv_index_max=2.0)


def ids(facts: CautionFacts) -> set[str]:
    return {one.id for one in usual_cautions(TABLE, facts)}


def test_every_caution_has_an_official_source_and_the_reminder() -> None:
    everything = replace(
        QUIET, water_low_c=None, heat_index_max_c=None, in_dark=True, fog=True, alone=True, thunder=True
    )
    for one in usual_cautions(TABLE, everything):
        assert one.source
        assert one.check == "Check your local rules."


def test_a_quiet_day_keeps_only_what_always_holds() -> None:
    assert ids(QUIET) == {"life_jacket", "life_jacket_child", "if_you_go_in_paddled"}


@pytest.mark.parametrize(
    ("change", "id_"),
    [
        ({"water_low_c": 15.0}, "cold_water"),
        ({"water_low_c": None}, "cold_water"),
        ({"water_low_c": 18.0}, "cool_water"),
        ({"heat_index_max_c": 33.0}, "heat"),
        ({"heat_index_max_c": None}, "heat"),
        ({"uv_index_max": 7.0}, "sun"),
        ({"fog": True}, "fog"),
        ({"in_dark": True}, "lights_paddle"),
        ({"in_dark": True, "craft": Craft.JON_BOAT}, "lights_power"),
        ({"craft": Craft.BASS_BOAT}, "engine_cut_off"),
        ({"dam": True}, "low_head_dam"),
        ({"tailwater": True}, "tailwater"),
        ({"thunder": True}, "lightning"),
        ({"alone": True}, "alone"),
        ({"alone": True, "water_low_c": 4.0}, "alone_in_the_cold"),
        ({"moving_water": True}, "river_dams"),
        ({"weekend": True}, "wakes"),
        ({"craft": Craft.BASS_BOAT}, "if_you_go_in_powered"),
        ({"state": "ny", "day": date(2026, 1, 10)}, "life_jacket_season"),
    ],
)
def test_what_applies_is_chosen(change, id_) -> None:
    assert id_ not in ids(QUIET)
    assert id_ in ids(replace(QUIET, **change))


def test_season_rules_end_in_summer_and_most_important_comes_first() -> None:
    assert "life_jacket_season" not in ids(replace(QUIET, state="NY", day=date(2026, 7, 1)))
    ranks = [one.rank for one in usual_cautions(TABLE, replace(QUIET, fog=True, alone=True))]
    assert ranks == sorted(ranks)


@pytest.mark.parametrize(
    ("change", "id_"),
    [
        ({"alone": True}, "life_jacket_child"),
        ({"craft": Craft.JON_BOAT}, "if_you_go_in_paddled"),
        ({"moving_water": True, "dam": True}, "river_dams"),
        ({"weekend": True, "day": date(2026, 11, 7)}, "wakes"),
        ({"weekend": True, "craft": Craft.BASS_BOAT}, "wakes"),
        ({"alone": True, "water_low_c": 4.0}, "alone"),
    ],
)
def test_what_does_not_fit_is_left_out(change, id_) -> None:
    assert id_ not in ids(replace(QUIET, **change))


def test_under_power_link_and_ladder_come_right_after_the_life_jacket() -> None:
    first = [one.id for one in usual_cautions(TABLE, replace(QUIET, craft=Craft.BASS_BOAT, alone=True))]
    assert first[:3] == ["life_jacket", "engine_cut_off", "if_you_go_in_powered"]


@pytest.mark.parametrize("craft", list(Craft))
@pytest.mark.parametrize("country", ["", "ES", "NZ"])
def test_the_law_of_one_country_is_not_told_in_another(craft: Craft, country: str) -> None:
    everything = replace(QUIET, craft=craft, country=country, water_low_c=None, in_dark=True, fog=True, alone=False)
    for one in usual_cautions(TABLE, everything):
        assert not re.search(r"federal|state law|the law|CFR|USC|Inland Navigation", f"{one.text} {one.source}"), one.id
    here = usual_cautions(TABLE, replace(everything, country="US"))
    assert any("federal rule" in one.text for one in here)
    assert [one.id for one in here] == [one.id for one in usual_cautions(TABLE, everything)]


@pytest.mark.parametrize(
    ("south", "month", "warm"), [(False, 7, True), (False, 1, False), (True, 1, True), (True, 7, False)]
)
def test_the_warm_months_are_those_of_the_hemisphere(south: bool, month: int, warm: bool) -> None:
    found = ids(replace(QUIET, day=date(2026, month, 18), uv_index_max=None, weekend=True, south=south))
    assert ({"sun", "wakes"} <= found) is warm


def test_an_unknown_condition_is_refused() -> None:
    entry = {"id": "x", "title": "x", "text": "x", "source": "x", "rank": 1, "any_of": [{"full_moon": True}]}
    with pytest.raises(ValueError, match="full_moon"):
        CautionTable.from_mapping({**read_toml("cautions.toml"), "caution": [entry]})
