"""Where in the water a lure works, as a person would say it: rounded, and what it takes to get there."""

from __future__ import annotations

from briefing.core.advice.conditions import Spot
from briefing.core.advice.presentation import Presentation
from briefing.core.advice.situation import GRASS, main_cover
from briefing.core.advice.weight import Layer, Solved
from briefing.units import Units, m_to_ft
from briefing.vocabulary import Cover

_NEAR_TOPS_M = 0.5
_ONE_DEPTH_M = 0.35
_STANDING = (Cover.REEDS, Cover.PADS, Cover.GRASS_TOPPED)
_STOPPING = ("twitch_pause", "deadstick", "kill_fall")


def about_depth(value_m: float, units: Units) -> str:
    """A depth as one says it on the water: half feet below 2 ft, else feet; tenths below 3 m, else half metres."""
    return f"{_rounded(value_m, units)} {_unit(units)}"


def about_range(low_m: float, high_m: float, units: Units) -> str:
    """A range of depth as one says it on the water, "2 to 4 ft"."""
    low, high = _rounded(low_m, units), _rounded(high_m, units)
    return f"about {high} {_unit(units)}" if low == high else f"{low} to {high} {_unit(units)}"


def depth_words(solved: Solved, item: Presentation, spot: Spot, units: Units) -> str:
    """Where a solved lure works, to stand behind its size: "on the bottom in 2 to 6 ft"."""
    if solved.depth_m is None:
        return "depth by feel"
    low, high = (min(max(value, 0.0), spot.depth_m[1]) for value in solved.depth_m)
    if solved.layer in (Layer.BOTTOM, Layer.BELOW):
        low = min(max(low, spot.depth_m[0]), high)
    text = about_range(low, high, units)
    seconds = "" if solved.count_s is None else f"{max(round(solved.count_s), 1)} s"
    if solved.layer is Layer.SURFACE:
        stems = item.trebles and main_cover(spot) in _STANDING
        return "on the surface, along the outside edge" if stems else "on the surface"
    if solved.layer is Layer.SKIM and solved.retrieve is not None and solved.retrieve.id in _STOPPING:
        return "across the top, left to sink in the holes"
    if solved.layer is Layer.SKIM:
        return "just under the surface, rod high"
    if solved.layer is Layer.BOTTOM:
        return f"on the bottom in {text if high - low > _ONE_DEPTH_M else about_depth(high, units)}"
    if solved.layer is Layer.CROWNS:
        return f"at the crowns first, {text} down"
    if solved.layer is Layer.BELOW:
        return f"lifted off the bottom in {text if high - low > _ONE_DEPTH_M else about_depth(high, units)}"
    if solved.layer is Layer.TWITCHED:
        return f"in the upper {about_depth(high, units)}"
    if solved.layer is Layer.FALLING and solved.short:
        return f"sinks to {about_depth(high, units)} in {seconds}, no deeper"
    if solved.layer is Layer.FALLING:
        return f"sinks to {about_depth(high, units)} in about {seconds}"
    if solved.layer is Layer.HELD:
        return f"{text} down, after {seconds} of sinking"
    if solved.layer is Layer.COUNTED:
        return f"{text} down{_over(low, high, spot)}, after {seconds} of sinking"
    return f"{text} down{_over(low, high, spot)}"


def _over(low_m: float, high_m: float, spot: Spot) -> str:
    """That it runs along the tops, where it does."""
    top = spot.cover_top_m
    if top is None or main_cover(spot) not in GRASS or top <= 0.0:
        return ""
    near = low_m <= top and abs((low_m + high_m) / 2 - top) <= _NEAR_TOPS_M
    return ", along the tops" if near else ""


def _unit(units: Units) -> str:
    return "ft" if units == "us" else "m"


def _rounded(value_m: float, units: Units) -> str:
    if units == "us":
        feet = m_to_ft(value_m)
        return f"{round(2 * feet) / 2:g}" if feet < 2.0 else f"{feet:.0f}"
    return f"{round(value_m, 1):g}" if value_m < 2.95 else f"{round(2 * value_m) / 2:g}"
