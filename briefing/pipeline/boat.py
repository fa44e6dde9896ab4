"""Boat control for the stops of a plan: from hours, waves, visibility and the first lure."""

from __future__ import annotations

import math
from datetime import timedelta

import numpy as np

from briefing.core.advice.boat import (
    BoatParameters,
    BoatPick,
    OtherDistance,
    boat_control,
    boat_place,
    other_distances,
)
from briefing.core.advice.plan import Stop
from briefing.pipeline.advice import Advised
from briefing.pipeline.hazard import Hazards
from briefing.pipeline.inputs import MorningInputs
from briefing.profile.model import Flag


def boat_at(
    stop: Stop, inputs: MorningInputs, advised: Advised, hazards: Hazards, p: BoatParameters
) -> tuple[BoatPick, tuple[OtherDistance, ...]]:
    """How to hold the craft at a stop, by the strongest hour there, and which lures ask for another distance."""
    spot = advised.spots[stop.spot_id, stop.block_id]
    at = advised.conditions[stop.block_id]
    own = inputs.profile.spot(stop.spot_id)
    series = hazards.series
    first = max(0, series.index_of(stop.arrive))
    last = max(first + 1, series.index_of(stop.leave - timedelta(seconds=1)) + 1)
    wind = series.values("wind_mps")[first:last]
    rows = hazards.table.rows(f"spot: {stop.spot}")
    waves = np.array([]) if hazards.sea is None or not rows.size else hazards.sea.hs_m[first:last, rows[0]]
    places = [
        boat_place(
            spot,
            choice,
            craft=inputs.reader.craft,
            wind_mps=_most(wind),
            wave_m=_most(waves),
            seen_m=at.secchi_m,
            current=own is not None and Flag.CURRENT in own.flags,
            p=p,
        )
        for choice in stop.choices or (None,)
    ]
    return boat_control(places[0], p), other_distances(places, p)


def _most(values: np.ndarray) -> float:
    known = values[np.isfinite(values)]
    return float(known.max()) if known.size else math.nan
