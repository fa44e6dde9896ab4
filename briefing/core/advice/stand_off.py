"""Where the craft stands for a lure: how far off by visibility, held or drifting by wind, and from which side."""

from __future__ import annotations

from briefing.core.advice.conditions import Conditions, Spot
from briefing.core.advice.presentation import Presentation
from briefing.units import Units, m_to_ft
from briefing.vocabulary import Craft, Flow

#: Distance by visibility: below so many m, stay so many m off.
_OFF_M = ((0.6, 8.0), (1.5, 12.0), (3.0, 18.0), (99.0, 22.0))
_HOLD_FROM_MPS, _SHELTER_FROM_MPS = 4.0, 6.7  # 9 and 15 mph
_DRIFT_SHARE = {Craft.KAYAK: 0.04, Craft.CANOE: 0.055, Craft.JON_BOAT: 0.055, Craft.BASS_BOAT: 0.055}
_DRAWN = ("drag", "drift")


def distance_m(secchi_m: float) -> float:
    """How far off the target the craft stays, m."""
    return next(off for below, off in _OFF_M if secchi_m < below)


def boat_text(
    item: Presentation, retrieve: str, conditions: Conditions, spot: Spot, secchi_m: float, units: Units
) -> str:
    """One sentence or two: the distance, and how the craft is held."""
    off = _length(distance_m(secchi_m), units)
    drift = _DRIFT_SHARE[conditions.craft] * conditions.wind_mps * 60.0
    pushed = f"wind drifts you {_length(drift, units)} a minute"
    if item.group == "vertical":
        return f"Hold straight above, bow into the wind; {pushed}."
    if conditions.wind_mps >= _SHELTER_FROM_MPS:
        return f"Sheltered side only, {off} off, bow anchor or stake: {pushed}."
    if spot.flow in (Flow.SLOW, Flow.STRONG):
        return f"Below the target and aside, {off} off, bow up-current; no stern anchor."
    if retrieve in _DRAWN and conditions.wind_mps >= _HOLD_FROM_MPS:
        return f"Start up-wind and drift it; {pushed}, a sock halves that."
    if conditions.wind_mps >= _HOLD_FROM_MPS:
        return f"{off} off from down-wind, stake or anchor: {pushed}."
    return f"{off} off, come in from down-wind; cast along the edge first, then across."


def _length(value_m: float, units: Units) -> str:
    feet = m_to_ft(value_m)
    us = f"{max(round(feet / 5) * 5, 5):g} ft"
    metric = f"{max(round(value_m), 1)} m"

    return us if units == "us" else metric
