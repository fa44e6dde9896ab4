"""What must hold for any tackle: directions of change, limits, and that arrays and single numbers agree."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.advice import physics as ph
from briefing.core.advice.presentation import Fall, LureWeight
from briefing.knowledge import load_physics
from briefing.vocabulary import WaterColour

P = load_physics()
few = settings(max_examples=40, deadline=None, derandomize=True)

grams = st.floats(1.0, 40.0)
speeds = st.floats(0.3, 1.4)
lines = st.floats(0.15, 0.5)
casts = st.floats(10.0, 35.0)
bodies = st.builds(
    Fall,
    drag_area_m2=st.floats(3e-4, 2e-3),
    hook_g=st.floats(0.0, 5.0),
    soft_body_g=st.floats(0.0, 12.0),
    soft_body_density=st.floats(1000.0, 1180.0),
    head_material=st.sampled_from(["lead", "tungsten"]),
    swim_drag_area_m2=st.floats(3e-4, 2e-3),
    lift_n_per_mps2=st.floats(0.0, 0.06),
)


def run(body: Fall, head: float, speed: float, line: float, cast: float, **more: object) -> float:
    return float(ph.lure_running_depth(body, head, speed, line, cast, P, **more).mean_m)  # type: ignore[arg-type]


@few
@given(bodies, grams, st.floats(1.01, 3.0))
def test_heavier_sinks_faster(body: Fall, head: float, factor: float) -> None:
    slow, fast = ph.sink_mps(body, [head, head * factor], P)
    assert fast > slow > 0
    for line in ph.FallLine:
        held = ph.sink_mps(body, [head, head * factor], P, line=line)
        assert held[1] > held[0]


@few
@given(bodies, grams)
def test_denser_metal_sinks_faster(body: Fall, head: float) -> None:
    order = [float(ph.sink_mps(body, head, P, material=metal)) for metal in ("tin", "steel", "lead", "tungsten")]
    assert order == sorted(order)


@few
@given(bodies, grams, st.floats(1.1, 3.0))
def test_more_drag_sinks_slower(body: Fall, head: float, factor: float) -> None:
    bulky = Fall(body.drag_area_m2 * factor, body.hook_g, body.soft_body_g, body.soft_body_density, body.head_material)
    assert ph.sink_mps(bulky, head, P) < ph.sink_mps(body, head, P)


@few
@given(bodies, grams, speeds, lines, casts, st.floats(1.05, 2.0))
def test_thicker_line_runs_shallower(body: Fall, head: float, speed: float, line: float, cast: float, f: float) -> None:
    assert run(body, head, speed, line * f, cast) <= run(body, head, speed, line, cast) + 1e-9


@few
@given(bodies, grams, speeds, lines, casts, st.floats(1.05, 2.0))
def test_faster_runs_shallower(body: Fall, head: float, speed: float, line: float, cast: float, f: float) -> None:
    assert run(body, head, speed * f, line, cast) <= run(body, head, speed, line, cast) + 1e-6


@few
@given(bodies, grams, speeds, lines, casts, st.floats(1.05, 2.0))
def test_heavier_runs_deeper(body: Fall, head: float, speed: float, line: float, cast: float, f: float) -> None:
    assert run(body, head * f, speed, line, cast) >= run(body, head, speed, line, cast) - 1e-6


@few
@given(bodies, grams, speeds, lines, casts)
def test_more_lift_and_a_higher_tip_run_shallower(
    body: Fall, head: float, speed: float, line: float, cast: float
) -> None:
    lifts = [run(body, head, speed, line, cast, trailer_lift=lift) for lift in ("low", "medium", "high", "very_high")]
    assert (np.diff(lifts) < 1e-9).all()
    tips = [run(body, head, speed, line, cast, tip_m=tip) for tip in (0.2, 0.8, 1.5, 2.0)]
    assert (np.diff(tips) < 1e-9).all()


@few
@given(bodies, grams, speeds, lines, casts)
def test_depth_is_between_surface_and_the_length_of_line(
    body: Fall, head: float, speed: float, line: float, cast: float
) -> None:
    depth = ph.lure_running_depth(body, head, speed, line, cast, P)
    assert 0 <= float(depth.mean_m) <= float(depth.deepest_m) <= cast


@few
@given(bodies, speeds, lines, casts, st.floats(0.3, 2.0), st.floats(1.05, 2.0))
def test_deeper_needs_heavier(body: Fall, speed: float, line: float, cast: float, target: float, f: float) -> None:
    shallow = ph.weight_for_depth_g(target, speed, line, cast, body, P)
    deep = ph.weight_for_depth_g(target * f, speed, line, cast, body, P)
    assert deep is None or (shallow is not None and deep >= shallow)


@few
@given(bodies, speeds, lines, casts)
def test_the_ladders_choice_never_gets_lighter_with_depth(body: Fall, speed: float, line: float, cast: float) -> None:
    ladder = tuple(LureWeight(str(g), g, "") for g in (3.5, 7.1, 10.6, 14.2, 21.0))
    table = ph.run_table(body, ladder, line, cast, P)
    chosen = [table.solve(target, speed).weight.grams for target in np.linspace(0.1, 5.0, 25)]
    assert chosen == sorted(chosen)


@few
@given(st.floats(2.0, 28.0), lines, st.floats(1.05, 2.0), st.floats(0.0, 10.0))
def test_casts(lure: float, line: float, f: float, wind: float) -> None:
    base = ph.cast_distance_m(lure, line, P)
    assert ph.cast_distance_m(min(lure * f, 28.3), line, P) >= base
    assert ph.cast_distance_m(lure, line * f, P) < base
    assert ph.cast_distance_m(lure, line, P, tail_wind_mps=-wind) <= base
    assert ph.cast_distance_m(lure, line, P, tail_wind_mps=wind) >= base
    assert ph.cast_distance_m(lure, line, P, cross_wind_mps=-wind) <= base
    assert ph.cast_distance_m(lure, line, P, skill="strong") > ph.cast_distance_m(lure, line, P, skill="beginner")


@few
@given(lines, st.floats(1.0, 15.0), st.floats(1.0, 15.0), st.floats(1.05, 2.0))
def test_wind_on_the_line(line: float, wind: float, length: float, f: float) -> None:
    assert ph.hold_bottom_g(line, wind * f, length, P) > ph.hold_bottom_g(line, wind, length, P)
    assert ph.hold_bottom_g(line, wind, length, P, rough=True) < ph.hold_bottom_g(line, wind, length, P)
    assert ph.wind_bow_m(line * f, wind, length, 0.3, P) > ph.wind_bow_m(line, wind, length, 0.3, P)


@few
@given(st.floats(0.5, 8.0), casts, lines, st.floats(1.05, 1.6))
def test_crankbaits(reference: float, cast: float, line: float, f: float) -> None:
    depth = ph.crankbait_depth_m(reference, cast, line, P)
    assert ph.crankbait_depth_m(reference, cast, line * f, P) <= depth
    assert ph.crankbait_depth_m(reference, cast * f, line, P) >= depth
    assert ph.crankbait_depth_m(reference, cast, line, P, tip="high") <= depth
    assert ph.crankbait_depth_m(reference, cast, line, P, tip="in_water") >= depth


@few
@given(
    st.floats(0.0, 6.0), st.floats(0.2, 8.0), st.sampled_from(WaterColour), st.floats(-10.0, 80.0), st.floats(0.0, 1.0)
)
def test_light(depth: float, secchi: float, colour: WaterColour, sun: float, cloud: float) -> None:
    here = ph.light_at_depth(depth, secchi, colour, sun, cloud, P)
    assert here.lux[0] <= here.lux[1] <= here.lux[2]
    assert ph.light_at_depth(depth + 0.5, secchi, colour, sun, cloud, P).lux[1] < here.lux[1]
    assert ph.light_at_depth(depth, secchi, colour, sun, min(cloud + 0.2, 1.0), P).lux[1] <= here.lux[1] * 1.3
    assert ph.light_at_depth(depth, secchi, colour, sun + 8.0, cloud, P).lux[1] > here.lux[1]


def test_illuminance_rises_with_the_sun_without_a_step() -> None:
    heights = np.arange(-18.0, 90.0, 0.1)
    lux = ph.clear_illuminance_lux(heights)
    assert (np.diff(np.log(lux)) > 0).all()
    assert (np.diff(np.log(lux)) < 0.12).all()


def test_transmission_rises_with_the_sun_and_chop_helps_low_sun_only() -> None:
    heights = np.linspace(0.0, 90.0, 91)
    flat, chop = ph.surface_transmission(heights, P), ph.surface_transmission(heights, P, chop=True)
    assert (np.diff(flat) >= -1e-9).all()
    low = (heights > 0) & (heights < 15)
    assert (chop[low] > flat[low]).all()
    assert (chop[~low] == flat[~low]).all()


def test_arrays_give_what_single_numbers_give() -> None:
    body = Fall(0.00115, 4.5, 8.0, 1050.0, "lead", 0.0013, 0.04)
    heads, speed = np.array([7.1, 10.6, 21.0]), np.array([0.4, 0.8])
    grid = ph.lure_running_depth(body, heads[:, None], speed[None, :], 0.35, 20.0, P).mean_m
    assert grid.shape == (3, 2)
    single = [[run(body, float(g), float(v), 0.35, 20.0) for v in speed] for g in heads]
    assert grid == pytest.approx(np.array(single), abs=1e-12)
