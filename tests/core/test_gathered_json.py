"""Stored inputs come back as they were."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.alerts import Alert, AlertFeed
from briefing.core.gathered import Gathered, Problem, RequestRecord, SourceMemory
from briefing.core.gathered_json import from_json, to_json
from briefing.core.hours import HourField, HourSeries, Origin
from briefing.core.readings import DailyAir, LevelReading, WaterReading, WindReading

NOW = datetime(2026, 5, 1, 12, 5, 7, 123456, tzinfo=UTC)
ORIGINS = (Origin("a", "A", "forecast", NOW, None, 1.5, "so"), Origin("b", "B", "modelled"))


def sample(values: list[float], owner: list[int], hurt: list[bool]) -> Gathered:
    field = HourField(np.array(values), np.array(owner, np.int16), ORIGINS, np.array(hurt))
    series = HourSeries(NOW.replace(minute=0, second=0, microsecond=0), len(values), {"wind_mps": field})
    alert = Alert(
        "urn:1", "Gale Warning", "Actual", "Alert", "", "", "", NOW, None, NOW, NOW, None, "h", "d \u2028 é", "",
        "", "", ("urn:0",), (((-93.0, 45.0), (-92.5, 45.1), (-93.0, 45.0)),), ("GLW",),
    )  # fmt: skip
    return Gathered(
        hours=series,
        raw={"nws_grid": series},
        air=DailyAir(
            date(2026, 4, 30), np.array([1.5, np.nan]), ("modelled", "missing"), np.array([0, 1], np.int16), "x", "X"
        ),
        alerts=AlertFeed((alert,), NOW, "s", "n", problem="p", dropped=("t",), damaged=1),
        wind_now=(WindReading(NOW, 1 / 3, None, 270.0, "s", "n", 2.0),),
        water=(WaterReading("id", NOW, 12.1),),
        level=(LevelReading(NOW, None, -1, "s", "n"),),
        problems=(Problem("s", "m", "w", True),),
        credits=("c",),
        requests=(RequestRecord("s", "u", None, "o", 1, 2, True, 3),),
        retrieved_at=NOW,
        thunder_service_exists=False,
        memory=SourceMemory("/g", "/h", "/s", ("Z", "C"), True, NOW, None, NOW),
        notes=("n",),
    )


HOUR = st.tuples(st.one_of(st.floats(-1e6, 1e6), st.just(float("nan"))), st.sampled_from([-1, 0, 1]), st.booleans())


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.lists(HOUR, min_size=1, max_size=40))
def test_round_trip_is_lossless_and_deterministic(rows: list[tuple[float, int, bool]]) -> None:
    before = sample([row[0] for row in rows], [row[1] for row in rows], [row[2] for row in rows])
    text = to_json(before)
    after = from_json(text)
    assert to_json(after) == text
    for one, two in ((before.hours, after.hours), (before.raw["nws_grid"], after.raw["nws_grid"])):
        assert (one.start, one.hours) == (two.start, two.hours)
        np.testing.assert_array_equal(one.values("wind_mps"), two.values("wind_mps"))
        np.testing.assert_array_equal(one["wind_mps"].origin_index, two["wind_mps"].origin_index)
        np.testing.assert_array_equal(one["wind_mps"].damaged, two["wind_mps"].damaged)
        assert one["wind_mps"].origins == two["wind_mps"].origins
        assert two["wind_mps"].damaged.dtype == bool
    np.testing.assert_array_equal(before.air.mean_c, after.air.mean_c)
    for name in ("alerts", "wind_now", "water", "level", "problems", "credits", "requests", "retrieved_at", "memory"):
        assert getattr(before, name) == getattr(after, name)
    assert (after.thunder_service_exists, after.notes) == (False, ("n",))


def test_missing_is_null_and_no_other_token_appears() -> None:
    text = to_json(sample([float("nan"), 1.0], [-1, 0], [False, False]))
    assert '"values":[null,1.0]' in text
    assert "NaN" not in text
    json.loads(text, parse_constant=lambda token: pytest.fail(token))


@pytest.mark.parametrize(
    "text", ["", "{}", "[]", "null", '{"schema": 2}', '{"schema": 1}', '{"schema": 1, "hours": 5}']
)
def test_other_texts_are_refused(text: str) -> None:
    with pytest.raises(ValueError):
        from_json(text)
