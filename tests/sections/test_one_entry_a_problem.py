"""What comes with one wind is one entry with one thing to do; each number stands with its hour and its limit."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from briefing.core.wind.level import Factor, HourLevel
from briefing.sections.cautions import Caution, fill_caution_items, more_text
from briefing.vocabulary import Level

ZONE, DAY = ZoneInfo("America/Chicago"), date(2026, 4, 18)
SIX = datetime(2026, 4, 18, 11, tzinfo=UTC)  # 06:00 on the clock
HOUR = timedelta(hours=1)
CAUTION, UNKNOWN, STOP = Level.CAUTION, Level.UNKNOWN, Level.STOP
ACTIONS = {
    "sustained_wind": {"title": "Wind", "stop": "Be off the water before it starts."},
    "gust": {"title": "Gusts", "stop": "Be off the water before they start.", "caution": "Sit low."},
    "waves": {"title": "Waves", "caution": "Keep to the bank."},
    "cold_water": {"title": "Cold water", "caution": "Dress for it.", "unknown": "Take the coldest."},
}


def factor(name: str, level: Level, number: float = 12.0) -> Factor:
    return Factor(name, level, number, 10.0, "m/s", "made", f"{name.capitalize()} {number:g} {level.value}.")


def entries(*hours: tuple[Factor, ...]) -> tuple[Caution, ...]:
    levels = [
        HourLevel(SIX + n * HOUR, max((one.level for one in found), key=lambda one: one.rank), found)
        for n, found in enumerate(hours)
    ]
    shown, rest = fill_caution_items(levels, SIX, SIX + len(hours) * HOUR, ACTIONS, zone=ZONE, day=DAY)
    assert more_text(rest) == ""
    return shown


def test_wind_gusts_and_waves_are_one_entry_led_by_the_first_to_cross() -> None:
    (found,) = entries(
        (factor("gust", CAUTION), factor("waves", CAUTION, 11.0)),
        (factor("gust", STOP, 24.0), factor("waves", CAUTION, 11.5)),
        (factor("gust", STOP, 30.0), factor("sustained_wind", STOP, 17.0)),
    )
    assert (found.level, found.name, found.factors) == (STOP, "gust", ("gust", "sustained_wind", "waves"))
    assert found.title == "Gusts, wind and waves"
    assert found.when == "07:00 to 09:00 (caution from 06:00)"
    assert found.text == "Gust 24 stop. From 08:00 sustained_wind 17 stop. Waves 11 caution."
    assert found.action == "Be off the water before they start."
    assert found.number == 30.0  # for programs the worst hour


def test_what_is_not_known_is_told_beside_a_stop() -> None:
    (found,) = entries((factor("waves", UNKNOWN),), (factor("gust", STOP), factor("waves", UNKNOWN)))
    assert found.level is STOP
    assert found.when == "07:00 to 08:00; not known 06:00 to 07:00"
    assert "Waves 12 unknown." in found.text


def test_one_factor_at_two_levels_is_one_entry() -> None:
    (found,) = entries((factor("cold_water", UNKNOWN),), (factor("cold_water", CAUTION),))
    assert (found.level, found.factors) == (UNKNOWN, ("cold_water",))
    assert found.when == "06:00 to 07:00; caution 07:00 to 08:00"
    assert found.text == "Cold_water 12 unknown. Cold_water 12 caution."


def test_other_problems_stay_apart() -> None:
    found = entries((factor("gust", STOP), factor("cold_water", CAUTION)))
    assert [one.name for one in found] == ["gust", "cold_water"]


@pytest.mark.parametrize("level", [STOP, UNKNOWN, CAUTION])
def test_hours_that_are_over_are_not_told(level: Level) -> None:
    levels = [HourLevel(SIX + n * HOUR, level, (factor("gust", level, 20.0 - n),)) for n in range(3)]
    now = SIX + HOUR + timedelta(minutes=30)
    (found,), _ = fill_caution_items(levels, now, SIX + 3 * HOUR, ACTIONS, zone=ZONE, day=DAY)
    assert found.when == "07:30 to 09:00"
    assert found.text.startswith("Gust 19")
