"""Which banks the wind blows onto, which are sheltered, and whether waves run onto a ramp."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from briefing.core.wind.fetch import FetchTable
from briefing.core.wind.shape import LakeShape
from briefing.core.wind.words import height
from briefing.units import Units, direction_words

#: With n from water to bank and w the way the wind blows: n.w above this is wind-blown, below its negative sheltered.
SIDE = 0.5
#: A ramp with this much open water upwind faces the waves when its bank is wind-blown.
FACING_FETCH_M = 200.0


@dataclass(frozen=True, slots=True)
class RampExposure:
    """Whether waves run onto a ramp, with wave height (m) there and one sentence; sheltered: under the lee bank."""

    name: str
    faces_waves: bool
    hs_m: float
    text: str
    sheltered: bool = False


def bank_sides(shape: LakeShape, wind_from_deg: ArrayLike) -> NDArray[np.int8]:
    """Return +1 wind-blown, -1 sheltered, 0 along the wind or wind unknown, for every shore edge.

    One direction gives shape (edges,), in the order of ``shape.edges``; an array of hours gives (hours, edges).
    """
    wind = np.radians(np.asarray(wind_from_deg, float))
    toward = -np.stack([np.sin(wind), np.cos(wind)], axis=-1)
    onto = toward @ shape.outward_normals.T
    with np.errstate(invalid="ignore"):
        return np.asarray(np.where(onto > SIDE, 1, np.where(onto < -SIDE, -1, 0)), np.int8)


def bank_words(wind_from_deg: float) -> tuple[str, str]:
    """Return the compass names of the wind-blown and the sheltered bank, such as ("north-east", "south-west")."""
    return direction_words(wind_from_deg + 180.0), direction_words(wind_from_deg)


def ramp_exposures(
    shape: LakeShape,
    table: FetchTable,
    hs_m: Sequence[float] | NDArray[np.float64],
    wind_from_deg: float,
    *,
    units: Units,
    prefix: str = "ramp: ",
) -> tuple[RampExposure, ...]:
    """Say for each ramp of the table (labels beginning with ``prefix``) whether the waves of an hour run onto it.

    hs_m: wave height of that hour at the table's points, NaN unknown. A ramp faces the waves when the bank next to it
    is wind-blown and there is open water upwind.
    """
    out = []
    sides = bank_sides(shape, wind_from_deg)
    fetch = table.for_wind([wind_from_deg])[0]
    for row in table.rows(prefix).tolist():
        name = table.labels[row].removeprefix(prefix)
        if not np.isfinite(fetch[row]):
            out.append(RampExposure(name, False, float("nan"), f"{name}: not known whether waves run onto the ramp."))
            continue
        _, _, edge = shape.nearest_shore(table.points_xy_m[row])
        facing = bool(sides[edge] > 0 and fetch[row] >= FACING_FETCH_M)
        high = float(hs_m[row])
        say = height(high, units) if np.isfinite(high) else "height not known"
        text = f"{name}: waves ({say}) run onto the ramp." if facing else f"{name}: the ramp does not face the waves."
        out.append(RampExposure(name, facing, high, text, bool(sides[edge] < 0)))
    return tuple(out)
