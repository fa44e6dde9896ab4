"""One morning from stored inputs, stage by stage, and the cold start of the demonstration.

python tests/benchmarks/bench_morning.py
"""

import os
import subprocess
import sys
import tempfile
import time

from _measure import measure, report, yardstick

from briefing.pipeline.advice import advise_day
from briefing.pipeline.build import build
from briefing.pipeline.demo import demo_inputs
from briefing.pipeline.fish import phases_of, water_of
from briefing.pipeline.hazard import judge
from briefing.pipeline.made import render
from briefing.pipeline.parts import clarity_of
from briefing.pipeline.tables import load_tables
from briefing.report.render import to_html, to_json, to_text

BARE = "import httpx, pydantic, jinja2, numpy, typer"
#: A cold demonstration may take at most so many times the bare import.
COLD_LIMIT = 4.0


def wall(folder: str, *command: str, repeats: int = 5) -> float:
    """Best wall time in seconds of a process, with compiled modules kept, as an installed program has them."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    environment["PYTHONPYCACHEPREFIX"] = folder
    best = float("inf")
    for _ in range(repeats + 1):  # the first run compiles
        start = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True, env=environment)
        best = min(best, time.perf_counter() - start)
    return best


def main() -> None:
    yard = yardstick()
    inputs, tables = demo_inputs(), load_tables()
    water = water_of(inputs, tables)
    clarity = clarity_of(inputs, tables)
    phases = phases_of(inputs, tables, water, clarity)
    hazards = judge(inputs, tables, water.series)
    built = build(inputs, tables)
    report("water, whole season anew", measure(lambda: water_of(inputs, tables)), yard)
    report("phase, whole season anew", measure(lambda: phases_of(inputs, tables, water, clarity)), yard, 150)
    kept = next_day(inputs, tables, water, phases)
    report("water, from the kept state", measure(lambda: water_of(kept, tables)), yard, 30)
    report("phase, from the kept state", measure(lambda: phases_of(kept, tables, water, clarity)), yard, 150)
    report("alerts, fetch, levels, windows", measure(lambda: judge(inputs, tables, water.series)), yard, 20)
    report(
        "blocks, ranking, plan, rods",
        measure(lambda: advise_day(inputs, tables, hazards, water.series, phases, clarity)),
        yard,
        80,
    )
    report("whole build", measure(lambda: build(inputs, tables)), yard)
    report("render text, page and JSON", measure(lambda: render(built, inputs.gathered)), yard, 10)
    for name, form in (("text", to_text), ("page", to_html), ("json", to_json)):
        report(f"  {name}", measure(lambda form=form: form(built.briefing)), yard)
    with tempfile.TemporaryDirectory() as folder:
        bare = wall(f"{folder}/compiled", sys.executable, "-c", BARE)
        cold = wall(f"{folder}/compiled", sys.executable, "-m", "briefing", "demo", "--save", f"{folder}/saved")
    print(f"cold demo {cold:.2f} s, bare import {bare:.2f} s: {cold / bare:.1f} times (limit {COLD_LIMIT:g}, aim 3)")


def next_day(inputs, tables, water, phases):
    """The same inputs with what this morning leaves behind, as the next run of the same day finds it."""
    from dataclasses import replace

    kept = replace(
        inputs.kept,
        water_learned=water.learned,
        water_state=water.state,
        phase_learned={form: result.learned for form, result in phases.items()},
        phase_state={form: result.state for form, result in phases.items() if result.state is not None},
    )
    return replace(inputs, kept=kept)


if __name__ == "__main__":
    main()
