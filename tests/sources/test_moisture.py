"""Air, dew point and humidity of one body that contradict each other never call heat off, and are told."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.wind.heat import heat_index_c, humidity_from_dewpoint_pct
from briefing.sources.bodies import plausible_limits
from briefing.sources.nws import parse_grid
from briefing.sources.nws_text import parse_hourly
from briefing.sources.open_meteo import parse_hours
from briefing.sources.result import ParsedHours
from tests.replay import answer, composed_open_meteo
from tests.sources.test_gather import GEO, NOW, grid_body, own_request, own_routes, run

LIMITS = plausible_limits()
PLACE = (45.0, -93.0)
NIGHT = datetime(2026, 7, 1, tzinfo=UTC)
SPAN = f"{NIGHT.isoformat()}/PT4H"


def moist(air_c: float, dew_c: float) -> float:
    return float(humidity_from_dewpoint_pct(air_c, dew_c))


def grid(air: float, dew: float | None, humid: float | None, unit: str = "wmoUnit:degC") -> ParsedHours:
    layers = {
        "temperature": (unit, air),
        "dewpoint": ("wmoUnit:degC", dew),
        "relativeHumidity": ("unit:percent", humid),
    }
    body = {
        "updateTime": NIGHT.isoformat(),
        **{key: {"uom": uom, "values": [{"validTime": SPAN, "value": value}]} for key, (uom, value) in layers.items()},
    }
    return parse_grid(json.dumps({"properties": body}), NIGHT, LIMITS)


def model(air: float, dew: float | None, humid: float | None) -> ParsedHours:
    body = composed_open_meteo(PLACE, NIGHT, (0, 1))
    for name, value in (("temperature_2m", air), ("dew_point_2m", dew), ("relative_humidity_2m", humid)):
        body["hourly"][name] = [value] * 4 + [None] * 20
    return parse_hours(json.dumps(body), NIGHT, PLACE, timedelta(hours=6), LIMITS)


def words(air: float, dew: float | None, humid: float | None) -> ParsedHours:
    periods = [
        {
            "startTime": (NIGHT + timedelta(hours=hour)).isoformat(),
            "endTime": (NIGHT + timedelta(hours=hour + 1)).isoformat(),
            "temperature": air,
            "temperatureUnit": "C",
            "dewpoint": {"unitCode": "wmoUnit:degC", "value": dew},
            "relativeHumidity": {"unitCode": "wmoUnit:percent", "value": humid},
        }
        for hour in range(4)
    ]
    body = {"properties": {"updateTime": NIGHT.isoformat(), "periods": periods}}
    return parse_hourly(json.dumps(body), NIGHT, LIMITS)


def heat(found: ParsedHours) -> float:
    """Heat index in C of the first hour as the program would work it out, NaN where it is not known."""
    assert found.series is not None
    air, dew, humid = (float(found.series.values(name)[0]) for name in ("air_c", "dewpoint_c", "humidity_pct"))
    return float(heat_index_c(air, humid if humid == humid else moist(air, dew)))


BODIES = [grid, model, words]


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize(
    ("air", "dew", "humid", "least"),
    [
        (44.0, 31.0, 0.0, 50.0),  # the humidity is wrong
        (44.0, 31.0, 0.51, 50.0),  # a fraction
        (44.0, 31.0, 20.0, 50.0),
        (36.0, 20.0, 90.0, 50.0),  # the humidity is the worse reading already
        (6.7, 31.0, 51.0, None),  # the air is wrong: a dew point is never above it
        (22.0, 20.0, 31.0, None),  # air of 40 C belongs to the other two
        (30.0, 20.0, 25.0, None),
    ],
)
def test_a_contradiction_is_told_and_heat_is_the_worse_or_not_known(
    body: object, air: float, dew: float, humid: float, least: float | None
) -> None:
    found = body(air, dew, humid)  # type: ignore[operator]
    (told,) = found.heat_doubts
    assert "contradict each other, in 4 of its hours" in told
    assert found.series is not None
    if least is None:
        assert np.isnan(heat(found))
        assert found.series["air_c"].damaged[:4].all()
    else:
        assert heat(found) >= least
        assert not found.series["air_c"].damaged.any()


@pytest.mark.parametrize("body", BODIES)
@given(air=st.floats(-25.0, 45.0), spread=st.floats(0.0, 30.0), off=st.floats(-15.0, 15.0), rise=st.floats(0.0, 1.4))
@settings(max_examples=40, deadline=None)
def test_what_agrees_within_rounding_is_left_as_it_is(
    body: object, air: float, spread: float, off: float, rise: float
) -> None:
    dew = air - spread + (rise if spread == 0.0 else 0.0)
    humid = min(100.0, max(0.0, moist(air, min(air, dew)) + off))
    found = body(air, dew, humid)  # type: ignore[operator]
    assert found.heat_doubts == ()
    assert found.series is not None
    assert found.series.values("humidity_pct")[0] == pytest.approx(humid)
    assert found.series.values("air_c")[0] == pytest.approx(air)


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize("values", [(35.0, None, None), (35.0, 25.0, None), (35.0, None, 3.0), (-20.0, -15.0, 30.0)])
def test_one_alone_and_the_cold_contradict_nothing(body: object, values: tuple[float, float, float]) -> None:
    assert body(*values).heat_doubts == ()  # type: ignore[operator]


@settings(max_examples=100, deadline=None)
@given(
    air=st.floats(20.0, 46.0), spread=st.floats(0.5, 25.0), wrong=st.sampled_from(["air", "dew", "humid"]),
    value=st.floats(0.0, 100.0),
)  # fmt: skip
def test_one_wrong_value_never_makes_it_cooler_unsaid(air: float, spread: float, wrong: str, value: float) -> None:
    """Where nothing is said, what is left differs from the truth by no more than the tolerance makes up."""
    dew = min(air - spread, 35.0)  # the moistest air ever measured
    truth = {"air": air, "dew": dew, "humid": moist(air, dew)}
    sent = {**truth, wrong: value * 0.5 - 5.0 if wrong != "humid" else value}
    found = grid(sent["air"], sent["dew"], sent["humid"])
    if found.heat_doubts or not -60.0 <= sent["air"] <= 60.0:
        return
    off = abs(sent["humid"] - moist(sent["air"], sent["dew"]))
    assert off <= 25.0 + 1e-6
    assert sent["dew"] <= sent["air"] + 1.5 + 1e-6


def test_a_gathering_tells_it_at_the_top() -> None:
    span = f"{(NOW - timedelta(hours=8)).replace(minute=0).isoformat()}/P9D"
    layers = {
        "temperature": {"uom": "wmoUnit:degF", "values": [{"validTime": span, "value": 44}]},
        "dewpoint": {"uom": "wmoUnit:degC", "values": [{"validTime": span, "value": 31}]},
        "relativeHumidity": {"uom": "wmoUnit:percent", "values": [{"validTime": span, "value": 51}]},
    }
    body = grid_body(NOW - timedelta(hours=2), **layers)
    found = run(own_routes() | {"/nws/gridpoints/ZZZ/1,2": answer(body, kind=GEO)}, own_request())
    (told,) = [one for one in found.problems if "contradict each other" in one.missing]
    assert told.serious
    assert found.hours["air_c"].damaged[found.hours.index_of(NOW)]
