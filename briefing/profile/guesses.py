"""What is taken for a lake or user when the profile doesn't say: from position and craft, with the reason.

Guesses lean to the cautious side where someone could be hurt (novice, alone, no practised re-entry, no immersion
clothing) and to the middle elsewhere. Each can be replaced by a line in the lake's file. The figures are in
``config/guesses.toml``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from briefing.profile.countries import country_of_zone
from briefing.profile.fields import plain_number
from briefing.resources import read_toml
from briefing.units import Units, parse_depth, show_area, show_boat_speed, show_depth, show_elevation, show_visibility
from briefing.vocabulary import Craft, LakeKind, SpeciesForm


@dataclass(frozen=True, slots=True)
class Guess:
    """A guessed value: attribute name in the profile, file key, value as written in a file, why."""

    attribute: str
    key: str
    value: Any
    why: str


def time_zone_at(latitude: float, longitude: float) -> str:
    """Return the IANA time zone at a position, without a network (the nautical zone out at sea)."""
    import tzfpy

    return str(tzfpy.get_tz(longitude, latitude)) or "UTC"


def country_at(time_zone: str, latitude: float, longitude: float) -> str | None:
    """Return the country of a lake by its time zone, where that is of none (``UTC``) by its position; None at sea."""
    return country_of_zone(time_zone) or country_of_zone(time_zone_at(latitude, longitude))


def guess_kind(latitude: float, longitude: float) -> LakeKind:
    """Return the usual kind of water at a position."""
    for row in read_toml("guesses.toml")["kind_by_place"]:
        south, north = row["latitude"]
        west, east = row["longitude"]
        if south <= abs(latitude) < north and west <= longitude < east:
            return LakeKind(row["kind"])
    return LakeKind.LOWLAND_RESERVOIR


def resolve_species(word: str, latitude: float, longitude: float, kind: LakeKind) -> SpeciesForm:
    """Return the form that ``largemouth`` or ``smallmouth`` alone means here; a full form stays what it is.

    Raises ValueError for any other word.
    """
    if word == "largemouth":
        for row in read_toml("guesses.toml")["largemouth_by_place"]:
            west, east = row["longitude"]
            if abs(latitude) < row["north"] and west <= longitude < east:
                return SpeciesForm(row["form"])
        return SpeciesForm.LARGEMOUTH_NORTHERN
    if word == "smallmouth":
        return SpeciesForm.SMALLMOUTH_RIVER if kind is LakeKind.TIDAL_RIVER else SpeciesForm.SMALLMOUTH_LAKE
    return SpeciesForm(word)


def _elevation(latitude: float, longitude: float, kind: LakeKind) -> float:
    for row in read_toml("guesses.toml")["elevation_by_place"]:
        south, north = row["latitude"]
        west, east = row["longitude"]
        if south <= abs(latitude) < north and west <= longitude < east:
            return float(row["elevation_m"])
    return float(read_toml("guesses.toml")["kind"][kind.value]["elevation_m"])


def guesses_for(data: Mapping[str, Any], units: Units) -> list[Guess]:
    """Return a guess for every field that ``data`` (a parsed profile with valid position and craft) leaves out."""
    latitude, longitude = float(data["latitude"]), float(data["longitude"])
    kind = LakeKind(data["kind"]) if data.get("kind") else guess_kind(latitude, longitude)
    by_kind = read_toml("guesses.toml")["kind"][kind.value]
    words = kind.value.replace("_", " ")
    if kind is LakeKind.SOUTHERN_GRASS:
        words = "southern grass lake"
    usual = f"usual for a {words}"
    craft = Craft(data["craft"])
    species = [resolve_species(word, latitude, longitude, kind).value for word in by_kind["species"]]
    rows = [
        Guess("kind", "kind", kind.value, "from the position"),
        Guess(
            "elevation_m",
            "elevation",
            _in(show_elevation, _elevation(latitude, longitude, kind), units),
            "from the region, coarse",
        ),
        Guess("area_km2", "area", _in(show_area, by_kind["area_km2"], units), usual),
        Guess("mean_depth_m", "mean_depth", _in(show_depth, by_kind["mean_depth_m"], units), usual),
        Guess("max_depth_m", "max_depth", _in(show_depth, by_kind["max_depth_m"], units), usual),
        Guess("species", "species", species, "from the position and the kind of water"),
        Guess("visibility_m", "visibility", _in(show_visibility, by_kind["visibility_m"], units), usual),
        Guess("water_colour", "water_colour", by_kind["water_colour"], usual),
        Guess("forage", "forage", list(by_kind["forage"]), usual),
        Guess("skill", "skill", "novice", "the cautious row of limits until you say otherwise"),
        Guess("alone", "alone", True, "cautious until you say otherwise"),
        Guess("reentry_practised", "reentry_practised", False, "cautious until you say otherwise"),
        Guess("clothing", "clothing", "none", "cautious until you say otherwise"),
        Guess("speed_mps", "speed", _in(show_boat_speed, _craft_speed(craft), units), f"usual for a {_word(craft)}"),
    ]
    return _consistent([row for row in rows if row.key not in data], data, by_kind, units)


def _consistent(rows: list[Guess], data: Mapping[str, Any], by_kind: Mapping[str, Any], units: Units) -> list[Guess]:
    """Keep a guessed depth in step with one that was given: guess it from the other by the kind's ratio."""

    def given(key: str) -> float | None:
        value = data.get(key)
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            return None
        return parse_depth(value if isinstance(value, str) else plain_number(value), units)

    ratio = by_kind["max_depth_m"] / by_kind["mean_depth_m"]
    mean, greatest = given("mean_depth"), given("max_depth")
    out = []
    for row in rows:
        if row.key == "mean_depth" and greatest is not None:
            row = Guess(row.attribute, row.key, f"{greatest / ratio:.3f} m", "from the greatest depth")
        elif row.key == "max_depth" and mean is not None:
            row = Guess(row.attribute, row.key, f"{min(mean * ratio, 120.0):.3f} m", "from the mean depth")
        out.append(row)
    return out


def _in(show: Any, value: float, units: Units) -> str:
    """Write a guess in the user's own unit, as it would stand in the file."""
    return str(show(float(value), units, both=False))


def _word(craft: Craft) -> str:
    return craft.value.replace("_", " ")


def _craft_speed(craft: Craft) -> float:
    return float(read_toml("guesses.toml")["speed_mps"][craft.value])
