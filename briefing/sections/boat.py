"""How to hold the craft at a stop, in words: one sentence for every form, and what more a reader may open."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from briefing import units
from briefing.core.advice.boat import BoatPick, Hold, Move, OtherDistance, Side
from briefing.sections.words import listed
from briefing.units import Units

_HOLDS = {
    Hold.DRIFT: "drift over it",
    Hold.SOCK: "drift over it with a sock out",
    Hold.PADDLE: "stay",
    Hold.STAKE: "stake out",
    Hold.ANCHOR: "anchor by the bow",
    Hold.MOTOR: "hold with the bow motor",
}
_HELD = {Hold.PADDLE: "", Hold.STAKE: "staked ", Hold.ANCHOR: "anchored ", Hold.MOTOR: "held "}
_FIRST = "This wind asks for sheltered water. "
_SIDES = {
    Side.DOWN_WIND: "come up from down-wind",
    Side.BOW_TO_WIND: "bow into the wind",
    Side.ALONG: "",
    Side.ANY: "",
}
_MOVES = {Move.IN: "go in to {} off", Move.OUT: "back off to {}", Move.OVER: "lie right over it"}
_MINUTES = ("", "a minute", "two minutes", "three minutes", "four minutes", "five minutes", "six minutes")


@dataclass(frozen=True)
class BoatWords:
    """Of a stop: how to hold the craft, which lures ask for another distance, what drift and waves do.

    ``short`` is for where a place before it was told alike.
    """

    text: str = ""
    short: str = ""
    others: tuple[str, ...] = ()
    more: tuple[str, ...] = ()


def boat_text(pick: BoatPick, system: Units) -> str:
    """Side, hold, distance and length of cast in one sentence; before it the sentence on too much wind."""
    how = _how(pick, system)
    how = how.replace("bow into the wind", "bow into the current") if pick.current else how
    return f"{_FIRST if pick.sheltered_only else ''}Boat: {how}."


def boat_short(pick: BoatPick, system: Units) -> str:
    """Hold and distance in five words at most."""
    if pick.hold is Hold.OVER:
        return "Boat: right over it."
    if pick.hold in (Hold.DRIFT, Hold.SOCK):
        return "Boat: drift over it."
    return f"Boat: {_HELD[pick.hold]}{_reach(pick.off_m, system)} off."


def others_text(others: Sequence[OtherDistance], names: Sequence[str], system: Units) -> tuple[str, ...]:
    """Which lures ask for another distance than the first; ``names`` are those of all lures of the stop, in order."""
    told: dict[str, list[str]] = {}
    for one in others:
        told.setdefault(_MOVES[one.move].format(_reach(one.off_m, system)), []).append(names[one.number])
    return tuple(f"With {listed(lures)} {how}." for how, lures in told.items())


def _how(pick: BoatPick, system: Units) -> str:
    if pick.hold is Hold.OVER:
        return "lie right over it, bow into the wind; fish straight below"
    if pick.hold in (Hold.DRIFT, Hold.SOCK):
        return f"start up-wind of it and {_HOLDS[pick.hold]}, line out behind"
    if pick.side is Side.ALONG:
        held = f"{_HOLDS[pick.hold]} {_reach(pick.off_m, system)} off the face"
        return f"{held} and cast along it, {_casts(pick.cast_m, system)}"
    held = f"{_HOLDS[pick.hold]} {_reach(pick.off_m, system)} off"
    how = ", ".join(part for part in (_SIDES[pick.side], held) if part)
    across = " ahead, at 45 degrees, then across," if pick.side is Side.BOW_TO_WIND else ""
    return f"{how}; cast{across} {_casts(pick.cast_m, system)}"


def boat_more(pick: BoatPick, system: Units, edge_m: float) -> tuple[str, ...]:
    """Drift beside edge and lure, and how never to lie, where they count."""
    out = []
    if pick.hold in (Hold.DRIFT, Hold.SOCK):
        out.append("The drift is the retrieve: keep the line just tight.")
    elif pick.told_drift:
        out.append("The drift adds to the lure's pace: reel slower down-wind, faster up-wind.")
    minutes = pick.edge_min
    if math.isfinite(minutes) and minutes < len(_MINUTES) - 0.5:
        lasts = _MINUTES[max(1, round(minutes))]
        drift = _reach(60.0 * pick.drift_mps, system)
        out.append(f"Unheld you drift about {drift} a minute: {_reach(edge_m, system)} of edge last {lasts}.")
    if pick.bow_only:
        out.append("Lie to the bow alone here, never to the stern or beam-on.")
    return tuple(out)


def _casts(span_m: tuple[float, float], system: Units) -> str:
    low, high = (_number(value, system) for value in span_m)
    unit = "ft" if system == "us" else "m"
    return f"{high} {unit}" if low == high else f"{low} to {high} {unit}"


def _reach(value_m: float, system: Units) -> str:
    return f"{_number(value_m, system)} {'ft' if system == 'us' else 'm'}"


def _number(value_m: float, system: Units) -> int:
    """Feet to the next five, metres to the next one."""
    return 5 * round(units.m_to_ft(value_m) / 5) if system == "us" else round(value_m)
