"""A morning typed by hand and the same morning retrieved come to the same levels, plan and rods."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from briefing.pipeline.build import Built, build
from briefing.pipeline.conditions_file import read_conditions
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.tables import load_tables
from briefing.pipeline.typed_weather import with_typed
from briefing.sources.tables import stale_table
from tests.scenarios import SCENARIOS, built, inputs_of

NAMES = (
    *("south_early_spring_front_coming", "highland_winter_cold_water"),
    *("north_summer_calm", "lowland_autumn_after_the_front"),
)
#: What a person can type, with its unit.
TYPED = {
    **{
        "wind": ("wind_mps", "m/s"),
        "gust": ("gust_mps", "m/s"),
        "air": ("air_c", "C"),
        "dewpoint": ("dewpoint_c", "C"),
    },
    **{"visibility": ("visibility_m", "m"), "direction": ("wind_from_deg", "")},
    **{"thunder": ("thunder_pct", None), "cloud": ("cloud_pct", None), "rain": ("precip_chance_pct", None)},
}


def typed(inputs: MorningInputs) -> MorningInputs:
    """The morning with the hours of its day lost, and typed again hour by hour."""
    hours, zone = inputs.gathered.hours, inputs.profile.zone
    here = [at.astimezone(zone) for at in hours.times]
    today = np.array([at.date() == inputs.day for at in here])
    blocks = []
    for n in np.flatnonzero(today):
        end = here[n] + timedelta(hours=1)
        until = "24:00" if end.date() != inputs.day else end.strftime("%H:%M")
        block: dict[str, Any] = {"from": here[n].strftime("%H:%M"), "to": until}
        for word, (name, unit) in TYPED.items():
            value = float(hours.values(name)[n]) if name in hours.fields else float("nan")
            if np.isfinite(value):
                block[word] = value if unit is None else f"{value:.6f} {unit}".strip()
        blocks.append(block)
    made = hours["wind_mps"].origin_at(int(np.flatnonzero(today)[0]))
    assert made is not None
    data = {"read_at": made.issued, "hours": blocks}
    said = read_conditions(data, "typed.toml", inputs.day, zone, inputs.profile.units).hours
    names = [name for name, _ in TYPED.values()]
    lost = {
        name: replace(field, values=np.where(today, np.nan, field.values)) if name in names else field
        for name, field in hours.fields.items()
    }
    merged = with_typed(replace(hours, fields=lost), [said], inputs.now, stale_table())
    return replace(inputs, gathered=replace(inputs.gathered, hours=merged))


def told(morning: Built) -> dict[str, Any]:
    """What must not differ: levels, hours out, stops to the minute with their lures, rods."""
    plan = morning.advised.plan
    return {
        "levels": [(one.hour, one.level) for one in morning.hazards.levels],
        "out": (morning.briefing.day.begin, morning.briefing.day.off),
        "stops": [
            (stop.spot_id, stop.arrive, stop.leave, [(one.id, one.weight_oz) for one in stop.choices])
            for stop in plan.stops
        ],
        "rods": [(pick.number, pick.setup.presentation, pick.setup.weight_oz) for pick in morning.advised.rods.picks],
    }


@pytest.mark.parametrize("name", NAMES)
def test_a_typed_morning_is_the_retrieved_one(name: str) -> None:
    assert told(build(typed(inputs_of(SCENARIOS[name])), load_tables())) == told(built(name))
