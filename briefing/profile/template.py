"""Writes a new lake file: every field with its explanation, guesses as lines to take over, tables with an example.

A guess stands in the file as a comment (``# mean_depth = "6.6 ft"  # guessed: ...``), so that a line without ``#`` is
always the user's own.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from enum import Enum
from pathlib import Path
from typing import Any, Literal, get_args, get_origin

from pydantic.fields import FieldInfo

from briefing.core.wind.limits import LimitsTable
from briefing.errors import InputError
from briefing.profile.files import parse_profile, read_text, write_text
from briefing.profile.guesses import country_at, guesses_for, time_zone_at
from briefing.profile.model import (
    SCHEMA_VERSION,
    BaitSeason,
    Delivery,
    LakeProfile,
    Outing,
    OwnLimits,
    ProfileModel,
    Ramp,
    Rod,
    Rule,
    Spot,
    Stations,
    Tackle,
)
from briefing.resources import read_toml
from briefing.units import Units, m_to_ft, show_wind
from briefing.vocabulary import Craft, Skill

#: The shipped JSON Schema of the lake file, below ``config/``.
SCHEMA_FILE = "schemas/lake.schema.json"
#: Its name beside a user's lake files; editors that know the first line complete and check by it.
SCHEMA_COPY = "lake.schema.json"

_HEAD = """\
#:schema {schema}
# Home lake profile of the morning briefing.
# A line "# key = ..." is a guess or an example: take the "# " away and put your own value.
# Quantities may carry a unit in quotes ("9 ft", "2.5 m"); a bare number is in {units}.
"""

#: Tables of the file: key, its model, one table or a list, and an example that is shown while there is none.
_TABLES: tuple[tuple[str, type[ProfileModel], bool, Mapping[str, Any]], ...] = (
    (
        "limits",
        OwnLimits,
        False,
        {},
    ),
    ("outings", Outing, True, {"days": ["saturday"], "launch": "sunrise -30 min", "return": "11:00"}),
    ("ramps", Ramp, True, {"name": "North landing", "latitude": 30.5, "longitude": -84.5}),
    (
        "spots",
        Spot,
        True,
        {
            "name": "Long grass edge",
            "bank": "NE",
            "depth": ["3 ft", "6 ft"],
            "cover": ["grass_dense", "grass_topped"],
            "cover_top": "1 ft",
            "bottom": "sand",
            "slope": "gentle",
            "shelter": ["N", "NE"],
            "zone": "main",
            "flags": ["nest_area"],
            "hazard": "",
            "notes": "",
        },
    ),
    # Shown as a comment in a new lake's file: the shape of each id, of no gauge, airport or buoy that there is.
    ("stations", Stations, False, {"usgs_sites": ["00000000"], "airport": "KXXX", "buoy": "00000"}),
    (
        "rods",
        Rod,
        True,
        {
            **{"id": "swim_rod", "length": "7 ft 2 in", "power": "medium_heavy", "action": "moderate_fast"},
            **{"reel": "baitcast", "ratio": 6.8, "line": "fluoro", "line_lb": 15.0, "line_mm": 0.35},
        },
    ),
    ("tackle", Tackle, False, {"presentations": [], "weights_oz": {"swim_jig": ["1/4", "3/8"]}, "skills": {"skip": 0}}),
    ("rules", Rule, True, {"kind": "closed_season", "from": "04-15", "to": "06-20", "read_on": "2026-03-01"}),
    ("bait", BaitSeason, True, {"event": "shad_spawn", "from": "04-10", "to": "05-15"}),
    ("delivery", Delivery, False, {"folder": "~/briefings"}),
)


def profile_text(data: Mapping[str, Any], *, schema: str = f"./{SCHEMA_COPY}") -> str:
    """Return the text of a lake file for ``data``, which holds file keys and values as they would be written.

    ``name``, ``latitude``, ``longitude`` and ``craft`` must be there and valid; everything else may be.
    """
    units: Units = data.get("units", "us")
    guessed = {guess.key: guess for guess in guesses_for(data, units)}
    lines = [_HEAD.format(schema=schema, units="feet, mph and F" if units == "us" else "metres, m/s and C")]
    tables = {key for key, *_ in _TABLES}
    for name, info in LakeProfile.model_fields.items():
        key = info.alias or name
        if info.exclude or key in tables:
            continue
        lines.append(f"# {info.description}{_choices(info)}")
        lines.append(_top_line(key, info, data, guessed))
        lines.append("")
    for key, model, several, example in _TABLES:
        if key == "limits":
            example = _limits_example(Craft(data["craft"]), units)
        lines += _table_lines(key, model, several, example, data.get(key))
    return "\n".join(lines).rstrip("\n") + "\n"


def _top_line(key: str, info: FieldInfo, data: Mapping[str, Any], guessed: Mapping[str, Any]) -> str:
    if key in data:
        return f"{key} = {_toml(data[key])}"
    if key == "schema_version":
        return f"{key} = {SCHEMA_VERSION}"
    if key in guessed:
        return f"# {key} = {_toml(guessed[key].value)}  # guessed: {guessed[key].why}"
    if key == "time_zone":
        zone = time_zone_at(float(data["latitude"]), float(data["longitude"]))
        return f"{key} = {_toml(zone)}  # from the position"
    if key == "country":
        place = (float(data["latitude"]), float(data["longitude"]))
        country = country_at(data.get("time_zone") or time_zone_at(*place), *place)
        return f"# {key} = {_toml(country)}  # from the time zone" if country else f'# {key} = "US"'
    if key == "units":
        return f'{key} = "us"'
    example = {"longest_arm": "1.5 mi", "shoreline": "my-lake.geojson"}.get(key, info.default)
    return f"# {key} = {_toml(example)}"


def _choices(info: FieldInfo) -> str:
    """List the words a field takes, when it takes only some and its description doesn't name them."""
    description = info.description or ""
    for part in (info.annotation, *get_args(info.annotation)):
        words: list[Any] = []
        if isinstance(part, type) and issubclass(part, Enum):
            words = list(part)
        elif get_origin(part) is Literal:
            words = list(get_args(part))
        if len(words) > 2 and not all(str(word) in description for word in words):
            return f" One of: {', '.join(str(word) for word in words)}."
    return ""


def _toml(value: Any) -> str:
    """Write a value on one line."""
    import tomlkit

    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_toml(part)}" for key, part in value.items()) + " }" if value else "{}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_toml(part) for part in value) + "]"
    return str(tomlkit.item(value).as_string())


def _table_lines(
    key: str, model: type[ProfileModel], several: bool, example: Mapping[str, Any], given: Any
) -> list[str]:
    head = f"[[{key}]]" if several else f"[{key}]"
    about = (LakeProfile.model_fields[key].description or "").rstrip(".")
    lines = ["# " + "-" * 100, f"# {about}. Fields of {head}:"]
    for name, info in model.model_fields.items():
        lines.append(f"#   {info.alias or name}: {info.description}{_choices(info)}")
    lines.append("")
    if not given:
        lines += [f"# {head}", *(f"# {name} = {_sample(name, value)}" for name, value in example.items()), ""]
    for table in (given if several else [given]) if given else []:
        lines += [head, *(f"{name} = {_toml(value)}" for name, value in table.items()), ""]
    return lines


def _limits_example(craft: Craft, units: Units) -> dict[str, Any]:
    """The limits of the cautious row for the craft, as they would stand in the file."""
    row = LimitsTable.from_mapping(read_toml("limits.toml")).rows[craft, Skill.NOVICE]

    def wind(value_mps: float) -> str:
        return show_wind(value_mps, units, both=False)

    def wave(value_m: float) -> str:
        return f"{round(m_to_ft(value_m) * 20) / 20:g} ft" if units == "us" else f"{value_m:.2f} m"

    return {
        "confirmed": True,
        "sustained": {"caution": wind(row.sustained_caution_mps), "stop": wind(row.sustained_stop_mps)},
        "gust": {"caution": wind(row.gust_caution_mps), "stop": wind(row.gust_stop_mps)},
        "waves": {"caution": wave(row.waves_caution_m), "stop": wave(row.waves_stop_m)},
    }


def _sample(name: str, value: Any) -> str:
    return str(value) if name == "read_on" else _toml(value)  # a date stands without quotes


def append_tables(path: Path, key: str, tables: list[dict[str, Any]]) -> LakeProfile:
    """Add ``[[spots]]`` or ``[[ramps]]`` to a lake file, keeping the user's comments; checked before it is written.

    Raises ProfileError (the file as it would be has a problem; nothing is written) or StoreError.
    """
    text = read_text(path)
    parse_profile(text, path.name)
    parts = [text.rstrip("\n"), ""]
    for table in tables:
        parts += [f"[[{key}]]", *(f"{name} = {_toml(value)}" for name, value in table.items()), ""]
    changed = "\n".join(parts)
    profile = parse_profile(changed, path.name, lake_id=path.stem)
    write_text(path, changed)
    return profile


def set_values(
    path: Path, values: Mapping[str, Any], check: Callable[[LakeProfile], None] = lambda _: None
) -> LakeProfile:
    """Set fields of a lake file (``limits.confirmed`` is a field of a table), keeping the user's comments.

    ``check`` is asked of the profile as it would be; what it raises leaves the file as it is.
    Raises ProfileError (the file as it would be has a problem; nothing is written), InputError or StoreError.
    """

    text = read_text(path)
    parse_profile(text, path.name)
    for key, value in values.items():
        text = _with_value(text, key, value)
    profile = parse_profile(text, path.name, lake_id=path.stem)
    check(profile)
    write_text(path, text)
    return profile


def _with_value(text: str, key: str, value: Any) -> str:
    """Set one field: where it stands, else in the place of its guess or example, else as a new line."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    *outer, last = key.split(".")
    document = tomlkit.parse(text)
    table: Any = document
    for name in outer:
        table = table.get(name) if isinstance(table, Mapping) else None
    if not isinstance(table, Mapping) or last not in table:
        placed = _in_place_of_comment(text, outer, last, value)
        if placed:
            return placed
    try:
        table = document
        for name in outer:
            table = table.setdefault(name, tomlkit.table())
        table[last] = value
    except (TOMLKitError, AttributeError, TypeError):
        raise InputError(f"{key!r} is not a field that can be set so; use: briefing lake edit") from None
    return tomlkit.dumps(document)


def _in_place_of_comment(text: str, outer: list[str], last: str, value: Any) -> str:
    """Take over the commented line of a field (and the head of its table); empty when there is none."""
    lines = text.splitlines()
    heads = [number for number, line in enumerate(lines) if re.match(r"(# )?\[", line)]
    start, end = 0, heads[0] if heads else len(lines)
    if outer:
        names = (f"# [{outer[0]}]", f"[{outer[0]}]")
        start = next((number for number in heads if lines[number] in names), -1)
        end = next((number for number in heads if number > start), len(lines))
    at = next((n for n in range(max(start, 0), end) if lines[n].startswith(f"# {last} = ")), None)
    if start < 0 or at is None or len(outer) > 1:
        return ""
    if outer:
        lines[start] = f"[{outer[0]}]"
    lines[at] = f"{last} = {_toml(value)}"
    return "\n".join(lines) + "\n"
