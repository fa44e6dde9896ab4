"""Constants and judged coefficients of the tackle physics, as frozen values built from ``config/physics.toml``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Curve = tuple[tuple[float, float], ...]
Triple = tuple[float, float, float]
Pair = tuple[float, float]

GRAVITY_MPS2 = 9.81


def _curve(rows: Any) -> Curve:
    return tuple((float(x), float(y)) for x, y in rows)


def _pair(values: Any) -> Pair:
    low, high = values
    return float(low), float(high)


def _triple(values: Any) -> Triple:
    low, middle, high = values
    return float(low), float(middle), float(high)


def _numbers(table: Mapping[str, Any], prefix: str) -> dict[str, float]:
    """Entries ``<prefix>_<name>`` that are single numbers, keyed by name."""
    start = f"{prefix}_"
    return {key[len(start) :]: float(value) for key, value in table.items() if key.startswith(start)}


@dataclass(frozen=True, slots=True)
class LineParameters:
    """Diameters by labelled strength, densities and drag of fishing line."""

    diameters_mm: Mapping[str, Curve]  # type -> (pound-test, mm) ascending
    densities_kgpm3: Mapping[str, float]
    drag_coefficient: float
    share_across: float


@dataclass(frozen=True, slots=True)
class SinkParameters:
    """Factors on the slack-line fall."""

    spread: float
    countdown_share: float
    controlled: float
    bowed: float
    dragged: Curve
    feed_line_share: float


@dataclass(frozen=True, slots=True)
class RunParameters:
    """Running depth of sinking lures."""

    spread: float
    end_m: float
    lifts: Mapping[str, float]  # low | medium | high | very_high
    tips_m: Mapping[str, float]  # water | seated | raised | standing
    clearance_m: float
    windy_step_mps: float


@dataclass(frozen=True, slots=True)
class CrankParameters:
    """Diving depth of crankbaits."""

    cast_gain: float
    cast_scale_m: float
    line_reference_mm: float
    line_exponent: float
    line_exponent_low: float
    line_exponent_high: float
    print_share: float
    stall_share: float
    lure_spread: float
    tips_m: Mapping[str, float]  # in_water | normal | high
    contact_from: float
    contact_to: float


@dataclass(frozen=True, slots=True)
class WindParameters:
    """Wind on line and craft."""

    air_density_kgpm3: float
    friction_clean: float
    friction_rough: float
    drifts: Mapping[str, Pair]
    drift_sock: float
    steepest_line_deg: float


@dataclass(frozen=True, slots=True)
class CastParameters:
    """Casting distance."""

    base: Curve
    skills: Mapping[str, float]
    standing: float
    spinning_reference_mm: float
    spinning_exponent: float
    baitcast_reference_mm: float
    baitcast_exponent: float
    shapes: Mapping[str, float]
    tail_wind_per_mps: float
    head_wind_per_mps: float
    cross_wind_per_mps: float
    floor: float
    spread: float


@dataclass(frozen=True, slots=True)
class ReelParameters:
    """Line taken up by a turn of the handle."""

    pickups_cm: Mapping[str, Curve]  # type -> (gear ratio, cm a turn)
    half_spool: float


@dataclass(frozen=True, slots=True)
class LightParameters:
    """Light in the water."""

    kd_secchi: Mapping[str, Triple]  # water colour -> Kd x Secchi depth, low, middle, high
    water_index: float
    diffuse_transmission: float
    diffuse_floor: float
    diffuse_scale_deg: float
    chop_gain: float
    chop_below_deg: float
    cloud_coefficient: float
    cloud_exponent: float
    sight_cap_m: float
    sight_per_secchi: float
    sight_translucent: float
    sight_night: float
    felt_m: Pair
    spacing_search: float
    spacing_finesse: float


@dataclass(frozen=True, slots=True, eq=False)
class PhysicsParameters:
    """Everything of ``config/physics.toml``; every function of this package takes it. Equal only to itself."""

    densities_kgpm3: Mapping[str, float]
    line: LineParameters
    sink: SinkParameters
    run: RunParameters
    crank: CrankParameters
    wind: WindParameters
    cast: CastParameters
    reel: ReelParameters
    light: LightParameters

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> PhysicsParameters:
        """Build from the parsed file. Raises ``KeyError`` naming what is missing."""
        return cls(
            densities_kgpm3={k: float(v) for k, v in data["densities_kgpm3"].items() if k != "source"},
            line=_line(data["line"]),
            sink=_sink(data["sink"]),
            run=_run(data["run"]),
            crank=_crank(data["crankbait"]),
            wind=_wind(data["wind"]),
            cast=_cast(data["cast"]),
            reel=ReelParameters(
                {k: _curve(data["reel"][k]) for k in ("baitcast", "spinning")}, float(data["reel"]["half_spool"])
            ),
            light=_light(data["light"]),
        )


def _floats(table: Mapping[str, Any], names: tuple[str, ...]) -> dict[str, float]:
    return {name: float(table[name]) for name in names}


def _line(t: Mapping[str, Any]) -> LineParameters:
    kinds = ("mono", "fluoro", "braid")
    return LineParameters(
        diameters_mm={kind: _curve(t[kind]) for kind in kinds},
        densities_kgpm3={kind: float(t[f"density_{kind}_kgpm3"]) for kind in kinds},
        **_floats(t, ("drag_coefficient", "share_across")),
    )


def _sink(t: Mapping[str, Any]) -> SinkParameters:
    names = ("spread", "countdown_share", "controlled", "bowed", "feed_line_share")
    return SinkParameters(dragged=_curve(t["dragged"]), **_floats(t, names))


def _run(t: Mapping[str, Any]) -> RunParameters:
    tips = {name: float(t[f"tip_{name}_m"]) for name in ("water", "seated", "raised", "standing")}
    names = ("spread", "end_m", "clearance_m", "windy_step_mps")
    return RunParameters(lifts=_numbers(t, "lift"), tips_m=tips, **_floats(t, names))


def _crank(t: Mapping[str, Any]) -> CrankParameters:
    tips = {name: float(t[f"tip_{name}_m"]) for name in ("in_water", "normal", "high")}
    names = (
        *("cast_gain", "cast_scale_m", "line_reference_mm", "line_exponent", "line_exponent_low"),
        *("line_exponent_high", "print_share", "stall_share", "lure_spread", "contact_from", "contact_to"),
    )
    return CrankParameters(tips_m=tips, **_floats(t, names))


def _wind(t: Mapping[str, Any]) -> WindParameters:
    drifts = {name: _pair(t[f"drift_{name}"]) for name in ("kayak", "canoe", "jon_boat", "bass_boat")}
    names = ("air_density_kgpm3", "friction_clean", "friction_rough", "drift_sock", "steepest_line_deg")
    return WindParameters(drifts=drifts, **_floats(t, names))


def _cast(t: Mapping[str, Any]) -> CastParameters:
    names = (
        *("standing", "spinning_reference_mm", "spinning_exponent", "baitcast_reference_mm", "baitcast_exponent"),
        *("tail_wind_per_mps", "head_wind_per_mps", "cross_wind_per_mps", "floor", "spread"),
    )
    return CastParameters(
        base=_curve(t["base"]), skills=_numbers(t, "skill"), shapes=_numbers(t, "shape"), **_floats(t, names)
    )


def _light(t: Mapping[str, Any]) -> LightParameters:
    names = (
        *("water_index", "diffuse_transmission", "diffuse_floor", "diffuse_scale_deg", "chop_gain", "chop_below_deg"),
        *("cloud_coefficient", "cloud_exponent", "sight_cap_m", "sight_per_secchi", "sight_translucent"),
        *("sight_night", "spacing_search", "spacing_finesse"),
    )
    colours = ("clear", "green", "tannic", "muddy")
    return LightParameters(
        kd_secchi={colour: _triple(t[f"secchi_{colour}"]) for colour in colours},
        felt_m=_pair(t["felt_m"]),
        **_floats(t, names),
    )
