from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from briefing.errors import InputError
from briefing.pipeline.conditions_file import read_conditions

ZONE = ZoneInfo("America/New_York")
DAY = date(2026, 3, 21)


def whole() -> dict[str, Any]:
    return {
        "read_at": "2026-03-21T04:30-04:00",
        "hours": [
            {"from": "05:00", "to": "09:00", "wind": "8 mph", "gust": "12 mph", "direction": "SE", "thunder": 10},
            {"from": "09:00", "to": "12:00", "wind": "14 mph", "air": "61F", "cloud": 80},
        ],
        "alerts": {"read_at": "2026-03-21T04:40-04:00", "events": ["Wind Advisory"], "until": "2026-03-21T18:00-04:00"},
    }


def read(data: dict[str, Any]) -> Any:
    return read_conditions(data, "ramp.toml", DAY, ZONE, "us")


def test_hours_carry_the_values_typed_and_nothing_else() -> None:
    entered = read(whole())
    wind = entered.hours.values("wind_mps")
    at = entered.hours.index_of(datetime(2026, 3, 21, 9, tzinfo=UTC))  # 05:00 on the clock
    assert wind[at] == pytest.approx(8 * 0.44704)
    assert wind[at + 4] == pytest.approx(14 * 0.44704)
    assert np.isnan(wind[at - 1])
    assert np.isnan(wind[at + 7])
    gust = entered.hours.values("gust_mps")
    assert np.isnan(gust[at + 4]), "a gust that was not typed is missing, not zero"
    assert entered.hours["wind_mps"].origins[0].kind == "entered"
    assert entered.hours.values("wind_from_deg")[at] == 135.0


def test_alerts_read_by_the_user_become_a_feed() -> None:
    feed = read(whole()).alerts
    assert feed.entered
    assert feed.alerts[0].event == "Wind Advisory"
    assert feed.alerts[0].ends == datetime(2026, 3, 21, 22, tzinfo=UTC)
    empty = whole()
    empty["alerts"]["events"] = []
    assert read(empty).alerts.alerts == ()
    del empty["alerts"]
    assert read(empty).alerts is None


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda d: d.update(hours=[]), "no [[hours]]"),
        (lambda d: d.update(wind="8 mph"), "unknown entry 'wind'"),
        (lambda d: d.pop("read_at"), "read_at"),
        (lambda d: d["hours"][0].update(wind="very strong"), "hours 1, wind"),
        (lambda d: d["hours"][1].update(thunder=140), "unknown field"),
        (lambda d: d["hours"][0].update(thunder=140), "0 to 100"),
        (lambda d: d["hours"][0].update(direction="up"), "direction"),
        (lambda d: d["hours"][0].update({"from": "25:99"}), "from"),
        (lambda d: d["alerts"].update(events="Wind Advisory"), "events"),
    ],
)
def test_bad_input_is_one_sentence_with_file_field_and_what_is_accepted(change: Any, words: str) -> None:
    data = whole()
    change(data)
    if words == "unknown field":
        data["hours"][1]["storm"] = 3
    with pytest.raises(InputError) as caught:
        read(data)
    message = str(caught.value)
    assert message.startswith("ramp.toml")
    assert words in message
    assert "\n" not in message


def test_hours_past_midnight_stay_in_order() -> None:
    data = whole()
    data["hours"] = [{"from": "22:00", "to": "24:00", "wind": "5 mph"}]
    entered = read(data)
    at = entered.hours.index_of(datetime(2026, 3, 22, 3, tzinfo=UTC))  # 23:00 on the clock
    assert np.isfinite(entered.hours.values("wind_mps")[at])
