"""CPU time of the tackle physics, a day's plan and the choice of rods. Run: python tests/benchmarks/bench_plan.py."""

import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from _measure import measure, report, yardstick

from briefing.core.advice.conditions import OwnedRod, TackleBox
from briefing.core.advice.physics import lure_running_depth, run_table
from briefing.core.advice.plan import PlanHour, PlanInputs, PlanSpot, build_plan, cut_blocks
from briefing.core.advice.presentation import Fall, LureWeight, Presentation
from briefing.core.advice.rods import Demand, choose_rods, rod_inputs
from briefing.knowledge import load_physics, load_plan_parameters, load_rod_parameters
from briefing.resources import config_path, read_toml
from briefing.vocabulary import Cover, Level

DAY = datetime(2026, 5, 2, 4, tzinfo=UTC)
SPOTS = 20


def plan_inputs() -> PlanInputs:
    """A lake of 20 spots and a window of seven hours."""
    rng = np.random.default_rng(1)
    times = [DAY + timedelta(minutes=5 * i) for i in range(288)]
    sun = 60 * np.sin(np.pi * (np.arange(288) / 12 - 6) / 13)
    hours = tuple(
        PlanHour(DAY + timedelta(hours=i), 2 + 0.4 * i, 220.0, 5.0, 0.3, Level.WITHIN_LIMITS, True) for i in range(24)
    )
    blocks = cut_blocks(times, sun, hours, load_plan_parameters())
    at = np.vstack([[0.0, 0.0], rng.uniform(-1500, 1500, (SPOTS, 2))])
    way = at[None] - at[:, None]
    return PlanInputs(
        blocks=blocks,
        hours=hours,
        spots=tuple(PlanSpot(f"s{i}", f"Spot {i}", flat=i % 3 == 0) for i in range(SPOTS)),
        values=rng.uniform(0.1, 1.0, (SPOTS, len(blocks))),
        exceeds=rng.random((SPOTS, 24)) < 0.05,
        distance_m=np.hypot(way[..., 0], way[..., 1]),
        bearing_deg=np.degrees(np.arctan2(way[..., 0], way[..., 1])) % 360,
        speed_mps=1.3,
        launch_from=DAY + timedelta(hours=6),
        off_water_by=DAY + timedelta(hours=13),
    )


def demands(presentations: tuple[Presentation, ...]) -> tuple[Demand, ...]:
    """24 stops over covers and depths."""
    rng = np.random.default_rng(3)
    covers = list(Cover)
    return tuple(
        Demand(
            f"Spot {i}",
            f"block{i % 5}",
            30.0,
            0.5 + 0.2 * i,
            covers[i % len(covers)],
            0.2,
            np.array([p.cover[covers[i % len(covers)]].fit * rng.uniform(0.5, 1.0) for p in presentations]),
        )
        for i in range(24)
    )


def main() -> None:
    """Print one line a figure."""
    yard = yardstick()
    physics, rules, plan = load_physics(), load_rod_parameters(), load_plan_parameters()
    files = sorted(config_path("presentations").glob("*.toml"))
    presentations = tuple(Presentation.from_mapping(read_toml(f"presentations/{path.name}")) for path in files)
    body = Fall(0.00115, 4.5, 8.0, 1050.0, "lead", 0.0013, 0.04)
    grams, speeds = np.array([7.1, 10.6, 14.2, 21.0])[:, None], np.linspace(0.25, 1.8, 9)[None]
    table = run_table(body, tuple(LureWeight("", float(g), "") for g in grams[:, 0]), 0.35, 18.0, physics)
    report(
        "running depth, 4 weights x 9 speeds",
        measure(lambda: lure_running_depth(body, grams, speeds, 0.35, 18.0, physics)),
        yard,
    )
    report("weight solved from the table", measure(lambda: table.solve(1.1, 0.7)), yard)
    day = plan_inputs()
    report("plan, 20 spots, 7 hours", measure(lambda: build_plan(day, plan)), yard, 30)
    powers = ("medium_heavy", "heavy", "medium", "medium_heavy", "medium_light", "medium", "medium_heavy")
    rods = tuple(
        OwnedRod(f"r{i}", 7.0, power, "fast", "spinning" if i in (2, 4) else "baitcast", line="fluoro", line_mm=0.35)
        for i, power in enumerate(powers)
    )
    asked = demands(presentations)
    for name, box in (("7 own rods", TackleBox(rods=rods)), ("any rod", TackleBox())):
        inputs = rod_inputs(asked, presentations, box, physics, rules, k=6)
        what = f"rods, k = 6 of {len(presentations)} x weights ({len(inputs.setups)}), {name}"
        ms = measure(lambda box=box: choose_rods(rod_inputs(asked, presentations, box, physics, rules, k=6), rules))
        report(what, ms, yard, 50)


if __name__ == "__main__":
    main()
