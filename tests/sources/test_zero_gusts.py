"""A gust of about zero beside a wind that blows was not given: in every source, and where two sources are mixed."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.gusts import GustRule
from briefing.core.hours import HourSeries, Origin, field_of
from briefing.sources.bodies import plausible_limits
from briefing.sources.gather import merge_hours
from briefing.sources.nws import parse_grid
from briefing.sources.open_meteo import parse_hours
from briefing.sources.tables import gust_rule
from tests.replay import answer, composed_open_meteo
from tests.sources.test_gather import GEO, NOW, grid_body, own_request, own_routes, run, said

LIMITS = plausible_limits()
PLACE = (45.0, -93.0)
NIGHT = datetime(2026, 7, 1, tzinfo=UTC)
#: Metres a second; the values at the edge of the rule and well on both sides of it.
WINDS = st.one_of(st.sampled_from([0.99, 1.0, 1.01, 2.0, 2.99, 3.0, 3.01, 8.0]), st.floats(0.0, 25.0))
GUSTS = st.one_of(st.sampled_from([0.0, -0.0, 0.099, 0.1]), st.floats(0.0, 30.0))


def series(source: str, hours: int = 4, **fields: float | list[float]) -> HourSeries:
    origin = Origin(source, source, "forecast", NIGHT, NIGHT)
    made = {
        name: field_of(np.broadcast_to(np.asarray(value, float), (hours,)).copy(), origin)
        for name, value in fields.items()
    }
    return HourSeries(NIGHT, hours, made)


def expected(gust: float, wind: float) -> float:
    """The gust that a source's own hour stands for in m/s, NaN where it gave none."""
    return np.nan if wind > 3.0 and gust < 0.25 * wind else max(gust, wind)


def impossible(gust: float, wind: float) -> bool:
    """Tell whether a gust is none beside the wind of its own hour, body and source."""
    return (wind > 3.0 and gust < 0.25 * wind) or (wind > 1.0 and gust < 0.1)


def own(gust: float, wind: float) -> float:
    """The gust that an hour of one body stands for in m/s, NaN where it gave none."""
    return np.nan if impossible(gust, wind) else max(gust, wind)


def doubted(gust: float, wind: float) -> bool:
    """Tell whether a gust that is none, or clearly below its wind, or a wind of about none beside it must be told."""
    below = impossible(gust, wind) or (wind > 3.0 and gust < wind - 0.5)
    return below or (gust >= 8.0 and wind < 0.1 * gust)


@settings(max_examples=100, deadline=None)
@given(wind=WINDS, gust=GUSTS)
def test_the_rule(wind: float, gust: float) -> None:
    rule = gust_rule()
    assert rule == GustRule(3.0, 0.25, 1.0, 0.1)
    assert bool(rule.not_given(gust, wind)) == (wind > 3.0 and gust < 0.25 * wind)
    empty = bool(rule.impossible(gust, wind))
    assert empty == impossible(gust, wind)
    assert rule.measured(gust, wind) == (None if empty else max(gust, wind))
    assert not rule.impossible(-1.0, wind)
    assert not rule.impossible(np.nan, wind)
    assert not rule.impossible(gust, np.nan)
    assert not rule.not_given(-1.0, wind)  # below zero is damage, which is worse than absence
    assert not rule.not_given(np.nan, wind)
    assert not rule.not_given(gust, np.nan)


@settings(max_examples=40, deadline=None)
@given(wind=WINDS, gust=GUSTS)
def test_of_the_grid(wind: float, gust: float) -> None:
    span = f"{NIGHT.isoformat()}/PT4H"
    layers = {"windSpeed": wind, "windGust": gust}
    body = {
        "updateTime": NIGHT.isoformat(),
        **{
            key: {"uom": "wmoUnit:m_s-1", "values": [{"validTime": span, "value": value}]}
            for key, value in layers.items()
        },
    }
    found = parse_grid(json.dumps({"properties": body}), NIGHT, LIMITS)
    assert found.series is not None
    assert found.series.values("gust_mps") == pytest.approx([own(gust, wind)] * 4, nan_ok=True)
    assert not found.series["gust_mps"].damaged.any()
    assert bool(found.doubts) == doubted(gust, wind)


@settings(max_examples=40, deadline=None)
@given(wind=WINDS, gust=GUSTS)
def test_of_the_model(wind: float, gust: float) -> None:
    body = composed_open_meteo(PLACE, NIGHT, (0, 1))
    body["hourly"] |= {"wind_speed_10m": [wind] * 24, "wind_gusts_10m": [gust] * 24}
    body["hourly_units"] = {**body["hourly_units"], "wind_speed_10m": "m/s", "wind_gusts_10m": "m/s"}
    found = parse_hours(json.dumps(body), NIGHT, PLACE, timedelta(hours=6), LIMITS)
    assert found.series is not None
    assert found.series.values("gust_mps")[:23] == pytest.approx([own(gust, wind)] * 23, nan_ok=True)
    assert bool(found.doubts) == doubted(gust, wind)


@settings(max_examples=60, deadline=None)
@given(wind=WINDS, gust=GUSTS, other=st.one_of(st.none(), st.floats(0.0, 30.0)))
def test_of_two_sources_mixed(wind: float, gust: float, other: float | None) -> None:
    """The grid has only gusts, the model has wind and perhaps gusts: what is no gust does not keep the model's out."""
    model = series("open_meteo", wind_mps=wind, gust_mps=np.nan if other is None else other)
    merged = merge_hours({"nws_grid": series("nws_grid", gust_mps=gust), "open_meteo": model}, NIGHT)
    at = merged.index_of(NIGHT)
    # a gust is none for another source's wind that it is below, nor does what stands in for it count below the wind
    want = np.nan if wind > 3.0 and gust < wind else expected(gust, wind)
    if np.isnan(want) and other is not None:
        want = np.nan if other < wind else expected(other, wind)
    assert merged.values("gust_mps")[at] == pytest.approx(want, nan_ok=True)
    origin = merged["gust_mps"].origin_at(at)
    assert (origin is None) == np.isnan(want)


@settings(max_examples=60, deadline=None)
@given(
    wind=st.floats(3.1, 25.0), gust=st.one_of(st.none(), st.just(0.0)), share=st.floats(0.0, 0.99), zero=st.booleans()
)
def test_a_gust_below_the_wind_of_another_source_is_none_for_it(
    wind: float, gust: float | None, share: float, zero: bool
) -> None:
    """The grid's wind has no gust; the model's own wind is light, and so is its gust, or it is 0."""
    light = share * wind
    grid = series("nws_grid", wind_mps=wind, gust_mps=np.nan if gust is None else gust)
    model = series("open_meteo", wind_mps=light, gust_mps=0.0 if zero else light)
    merged = merge_hours({"nws_grid": grid, "open_meteo": model}, NIGHT)
    assert np.isnan(merged.values("gust_mps")[merged.index_of(NIGHT)])


def test_single_hours_count_each_for_itself() -> None:
    merged = merge_hours(
        {"nws_grid": series("nws_grid", wind_mps=[2.0, 8.0, 8.0, 8.0], gust_mps=[0.0, 0.0, 12.0, 6.0])}, NIGHT
    )
    at = merged.index_of(NIGHT)
    assert merged.values("gust_mps")[at : at + 4] == pytest.approx([2.0, np.nan, 12.0, 8.0], nan_ok=True)


def test_a_gathering_says_it_at_the_top_and_takes_the_models_gust() -> None:
    routes = own_routes()
    calm = {"uom": "wmoUnit:km_h-1", "values": [{"validTime": f"{NOW.replace(minute=0).isoformat()}/P2D", "value": 0}]}
    routes["/nws/gridpoints/ZZZ/1,2"] = answer(grid_body(NOW - timedelta(hours=2), windGust=calm), kind=GEO)
    found = run(routes, own_request())
    assert "NWS grid: gusts of about 0 beside a wind that blows, in 48 of its hours" in said(found)
    assert all(problem.serious for problem in found.problems)
    here = found.hours.index_of(NOW)
    assert found.hours["gust_mps"].origin_at(here).source == "open_meteo"  # type: ignore[union-attr]
    assert found.hours.values("gust_mps")[here] >= found.hours.values("wind_mps")[here]


def test_zeros_of_all_sources_leave_no_gust() -> None:
    routes = own_routes()
    calm = {"uom": "wmoUnit:km_h-1", "values": [{"validTime": f"{NOW.replace(minute=0).isoformat()}/P2D", "value": 0}]}
    routes["/nws/gridpoints/ZZZ/1,2"] = answer(grid_body(NOW - timedelta(hours=2), windGust=calm), kind=GEO)
    model = composed_open_meteo((44.5, -93.25), NOW)
    model["hourly"] |= {"wind_speed_10m": [30.0] * 360, "wind_gusts_10m": [0] * 360}
    routes["/open_meteo/forecast"] = answer(model)
    found = run(routes, own_request())
    here = found.hours.index_of(NOW)
    assert np.isnan(found.hours.values("gust_mps")[here : here + 40]).all()
    assert not found.hours["gust_mps"].damaged[here : here + 40].any()


@pytest.mark.parametrize("wind_kmh", [4.0, 7.2, 9.0, 10.4])
def test_a_zero_beside_a_light_wind_is_as_a_gust_that_is_not_there(wind_kmh: float) -> None:
    """Both draw on the model, and both are told at the top."""

    def gathered(gust: object) -> tuple[list[float], list[bool]]:
        span = f"{(NOW - timedelta(hours=8)).replace(minute=0).isoformat()}/P9D"
        layer = {"uom": "wmoUnit:km_h-1", "values": [{"validTime": span, "value": gust}]}
        body = grid_body(NOW - timedelta(hours=2), wind_kmh=wind_kmh, windGust=layer)
        found = run(own_routes() | {"/nws/gridpoints/ZZZ/1,2": answer(body, kind=GEO)}, own_request())
        at = found.hours.index_of(NOW)
        return found.hours.values("gust_mps")[at : at + 24].tolist(), [one.serious for one in found.problems]

    (zero, told), (missing, gap) = gathered(0), gathered(None)
    assert zero == missing
    assert all(told)
    assert all(gap)
    assert len(told) == len(gap) + 1  # that zeros came, too


@pytest.mark.parametrize("wind_kmh", [0.0, 1.8, 3.6])
def test_zeros_in_a_calm_are_gusts(wind_kmh: float) -> None:
    layer = {
        "uom": "wmoUnit:km_h-1",
        "values": [{"validTime": f"{(NOW - timedelta(hours=8)).replace(minute=0).isoformat()}/P9D", "value": 0}],
    }
    body = grid_body(NOW - timedelta(hours=2), wind_kmh=wind_kmh, windGust=layer)
    found = run(own_routes() | {"/nws/gridpoints/ZZZ/1,2": answer(body, kind=GEO)}, own_request())
    assert found.problems == ()
    assert found.hours.values("gust_mps")[found.hours.index_of(NOW)] == pytest.approx(wind_kmh / 3.6)
