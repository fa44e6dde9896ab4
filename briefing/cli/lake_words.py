"""A lake's profile and limits in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from briefing.vocabulary import Skill

if TYPE_CHECKING:
    from briefing.profile.model import LakeProfile


def limits_lines(profile: LakeProfile) -> list[str]:
    """Write both rows of default limits for the craft, and which one is in use."""
    from briefing.core.advice.measures import localised
    from briefing.core.wind.limits import LimitsTable, limits_for
    from briefing.resources import read_toml
    from briefing.units import m_to_ft, mps_to_mph

    table = LimitsTable.from_mapping(read_toml("limits.toml"))
    us = profile.units == "us"

    def wind(low: float, high: float) -> str:
        return f"{mps_to_mph(low):.0f} / {mps_to_mph(high):.0f} mph" if us else f"{low:.1f} / {high:.1f} m/s"

    def wave(low: float, high: float) -> str:
        return f"{m_to_ft(low):.1f} / {m_to_ft(high):.1f} ft" if us else f"{low:.2f} / {high:.2f} m"

    lines = ["Limits by default, caution / stop (judgement, no accident data behind them; you can set your own):"]
    for skill in Skill:
        row = table.rows[profile.craft, skill]
        sustained = wind(row.sustained_caution_mps, row.sustained_stop_mps)
        gusts = wind(row.gust_caution_mps, row.gust_stop_mps)
        waves = wave(row.waves_caution_m, row.waves_stop_m)
        lines.append(f"  {row.row}: wind {sustained}, gusts {gusts}, waves {waves}")
    used = limits_for(
        table,
        profile.craft,
        profile.skill,
        alone=profile.alone,
        reentry_practised=profile.reentry_practised,
    )
    lines.append(f"In use: {used.row} ({used.why}).")
    own = profile.limits
    parts = [f"wind {wind(own.sustained.caution_mps, own.sustained.stop_mps)}"] if own.sustained else []
    parts += [f"gusts {wind(own.gust.caution_mps, own.gust.stop_mps)}"] if own.gust else []
    parts += [f"waves {wave(own.waves.caution_m, own.waves.stop_m)}"] if own.waves else []
    if parts:
        until = "" if own.confirmed else " (until you confirm them, only those that are tighter count)"
        lines.append(f"Your own in their place: {', '.join(parts)}{until}.")
    return [localised(line, profile.units) for line in lines]


def profile_lines(profile: LakeProfile) -> list[str]:
    """Write what is known about a lake, with every guess marked."""
    from briefing import units

    system = profile.units
    position = f"{abs(profile.latitude):.4f} {'N' if profile.latitude >= 0 else 'S'}, "
    position += f"{abs(profile.longitude):.4f} {'E' if profile.longitude >= 0 else 'W'}"
    rows: list[tuple[str, str, str]] = [
        ("position", position, ""),
        ("time zone", profile.time_zone, ""),
        ("kind", profile.kind.value, "kind"),
        ("elevation", units.show_elevation(profile.elevation_m, system), "elevation_m"),
        ("area", units.show_area(profile.area_km2, system), "area_km2"),
        ("mean depth", units.show_depth(profile.mean_depth_m, system), "mean_depth_m"),
        ("greatest depth", units.show_depth(profile.max_depth_m, system), "max_depth_m"),
        ("shoreline", profile.shoreline or "none", ""),
        ("species", ", ".join(profile.species), "species"),
        ("visibility", units.show_visibility(profile.visibility_m, system), "visibility_m"),
        ("water colour", profile.water_colour.value, "water_colour"),
        ("forage", ", ".join(profile.forage), "forage"),
        ("craft", f"{profile.craft.value} at {units.show_boat_speed(profile.speed_mps, system)}", "speed_mps"),
        ("skill", profile.skill.value, "skill"),
        ("alone", "yes" if profile.alone else "no", "alone"),
        ("re-entry practised", "yes" if profile.reentry_practised else "no", "reentry_practised"),
        ("clothing", profile.clothing.value, "clothing"),
        ("ramps", ", ".join(ramp.name for ramp in profile.ramps) or "none", ""),
    ]
    lines = [f"{profile.name} ({profile.id})"]
    for label, value, name in rows:
        mark = f"  (guess: {profile.guessed[name]})" if name in profile.guessed else ""
        lines.append(f"  {label}: {value}{mark}")
    lines += [f"  spot: {spot.name}, {_spot_words(spot, system)}" for spot in profile.spots]
    return lines + limits_lines(profile)


def _spot_words(spot: Any, system: Any) -> str:
    from briefing.units import show_depth_range

    marks = {"depth_m": "depth", "cover": "cover"}
    guessed = [marks[name] for name in spot.guessed]
    words = f"{show_depth_range(spot.depth_m[0], spot.depth_m[1], system)}, {', '.join(spot.cover)}"
    return words + (f" (guess: {', '.join(guessed)})" if guessed else "")


def file_key(attribute: str) -> str:
    """Return the key in the file for an attribute of the profile."""
    from briefing.profile.model import LakeProfile

    return LakeProfile.model_fields[attribute].alias or attribute
