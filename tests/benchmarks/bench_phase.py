"""CPU time of the seasonal phases: ``python tests/benchmarks/bench_phase.py``."""

import sys
from datetime import date, timedelta
from pathlib import Path

import numpy as np
from _measure import measure, report, yardstick

sys.path.insert(0, str(Path(__file__).parents[1] / "core" / "phase"))

from season_helpers import NORTHERN, PARAMETERS, SITE, normals, run, water

from briefing.core.phase import pack, unpack
from briefing.core.phase.chain import chain_setup, empty_record, run_chain, start_boxes
from briefing.core.phase.hazards import drive_for
from briefing.core.phase.particles import draw_particles
from briefing.core.phase.season import season_for
from briefing.core.phase.water_year import nest_water

TODAY = date(2026, 4, 20)


def advance_one_day():
    """Return a call that carries 1,000 particles through the middle day of the nests."""
    air = normals()
    season = season_for(TODAY, SITE.latitude_deg)
    form, common = PARAMETERS.forms[NORTHERN], PARAMETERS.common
    series = water(air, TODAY, members=64)
    nests = nest_water(SITE, season, series, air, common, PARAMETERS.climate, 1)
    drive = drive_for(nests, season, form, common, {}, (), tropical=False)
    drawn = draw_particles(form, PARAMETERS, SITE.latitude_deg, None, 1, 1000)
    setup = chain_setup(season, form, common, drive, drawn, 64)
    record, boxes = empty_record(season.days, 1000), start_boxes(common, 1000)
    today = season.index_of(TODAY)
    run_chain(setup, boxes, record, 0, today, ())
    start = boxes.copy()

    def call():
        np.copyto(boxes, start)
        run_chain(setup, boxes, record, today, today + 1, {today})

    return call


def main():
    """Print one line a case."""
    yard = yardstick()
    air = normals()
    series = water(air, TODAY, members=64, ahead=20)
    whole = measure(lambda: run(TODAY, series=series, air=air, particles=1000))
    report("season, 1,000 particles x 3 zones x 3 cohorts x 400 days", whole, yard, 150.0)
    report("advance of the population by one day", measure(advance_one_day()), yard, 5.0)
    state = run(TODAY - timedelta(days=1), series=series, air=air, particles=1000).state
    kept = measure(lambda: run(TODAY, series=series, air=air, particles=1000, state=state))
    report("morning run from the kept state, with the season ahead", kept, yard, 150.0)
    report("state to bytes and back", measure(lambda: unpack(pack(state))), yard)
    print(f"state: {len(pack(state)) / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
