"""Tackle physics against published values and values worked out by hand.

Each row of ``VALUES`` names its origin. "hand" rows are derived beside the number from the constants in
``config/physics.toml``; none was read off the code.
"""

import math

import numpy as np
import pytest

from briefing.core.advice import physics as ph
from briefing.core.advice.presentation import Fall, LureWeight
from briefing.knowledge import load_physics
from briefing.vocabulary import WaterColour

P = load_physics()
BLADED = Fall(0.00115, 4.5, 8.0, 1050.0, "lead", 0.0013, 0.04)
# A lead ball of 1 cm, Cd 0.47: 0.5236 cm3, 5.760 g; area 78.54 mm2 -> Cd A = 3.691e-5 m2
BALL = Fall(0.47 * math.pi / 4 * 1e-4, 0.0, 0.0, 1000.0, "lead")
BALL_G = math.pi / 6 * 11.0

# (what, computed, expected, relative tolerance)
VALUES = [
    # hand: 9.81 (10.6 (1 - 1/11) + 4.5 (1 - 1/7.8) + 8 (1 - 1/1.05)) / 1000 = 9.81 x 13.941 / 1000
    ("weight in water of a 3/8 oz bladed jig", ph.submerged_weight_n(BLADED, 10.6, P), 0.13676, 1e-3),
    # hand: a floating body, 3 g of density 900: 9.81 x 3 (1 - 1/0.9) / 1000
    ("weight of a buoyant body", ph.submerged_weight_n(Fall(1e-3, 0, 3.0, 900.0, "lead"), 0.0, P), -0.00327, 1e-3),
    # textbook sphere: v = sqrt(4/3 (s - 1) g d / Cd) = sqrt(4/3 x 10 x 9.81 x 0.01 / 0.47)
    ("fall of a lead ball", ph.sink_mps(BALL, BALL_G, P), 1.6683, 1e-3),
    # hand: sqrt(2 x 0.13676 / (1000 x 0.00115))
    ("fall of a 3/8 oz bladed jig", ph.sink_mps(BLADED, 10.6, P), 0.4877, 1e-3),
    # hand: 0.95 x 0.5 x 10
    ("depth after a count of ten", ph.counted_depth_m(0.5, 10.0, P), 4.75, 1e-9),
    # hand: 20 (1 - cos(asin(4/20))), tip at the water
    ("swing of 4 m on 20 m of line", ph.tight_line_fall(BALL, BALL_G, 4.0, 20.0, 0.0, 0.3, P).swing_m, 0.4041, 1e-3),
    # hand: 15 (1 - cos(asin(8/15)))
    ("swing of 8 m on 15 m of line", ph.tight_line_fall(BALL, BALL_G, 8.0, 15.0, 0.0, 0.3, P).swing_m, 2.3114, 1e-3),
    # CRC Handbook, density of water: 4 C 999.972, 20 C 998.203, 25 C 997.043, 30 C 995.645 kg/m3
    ("density of water at 4 C", ph.water_density_kgpm3(4.0), 999.972, 2e-6),
    ("density of water at 20 C", ph.water_density_kgpm3(20.0), 998.203, 5e-6),
    ("density of water at 30 C", ph.water_density_kgpm3(30.0), 995.645, 1e-5),
    # CRC figures: 10 cm3 x (999.700 - 998.203) / 1000 between 20 and 10 C
    ("buoyancy won by cooling to 10 C", ph.buoyancy_change_g(10.0, 20.0, 10.0), 0.01497, 1e-2),
    # hand: pi/4 x 0.035^2 cm2 x 2000 cm x 0.78 g/cm3
    ("20 m of 0.35 mm fluorocarbon in water", ph.line_weight_in_water_g("fluoro", 0.35, 20.0, P), 1.501, 1e-3),
    # hand: 0.5 x 1.2 x 1.1 x 0.00028 x 36
    ("wind on a metre of 0.28 mm line at 6 m/s", ph.wind_load_n_per_m(0.28, 6.0, P), 0.0066528, 1e-6),
    # hand: 0.0066528 x 144 / (8 x 0.3)
    ("bow of 12 m of it at 0.3 N", ph.wind_bow_m(0.28, 6.0, 12.0, 0.3, P), 0.3992, 1e-3),
    # hand: 0.0066528 x 8 / 0.8 / 9.81 / (10/11) x 1000
    ("lead that holds 8 m of it on clean bottom", ph.hold_bottom_g(0.28, 6.0, 8.0, P), 7.460, 1e-3),
    # hand: 0.5 x 1000 x (0.0003 + 0.5 x 1.1 x 0.0003 x 10) x 0.09 / 0.1 = 0.8775; its arctangent
    ("angle of a drifted sinker", ph.drift_angle_deg(0.1, 0.0003, 0.3, 10.0, 0.3, P), 41.27, 1e-3),
    # published casting tests: crankbaits ran 25 % shallower on 40 ft casts than on 70 ft, 15 % deeper on 100 ft
    ("crankbait on a 12.2 m cast", ph.crankbait_depth_m(1.0, 12.19, 0.35, P), 0.75, 0.03),
    ("crankbait on a 30.5 m cast", ph.crankbait_depth_m(1.0, 30.48, 0.35, P), 1.15, 0.02),
    # hand: (0.35 / 0.44)^0.6, on the 21.3 m cast that is the reference
    ("crankbait on 20 lb mono", ph.crankbait_depth_m(1.0, 21.34, 0.44, P), 0.8717, 0.01),
    # published mean cast of ordinary anglers with 3/8 oz: about 70 ft
    ("cast of 3/8 oz", ph.cast_distance_m(10.6, 0.35, P), 21.3, 0.03),
    # hand: 21 (1 - 0.05 x 5) into a wind of 5 m/s
    ("the same into 5 m/s", ph.cast_distance_m(10.6, 0.35, P, tail_wind_mps=-5.0), 15.75, 1e-3),
    # hand: 0.7 m/s x 10 s / 0.76 m
    ("turns in ten seconds at 0.7 m/s, 76 cm a turn", ph.turns_per_10s(0.7, 76.0), 9.211, 1e-3),
    # Poole and Atkins 1929: Kd = 1.7 / Secchi; hand: exp(-0.85)
    (
        "light left at 1 m, Secchi 2 m",
        ph.light_left(ph.attenuation_per_m(2.0, WaterColour.GREEN, P)[1], 1.0),
        0.4274,
        1e-3,
    ),
    # Kasten and Czeplak 1980, eq. 5: 1 - 0.75 N^3.4; overcast 0.25, half cloud 0.929
    ("overcast", ph.cloud_factor(1.0, P), 0.25, 1e-9),
    ("half cloud", ph.cloud_factor(0.5, P), 0.9290, 1e-3),
    # Kirk 1994, Light and Photosynthesis in Aquatic Ecosystems, table 2.1 (flat water): reflected 2.0 % at zenith
    # angle 0, 5.9 % at 60, 13.3 % at 70, 34.7 % at 80 degrees
    ("sun overhead enters", ph.surface_transmission(90.0, P), 0.980, 2e-3),
    ("sun at 30 degrees enters", ph.surface_transmission(30.0, P), 0.941, 2e-3),
    ("sun at 20 degrees enters", ph.surface_transmission(20.0, P), 0.867, 3e-3),
    ("sun at 10 degrees enters", ph.surface_transmission(10.0, P), 0.653, 5e-3),
    # Explanatory Supplement to the Astronomical Almanac 1992: end of civil, nautical, astronomical twilight
    ("light at the end of civil twilight", ph.clear_illuminance_lux(-6.0), 3.4, 0.02),
    ("light at the end of nautical twilight", ph.clear_illuminance_lux(-12.0), 0.0083, 0.05),
    ("light at the end of astronomical twilight", ph.clear_illuminance_lux(-18.0), 6.5e-4, 0.05),
    ("light of the sun overhead", ph.clear_illuminance_lux(90.0), 1.29e5, 0.01),
    # hand: sqrt(2 x 0.0005 x 9.81 / (1000 x 0.001))
    ("rise of a lure 0.5 g too light", ph.rise_mps(0.5, 0.001, P), 0.09905, 1e-3),
]


@pytest.mark.parametrize(("computed", "expected", "tolerance"), [row[1:] for row in VALUES], ids=[r[0] for r in VALUES])
def test_value(computed: float, expected: float, tolerance: float) -> None:
    assert float(computed) == pytest.approx(expected, rel=tolerance)


# Counted falls of trade rigs (m/s); the spread of the module is +/-30 %.
COUNTED = [
    ("stick worm, weedless hook", Fall(0.00133, 1.2, 9.5, 1170.0, "tungsten"), 0.0, 0.19),
    ("paddle-tail on a 1/8 oz head", Fall(0.00055, 1.2, 8.0, 1050.0, "lead"), 3.5, 0.41),
    ("paddle-tail on a 3/4 oz head", Fall(0.00055, 1.2, 8.0, 1050.0, "lead"), 21.0, 0.86),
    ("skirted jig 1/2 oz", Fall(0.0008, 2.2, 9.0, 1050.0, "lead"), 14.2, 0.61),
    ("punch rig 1-1/2 oz", Fall(0.00038, 2.0, 8.0, 1040.0, "tungsten"), 43.0, 1.48),
    ("drop-shot sinker 1/4 oz", Fall(0.00026, 0.0, 0.0, 1000.0, "lead"), 7.1, 0.70),
]


@pytest.mark.parametrize(("body", "grams", "counted"), [row[1:] for row in COUNTED], ids=[row[0] for row in COUNTED])
def test_fall_agrees_with_counted_falls(body: Fall, grams: float, counted: float) -> None:
    assert float(ph.sink_mps(body, grams, P)) == pytest.approx(counted, rel=0.1)


def marched(grams: float, speed: float, line_mm: float, cast: float, tip: float) -> float:
    """Mean depth by marching position and time in small steps: another method than the module's."""
    weight, k = float(ph.submerged_weight_n(BLADED, grams, P)), 0.04
    z, dt, track = 0.0, 0.01, []
    x = math.sqrt(cast**2 - tip**2)
    reach = cast
    while reach > 2 + tip:
        b = math.asin(min((z + tip) / reach, 1.0))
        force, low, high = max(weight * math.cos(b) - k * speed**2, 0.0), 0.0, 3.0
        for _ in range(45):
            v = (low + high) / 2
            drag = 500 * 0.0013 * math.hypot(speed, v) * v + 500 * 1.1 * line_mm / 1000 * reach / 4 * v * v
            low, high = (low, v) if drag > force else (v, high)
        z = max(z + (v * math.cos(b) - speed * math.sin(b)) * dt, 0.0)
        x -= (speed * math.cos(b) + v * math.sin(b)) * dt
        reach = math.hypot(x, z + tip)
        track.append((reach, z))
    middle = [depth for r, depth in track if 0.25 * cast <= r <= 0.75 * cast]
    return sum(middle) / len(middle)


@pytest.mark.parametrize(
    ("grams", "speed", "line_mm", "cast", "tip"),
    [(7.1, 0.7, 0.35, 22, 0.8), (10.6, 0.55, 0.28, 18, 0.2), (21.0, 1.0, 0.44, 28, 1.5), (14.2, 0.4, 0.35, 12, 0.8)],
)
def test_running_depth_agrees_with_a_march_in_time(
    grams: float, speed: float, line_mm: float, cast: float, tip: float
) -> None:
    depth = ph.lure_running_depth(BLADED, grams, speed, line_mm, cast, P, tip_m=tip).mean_m
    assert float(depth) == pytest.approx(marched(grams, speed, line_mm, cast, tip), abs=0.04)


def test_running_depth_without_lift_and_line_drag_has_a_closed_form() -> None:
    # db / d ln R = -v / u with v constant for a light rig at small angles: b = asin(h/L) + (v/u) ln(L/R)
    weight, area, speed, cast = 0.002, 0.001, 1.0, 20.0
    v = float(ph.normal_speed_mps(weight, area, 0.0, speed))
    run = ph.running_depth(weight, area, 0.0, speed, 0.0, cast, 0.0, P)
    shares = np.linspace(0.75, 0.25, 1001)
    expected = np.mean(shares * cast * np.sin(v / speed * np.log(1 / shares)))
    assert float(run.mean_m) == pytest.approx(expected, rel=0.01)


def test_normal_speed_balances_the_forces() -> None:
    force, area, line, along = 0.12, 0.0013, 0.002, 0.6
    v = float(ph.normal_speed_mps(force, area, line, along))
    assert 500 * area * math.hypot(along, v) * v + 500 * line * v * v == pytest.approx(force, rel=1e-4)
    assert float(ph.normal_speed_mps(-0.1, area, line, along)) == 0.0


LADDER = tuple(LureWeight(oz, g, "") for oz, g in (("1/4", 7.1), ("3/8", 10.6), ("1/2", 14.2), ("3/4", 21.0)))


def test_weight_for_grass_topped_at_1_2_m_in_a_breeze() -> None:
    # An 18 m cast at 0.7 m/s over tops at 1.2 m: 3/8 oz ticks them, by the worked example of the trade.
    target = ph.target_over_cover_m(1.2, 2.5, P)
    solution = ph.solve_weight(target, 0.7, 0.35, LADDER, BLADED, P, cast_m=18.0)
    assert solution.weight.oz == "3/8"
    assert solution.depth_m[0] < target < solution.depth_m[2]
    assert solution.exact_g == pytest.approx(9.8, abs=0.5)
    assert solution.reaches
    assert "10.6 g" in solution.reason


def test_solved_weight_runs_at_the_target() -> None:
    exact = ph.weight_for_depth_g(1.5, 0.7, 0.35, 22.0, BLADED, P)
    assert exact is not None
    assert float(ph.lure_running_depth(BLADED, exact, 0.7, 0.35, 22.0, P).mean_m) == pytest.approx(1.5, abs=0.03)
    assert ph.weight_for_depth_g(15.0, 1.0, 0.35, 22.0, BLADED, P) is None
    assert ph.weight_for_depth_g(0.0, 0.3, 0.35, 22.0, BLADED, P) == 0.0


def test_cross_wind_adds_one_step_and_says_so() -> None:
    calm = ph.solve_weight(1.1, 0.7, 0.35, LADDER, BLADED, P)
    windy = ph.solve_weight(1.1, 0.7, 0.35, LADDER, BLADED, P, cross_wind_mps=6.0)
    assert windy.windy_step
    assert windy.weight.grams > calm.weight.grams
    assert "cross wind" in windy.reason


def test_speed_for_the_target_holds_the_lure_there() -> None:
    solution = ph.solve_weight(1.5, 0.9, 0.35, LADDER, BLADED, P, cast_m=22.0)
    assert solution.speed_for_target_mps is not None
    at = ph.lure_running_depth(BLADED, solution.weight.grams, solution.speed_for_target_mps, 0.35, 22.0, P)
    assert float(at.mean_m) == pytest.approx(1.5, abs=0.06)


def test_bottom_weight_is_the_lightest_that_holds_and_gets_down() -> None:
    body = Fall(0.00042, 1.2, 9.0, 1030.0, "tungsten")
    ladder = tuple(LureWeight(oz, g, "") for oz, g in (("1/8", 3.5), ("1/4", 7.1), ("3/8", 10.6), ("1/2", 14.2)))
    assert ph.solve_bottom_weight(2.0, 0.28, ladder, body, P).weight.oz == "1/8"
    windy = ph.solve_bottom_weight(2.0, 0.28, ladder, body, P, cross_wind_mps=6.0, line_in_air_m=8.0)
    # hand: 0.0066528 x 8 / 0.8 / 9.81 / (1 - 1/17.5) x 1000 = 7.19 g: a quarter ounce (7.1 g) is short by 0.09 g
    assert windy.needed_g == pytest.approx(7.19, abs=0.02)
    assert windy.weight.oz == "3/8"
    storm = ph.solve_bottom_weight(2.0, 0.36, ladder, body, P, cross_wind_mps=12.0, line_in_air_m=12.0)
    assert not storm.holds
    assert storm.weight.oz == "1/2"


def test_deeper_water_asks_the_bottom_weight_to_fall_faster() -> None:
    body = Fall(0.00042, 1.2, 9.0, 1030.0, "tungsten")
    ladder = (LureWeight("1/8", 3.5, ""), LureWeight("3/8", 10.6, ""))
    assert ph.solve_bottom_weight(3.0, 0.28, ladder, body, P).weight.oz == "1/8"
    assert ph.solve_bottom_weight(6.5, 0.28, ladder, body, P).weight.oz == "3/8"


def test_an_empty_ladder_is_refused() -> None:
    with pytest.raises(ValueError, match="ladder"):
        ph.solve_weight(1.0, 0.7, 0.35, (), BLADED, P)
    with pytest.raises(ValueError, match="ladder"):
        ph.solve_bottom_weight(1.0, 0.35, (), BLADED, P)


def test_low_sun_and_cloud_are_worth_depth_as_the_trade_says() -> None:
    # Sun at 10 degrees instead of 50 is worth about one Secchi depth, overcast about 0.8, within a third.
    def lux(depth: float, sun: float, cloud: float) -> float:
        return ph.light_at_depth(depth, 2.0, WaterColour.GREEN, sun, cloud, P).lux[1]

    noon = lux(0.0, 50.0, 0.0)
    assert 2.0 / 1.7 * math.log(noon / lux(0.0, 10.0, 0.0)) / 2.0 == pytest.approx(1.1, rel=0.33)
    assert 2.0 / 1.7 * math.log(noon / lux(0.0, 50.0, 1.0)) / 2.0 == pytest.approx(0.7, rel=0.33)


def test_tight_line_in_deep_water_must_be_fed() -> None:
    assert ph.tight_line_fall(BLADED, 10.6, 6.0, 20.0, 0.8, 0.35, P).feed_line
    shallow = ph.tight_line_fall(BLADED, 10.6, 2.0, 20.0, 0.8, 0.35, P)
    assert not shallow.feed_line
    assert shallow.seconds > 2.0 / float(ph.sink_mps(BLADED, 10.6, P))
    assert math.isinf(ph.tight_line_fall(BLADED, 10.6, 25.0, 20.0, 0.8, 0.35, P).seconds)
    assert math.isinf(ph.tight_line_fall(Fall(1e-3, 0, 5.0, 900.0, "lead"), 0.0, 2.0, 20.0, 0.8, 0.3, P).seconds)


def test_a_users_own_count_replaces_the_table() -> None:
    assert float(ph.sink_mps(BLADED, 10.6, P, measured_mps=0.55)) == pytest.approx(0.55)
    slow = ph.sink_mps(BLADED, 10.6, P, measured_mps=0.55, line=ph.FallLine.CONTROLLED)
    assert float(slow) == pytest.approx(0.385)


def test_countdown_before_the_first_turn_runs_deeper() -> None:
    plain = ph.lure_running_depth(BLADED, 10.6, 0.7, 0.35, 22.0, P)
    counted = ph.lure_running_depth(BLADED, 10.6, 0.7, 0.35, 22.0, P, count_s=3.0)
    assert float(counted.mean_m) - float(plain.mean_m) == pytest.approx(0.6, abs=0.2)


def test_seconds_to_depth_invert_the_count() -> None:
    seconds = ph.count_to_depth_s(0.6, 3.0, P)
    assert float(ph.counted_depth_m(0.6, seconds, P)) == pytest.approx(3.0)
    assert math.isinf(ph.count_to_depth_s(-0.1, 3.0, P))


def test_line_table_and_reels() -> None:
    assert ph.line_diameter_mm("fluoro", 15, P) == pytest.approx(0.35)
    assert ph.line_diameter_mm("braid", 45, P) == pytest.approx(0.34)
    assert ph.pickup_cm("baitcast", 7.1, P) == pytest.approx(65.0)
    assert ph.pickup_cm("spinning", 6.2, P, half_spool=True) == pytest.approx(80 * 0.87)
    assert ph.pickup_cm("baitcast", 9.0, P) > ph.pickup_cm("baitcast", 8.1, P)
    assert ph.speed_from_turns_mps(ph.turns_per_10s(0.7, 76.0), 76.0) == pytest.approx(0.7)
    with pytest.raises(ValueError, match="pickup"):
        ph.turns_per_10s(0.7, 0.0)


def test_sight_and_spacing() -> None:
    low, high = ph.sighting_distance_m(1.0, P)
    assert (low, high) == pytest.approx((0.1667, 0.5), abs=1e-3)
    assert ph.sighting_distance_m(20.0, P)[1] == pytest.approx(2.5)
    assert ph.sighting_distance_m(2.0, P, translucent=True, night=True)[1] == pytest.approx(0.3)
    assert ph.sighting_distance_m(1.0, P, thump=True)[1] == pytest.approx(1.0)
    assert ph.cast_spacing_m(2.0, P, search=True) == pytest.approx(1.5)
    assert ph.cast_spacing_m(2.0, P, search=False) == pytest.approx(0.7)


def test_drift_is_a_range_and_a_sock_halves_it() -> None:
    assert ph.drift_speed_mps("kayak", 5.0, P) == pytest.approx((0.15, 0.25))
    assert ph.drift_speed_mps("kayak", 5.0, P, sock=True) == pytest.approx((0.075, 0.125))
    assert ph.drift_angle_deg(-0.1, 0.0003, 0.3, 10.0, 0.3, P) == 90.0


def test_crankbait_range_and_stretch() -> None:
    low, high = ph.crankbait_depth_range_m(2.0, 18.0, 0.44, P)
    middle = float(ph.crankbait_depth_m(2.0, 18.0, 0.44, P))
    assert low < middle < high
    assert float(ph.crankbait_depth_m(2.0, 45.0, 0.15, P)) == pytest.approx(2.4)
    assert ph.contact_stretch_m(20.0, P) == pytest.approx((5.0, 13.0))
    assert ph.reference_depth_m(2.0, P) == pytest.approx(1.7)


def test_out_of_range_is_refused() -> None:
    with pytest.raises(ValueError, match="secchi_m"):
        ph.attenuation_per_m(0.0, WaterColour.CLEAR, P)
    with pytest.raises(ValueError, match="depth_m"):
        ph.light_at_depth(-1.0, 1.0, WaterColour.CLEAR, 30.0, 0.0, P)
    with pytest.raises(ValueError, match="temp_c"):
        ph.water_density_kgpm3(-5.0)
