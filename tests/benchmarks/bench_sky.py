"""CPU time of the sun and moon of one place: a day, a fortnight, a year of day lengths, a season of elevations."""

import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from _measure import measure, report, yardstick

from briefing.core.sky import day_length_h, evening_dusk, moon_phase_instants, sky_day, sun_elevation_deg

ZONE = ZoneInfo("America/Chicago")
FIRST = date(2025, 4, 1)
YEAR = datetime(2025, 1, 1, tzinfo=UTC)


def main() -> None:
    """Print one line a call."""
    yard = yardstick()
    hours = YEAR.timestamp() + 3600.0 * np.arange(24 * 120)
    report("sky day, 36 N", measure(lambda: sky_day(36.0, -86.0, FIRST, ZONE)), yard, 5.0)
    report("sky day, 64 N", measure(lambda: sky_day(64.0, -86.0, FIRST, ZONE)), yard, 5.0)
    fortnight = [FIRST + timedelta(days=n) for n in range(14)]
    report("14 sky days", measure(lambda: [sky_day(36.0, -86.0, day, ZONE) for day in fortnight]), yard, 50.0)
    report("evening dusk", measure(lambda: evening_dusk(36.0, -86.0, FIRST, ZONE)), yard)
    report("moon phases of a year", measure(lambda: moon_phase_instants(YEAR, YEAR + timedelta(days=365))), yard)
    report("sun elevation, 2880 hours", measure(lambda: sun_elevation_deg(36.0, -86.0, hours)), yard)
    report("day length, 366 days", measure(lambda: day_length_h(36.0, np.arange(1, 367))), yard)


if __name__ == "__main__":
    main()
