"""CPU time of reading a week's grid and of replaying stored inputs."""

import json
from datetime import UTC, date, datetime, timedelta

import numpy as np
from _measure import measure, report, yardstick

from briefing.core.alerts import AlertFeed
from briefing.core.gathered import Gathered
from briefing.core.gathered_json import from_json, to_json
from briefing.core.hours import HourSeries
from briefing.core.readings import DailyAir
from briefing.sources.bodies import plausible_limits
from briefing.sources.gather import merge_hours
from briefing.sources.nws import LAYERS, parse_grid
from briefing.sources.units_in import BY_FIELD

NOW = datetime(2026, 7, 1, 12, tzinfo=UTC)


def grid() -> str:
    """A grid of twelve layers with an entry for each of 181 hours."""
    properties: dict[str, object] = {"updateTime": NOW.isoformat()}
    for layer in LAYERS:
        values = [
            {"validTime": f"{(NOW + timedelta(hours=hour)).isoformat()}/PT1H", "value": 3 + hour % 3}
            for hour in range(181)
        ]
        units = list(BY_FIELD[layer.field])
        properties[layer.key] = {"values": values} | ({} if layer.unit_free else {"uom": f"wmoUnit:{units[0]}"})
    return json.dumps({"properties": properties})


def main() -> None:
    """Print the figures."""
    body = grid()
    series = parse_grid(body, NOW, plausible_limits()).series
    assert series is not None
    raw: dict[str, HourSeries] = {"nws_grid": series, "open_meteo": series}
    air = DailyAir(date(2026, 1, 1), np.full(200, 12.3), ("modelled",) * 200, np.zeros(200, np.int16), "x", "X")
    merged = merge_hours(raw, NOW)
    stored = to_json(Gathered(merged, raw, air, AlertFeed((), NOW, "", ""), (), (), (), (), (), (), NOW))
    yard = yardstick()
    report("parse a raw grid, 12 layers x 181 hours", measure(lambda: parse_grid(body, NOW, plausible_limits())), yard)
    report("merge two sources over 15 days", measure(lambda: merge_hours(raw, NOW)), yard)
    report(f"read stored inputs, {len(stored) // 1000} kB", measure(lambda: from_json(stored)), yard)


if __name__ == "__main__":
    main()
