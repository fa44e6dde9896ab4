"""Field types of the profile: quantities written with or without a unit, directions, slopes and launch times.

A bare number takes the profile's own unit system, which the reader hands in as the validation context
``{"units": "us"}``. Each type carries the JSON Schema that an editor sees.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Annotated, cast
from zoneinfo import ZoneInfo

from pydantic import BeforeValidator, Field, PlainSerializer, ValidationInfo, WithJsonSchema
from pydantic_core import PydanticCustomError

from briefing import units
from briefing.errors import UnitError
from briefing.profile.countries import known_countries
from briefing.units import Units


def system_of(info: ValidationInfo) -> Units:
    """Return the unit system of the file being read; the US one without a context."""
    return cast(Units, (info.context or {}).get("units", "us"))


def refuse(message: str) -> PydanticCustomError:
    """Return an error whose text goes to the user as it stands; braces in it are kept."""
    return PydanticCustomError("briefing", "{reason}", {"reason": message})


def plain_number(value: float) -> str:
    """Write a number without exponent and trailing zeros."""
    try:
        text = f"{value:.6f}"
    except OverflowError:  # a whole number that no float can hold
        return str(value)
    return text.rstrip("0").rstrip(".")


def _reader(parse: Callable[[str, Units], float], example: str) -> BeforeValidator:
    """Make the step that reads ``"12 ft"`` or a bare number through ``parse``."""

    def read(value: object, info: ValidationInfo) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            raise refuse(f'accepted: a number with a unit in quotes, such as "{example}"')
        try:
            return parse(value if isinstance(value, str) else plain_number(value), system_of(info))
        except UnitError as error:
            raise refuse(str(error).rstrip(".")) from None

    return BeforeValidator(read)


def _as_written(example: str) -> WithJsonSchema:
    return WithJsonSchema({"anyOf": [{"type": "number"}, {"type": "string"}], "examples": [example]})


def _parse_length_ft(text: str, system: Units) -> float:
    return units.m_to_ft(units.parse_depth(text, system))


Depth = Annotated[float, _reader(units.parse_depth, "12 ft"), _as_written("12 ft")]
Visibility = Annotated[float, _reader(units.parse_visibility, "3 ft"), _as_written("3 ft")]
Distance = Annotated[float, _reader(units.parse_distance, "1.5 mi"), _as_written("1.5 mi")]
Elevation = Annotated[float, _reader(units.parse_elevation, "320 ft"), _as_written("320 ft")]
Area = Annotated[float, _reader(units.parse_area, "120 acres"), _as_written("120 acres")]
Wind = Annotated[float, _reader(units.parse_speed, "12 mph"), _as_written("12 mph")]
Wave = Annotated[float, _reader(units.parse_wave_height, "1 ft"), _as_written("1 ft")]
BoatSpeed = Annotated[float, _reader(units.parse_boat_speed, "3 mph"), _as_written("3 mph")]
RodLength = Annotated[float, _reader(_parse_length_ft, "7 ft 2 in"), _as_written("7 ft 2 in")]

Latitude = Annotated[float, Field(strict=True, ge=-90.0, le=90.0)]
Longitude = Annotated[float, Field(strict=True, ge=-180.0, le=180.0)]


def _read_direction(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise refuse('accepted: a compass point such as "NW", or degrees from 0 to 360')
    try:
        return units.parse_direction(str(value))
    except UnitError as error:
        raise refuse(str(error).rstrip(".")) from None


Direction = Annotated[
    float,
    BeforeValidator(_read_direction),
    WithJsonSchema({"anyOf": [{"type": "number", "minimum": 0, "maximum": 360}, {"type": "string"}]}),
]

#: Slope of a bank in words, and the degrees each stands for.
SLOPE_WORDS = {"flat": 1.0, "gentle": 5.0, "medium": 15.0, "steep": 35.0, "wall": 70.0}


def _read_slope(value: object) -> float:
    if isinstance(value, str) and value in SLOPE_WORDS:
        return SLOPE_WORDS[value]
    if isinstance(value, int | float) and not isinstance(value, bool) and 0.0 <= value <= 90.0:
        return float(value)
    raise refuse(f"accepted: degrees from 0 to 90, or {', '.join(SLOPE_WORDS)}")


Slope = Annotated[
    float,
    BeforeValidator(_read_slope),
    WithJsonSchema({"anyOf": [{"type": "number", "minimum": 0, "maximum": 90}, {"enum": list(SLOPE_WORDS)}]}),
]


def _opens(name: str) -> bool:
    try:
        return bool(ZoneInfo(name).key)
    except (KeyError, ValueError, OSError):
        return False


def _read_zone(value: object) -> str:
    # Opening the one zone asked for; listing all of them takes 60 ms.
    if isinstance(value, str) and _opens(value):
        return value
    raise refuse('accepted: an IANA time zone, such as "America/Chicago"')


def _read_country(value: object) -> str:
    code = value.upper() if isinstance(value, str) else ""
    if re.fullmatch("[A-Z]{2}", code) and code in (known_countries() or (code,)):
        return code
    meant = "; did you mean GB?" if code == "UK" else ""
    raise refuse(f'accepted: a country of ISO 3166 in two letters, such as "US"{meant}')


Country = Annotated[str, BeforeValidator(_read_country), WithJsonSchema({"type": "string", "pattern": "^[A-Za-z]{2}$"})]
TimeZone = Annotated[str, BeforeValidator(_read_zone), WithJsonSchema({"type": "string"})]


@dataclass(frozen=True, slots=True)
class LaunchTime:
    """A time of day on the clock, or minutes before (negative) or after sunrise."""

    minutes: int  # since midnight, or from sunrise
    from_sunrise: bool = False

    def __str__(self) -> str:
        if not self.from_sunrise:
            return f"{self.minutes // 60:02d}:{self.minutes % 60:02d}"
        return "sunrise" if not self.minutes else f"sunrise {self.minutes:+d} min"

    def on(self, day: date, zone: ZoneInfo, sunrise: datetime | None) -> datetime | None:
        """Return the aware UTC instant on a local day (first pass of a repeated hour); None without a sunrise.

        A time inside the spring gap uses the offset from before it, that is, the clock time moved forward.
        """
        if self.from_sunrise:
            return None if sunrise is None else (sunrise + timedelta(minutes=self.minutes)).astimezone(UTC)
        local = datetime.combine(day, time(self.minutes // 60, self.minutes % 60), tzinfo=zone)
        # Not in the local zone: Python never finds a time in a repeated hour equal to the same instant elsewhere.
        return local.astimezone(UTC)


_CLOCK = re.compile(r"([01]?[0-9]|2[0-3]):([0-5][0-9])")
_SUNRISE = re.compile(r"sunrise\s*(?:([+-])\s*([0-9]{1,3})\s*(?:min)?)?")


def read_launch_time(value: object) -> LaunchTime:
    """Read ``"06:30"``, ``"sunrise"`` or ``"sunrise -60 min"``."""
    if isinstance(value, time):  # TOML writes local times without quotes
        return LaunchTime(value.hour * 60 + value.minute)
    text = value.strip().lower() if isinstance(value, str) else ""
    if clock := _CLOCK.fullmatch(text):
        return LaunchTime(int(clock[1]) * 60 + int(clock[2]))
    if sun := _SUNRISE.fullmatch(text):
        return LaunchTime(int(f"{sun[1] or '+'}{sun[2] or 0}"), from_sunrise=True)
    raise refuse('accepted: a time such as "06:30", or "sunrise -60 min"')


DayTime = Annotated[
    LaunchTime,
    BeforeValidator(lambda value: value if isinstance(value, LaunchTime) else read_launch_time(value)),
    PlainSerializer(str, when_used="json"),
    WithJsonSchema({"type": "string", "examples": ["06:30", "sunrise -60 min"]}),
]

_MONTH_DAY = re.compile(r"(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])")


def _read_month_day(value: object) -> tuple[int, int]:
    match = _MONTH_DAY.fullmatch(value) if isinstance(value, str) else None
    if match:
        month, day = int(match[1]), int(match[2])
        try:
            date(2024, month, day)  # a leap year, so that 02-29 passes
        except ValueError:
            pass
        else:
            return month, day
    raise refuse('accepted: month and day in quotes, such as "04-15"')


MonthDay = Annotated[
    tuple[int, int],
    BeforeValidator(_read_month_day),
    PlainSerializer(lambda value: f"{value[0]:02d}-{value[1]:02d}", when_used="json"),
    WithJsonSchema({"type": "string", "pattern": r"^\d\d-\d\d$"}),
]
