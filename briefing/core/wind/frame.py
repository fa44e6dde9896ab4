"""What all factors share: the wind as judged, limits by hour after cold water, and the hours themselves."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from briefing.core.freshness import is_stale
from briefing.core.wind.inputs import LevelInputs
from briefing.core.wind.judge import Column, read_column, zero_runs
from briefing.core.wind.limits import ColdBand, cold_band

Floats = NDArray[np.float64]
HOUR = timedelta(hours=1)


@dataclass(frozen=True)
class SeenWind:
    """What was measured or seen now, spread over the hours it counts for; NaN elsewhere. Shape (hours,) each.

    Of several the harsher counts, each value for itself; the names say who measured it.
    """

    wind_mps: Floats
    gust_mps: Floats
    from_deg: Floats
    visibility_m: Floats
    wind_names: tuple[str, ...]
    gust_names: tuple[str, ...]
    sight_names: tuple[str, ...]


@dataclass(frozen=True)
class Frame:
    """Hours, readable fields and limits. Winds are already raised by the learned correction, never lowered.

    raised_by: what it multiplied them by, by hour.
    cold: the water band by hour; cold_factor what the limits are multiplied by; water_c the temperature judged.
    """

    inputs: LevelInputs
    times: tuple[datetime, ...]
    wind: Column
    gust: Column
    direction: Column
    seen: SeenWind
    water_c: Floats
    cold: tuple[ColdBand, ...]
    cold_factor: Floats
    raised_by: Floats

    @property
    def judged_wind_mps(self) -> Floats:
        """Sustained wind by hour: the forecast, or what was seen where that is more; NaN in troubled hours."""
        return np.where(self.wind.usable, np.fmax(self.wind.values, self.seen.wind_mps), np.nan)

    @property
    def held_wind_mps(self) -> Floats:
        """In troubled hours the last accepted wind, or what was seen where that is more; else NaN."""
        return np.where(self.wind.usable, np.nan, np.fmax(self.wind.held, self.seen.wind_mps))


def make_frame(inputs: LevelInputs) -> Frame:
    """Read the wind fields and spread what was seen and the water temperature over the hours."""
    water = inputs.rules.water
    seen = _seen(inputs)
    by = raised_by(inputs)
    flat = zero_runs(inputs.hours.values("wind_mps"), water.flat_zero_hours)
    wind = _raised(_column(inputs, "wind_mps", 0.0, water.max_wind_mps, flat), by)
    water_c = np.broadcast_to(np.asarray(inputs.water_low_c, float), (inputs.hours.hours,))
    if inputs.coldest_c is not None:
        water_c = np.where(np.isnan(water_c), inputs.coldest_c, water_c)
    bands = {value: cold_band(inputs.limits_table, value) for value in set(water_c.tolist())}
    cold = tuple(
        bands[value] if value == value else cold_band(inputs.limits_table, value) for value in water_c.tolist()
    )
    return Frame(
        inputs=inputs,
        times=tuple(inputs.hours.times),
        wind=wind,
        gust=_raised(_gust(inputs, np.fmax(wind.values, seen.wind_mps), flat), by),
        direction=_column(inputs, "wind_from_deg", 0.0, 360.0),
        seen=seen,
        water_c=water_c,
        cold=cold,
        cold_factor=np.array([1.0 if inputs.immersion_clothing else band.factor for band in cold]),
        raised_by=by,
    )


def _column(
    inputs: LevelInputs, name: str, lowest: float, highest: float, refused: NDArray[np.bool_] | None = None
) -> Column:
    return read_column(
        inputs.hours,
        name,
        inputs.now,
        inputs.stale,
        lowest=lowest,
        highest=highest,
        accepted=inputs.accepted,
        refused=refused,
    )


def _gust(inputs: LevelInputs, wind_mps: Floats, flat: NDArray[np.bool_]) -> Column:
    """The gust field; one of about zero beside a wind that blows was not given, zeros in a flat calm have failed."""
    water, gust = inputs.rules.water, inputs.hours["gust_mps"]
    empty = water.gusts.not_given(gust.values, wind_mps)
    index = np.where(empty, -1, gust.origin_index).astype(np.int16)
    told = replace(gust, values=np.where(empty, np.nan, gust.values), origin_index=index)
    hours = replace(inputs.hours, fields={**inputs.hours.fields, "gust_mps": told})
    return _column(replace(inputs, hours=hours), "gust_mps", 0.0, water.max_gust_mps, flat & (told.values == 0.0))


def raised_by(inputs: LevelInputs) -> Floats:
    """What the forecast wind is multiplied by for the limits, 1 or more, never less; shape (hours,)."""
    factor = np.broadcast_to(np.asarray(inputs.wind_factor, float), (inputs.hours.hours,))
    return np.where(np.isfinite(factor), np.maximum(factor, 1.0), 1.0)


def _raised(column: Column, factor: Floats) -> Column:
    return replace(column, values=column.values * factor, held=column.held * factor)


def _seen(inputs: LevelInputs) -> SeenWind:
    count = inputs.hours.hours
    arrays = {name: np.full(count, np.nan) for name in ("wind", "gust", "sight", "from")}
    names = {name: [""] * count for name in ("wind", "gust", "sight")}
    water = inputs.rules.water
    for reading in inputs.winds:
        kind = "wind_seen" if reading.source == "user" else "observation"
        if is_stale(kind, reading.time, inputs.now, inputs.stale):
            continue
        told = {
            "wind": _likely(reading.wind_mps, water.max_wind_mps),
            "gust": _likely(reading.gust_mps, water.max_gust_mps),
            "sight": np.nan if reading.visibility_m is None else reading.visibility_m,
        }
        first = inputs.hours.index_of(reading.time)
        last = inputs.hours.index_of(reading.time + inputs.stale.after[kind])
        for hour in range(max(0, first), min(count - 1, last) + 1):
            for name, value in told.items():
                known = arrays[name][hour]
                if value != value or (known < value if name == "sight" else known > value):
                    continue
                arrays[name][hour], names[name][hour] = value, reading.name
                if name == "wind":
                    arrays["from"][hour] = np.nan if reading.wind_from_deg is None else reading.wind_from_deg
    return SeenWind(
        arrays["wind"],
        arrays["gust"],
        arrays["from"],
        arrays["sight"],
        tuple(names["wind"]),
        tuple(names["gust"]),
        tuple(names["sight"]),
    )


def _likely(value: float | None, highest: float) -> float:
    """A measured speed, NaN where there is none or it can't be true; the reading's other values stand."""
    return value if value is not None and 0.0 <= value <= highest else float("nan")
